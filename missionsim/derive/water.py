"""Build `missionsim/data/water.npz`, how far land is over sea and great lakes: `python -m missionsim.derive.water`.

Land is what lies within the outline of the country, what the elevation samples show of its neighbours, and every
airport: keys and islands that a coarse outline leaves out have one. Water is what the outline
leaves out at sea level, and the great lakes, which the samples hold as flats at the height of their surface. Where
there are no samples nothing is known, and no water is told. Bays, sounds and lakes within the outline count as land.
"""

from __future__ import annotations

import argparse
import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.derive.terrain import OUTSIDE_M
from missionsim.derive.terrain import RAW as ELEVATION
from missionsim.physics.geodesy import MEAN_RADIUS_NM, unit_vectors
from missionsim.world import data

OUTLINE = Path(__file__).resolve().parents[3] / "shared" / "boundaries" / "nation-10m.json"
OUT = Path(__file__).parent.parent / "data" / "water.npz"
IN_LAKES = ((47.6, -87.5), (43.2, -87.0), (44.7, -82.3), (45.2, -81.0), (42.1, -81.2), (43.6, -77.8))
"""A place in each of the great lakes and in the bay of one: their water is all that is as high, around it. [deg]"""
LAKE_STEP_M = 1
"""Samples of a lake differ by no more than this from the one in its middle. [m]"""
SHORE_STEP_NM = 1.0
STEP_NM = 0.5
MOST_NM = 127.0
"""Distances are kept in steps of half a mile, up to this one."""


def rings(topology: dict[str, Any]) -> list[Array]:
    """Return the closed rings of a country, each (n, 2): latitude and longitude. [deg]"""
    scale, origin = (np.array(topology["transform"][key]) for key in ("scale", "translate"))
    arcs = [(np.cumsum(np.array(arc), axis=0) * scale + origin)[:, ::-1] for arc in topology["arcs"]]

    def joined(ring: list[int]) -> Array:
        parts = [arcs[i] if i >= 0 else arcs[~i][::-1] for i in ring]
        return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])

    shapes = topology["objects"]["nation"]["geometries"]
    return [joined(ring) for shape in shapes for polygon in shape["arcs"] for ring in polygon]


def inside(outline: list[Array], latitude_deg: Array, longitude_deg: Array) -> Bools:
    """Return which nodes [latitude, longitude] lie within rings, by how often a line from the west crosses them."""
    found = np.zeros((len(latitude_deg), len(longitude_deg)), dtype=bool)
    for ring in outline:
        for (lat_a, lon_a), (lat_b, lon_b) in pairwise(ring.tolist()):
            rows = np.flatnonzero((latitude_deg < lat_a) != (latitude_deg < lat_b))
            if rows.size:
                crossed = lon_a + (latitude_deg[rows] - lat_a) * (lon_b - lon_a) / (lat_b - lat_a)
                found[rows] ^= longitude_deg > crossed[:, None]
    return found


def lakes(elevation_m: Ints, seeds: list[tuple[int, int]], may: Bools) -> Bools:
    """Return which nodes are water of lakes, spread from a node in each over all that may be and lie as high."""
    found = np.zeros(elevation_m.shape, dtype=bool)
    for seed in seeds:
        level = may & (np.abs(elevation_m - elevation_m[seed]) <= LAKE_STEP_M)
        reached = np.zeros_like(found)
        reached[seed] = True
        while True:
            wider = reached.copy()
            wider[1:] |= reached[:-1]
            wider[:-1] |= reached[1:]
            wider[:, 1:] |= reached[:, :-1]
            wider[:, :-1] |= reached[:, 1:]
            wider &= level
            if (wider == reached).all():
                break
            reached = wider
        found |= reached
    return found


def shore(outline: list[Array]) -> Array:
    """Return points along rings, no farther apart than a step, (n, 2). [deg]"""
    parts = []
    for ring in outline:
        for a, b in pairwise(ring):
            apart_nm = 60.0 * np.hypot(b[0] - a[0], np.cos(np.radians(a[0])) * (b[1] - a[1]))
            count = max(1, int(np.ceil(apart_nm / SHORE_STEP_NM)))
            parts.append(a + (b - a) * (np.arange(count) / count)[:, None])
    return np.concatenate(parts)


def nearest_nm(places: Array, land: Array) -> Array:
    """Return how far each place, (n, 2), is from the nearest of many on land, (m, 2), up to `MOST_NM`. [nm]"""
    boxes: dict[tuple[int, int], list[int]] = {}
    for i, (lat, lon) in enumerate(np.floor(land).astype(int).tolist()):
        boxes.setdefault((lat, lon), []).append(i)
    vectors, out = unit_vectors(*land.T), np.full(len(places), MOST_NM)
    own = np.floor(places).astype(int)
    order = np.lexsort(own.T)
    starts = np.flatnonzero(np.any(np.diff(own[order], axis=0, prepend=-999), axis=1))
    for group in np.split(order, starts[1:]):
        lat, lon = own[group[0]].tolist()
        wide = int(np.ceil(MOST_NM / 60.0 / np.cos(np.radians(min(lat + 3.0, 80.0))))) + 1
        near = [i for y in range(lat - 3, lat + 4) for x in range(lon - wide, lon + wide + 1)
                for i in boxes.get((y, x), ())]
        if near:
            cosine = (unit_vectors(*places[group].T) @ vectors[near].T).max(axis=1)
            out[group] = np.minimum(np.arccos(np.minimum(cosine, 1.0)) * MEAN_RADIUS_NM, MOST_NM)
    return out


def build(elevation: Path = ELEVATION, outline: Path = OUTLINE) -> dict[str, np.ndarray]:
    """Return the arrays of the packaged table with their origin."""
    with np.load(elevation) as grid:
        height_m, lat, lon = (grid[k] for k in ("elevation_m", "latitude_deg", "longitude_deg"))
    height_m, lat, lon = height_m.astype(np.int64), lat.astype(float), lon.astype(float)
    country = rings(json.loads(outline.read_text(encoding="utf-8")))
    outside = ~inside(country, lat, lon)
    seeds = [(int(np.abs(lat - a).argmin()), int(np.abs(lon - b).argmin())) for a, b in IN_LAKES]
    lake = lakes(height_m, seeds, outside & (height_m != OUTSIDE_M))
    water = outside & (lake | (height_m == 0))
    grid_lat, grid_lon = np.meshgrid(lat, lon, indexing="ij")
    # Samples of land beside water stand for the land behind them; farther inland no shore is near.
    beside = ~water & _beside(water)
    nodes = np.stack([grid_lat[beside], grid_lon[beside]], axis=1)
    land = np.concatenate([shore(country), nodes, _airports()])
    land_nm = np.zeros(height_m.shape)
    land_nm[water] = nearest_nm(np.stack([grid_lat[water], grid_lon[water]], axis=1), land)
    return {
        "land_steps": np.rint(land_nm / STEP_NM).astype(np.uint8), "step_nm": np.array(STEP_NM),
        "surface_m": np.where(lake & water, height_m, 0).astype(np.uint8),
        "north_deg": np.array(lat[0]), "west_deg": np.array(lon[0]), "node_deg": np.array((lat[0] - lat[-1])
                                                                                         / (len(lat) - 1)),
        "meta_source": np.array("U.S. Census Bureau, cartographic boundary files (public domain); US elevation samples "
                                "on a 2.5 minute grid; airports of the packaged table"),
        "meta_date": np.array("2017; samples not dated"),
        "meta_note": np.array(f"distance to land in steps of {STEP_NM} nm up to {MOST_NM:.0f} at nodes 2.5 minutes "
                              "apart; sea and great lakes, no other lakes; not for survival planning"),
    }


def _beside(water: Bools) -> Bools:
    padded = np.pad(water, 1)
    rows, columns = water.shape
    return np.logical_or.reduce([padded[i:i + rows, j:j + columns] for i in range(3) for j in range(3)])


def _airports() -> Array:
    """Return places of all airports, (n, 2); a seaplane base lies at a shore. [deg]"""
    arrays = data.airport_arrays()
    return np.stack([arrays["latitude_microdeg"], arrays["longitude_microdeg"]], axis=1) / 1e6


def main() -> None:
    """Build the table and say what it holds."""
    parser = argparse.ArgumentParser(description="Build the packaged table of water.")
    parser.add_argument("elevation", type=Path, nargs="?", default=ELEVATION, help="elevation samples (.npz)")
    parser.add_argument("outline", type=Path, nargs="?", default=OUTLINE, help="outline of the country (TopoJSON)")
    parser.add_argument("--out", type=Path, default=OUT)
    choices = parser.parse_args()
    arrays, out = build(choices.elevation, choices.outline), choices.out
    np.savez_compressed(out, **arrays)
    print(f"{(arrays['land_steps'] > 0).mean():.1%} of {arrays['land_steps'].shape} nodes are water, "
          f"{out.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
