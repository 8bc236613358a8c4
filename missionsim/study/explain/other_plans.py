"""Would a trip that was not made go a day earlier or later, or to another field near by? Flown, each by itself.

The trips asked about are planned once more as a small study of their own and flown in the weather, with the people and
the figures of the years in which they failed. Nobody else has the aircraft then.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.base.memory import give_back
from missionsim.base.words import Outcome, Reason
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.prepare.study import Entrant, Prepared, prepare
from missionsim.study.replicate.one_year import again, people_of, weather_of, year_of
from missionsim.world.airports.table import Airport, AirportTable
from missionsim.year.trips import Trip

ANOTHER_DAY = frozenset({Reason.CEILING, Reason.VISIBILITY, Reason.ICING, Reason.THUNDERSTORM, Reason.WIND,
                         Reason.TURBULENCE, Reason.MAINTENANCE, Reason.BOOKED})
"""Reasons that pass."""
ANOTHER_FIELD = frozenset({Reason.RUNWAY, Reason.SURFACE, Reason.CLIMB, Reason.TERRAIN, Reason.OXYGEN, Reason.CEILING,
                           Reason.VISIBILITY})
"""Reasons that another field near the place may not have."""


TOGETHER = 100
"""Trips planned otherwise at once: those of a very long list would take more room than its years do."""


@dataclass(frozen=True, slots=True)
class Failed:
    """A trip, by row of the table, that a candidate, by number, did not make in a replication, and what decided."""

    number: int
    trip: int
    replication: int
    reason: Reason


@dataclass(frozen=True, slots=True)
class OtherPlan:
    """What became of one trip with one candidate when it was planned otherwise: made in so many of the years tried.

    `field`, `away_nm`: the field flown to instead and how far it lies from the place; empty for another day.
    """

    years: int
    made: int
    field: str = ""
    away_nm: float = 0.0


@dataclass(frozen=True, slots=True)
class Tried:
    """By candidate number and trip row: moved by a day, and to another field; those not tried are left out."""

    day: Mapping[tuple[int, int], OtherPlan]
    field: Mapping[tuple[int, int], OtherPlan]


@dataclass(frozen=True, slots=True)
class _Variant:
    """A trip planned otherwise. `of`: row of the trip it stands for."""

    of: int
    trip: Trip
    field: str = ""
    away_nm: float = 0.0


def other_plans(prepared: Prepared, failed: Iterable[Failed]) -> Tried:
    """Return how trips that were not made do a day earlier or later, and to another field.

    Parameters
    ----------
    prepared : Prepared          Of the trips of a list.
    failed : iterable of Failed
    """
    asked = list(failed)
    variants = list(_variants(prepared, asked))
    made: dict[tuple[int, int], list[bool]] = {}
    for first in range(0, len(variants), TOGETHER):
        for number, k, goes in _tried(prepared, variants[first:first + TOGETHER], asked):
            made.setdefault((number, first + k), []).append(goes)
        give_back()
    day, field = ({(number, variants[k].of): OtherPlan(len(goes), sum(goes), variants[k].field, variants[k].away_nm)
                   for (number, k), goes in made.items() if bool(variants[k].field) == other}
                  for other in (False, True))
    return Tried(day, field)


def _tried(prepared: Prepared, variants: list[_Variant], failed: list[Failed]) -> Iterator[tuple[int, int, bool]]:
    """Yield candidate, variant and whether it was made, by year; each flies alone, whichever are planned with it."""
    trips = {v.of for v in variants}
    asked = [f for f in failed if f.trip in trips]
    table = replace(prepared.table, trips=tuple(v.trip for v in variants))
    # Only who failed is planned; whatever other candidates there are changes nothing for them.
    numbers = sorted({f.number for f in asked})
    candidates = tuple(prepared.study.candidates[number] for number in numbers)
    entrants = dict(zip(numbers, prepare(replace(prepared.study, candidates=candidates), table).entrants, strict=True))
    for replication in sorted({f.replication for f in asked}):
        now = [f for f in asked if f.replication == replication]
        yield from _flown(prepared, entrants, variants, now, replication)


def _variants(prepared: Prepared, asked: list[Failed]) -> Iterator[_Variant]:
    """Yield the trips planned otherwise, in the order of departure."""
    for k in sorted({f.trip for f in asked}):
        trip, reasons = prepared.table[k], {f.reason for f in asked if f.trip == k}
        if reasons & ANOTHER_DAY:
            yield _Variant(k, replace(trip, days_earlier=max(trip.days_earlier, 1) if trip.day_step == 1 else 1,
                                      days_later=max(trip.days_later, 1) if trip.day_step == 1 else 1, day_step=1))
        found = _to_another_field(prepared, trip, bool(reasons - ANOTHER_DAY)) if reasons & ANOTHER_FIELD else None
        if found is not None:
            stops, field, away_nm = found
            yield _Variant(k, replace(trip, stops=stops), field, away_nm)


def _to_another_field(prepared: Prepared, trip: Trip, longer: bool,
                      ) -> tuple[tuple[str, ...], str, float] | None:
    """Return the stops of a trip with another field for the place of the shortest runway, None where there is none."""
    airports = prepared.study.airports
    places = [airports.find(ident) for ident in trip.destinations]
    place = min(places, key=_paved_ft)
    field = other_field(airports, place, longer, {a.ident for a in places} | {trip.stops[0]},
                        prepared.study.assumptions)
    if field is None:
        return None
    away_nm = float(haversine_nm(place.latitude_deg, place.longitude_deg, field.latitude_deg, field.longitude_deg))
    stops = tuple(field.ident if airports.find(s).ident == place.ident else s for s in trip.stops)
    return stops, field.ident, away_nm


def other_field(airports: AirportTable, place: Airport, longer: bool, taken: set[str], assumptions: Assumptions,
                ) -> Airport | None:
    """Return the nearest public field to a place with a paved runway long enough for most; None where there is none.

    Parameters
    ----------
    airports : AirportTable
    place : Airport
    longer : bool               Its runway must be longer than the longest paved one of the place.
    taken : set of str          Identifiers that do not count.
    assumptions : Assumptions   Group `explain`.
    """
    least_ft = max(assumptions["explain.other_field_ft"], _paved_ft(place) + 1.0 if longer else 0.0)
    for row in airports.within(place.latitude_deg, place.longitude_deg, assumptions["explain.other_field_nm"]).tolist():
        if airports.longest_paved_ft[row] >= least_ft:
            found = airports.airport(int(row))
            if found.public and found.ident not in taken:
                return found
    return None


def _paved_ft(place: Airport) -> float:
    return place.longest_ft(("paved",))


def _flown(prepared: Prepared, entrants: Mapping[int, Entrant], variants: list[_Variant], failed: list[Failed],
           replication: int) -> Iterator[tuple[int, int, bool]]:
    """Yield candidate, variant and whether it was made, each flown by itself in one replication."""
    rows = np.array([v.of for v in variants], dtype=np.int64)
    everybody: frozenset[int] = frozenset(range(len(variants)))
    day = weather_of(next(iter(entrants.values())).prepared, replication, people_of(prepared, [replication])[0, rows])
    day = replace(day, habits=replace(day.habits, absent=everybody))
    for number in sorted({f.number for f in failed}):
        entrant = entrants[number]
        year = year_of(entrant, day, replication)
        upkeep = entrant.flyer.upkeep.upkeep(prepared.study.seed, replication)
        for k in _asked_of(variants, failed, number):
            log = again(entrant, replace(year, absent=everybody - {k}), upkeep, day.luck, replication).log
            yield number, k, log.ends[0].outcome in {Outcome.COMPLETED, Outcome.DELAYED}


def _asked_of(variants: list[_Variant], failed: list[Failed], number: int) -> Iterator[int]:
    """Yield the variants that may help a candidate, by what stopped the trips they stand for."""
    reasons = {f.trip: f.reason for f in failed if f.number == number}
    for k, variant in enumerate(variants):
        if reasons.get(variant.of) in (ANOTHER_FIELD if variant.field else ANOTHER_DAY):
            yield k
