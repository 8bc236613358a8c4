"""One replication told in full: what every flight weighed and needed, and why a trip did not go, with the margin.

The replication is flown again from its seed and its flights are judged exactly, as for a single leg.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from missionsim.base.words import BIT, Outcome, Reason
from missionsim.physics.atmosphere import density_altitude_ft
from missionsim.study.explain.how_made import how_made
from missionsim.study.explain.sentences import StoppedTrip, explain_reason
from missionsim.study.prepare.study import Entrant, Prepared
from missionsim.study.replicate.exact_plans import AskedFlights, ExactRows, exact_rows
from missionsim.study.replicate.exact_reasons import JudgedFlights, Why
from missionsim.study.replicate.one_year import Day, FlownYear, weather_of, year_of
from missionsim.year.looked_slots import AIR_SLOTS
from missionsim.year.records import TripEnd


@dataclass(frozen=True, slots=True)
class FlightFacts:
    """What one planned flight weighed and needed. Runways with the pilot's margin; NaN where nothing is known.

    Parameters
    ----------
    fuel_required_gal : float      On board at start: taxi, flight, approach, alternate and reserve. [gal]
    density_altitude_ft : float    Of the field left, at departure. [ft]
    """

    takeoff_weight_lb: float
    landing_weight_lb: float
    fuel_required_gal: float
    temperature_c: float
    density_altitude_ft: float
    takeoff_required_ft: float
    takeoff_available_ft: float
    landing_required_ft: float
    landing_available_ft: float


@dataclass(frozen=True, slots=True)
class Stop:
    """Why a trip was not made, as data: the deciding reason, and all that the exact plan holds against its flights.

    `earlier_h`: it could have left so many hours before its own, in an hour nobody looked at; None where not.
    """

    reason: Reason
    whys: tuple[Why, ...]
    earlier_h: float | None


@dataclass(frozen=True, slots=True)
class ExplainedYear:
    """One candidate's replication.

    `flights`: by trip, leg of the trip, and places left and reached (identifiers). `why`: by trip that was refused,
    broken off or delayed, one sentence without its closing stop. `how`: by trip, one sentence on how it was made
    otherwise than asked, moved, adapted or marginal.
    """

    flights: Mapping[tuple[int, int, str, str], FlightFacts]
    why: Mapping[int, str]
    how: Mapping[int, str]
    stops: Mapping[int, Stop]


def explain(prepared: Prepared, replication: int) -> tuple[ExplainedYear, ...]:
    """Return the story of a replication, one entry a candidate.

    Parameters
    ----------
    prepared : Prepared   Of the trips of that replication.
    """
    day = weather_of(prepared, replication)
    return tuple(explained_year(entrant, day, year_of(entrant, day, replication)) for entrant in prepared.entrants)


def explained_year(entrant: Entrant, day: Day, year: FlownYear) -> ExplainedYear:
    """Return the story of a replication that one candidate has just flown."""
    prepared = entrant.prepared
    flown = [(f.leg, row, f.slot) for f in year.log.legs for row in _rows_of(year, f.option)]
    stuck = [(end, *_deciding(prepared, year, end)) for end in year.log.ends
             if end.outcome is not Outcome.COMPLETED and end.reason is not None]
    asked = [(leg, row, slot) for _, leg, slot in stuck for row in _rows_at(year, leg, slot)]
    found = _judged(prepared, day, year, [*flown, *asked])
    judged = JudgedFlights(year.plan, entrant.flyer.candidate.profile, prepared.places,
                           prepared.study.assumptions, found, day.people_lb, prepared.bags_lb, year.rows.loads)
    flights = dict(_facts(prepared, year, flown, found))
    at, why, stops = len(flown), {}, {}
    for end, leg, slot in stuck:
        rows = _rows_at(year, leg, slot)
        assert end.reason is not None
        stopped = StoppedTrip(entrant, day, year, end, leg, slot, judged, range(at, at + len(rows)))
        why[end.trip] = explain_reason(stopped, end.reason)
        if end.outcome is not Outcome.DELAYED:
            whys = tuple(w for k in range(at, at + len(rows)) for w in judged.reasons(k))
            stops[end.trip] = Stop(end.reason, whys, _earlier_h(prepared, year, end))
        at += len(rows)
    legs = [leg for leg, _, _ in flown]
    how = {end.trip: how_made(entrant, day, year, judged, end, legs) for end in year.log.ends if end.marks}
    return ExplainedYear(flights, why, how, stops)


def _earlier_h(prepared: Prepared, year: FlownYear, end: TripEnd) -> float | None:
    """Return by how many hours a trip refused on the day could have left earlier, the fewest; None where by none."""
    if end.outcome is not Outcome.REFUSED or end.structural:
        return None
    leg = int(prepared.schedule.first_leg[end.trip])
    planned = int(prepared.schedule.planned_slot[leg])
    first = int(prepared.schedule.days_earlier[end.trip]) * 24
    looked = prepared.schedule.looks.column[leg, first:planned] >= 0
    open_ = np.flatnonzero(looked & (year.decisions.reasons[leg, first:planned] == 0))
    return None if not len(open_) else float(planned - first - int(open_[-1]))


def _rows_of(year: FlownYear, option: int) -> range:
    first = year.plan.options.first_row
    return range(int(first[option]), int(first[option + 1]))


def _rows_at(year: FlownYear, leg: int, slot: int) -> range:
    return _rows_of(year, int(year.decisions.option[leg, slot]))


def _deciding(prepared: Prepared, year: FlownYear, end: TripEnd) -> tuple[int, int]:
    """Return the leg and slot at which a trip's reason is told: where its bit first stands, else the planned hour."""
    schedule = prepared.schedule
    legs = range(int(schedule.first_leg[end.trip]), int(schedule.first_leg[end.trip + 1]))
    assert end.reason is not None
    bit = BIT[end.reason]
    flown = {f.leg for f in year.log.legs}
    open_ = [leg for leg in legs if leg not in flown] if end.outcome is Outcome.BROKEN_OFF else list(legs)
    for leg in (*open_, *legs):
        planned, last = int(schedule.planned_slot[leg]), int(schedule.last_slot[leg])
        hit = np.flatnonzero(year.decisions.reasons[leg, planned:last + 1] & bit)
        if len(hit):
            return leg, planned + int(hit[0])
    return legs[0], int(schedule.planned_slot[legs[0]])


def _judged(prepared: Prepared, day: Day, year: FlownYear, asked: list[tuple[int, int, int]]) -> ExactRows:
    """Return exact plans of flights given as leg, row of the candidate's table and departure slot."""
    plan, schedule = year.plan, prepared.schedule
    leg, row, slot = (np.array([a[i] for a in asked], dtype=np.int64) for i in range(3))
    met = year.air.at(plan.rows.lane[row], np.minimum(slot // AIR_SLOTS, year.air.slots - 1))
    air = met.mapped(lambda values: values[:, None].astype(float))
    levels = year.weather.blocked_levels
    column = schedule.looks.column[leg, slot]
    blocked = None if levels is None else plan.cells.spread(levels, len(plan.rows.leg))[row, column // AIR_SLOTS][
        :, None]
    depart_h = schedule.start_h[leg] + slot + plan.rows.offset_h[row]
    alternate_gal = year.weather.alternate_gal.take(schedule.looks.hours.place(leg, column))
    flights = AskedFlights(row, depart_h, air, alternate_gal, blocked)
    return exact_rows(plan, prepared.places, flights, day.sky, year.rows.loads)


def _facts(prepared: Prepared, year: FlownYear, flown: list[tuple[int, int, int]], found: ExactRows,
           ) -> Iterator[tuple[tuple[int, int, str, str], FlightFacts]]:
    schedule, plan, airports = prepared.schedule, year.plan, prepared.places.airports
    density_ft = density_altitude_ft(found.takeoff.pressure_altitude_ft, found.takeoff.temperature_c)
    for i, (leg, row, _) in enumerate(flown):
        trip = int(schedule.trip[leg])
        key = (trip, leg - int(schedule.first_leg[trip]), airports[int(plan.rows.from_place[row])].ident,
               airports[int(plan.rows.to_place[row])].ident)
        yield key, FlightFacts(*(float(values[i]) for values in (
            found.exact.takeoff_lb, found.exact.landing_lb, found.exact.required_gal, found.takeoff.temperature_c,
            density_ft, found.takeoff.required_ft, found.takeoff.available_ft, found.landing.required_ft,
            found.landing.available_ft)))


