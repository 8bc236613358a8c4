"""What the packaged ground and weather do not cover of a prepared study, in words for its reader."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from missionsim.study.prepare.study import Prepared
from missionsim.world.surface.climate import SAMPLE

SHOWN = 4


def not_covered(*prepared: Prepared) -> tuple[str, ...]:
    """Return a sentence on ways over unknown ground and one on ways far from weather stations, where there are any.

    Of a study that is prepared in parts, all parts.
    """
    return tuple(s for s in (_ground(prepared), _weather(prepared)) if s)


def _ground(parts: Sequence[Prepared]) -> str:
    found = {way for part in parts for way in _unknown_ways(part)}
    if not found:
        return ""
    ways = ", ".join(f"{a} to {b}" for a, b in sorted(found)[:SHOWN])
    more = f" and {len(found) - SHOWN} more ways" if len(found) > SHOWN else ""
    return (f"Terrain unknown: {ways}{more}. No level was checked against the ground there; "
            "`minimum_altitude_ft` of an airport in the study sets one.")


def _unknown_ways(prepared: Prepared) -> set[tuple[str, str]]:
    idents = [a.ident for a in prepared.places.airports]
    found: set[tuple[str, str]] = set()
    for flyer in prepared.flyers:
        lanes, rows = prepared.lane_sets[flyer.plan.rows.lane_set], flyer.plan.rows
        known = np.array([lanes.routes[r].known for r in lanes.route], dtype=bool)
        for row in np.flatnonzero(~known[rows.lane]).tolist():
            a, b = sorted((idents[rows.from_place[row]], idents[rows.to_place[row]]))
            found.add((a, b))
    return found


def _weather(parts: Sequence[Prepared]) -> str:
    far_nm = {name: distance_nm for part in parts for name, distance_nm in _far_points(part).items()}
    if not far_nm:
        return ""
    count = "one point" if len(far_nm) == 1 else f"{len(far_nm)} points"
    return (f"Weather along the way is that of stations up to {max(far_nm.values()):,.0f} nm away at {count}; a "
            "station file of your own for an airport there would tell more.")


def _far_points(prepared: Prepared) -> dict[str, float]:
    """Return how far the nearest station is, by name of the point; parts name the same point alike."""
    climate = prepared.sky.climate
    limit_nm = float(prepared.study.assumptions["weather.farthest_station_nm"])
    far = (climate.kind == SAMPLE) & (climate.station_distance_nm > limit_nm)
    return {climate.names[p]: float(climate.station_distance_nm[p]) for p in np.flatnonzero(far).tolist()}
