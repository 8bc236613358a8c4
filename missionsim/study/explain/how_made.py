"""How a trip was made that was not made as asked: moved, adapted, or on an own rule met marginally."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, cast

from missionsim.base.words import Adaptation, Mark
from missionsim.money.substitute import ANOTHER_DAY_H
from missionsim.study.replicate.exact_reasons import JudgedFlights, beside
from missionsim.study.replicate.lighter import removable_lb
from missionsim.world.random_fields.hours import start_of_hour_h
from missionsim.year.trips import local_time

if TYPE_CHECKING:
    from missionsim.study.prepare.aircraft import Equipped
    from missionsim.study.prepare.study import Entrant
    from missionsim.study.replicate.one_year import Day, FlownYear
    from missionsim.year.records import TripEnd

RULE = "marginal on an own rule"


def how_made(entrant: Entrant, day: Day, year: FlownYear, judged: JudgedFlights, end: TripEnd,
             legs: Sequence[int]) -> str:
    """Return in one sentence, without its closing stop, what the marks of a trip stand for.

    Parameters
    ----------
    judged : JudgedFlights      Whose first flights are those flown.
    legs : sequence of int      The leg of each of those.
    """
    mine = [k for k, leg in enumerate(legs) if int(entrant.prepared.schedule.trip[leg]) == end.trip]
    told = []
    if end.marks & Mark.MOVED:
        told.append("left the evening before" if _own_day(entrant, end) else "moved to another day")
    if end.marks & Mark.ADAPTED:
        told.append(_adapted(entrant, year, end.trip))
    if end.marks & Mark.MARGINAL:
        words = [*dict.fromkeys(text for k in mine for text in judged.marginal(k)),
                 *_wind(entrant, day, year, sorted({legs[k] for k in mine}))]
        told.append(f"{RULE}: {', and '.join(words)}" if words else RULE)
    return "; ".join(told)


def _own_day(entrant: Entrant, end: TripEnd) -> bool:
    """Tell whether a trip that was moved left for its own day."""
    schedule = entrant.prepared.schedule
    return abs(end.departed_h - schedule.planned_h(int(schedule.first_leg[end.trip]))) < ANOTHER_DAY_H


def _adapted(entrant: Entrant, year: FlownYear, trip: int) -> str:
    """Tell what was given up so that the load fitted."""
    prepared = entrant.prepared
    gave_up, aircraft = year.rows.gave_up, cast("Equipped", year.plan.aircraft)
    if not gave_up.how[trip]:
        return "a stop for the load: with the fuel of the whole way not all of it would fit"
    names = [f"{name} {lb:g} lb" for name, lb in entrant.flyer.candidate.profile.removable_lb.items()]
    named = f" ({', '.join(names)})" if names else ""
    study = prepared.study
    left = f"{removable_lb(study.pilot, aircraft, study.assumptions):.0f} lb of gear left behind{named}"
    went, party = int(gave_up.apart[trip]), int(prepared.schedule.people[trip])
    gear = [left] if "leave_gear" in prepared.study.spec.when_it_does_not_fit else []
    by_car = [f"{went} of {party} went by car"] if went else []
    seats = ["seats taken out for freight"] if gave_up.how[trip] == Adaptation.SEATS_OUT else []
    follow = int(gave_up.follow[trip])
    rest = f"{follow} of {party}" if follow else "the rest of the load"
    twice = [f"each leg in two runs, {rest} with the second"] if gave_up.how[trip] == Adaptation.TWO_RUNS else []
    return f"not all of the load fitted: {', '.join(gear + by_car + twice + seats)}"


def _wind(entrant: Entrant, day: Day, year: FlownYear, legs: Sequence[int]) -> Iterator[str]:
    """Tell the wind at the ends of legs that is over the pilot's own limits, within their tolerance."""
    prepared = entrant.prepared
    gates, schedule, rules = prepared.sky.gates[year.gate_row], prepared.schedule, year.plan.pilot.rules
    slots = {f.leg: f.slot for f in year.log.legs}
    marginal = year.weather.marginal
    for leg in legs:
        column = schedule.looks.column[leg, slots[leg]]
        if marginal is None or not marginal.take(schedule.looks.hours.place(leg, column)):
            continue
        for place, hour in ((schedule.from_place, gates.hours.departure_i), (schedule.to_place, gates.hours.arrival_i)):
            i, airport = int(hour[leg, column]), prepared.places.airports[int(place[leg])]
            air = day.sky.surface.air_at(int(place[leg]), i)
            gust_kt, mean_kt = float(air.gust_kt[0]), float(air.mean_kt[0])
            clock = local_time(start_of_hour_h(i), airport.timezone, prepared.table.year).strftime("%H:%M")
            here, most_kt, spread_kt = f"at {airport.ident} at {clock}", rules.max_wind_kt, rules.max_gust_spread_kt
            if gust_kt > most_kt:
                yield f"wind to {beside(gust_kt, most_kt)} kt {here}, {most_kt:g} accepted"
            elif gust_kt - mean_kt > spread_kt:
                yield (f"gusts {beside(gust_kt - mean_kt, spread_kt)} kt above the mean wind {here}, "
                       f"{spread_kt:g} accepted")
