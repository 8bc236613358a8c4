"""Distance from the sea and the great lakes, from the outline of the country."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import numpy as np

from missionsim.base.arrays import Bools, Floats
from missionsim.world.surface.place_climate import distance_nm

RAW = Path(__file__).resolve().parents[2] / ".." / "shared" / "boundaries" / "nation-10m.json"
_STEP_NM = 5.0


def outline(path: Path = RAW) -> list[Floats]:
    """Return the lines of the outline, each (n, 2): latitude and longitude."""
    topology = json.loads(path.read_text(encoding="utf-8"))
    scale, origin = topology["transform"]["scale"], topology["transform"]["translate"]
    return [(np.cumsum(np.array(arc), axis=0) * scale + origin)[:, ::-1] for arc in topology["arcs"]]


def shore_points(path: Path = RAW) -> Floats:
    """Return points every 5 nm along the shores of the contiguous states, (n, 2); land borders are left out."""
    parts = []
    for line in outline(path):
        for start, end in pairwise(line):
            count = max(1, int(np.ceil(60.0 * np.hypot(end[0] - start[0], 0.77 * (end[1] - start[1])) / _STEP_NM)))
            parts.append(start + (end - start) * (np.arange(count) / count)[:, None])
    points = np.concatenate(parts)
    lat, lon = points.T
    near = (lat > 24.0) & (lat < 50.0) & (lon > -126.0) & (lon < -66.0)
    return points[near & ~_on_land_border(lat, lon)]


def shore_distance_nm(lat: Floats, lon: Floats, path: Path = RAW) -> Floats:
    """Return how far places are from the nearest shore. [nm]"""
    shore = shore_points(path)
    return np.asarray(distance_nm(lat, lon, shore[:, 0], shore[:, 1]).min(axis=1))


def _on_land_border(lat: Floats, lon: Floats) -> Bools:
    """Return which points of the outline part the country from its neighbours by land, to the width of a county."""
    canada = (lat > 48.9) & (lon > -122.7) & (lon < -95.0) | (lat > 47.98) & (lon > -95.5) & (lon < -89.6)
    quebec = (lat > 44.98) & (lon > -75.2) & (lon < -67.0) & ~((lat < 45.2) & (lon > -67.4))
    mexico = (lat < 32.75) & (lon > -117.1) & (lon < -97.3) & ((lat < 31.9) | (lon < -106.0))
    texas_shore = (lat > 26.1) & (lat < 31.0) & (lon > -98.0)
    return np.asarray(canada | quebec | mexico & ~texas_shore)
