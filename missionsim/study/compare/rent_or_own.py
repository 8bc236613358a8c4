"""Own, rent, or go by car and airline: the same trips, and the hours a year from which owning is the cheapest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array
from missionsim.money.categories import CATEGORIES, CODE, OUTSIDE, Category
from missionsim.money.other_ways import other_ways
from missionsim.statistics.crossings import TippingPoint, crossing
from missionsim.statistics.intervals import exact_mean
from missionsim.study.compare.ownership import batch_means
from missionsim.study.compare.recost import Change, Recosted
from missionsim.study.replicate.tally import Tally

ALSO_RENTING = frozenset({Category.LANDING, Category.STOP, Category.DIVERSION, Category.OVERNIGHT, Category.LODGING,
                          Category.GROUND,
                          Category.TRAINING} | OUTSIDE)
"""What a renter pays besides the rate, which holds fuel, upkeep, insurance and the hangar."""
MOST_FACTOR = 8.0
"""Times the trips of the study up to which a break-even is looked for."""
TOLERANCE_FACTOR = 0.005


@dataclass(frozen=True, slots=True)
class RentOrOwn:
    """One candidate against renting one of its class, and against travelling otherwise.

    Costs are means a year for all trips wanted, those refused by other means. `renting_from_h`, `travelling_from_h`:
    flight hours a year from which owning is cheaper, with the trips of this study more or less often, `low, high` their
    interval; None where it never or always is, within eight times the trips. `billed_hours`: charged by the renter
    for the same flying, local too, with the least hours a day. Door to door: hours of one traveller.
    """

    candidate: str
    rent_usd_per_h: float
    flight_hours: float
    billed_hours: float
    own_usd: float
    rent_usd: float
    travel_usd: float
    own_door_h: float
    travel_door_h: float
    renting_from_h: dict[str, float | None]
    travelling_from_h: dict[str, float | None]


def rent_or_own(recosted: Recosted) -> tuple[RentOrOwn, ...]:
    """Return the comparison of owning with renting and travelling for each candidate."""
    return tuple(_of(recosted, number) for number in range(len(recosted.names)))


def _of(recosted: Recosted, number: int) -> RentOrOwn:
    part, p = recosted.tallies[number], recosted.prepared
    rate = p.study.assumptions["keeping.rent_usd_per_h"][p.flyers[number].cost.klass]
    hours, billed = recosted.flight_hours(number), float(part.column("rented_hours").mean())
    travel_usd, travel_h = travelling(recosted)
    keep = np.array([float(c in ALSO_RENTING) for c in CATEGORIES])
    besides = part.categories / 100.0 @ keep
    fixed = part.categories[:, CODE[Category.TRAINING]] / 100.0

    def renting(factor: float) -> Array:
        return np.asarray(fixed + factor * (besides - fixed + rate * billed))

    own = recosted.cost(number)
    return RentOrOwn(
        part.name, float(rate), hours, billed, exact_mean(own), exact_mean(renting(1.0)), travel_usd,
        float(part.column("party_hours").mean()), travel_h,
        _from(recosted, number, renting, hours),
        _from(recosted, number, lambda factor: np.full(len(own), factor * travel_usd), hours))


def _from(recosted: Recosted, number: int, other: Callable[[float], Array], hours: float) -> dict[str, float | None]:
    """Return the hours from which owning is cheaper, `at, low, high`."""
    def difference(factor: float) -> Array:
        found = recosted.cost(number, Change(trips=factor)) - other(factor)
        return batch_means(found) if recosted.over_years else np.asarray(found)

    point: TippingPoint | None = crossing(difference, 0.05, MOST_FACTOR, TOLERANCE_FACTOR)
    if point is None or point.rising:
        return {"at": None, "low": None, "high": None}
    return {name: None if v is None else v * hours for name, v in (("at", point.at), ("low", point.low),
                                                                  ("high", point.high))}


def travelling(recosted: Recosted) -> tuple[float, float]:
    """Return cost and one traveller's hours of making all wanted trips of a mean year by car and airline."""
    p, part = recosted.prepared, recosted.tallies[0]
    if not part.by_trip.size:
        return _travelling_as_flown(part)
    ways = other_ways(p.terms, p.prices, p.study.assumptions)
    usd = np.where(ways.given_up, p.terms.optional_value_usd, ways.usd)
    wanted = part.by_trip.sum(axis=1) / len(part.replications)
    return float(usd @ wanted), float(np.where(ways.given_up, 0.0, ways.hours) @ wanted)


def _travelling_as_flown(part: Tally) -> tuple[float, float]:
    """Return the same where every year has trips of its own: over the trips wanted in the years flown."""
    trips, gone = part.trips, part.trips.other_given_up
    usd = np.where(gone, np.nan_to_num(trips.other_value_usd), trips.other_usd)
    usd_of_years = trips.sums(np.asarray(usd, dtype=np.float64), part.replications)
    hours = trips.sums(np.where(gone, 0.0, trips.other_h).astype(np.float64), part.replications)
    return exact_mean(usd_of_years), exact_mean(hours)
