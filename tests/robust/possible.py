"""What no printed number may be: a share beyond 0 to 1, a count below zero, more trips than there are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

SIGNED = ("differences", "upgrades", "assumptions", "bars", "study_file")
"""Parts whose numbers may have either sign (an upgrade tells what it changes), or that are inputs."""
CHANCES = ("probability_best", "confidence_mean_best")
COUNTS = ("stranded", "nights_stranded", "nights_away_forced", "shop_days", "flights", "fuel_stops", "fuel_gal", "legs",
          "visual_legs", "flight_hours", "block_hours", "door_to_door_hours", "party_hours", "local_hours",
          "compared_hours", "car_usd", "airline_usd",
          "wanted", "booked", "moved", "flown", "cancelled", "days_held", "requests", "billed_hours", "revenue_hours",
          "outside_hours", "completed_alone", "completed_with")
OF_TRIPS = ("trips_wanted", "trips_faster", "trips_equal", "trips_slower", "trips_by_other_means", "trips_given_up",
            "trips_lost_to_shop", "trips_not_current", "trips_made", "completed_trips", "must_go_lost", "must_go",
            "structural", "on_the_day", "delayed")
"""Counts of a year's trips; the last three by reason."""


def impossible(found: Any, trips: int | None = None) -> list[str]:
    """Return what an object of results holds that cannot be, by its place.

    Parameters
    ----------
    found : object          As a command prints it.
    trips : int, optional   Trips a year of the study, where they are listed.
    """
    return [f"{'.'.join(map(str, where))} is {value}" for where, value in _numbers(found, ())
            if not _possible([w for w in where if isinstance(w, str)], value, trips)]


def _numbers(found: Any, where: tuple[Any, ...]) -> Iterator[tuple[tuple[Any, ...], float]]:
    if isinstance(found, dict):
        for name, value in found.items():
            yield from _numbers(value, (*where, name))
    elif isinstance(found, list):
        for k, value in enumerate(found):
            yield from _numbers(value, (*where, k))
    elif isinstance(found, int | float) and not isinstance(found, bool):
        yield where, found


def _possible(names: list[str], value: float, trips: int | None) -> bool:
    if not math.isfinite(value):
        return False
    if set(names) & set(SIGNED):
        return True
    if any(n.endswith("_share") or n in CHANCES for n in names):
        return 0.0 <= value <= 1.0
    if set(names) & set(OF_TRIPS):
        return 0.0 <= value <= (math.inf if trips is None else trips)
    return not set(names) & set(COUNTS) or value >= 0.0
