"""Build `missionsim/data/terrain.npz`: `python -m missionsim.derive.terrain [RAW]`.

Reduces elevation samples on a 2.5-minute grid to the highest elevation per 5-minute cell, the relief around each cell
(how far peaks may stand above the samples grows with it) and a mask of mountainous cells.

The regulation (14 CFR 95 subpart B) names mountainous areas by long lists of coordinates. The mask here is an
approximation from the samples themselves: relief within about 20 nm of at least `MOUNTAIN_RELIEF_FT`, or ground above
`HIGH_PLATEAU_FT`. It marks the western ranges with the Black Hills and the Appalachians, and spots of the Ozarks
that the regulation leaves out.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

RAW = Path(__file__).parents[3] / "shared" / "terrain" / "us_elevation_2p5min.npz"
OUT = Path(__file__).parent.parent / "data" / "terrain.npz"
OUTSIDE_M, UNKNOWN_FT = -9999, -32768
MOUNTAIN_RELIEF_FT, MOUNTAIN_ROWS, MOUNTAIN_COLUMNS, HIGH_PLATEAU_FT = 1500, 4, 5, 6500
RELIEF_STEP_FT = 50


def reduce_grid(elevation_m: np.ndarray, latitude_deg: np.ndarray, longitude_deg: np.ndarray) -> dict[str, np.ndarray]:
    """Return the arrays of the packaged table from samples, north to south and west to east; two by two make a cell."""
    step = abs(float(latitude_deg[1] - latitude_deg[0]))
    feet = np.where(elevation_m == OUTSIDE_M, np.nan, np.maximum(elevation_m, 0) / 0.3048)
    feet = np.pad(feet, ((0, feet.shape[0] % 2), (0, feet.shape[1] % 2)), constant_values=np.nan)
    blocks = feet.reshape(feet.shape[0] // 2, 2, feet.shape[1] // 2, 2)
    known = np.isfinite(blocks).any(axis=(1, 3))
    highest = np.where(np.isfinite(blocks), blocks, -np.inf).max(axis=(1, 3))
    lowest = np.where(np.isfinite(blocks), blocks, np.inf).min(axis=(1, 3))
    relief = _widened(highest, 1, 1) + _widened(-lowest, 1, 1)
    wide_relief = _widened(highest, MOUNTAIN_ROWS, MOUNTAIN_COLUMNS) + _widened(-lowest, MOUNTAIN_ROWS,
                                                                               MOUNTAIN_COLUMNS)
    mountainous = known & ((wide_relief >= MOUNTAIN_RELIEF_FT) | (highest >= HIGH_PLATEAU_FT))
    return {
        "highest_ft": np.where(known, np.ceil(highest), UNKNOWN_FT).astype(np.int16),
        "relief_steps": np.where(known, np.ceil(relief / RELIEF_STEP_FT), 0).astype(np.uint8),
        "relief_step_ft": np.array(RELIEF_STEP_FT),
        "mountainous_bits": np.packbits(mountainous, axis=1),
        "north_deg": np.array(float(latitude_deg[0]) + step / 2),
        "west_deg": np.array(float(longitude_deg[0]) - step / 2),
        "cell_deg": np.array(2 * step),
    }


def _widened(values: np.ndarray, rows: int, columns: int) -> np.ndarray:
    """Return the highest value within so many rows and columns of each cell."""
    padded = np.pad(values, ((rows, rows), (columns, columns)), constant_values=-np.inf)
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * rows + 1, 2 * columns + 1))
    return np.asarray(windows.max(axis=(2, 3)))


def build(raw: Path = RAW) -> dict[str, np.ndarray]:
    """Return the arrays of the packaged table with their origin."""
    with np.load(raw) as grid:
        arrays = reduce_grid(grid["elevation_m"], grid["latitude_deg"], grid["longitude_deg"])
    return arrays | {
        "meta_source": np.array("US elevation samples on a 2.5 minute grid; highest sample per 5 minute cell"),
        "meta_date": np.array("not dated"),
        "meta_note": np.array(
            f"high peaks stand 1,000 to 4,000 ft above the samples; mountainous: relief of {MOUNTAIN_RELIEF_FT} ft "
            f"within {MOUNTAIN_ROWS} cells, or ground above {HIGH_PLATEAU_FT} ft, an approximation of 14 CFR 95 "
            "subpart B; not for obstacle clearance"),
    }


def main() -> None:
    """Build the table and say what it holds."""
    parser = argparse.ArgumentParser(description="Build the packaged terrain table.")
    parser.add_argument("raw", type=Path, nargs="?", default=RAW, help="elevation samples (.npz)")
    parser.add_argument("--out", type=Path, default=OUT)
    choices = parser.parse_args()
    arrays = build(choices.raw)
    np.savez_compressed(choices.out, **arrays)
    print(f"{arrays['highest_ft'].shape} cells, {choices.out.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
