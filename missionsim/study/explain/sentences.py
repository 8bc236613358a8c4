"""Why a leg did not go at an hour, in a plain sentence with the margin in its own unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.words import BIT, EXPLAINED, Reason
from missionsim.decide.minima import LOOK_BEFORE_H
from missionsim.physics.atmosphere import density_altitude_ft
from missionsim.study.replicate.exact_plans import ExactRows, FieldCheck
from missionsim.world.airports.table import Airport
from missionsim.world.random_fields.hours import start_of_hour_h
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.year.schedule import AIR_SLOTS
from missionsim.year.trips import local_time

if TYPE_CHECKING:
    from missionsim.study.prepare.study import Prepared
    from missionsim.study.replicate.one_year import Day, FlownYear
    from missionsim.year.records import TripEnd

Array = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Case:
    """One trip of one candidate's replication, and the leg and slot at which its fate is told.

    `rows`: entries of `found` that are the flights of that leg's itinerary.
    """

    prepared: Prepared
    number: int
    day: Day
    year: FlownYear
    end: TripEnd
    leg: int
    slot: int
    found: ExactRows
    rows: range

    @property
    def time_h(self) -> float:
        """Departure looked at, UTC hours of the year."""
        return float(self.prepared.schedule.start_h[self.leg]) + self.slot

    def row_with(self, reason: Reason) -> int:
        """Return the flight that the reason stands against, the first where the exact plan sees none."""
        hit = [i for i in self.rows if int(self.found.bits[i]) & BIT[reason]]
        batch = [i for i in self.rows if int(self.year.rows.reasons[self.found.row[i], self.slot]) & BIT[reason]]
        return (hit or batch or list(self.rows))[0]

    def airport(self, i: int, landing: bool = False) -> Airport:
        """Return the airport a flight leaves or reaches."""
        rows = self.year.plan.rows
        return self.prepared.places.airports[int((rows.to_place if landing else rows.from_place)[self.found.row[i]])]

    def over(self, name: str) -> Array:
        """Return cloud or storms over the sample points of the way, by the name in `Enroute`."""
        way = self.prepared.sky.gates[self.number].way[self.leg]
        values: Array = getattr(self.day.enroute, name)[way, self.slot // AIR_SLOTS]
        return values

    def ends(self) -> tuple[Airport, Airport]:
        """Return the airports of the leg."""
        schedule, airports = self.prepared.schedule, self.prepared.places.airports
        return airports[int(schedule.from_place[self.leg])], airports[int(schedule.to_place[self.leg])]

    def clock(self, time_h: float, place: Airport) -> str:
        """Return a local time of day."""
        return local_time(time_h, place.timezone, self.prepared.table.year).strftime("%H:%M")


def told(case: Case, reason: Reason) -> str:
    """Return the reason as a sentence with its margin, without the closing stop."""
    teller = _TELLERS.get(reason)
    text = teller(case) if teller else ""
    return text or EXPLAINED[reason]


def _seats(case: Case) -> str:
    people = int(case.prepared.schedule.people[case.end.trip])
    seats = sum(s.seats for s in case.prepared.flyers[case.number].candidate.profile.stations)
    return f"{people} people for {seats} seats"


def _payload(case: Case) -> str:
    i = case.row_with(Reason.PAYLOAD)
    trip = case.end.trip
    if not bool(case.year.rows.loads.bags_ok[trip]):
        bags_lb = case.prepared.table[trip].bags_lb
        return f"{bags_lb:,.0f} lb of bags and freight find no place within the limits of baggage space and free seats"
    over_gal = case.found.exact.required_gal[i] - case.year.plan.fuel.taxi_gal - case.found.allowed_gal[i]
    over_lb = over_gal * case.year.plan.fuel.lb_per_gal
    place = case.airport(i)
    if over_lb > 0.5:
        return f"{over_lb:,.0f} lb over the take-off weight at {place.ident} with the fuel needed"
    limit_lb = case.prepared.flyers[case.number].candidate.profile.max_landing_lb
    over_lb = case.found.exact.landing_lb[i] - limit_lb
    return f"{over_lb:,.0f} lb over the landing weight at {case.airport(i, True).ident}" if over_lb > 0.5 else ""


def _balance(case: Case) -> str:
    i = case.row_with(Reason.BALANCE)
    margin_in = float(np.nanmin(case.found.balance.margin_in[:, i]))
    return f"centre of gravity {-margin_in:.1f} in outside the envelope" if margin_in < 0.0 else ""


def _range(case: Case) -> str:
    i = case.row_with(Reason.RANGE)
    short_gal = case.found.exact.required_gal[i] - case.year.plan.usable_gal
    if short_gal > 0.05:
        return (f"{short_gal:.0f} gal more than the tanks hold from {case.airport(i).ident} to "
                f"{case.airport(i, True).ident}, reserve included")
    return f"the wind on the way to {case.airport(i, True).ident} leaves no usable level"


def _runway(case: Case) -> str:
    i = case.row_with(Reason.RUNWAY)
    for check, landing, what in ((case.found.takeoff, False, "take-off"), (case.found.landing, True, "landing")):
        if int(check.bits[i]) & BIT[Reason.RUNWAY]:
            place = case.airport(i, landing)
            need_ft, there_ft = float(check.required_ft[i]), float(check.available_ft[i])
            if not np.isfinite(need_ft):
                return f"{what} at {place.ident} lies outside the tables of the flight manual{_air(check, i)}"
            return (f"{need_ft - there_ft:,.0f} ft short for {what} at {place.ident} at "
                    f"{case.clock(float(case.found.depart_h[i]), place)}: {need_ft:,.0f} ft wanted with the margin, "
                    f"{there_ft:,.0f} ft there{_air(check, i)}")
    return ""


def _air(check: FieldCheck, i: int) -> str:
    density_ft = float(density_altitude_ft(check.pressure_altitude_ft[i], check.temperature_c[i]))
    return f", density altitude {round(density_ft, -2):,.0f} ft"


def _surface(case: Case) -> str:
    i = case.row_with(Reason.SURFACE)
    for check, landing in ((case.found.takeoff, False), (case.found.landing, True)):
        if int(check.bits[i]) & BIT[Reason.SURFACE]:
            place = case.airport(i, landing)
            kinds = sorted({e.surface.replace("_", " or ") for e in place.ends}) or ["no known"]
            return f"{place.ident} has only {' and '.join(kinds)} runway, which this aircraft is kept off"
    return ""


def _climb(case: Case) -> str:
    i = case.row_with(Reason.CLIMB)
    gradient, least = float(case.found.gradient_ft_per_nm[i]), case.year.plan.least_gradient_ft_per_nm
    place = case.airport(i)
    if not gradient >= least:
        got = f"{gradient:.0f} ft per nm" if np.isfinite(gradient) else "not in the tables"
        return f"climb after take-off at {place.ident} {got}, {least:.0f} wanted{_air(case.found.takeoff, i)}"
    return (f"too weak a climb at {_lowest_level(case, i)}, the lowest level that clears the way from {place.ident} to "
            f"{case.airport(i, True).ident}, at this weight and temperature")


def _lowest_level(case: Case, i: int) -> str:
    lowest_ft = float(case.year.plan.table.rows.lowest_ft[case.found.row[i]])
    return f"{round(lowest_ft, -2):,.0f} ft" if np.isfinite(lowest_ft) else "any level"


def _terrain(case: Case) -> str:
    i = case.row_with(Reason.TERRAIN)
    return (f"the way from {case.airport(i).ident} to {case.airport(i, True).ident} clears the ground only from "
            f"{_lowest_level(case, i)}, bent routes included")


def _oxygen(case: Case) -> str:
    i = case.row_with(Reason.OXYGEN)
    return f"{_lowest_level(case, i)} is the lowest level that clears the way, and there is no oxygen on board"


def _ceiling(case: Case) -> str:
    """Tell departure before arrival: the chance that was forecast at the last look, and what it turned out to be."""
    gates, schedule, surface = case.prepared.sky.gates[case.number], case.prepared.schedule, case.day.sky.surface
    leave, arrive = (int(x[case.leg, case.slot]) for x in (gates.departure_i, gates.arrival_i))
    start, goal = case.ends()
    from_place, to_place = int(schedule.from_place[case.leg]), int(schedule.to_place[case.leg])
    if bool(surface.below(gates.takeoff, from_place, leave)):
        wanted = _minimum(*case.year.plan.takeoff_minimum)
        return f"{_weather(case, from_place, leave, start)}; {wanted} wanted to depart"
    chance = float(surface.chance_below(gates.landing, to_place, arrive, leave - LOOK_BEFORE_H))
    risk = gates.risk_destination if gates.instrument else gates.risk_visual
    minima = gates.landing_minima
    minimum, least = (_minimum(minima.ceiling_ft[to_place], minima.visibility_sm[to_place], word)
                      for word in ("and", "or"))
    seen = _weather(case, to_place, arrive, goal)
    if chance >= risk:
        return f"{chance * 100:.0f} % chance of less than {least} forecast for {goal.ident} (it turned out: {seen})"
    if bool(surface.below(gates.landing, to_place, arrive)):
        return f"{seen} on arrival; {minimum} wanted"
    if gates.instrument and not bool(gates.visual_leg[case.leg]):
        return f"no alternate near {goal.ident} forecast good enough"
    return f"low weather forecast on the visual way to {goal.ident}"


def _minimum(ceiling_ft: float, visibility_sm: float, word: str = "and") -> str:
    return f"{ceiling_ft:,.0f} ft {word} {visibility_sm:g} sm"


def _weather(case: Case, place: int, hour: int, airport: Airport) -> str:
    surface = case.day.sky.surface
    ceiling_ft, sight_sm = float(surface.ceiling_ft(place, hour)), float(surface.visibility_sm(place, hour))
    ceiling = "no ceiling" if ceiling_ft >= UNLIMITED_FT else f"ceiling {round(ceiling_ft, -2):,.0f} ft"
    sight = "over 6 sm" if sight_sm > 6.0 else "under 1/4 sm" if sight_sm < 0.25 else f"{sight_sm:.2g} sm"
    return f"{ceiling}, visibility {sight} at {airport.ident} at {case.clock(start_of_hour_h(hour), airport)}"


def _icing(case: Case) -> str:
    base_ft, top_ft = case.over("base_ft"), case.over("top_ft")
    cloudy = (base_ft < UNLIMITED_FT) & (base_ft > -1e4)
    if not cloudy.any():
        return ""
    start, goal = case.ends()
    return (f"no usable level free of freezing cloud between {start.ident} and {goal.ident}: cloud from "
            f"{round(float(base_ft[cloudy].min()), -2):,.0f} to {round(float(top_ft[cloudy].max()), -2):,.0f} ft")


def _thunderstorm(case: Case) -> str:
    coverage = case.over("coverage")
    start, goal = case.ends()
    return f"storms cover up to {float(coverage.max()) * 100:.0f} % of the sky between {start.ident} and {goal.ident}"


def _wind(case: Case) -> str:
    gates, sky, plan = case.prepared.sky.gates[case.number], case.day.sky, case.year.plan
    places = case.prepared.schedule.from_place, case.prepared.schedule.to_place
    for place, hour, airport in zip(places, (gates.departure_i, gates.arrival_i), case.ends(), strict=True):
        i = int(hour[case.leg, case.slot])
        air = sky.surface.air_at(int(place[case.leg]), i)
        gust_kt, mean_kt = float(air.gust_kt[0]), float(air.mean_kt[0])
        where = f"at {airport.ident} at {case.clock(start_of_hour_h(i), airport)}"
        if gust_kt > plan.rules.max_wind_kt:
            return f"wind to {gust_kt:.0f} kt {where}, {plan.rules.max_wind_kt:.0f} accepted"
        if gust_kt - mean_kt > plan.rules.max_gust_spread_kt:
            return f"gusts {gust_kt - mean_kt:.0f} kt above the mean wind {where}, " \
                   f"{plan.rules.max_gust_spread_kt:.0f} accepted"
    i = case.row_with(Reason.WIND)
    for check, landing in ((case.found.takeoff, False), (case.found.landing, True)):
        if abs(float(check.crosswind_kt[i])) > plan.crosswind_limit_kt:
            return (f"{abs(float(check.crosswind_kt[i])):.0f} kt across the best runway of "
                    f"{case.airport(i, landing).ident}, {plan.crosswind_limit_kt:.0f} accepted")
    return ""


def _turbulence(case: Case) -> str:
    air_slot = case.slot // AIR_SLOTS
    lanes, air = case.year.plan.rows.lane[case.found.row[case.rows.start:case.rows.stop]], case.year.air
    wind_kt = np.hypot(air.headwind_kt[lanes, air_slot, 0], air.crosswind_kt[lanes, air_slot, 0])
    limit_kt = case.year.plan.assumptions["flight.ridge_wind_kt"]
    return f"{float(wind_kt.max()):.0f} kt over the mountains at the lowest clear level, {limit_kt:.0f} accepted" \
        if float(wind_kt.max()) > limit_kt else ""


def _duty(case: Case) -> str:
    limits = case.year.plan.limits
    return f"the pilot's day would be longer than {limits.max_duty_h:g} h, or than " \
           f"{limits.max_flight_per_day_h:g} h of flight"


def _maintenance(case: Case) -> str:
    visits = [v for v in case.year.log.shop if v.start_h <= case.time_h <= v.end_h or v.trip == case.end.trip]
    if not visits:
        return "the aircraft was away from home with a fault, or waiting for a spare day at the shop"
    visit = visits[0]
    year, place = case.prepared.table.year, case.prepared.places.airports[int(visit.place)]
    first, last = (local_time(t, place.timezone, year) for t in (visit.start_h, visit.end_h))
    kind = str(visit.kind).replace("_", " ")
    article = "an" if kind[0] in "aeiou" else "a"
    return f"at the shop at {place.ident} for {article} {kind}, {first:%d %b} to {last:%d %b}"


def _booked(case: Case) -> str:
    return "the aircraft had not come back from the trip before"


_TELLERS: dict[Reason, Callable[[Case], str]] = {
    Reason.SEATS: _seats, Reason.PAYLOAD: _payload, Reason.BALANCE: _balance, Reason.RANGE: _range,
    Reason.RUNWAY: _runway, Reason.SURFACE: _surface, Reason.CLIMB: _climb, Reason.TERRAIN: _terrain,
    Reason.OXYGEN: _oxygen, Reason.CEILING: _ceiling, Reason.VISIBILITY: _ceiling, Reason.ICING: _icing,
    Reason.THUNDERSTORM: _thunderstorm, Reason.WIND: _wind, Reason.TURBULENCE: _turbulence, Reason.DUTY: _duty,
    Reason.MAINTENANCE: _maintenance, Reason.BOOKED: _booked,
}
