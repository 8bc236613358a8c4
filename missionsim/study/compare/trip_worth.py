"""Trip by trip: from what value of an hour on flying it is worth what it costs more than the other way.

The aircraft is taken as owned: a trip costs what it adds (fuel, fees, nights, cars there, wear and value lost by the
hour), not what the aircraft costs anyway. Only years count in which the trip was made by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.statistics.intervals import exact_mean
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.where_each_wins import added_usd_per_h


@dataclass(frozen=True, slots=True)
class TripWorth:
    """One trip of the list with one candidate.

    `made_share`: of years, by the candidate. `more_usd`: what flying it costs more than the other way, below zero where
    it costs less. `saved_h`: hours of all travellers as they are valued. `at_usd_per_h`: value of an adult hour from
    which on flying it is worth it; 0 where it is cheaper and no slower, None where it is dearer and saves nothing, or
    is never made. `counted`: made in enough of the years that want it to be called worth it or not.
    """

    trip: str
    to: tuple[str, ...]
    candidate: str
    made_share: float
    more_usd: float | None
    saved_h: float | None
    at_usd_per_h: float | None
    counted: bool


def trip_worth(found: Comparison) -> tuple[TripWorth, ...]:
    """Return what each listed trip is worth flying at with the leading candidate; empty where trips vary by year."""
    if found.study.listed is None or found.certainty is None:
        return ()
    part = found.results[found.lead].tally
    t, count = part.trips, len(found.prepared.table)
    added = exact_mean(added_usd_per_h(found, found.lead))
    made = np.bincount(t.trip, t.made, count)
    flight_h = part.trip_sum[:, 0] * exact_mean(part.column("flight_hours")) / max(
        exact_mean(part.column("block_hours")), 1e-9)
    other_usd = np.where(t.other_given_up, t.other_value_usd, t.other_usd)
    other_h = np.where(t.other_given_up, 0.0, t.other_h * t.weight_otherwise)
    more = np.bincount(t.trip, np.where(t.made, t.flown_usd - other_usd, 0.0), count) + added * flight_h
    saved = np.bincount(t.trip, np.where(t.made, other_h - t.valued_h, 0.0), count)
    least = found.study.assumptions["explain.worth_from_share"] * np.bincount(t.trip, minlength=count)
    years = len(part.replications)
    return tuple(_one(found, k, float(made[k]), float(more[k]), float(saved[k]), years, bool(made[k] >= least[k]))
                 for k in range(count))


def worth_and_open(rows: Sequence[TripWorth], value_usd_per_h: float) -> tuple[int, int, int]:
    """Return how many trips are worth flying at a value of an adult hour, are left open, and are never made."""
    made = [r for r in rows if r.made_share > 0.0]
    worth = sum(r.counted and r.at_usd_per_h is not None and r.at_usd_per_h <= value_usd_per_h for r in made)
    return worth, sum(not r.counted for r in made), len(rows) - len(made)


def _one(found: Comparison, k: int, made: float, more: float, saved: float, years: int, counted: bool) -> TripWorth:
    trip = found.prepared.table[k]
    if not made:
        return TripWorth(trip.trip_id, trip.destinations, found.names[found.lead], 0.0, None, None, None, False)
    return TripWorth(trip.trip_id, trip.destinations, found.names[found.lead], made / years, more / made, saved / made,
                     worth_it_at(more / made, saved / made), counted)


def worth_it_at(more_usd: float, saved_h: float) -> float | None:
    """Return the value of an hour at which dollars more equal hours saved; 0 and None where none decides."""
    if more_usd <= 0.0:
        return 0.0 if saved_h >= 0.0 else None
    return more_usd / saved_h if saved_h > 0.0 else None
