"""One map for all candidates as plain shapes: where trips go, where they fail, where one stops for fuel."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, radians

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.report.draw_ground import (
    MOSTLY_SHARE,
    OFTEN_SHARE,
    by_destination,
    fuel_stops,
    near_deg,
    positions,
    view_of,
)
from missionsim.report.first_screen import MARKS
from missionsim.report.records import kept_replications, trips_of
from missionsim.report.wording import listing, percent
from missionsim.study.compare.compare import Comparison, Result
from missionsim.world.data import table

WIDTH, LEAST_HEIGHT, MOST_HEIGHT = 720.0, 260.0, 620.0
LABELS, TOLD = 16, 8
"""Places named on the map; places and fuel stops told beneath it, at most."""
BESIDE = (48.0, 11.0)
"""Across and upward: a mark that lies so near to the right of another would stand in its name. [px]"""
MADE, OFTEN, MOSTLY, STOP, HOME = "made", "often", "mostly", "stop", "home"


@dataclass(frozen=True, slots=True)
class PlaceMark:
    """One place: where, how trips to it fare, what it is in words, its name and whether that stands left of it. [px]"""

    x: float
    y: float
    kind: str
    words: str
    label: str = ""
    left: bool = False


@dataclass(frozen=True, slots=True)
class CandidateLayer:
    """The marks of one candidate, and its map in a sentence."""

    mark: int
    name: str
    marks: tuple[PlaceMark, ...]
    words: str


@dataclass(frozen=True, slots=True)
class PlaceMap:
    """Outlines and ways drawn once, and a layer a candidate."""

    width: float
    height: float
    outlines: str
    ways: str
    layers: tuple[CandidateLayer, ...]


class _Projection:
    """Degrees to places on the map: equal scales both ways at its middle latitude."""

    def __init__(self, view: tuple[float, float, float, float]) -> None:
        self.south, self.north, self.west, self.east = view
        squeeze = cos(radians((self.south + self.north) / 2))
        self.height = min(MOST_HEIGHT, max(LEAST_HEIGHT, WIDTH * (self.north - self.south)
                                           / ((self.east - self.west) * squeeze)))
        self.scale = min(WIDTH / ((self.east - self.west) * squeeze), self.height / (self.north - self.south))
        self.squeeze = squeeze

    def __call__(self, latitude: Floats | float, longitude: Floats | float) -> tuple[Floats, Floats]:
        """Return x and y. [px]"""
        x = WIDTH / 2 + (np.asarray(longitude) - (self.west + self.east) / 2) * self.squeeze * self.scale
        y = self.height / 2 - (np.asarray(latitude) - (self.south + self.north) / 2) * self.scale
        return np.round(x, 1), np.round(y, 1)

    def one(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Return x and y of one place. [px]"""
        x, y = self(latitude, longitude)
        return float(x), float(y)


def place_map(comparison: Comparison) -> PlaceMap | None:
    """Return the map of a comparison; None where no single records were kept."""
    if any(r.tally.kept is None for r in comparison.results):
        return None
    places = positions(comparison)
    projected = _Projection(view_of(places))
    at = {ident: projected.one(*place) for ident, place in places.items()}
    layers = tuple(_layer(comparison, i, r, at) for i, r in enumerate(comparison.results))
    return PlaceMap(WIDTH, round(projected.height, 1), _outlines(projected, comparison.study.home.longitude_deg),
                    _ways(comparison, at), layers)


def _layer(comparison: Comparison, i: int, result: Result, at: Mapping[str, tuple[float, float]]) -> CandidateLayer:
    wanted, failed = by_destination(comparison, result)
    share = {ident: failed[ident] / wanted[ident] for ident in wanted}
    stops, home = fuel_stops(result), comparison.study.home.ident
    worst = [k for k in sorted(share, key=lambda k: (-share[k], k)) if share[k] >= MOSTLY_SHARE][:TOLD]
    often_wanted = sorted(wanted, key=lambda k: (-wanted[k] * (1.0 + share[k]), k))
    named = {*worst, *[k for k in often_wanted if k not in worst][:LABELS - len(worst)]}
    marks = [PlaceMark(*at[k], STOP, f"{k}: fuel stop, {n} times") for k, n in stops.items() if k not in wanted]
    marks += [PlaceMark(*at[k], _kind(share[k]), f"{k}: {percent(share[k])} of trips not made",
                        k if k in named else "", _crowded(k, {*wanted, home}, at)) for k in wanted]
    marks.append(PlaceMark(*at[home], HOME, f"{home}: home", home))
    bad = [f"{k} ({percent(share[k])})" for k in worst]
    often = sorted(stops, key=lambda k: (-stops[k], k))
    words = (f"{result.name}: trips fail most at {listing(bad) or 'no place'}; fuel stops at "
             f"{listing(often[:TOLD]) or 'no place'}")
    return CandidateLayer(i % len(MARKS), result.name, tuple(marks), words)


def _crowded(ident: str, others: Iterable[str], at: Mapping[str, tuple[float, float]]) -> bool:
    """Return whether a name fits only left of its place: a mark stands close on the right, and none on the left."""
    x, y = at[ident]
    near = [at[k][0] - x for k in others if k != ident and at[k] != at[ident] and abs(at[k][1] - y) < BESIDE[1]]
    return any(0.0 <= across < BESIDE[0] for across in near) and not any(-BESIDE[0] < across < 0.0 for across in near)


def _kind(failed_share: float) -> str:
    return MOSTLY if failed_share >= MOSTLY_SHARE else OFTEN if failed_share >= OFTEN_SHARE else MADE


def _ways(comparison: Comparison, at: Mapping[str, tuple[float, float]]) -> str:
    """Return the straight ways between places of the trips as one path, each once."""
    years = trips_of(comparison.study, kept_replications(comparison.results[0])).values()
    pairs = {tuple(sorted(pair)) for trips in years for trip in trips for pair in pairwise(trip.stops)}
    return "".join(f"M{at[a][0]:g} {at[a][1]:g}L{at[b][0]:g} {at[b][1]:g}" for a, b in sorted(pairs) if a != b)


def _outlines(projected: _Projection, home_deg: float) -> str:
    """Return the state lines that cross the map as one path, cut to what is seen."""
    lines = table("outlines")
    first = lines["first"]
    latitude = lines["latitude_centideg"] / 100.0
    longitude = near_deg(lines["longitude_centideg"] / 100.0, home_deg)
    x, y = projected(latitude, longitude)
    parts: list[str] = []
    for a, b in pairwise(first.tolist()):
        parts += _seen(x[a:b], y[a:b], projected.height)
    return "".join(parts)


def _seen(x: Floats, y: Floats, height: float) -> Sequence[str]:
    """Return the stretches of a line of which either end of a segment is on the map, in whole pixels."""
    inside = (x > -20) & (x < WIDTH + 20) & (y > -20) & (y < height + 20)
    keep = inside[:-1] | inside[1:]
    at = np.round(np.stack([x, y], axis=1)).astype(int)
    found: list[str] = []
    for k in np.flatnonzero(keep):
        if not (k and keep[k - 1]):
            found.append(f"M{at[k, 0]} {at[k, 1]}")
        dx, dy = (at[k + 1] - at[k]).tolist()
        if dx or dy:
            found.append(f"h{dx}" if not dy else f"v{dy}" if not dx else f"l{dx}{'' if dy < 0 else ' '}{dy}")
    return found
