"""Build `missionsim/data/outlines.npz`, lines of states for maps: `python -m missionsim.derive.outlines [RAW]`.

Borders that two states share are kept once. Lines are thinned to what a map some hundred pixels wide shows.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np

from missionsim.base.arrays import Floats

RAW = Path(__file__).resolve().parents[3] / "shared" / "boundaries" / "states-10m.json"
OUT = Path(__file__).resolve().parents[1] / "data" / "outlines.npz"
ELSEWHERE = frozenset({"02", "15", "60", "66", "69", "72", "78"})
"""Codes of states and territories that are not contiguous."""
TOLERANCE_DEG = 0.04
SMALLEST_DEG = 0.25
"""Islands of less extent are left out."""



def main(raw: Path = RAW, out: Path = OUT) -> None:
    """Read the raw outlines and write the table."""
    lines = outlines(json.loads(raw.read_text(encoding="utf-8")))
    first = np.cumsum([0, *(len(line) for line in lines)]).astype(np.int32)
    points = np.rint(np.concatenate(lines) * 100.0).astype(np.int16)
    np.savez_compressed(out, first=first, longitude_centideg=points[:, 0], latitude_centideg=points[:, 1],
                        meta_source=np.array("U.S. Census Bureau, cartographic boundary files (public domain)"),
                        meta_date=np.array("2017"),
                        meta_note=np.array(f"contiguous states, thinned within {TOLERANCE_DEG} degrees"))
    print(f"{out.name}: {len(lines)} lines, {len(points)} points, {out.stat().st_size / 1000:.0f} kB")


def outlines(topology: dict[str, Any]) -> list[Floats]:
    """Return lines of the contiguous states, thinned. Longitude, latitude; west negative. [deg]"""
    arcs = _arcs(topology)
    states = [g for g in topology["objects"]["states"]["geometries"] if g["id"] not in ELSEWHERE]
    used = sorted({index if index >= 0 else ~index for g in states for index in _indices(g["arcs"])})
    lines = [thinned(arcs[i], TOLERANCE_DEG) for i in used if np.ptp(arcs[i], axis=0).max() >= SMALLEST_DEG]
    return [line for line in lines if len(line) > 1]


def thinned(line: Floats, tolerance: float) -> Floats:
    """Return a line with only the points that stand out from it by more than a tolerance (Douglas and Peucker)."""
    if len(line) < 3:
        return line
    start, end = line[0], line[-1]
    along = end - start
    length = float(np.hypot(*along))
    off = line[1:-1] - start
    apart = np.hypot(*off.T) if length == 0 else np.abs(off[:, 0] * along[1] - off[:, 1] * along[0]) / length
    if apart.max() <= tolerance:
        return np.stack([start, end])
    k = int(np.argmax(apart)) + 1
    return np.concatenate([thinned(line[:k + 1], tolerance)[:-1], thinned(line[k:], tolerance)])


def _arcs(topology: dict[str, Any]) -> list[Floats]:
    scale, origin = (np.array(topology["transform"][key]) for key in ("scale", "translate"))
    return [np.cumsum(np.array(arc, dtype=np.float64), axis=0) * scale + origin for arc in topology["arcs"]]


def _indices(arcs: Any) -> list[int]:
    return [arcs] if isinstance(arcs, int) else [i for part in arcs for i in _indices(part)]


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
