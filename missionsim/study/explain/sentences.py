"""Why a leg did not go at an hour, in a plain sentence with the margin in its own unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.words import BIT, EXPLAINED, Reason
from missionsim.decide.minima import LOOK_BEFORE_H
from missionsim.physics.atmosphere import density_altitude_ft
from missionsim.study.replicate.exact_reasons import JudgedFlights, beside
from missionsim.world.airports.table import Airport
from missionsim.world.random_fields.hours import start_of_hour_h
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.year.looked_slots import AIR_SLOTS
from missionsim.year.trips import local_time

if TYPE_CHECKING:
    from missionsim.decide.gate_plan import GatePlan
    from missionsim.study.prepare.study import Entrant, Prepared
    from missionsim.study.replicate.one_year import Day, FlownYear
    from missionsim.year.records import TripEnd



@dataclass(frozen=True, slots=True)
class StoppedTrip:
    """One trip of one candidate's replication, and the leg and slot at which its fate is told.

    `rows`: entries of `judged` that are the flights of that leg's itinerary.
    """

    entrant: Entrant
    day: Day
    year: FlownYear
    end: TripEnd
    leg: int
    slot: int
    judged: JudgedFlights
    rows: range

    @property
    def prepared(self) -> Prepared:
        """The study."""
        return self.entrant.prepared

    @property
    def gates(self) -> GatePlan:
        """What ceilings and visibility were held against."""
        return self.prepared.sky.gates[self.year.gate_row]

    @property
    def time_h(self) -> float:
        """Departure looked at, UTC hours of the year."""
        return float(self.prepared.schedule.start_h[self.leg]) + self.slot

    @property
    def column(self) -> int:
        """The slot among the columns of `Schedule.looks`."""
        return int(self.prepared.schedule.looks.column[self.leg, self.slot])

    def row_with(self, reason: Reason) -> int:
        """Return the flight that the reason stands against, the first where the exact plan sees none."""
        hit = [i for i in self.rows if int(self.judged.found.bits[i]) & BIT[reason]]
        rows = self.judged.found.row[list(self.rows)]
        leg, column = np.full(len(rows), self.leg), np.full(len(rows), self.column)
        reasons = self.year.rows.reasons[self.column % AIR_SLOTS, self.year.plan.cells.cell_of(leg, rows, column)]
        batch = [i for i, bits in zip(self.rows, reasons.tolist(), strict=True) if bits & BIT[reason]]
        return (hit or batch or list(self.rows))[0]

    def over(self, name: str) -> Array:
        """Return cloud or storms over the sample points of the way, by the name in `Enroute`."""
        enroute = self.day.enroute
        values: Array = getattr(enroute, name)[enroute.cell[self.gates.way[self.leg], self.slot // AIR_SLOTS]]
        return values

    def ends(self) -> tuple[Airport, Airport]:
        """Return the airports of the leg."""
        schedule, airports = self.prepared.schedule, self.prepared.places.airports
        return airports[int(schedule.from_place[self.leg])], airports[int(schedule.to_place[self.leg])]

    def clock(self, time_h: float, place: Airport) -> str:
        """Return a local time of day."""
        return local_time(time_h, place.timezone, self.prepared.table.year).strftime("%H:%M")


def explain_reason(stopped: StoppedTrip, reason: Reason) -> str:
    """Return the reason as a sentence with its margin, without the closing stop."""
    of_the_day = _OF_THE_DAY.get(reason)
    return (of_the_day(stopped) if of_the_day else _judged(stopped, reason)) or EXPLAINED[reason]


def _judged(stopped: StoppedTrip, reason: Reason) -> str:
    """Tell a reason of the aircraft or the fields as the exact plan finds it, with the air where that counts."""
    i = stopped.row_with(reason)
    words = ", and ".join(dict.fromkeys(why.words for why in stopped.judged.why(i, reason)))
    return words + _air(stopped, i) if words and reason in {Reason.RUNWAY, Reason.CLIMB} else words


def _air(stopped: StoppedTrip, i: int) -> str:
    found, (here, _) = stopped.judged.found, stopped.judged.airports(i)
    density_ft = float(density_altitude_ft(found.takeoff.pressure_altitude_ft[i], found.takeoff.temperature_c[i]))
    return (f"; at {stopped.clock(float(found.depart_h[i]), here)}, "
            f"density altitude {round(density_ft, -2):,.0f} ft at {here.ident}")


def _ceiling(stopped: StoppedTrip) -> str:
    """Tell departure before arrival: the chance that was forecast at the last look, and what it turned out to be."""
    gates, surface = stopped.gates, stopped.day.sky.surface
    schedule = stopped.prepared.schedule
    leave, arrive = (int(x[stopped.leg, stopped.column]) for x in (gates.hours.departure_i, gates.hours.arrival_i))
    start, goal = stopped.ends()
    from_place, to_place = int(schedule.from_place[stopped.leg]), int(schedule.to_place[stopped.leg])
    if bool(surface.below(gates.thresholds.takeoff, from_place, leave)):
        wanted = _minimum(*stopped.year.plan.pilot.takeoff)
        return f"{_weather(stopped, from_place, leave, start)}; {wanted} wanted to depart"
    chance = float(surface.chance_below(gates.thresholds.landing, to_place, arrive, leave - LOOK_BEFORE_H))
    risk = gates.risks.destination
    minima = gates.landing
    minimum, least = (_minimum(minima.ceiling_ft[to_place], minima.visibility_sm[to_place], word)
                      for word in ("and", "or"))
    seen = _weather(stopped, to_place, arrive, goal)
    if chance >= risk:
        return f"{chance * 100:.0f} % chance of less than {least} forecast for {goal.ident} (it turned out: {seen})"
    if bool(surface.below(gates.thresholds.landing, to_place, arrive)):
        return f"{seen} on arrival; {minimum} wanted"
    if gates.instrument and not bool(gates.visual_leg[stopped.leg]):
        return f"no alternate near {goal.ident} forecast good enough"
    return f"low weather forecast on the visual way to {goal.ident}"


def _minimum(ceiling_ft: float, visibility_sm: float, word: str = "and") -> str:
    return f"{ceiling_ft:,.0f} ft {word} {visibility_sm:g} sm"


def _weather(stopped: StoppedTrip, place: int, hour: int, airport: Airport) -> str:
    surface = stopped.day.sky.surface
    ceiling_ft, sight_sm = float(surface.ceiling_ft(place, hour)), float(surface.visibility_sm(place, hour))
    ceiling = "no ceiling" if ceiling_ft >= UNLIMITED_FT else f"ceiling {round(ceiling_ft, -2):,.0f} ft"
    sight = "over 6 sm" if sight_sm > 6.0 else "under 1/4 sm" if sight_sm < 0.25 else f"{sight_sm:.2g} sm"
    return f"{ceiling}, visibility {sight} at {airport.ident} at {stopped.clock(start_of_hour_h(hour), airport)}"


def _icing(stopped: StoppedTrip) -> str:
    base_ft, top_ft = stopped.over("base_ft"), stopped.over("top_ft")
    cloudy = (base_ft < UNLIMITED_FT) & (base_ft > -1e4)
    if not cloudy.any():
        return ""
    start, goal = stopped.ends()
    return (f"no usable level free of freezing cloud between {start.ident} and {goal.ident}: cloud from "
            f"{round(float(base_ft[cloudy].min()), -2):,.0f} to {round(float(top_ft[cloudy].max()), -2):,.0f} ft")


def _thunderstorm(stopped: StoppedTrip) -> str:
    coverage = stopped.over("coverage")
    start, goal = stopped.ends()
    return f"storms cover up to {float(coverage.max()) * 100:.0f} % of the sky between {start.ident} and {goal.ident}"


def _wind(stopped: StoppedTrip) -> str:
    gates, sky, plan = stopped.gates, stopped.day.sky, stopped.year.plan
    places = stopped.prepared.schedule.from_place, stopped.prepared.schedule.to_place
    hours = gates.hours.departure_i, gates.hours.arrival_i
    most_kt, spread_kt = plan.pilot.rules.max_wind_kt, plan.pilot.rules.max_gust_spread_kt
    for place, hour, airport in zip(places, hours, stopped.ends(), strict=True):
        i = int(hour[stopped.leg, stopped.column])
        air = sky.surface.air_at(int(place[stopped.leg]), i)
        gust_kt, mean_kt = float(air.gust_kt[0]), float(air.mean_kt[0])
        where = f"at {airport.ident} at {stopped.clock(start_of_hour_h(i), airport)}"
        if gust_kt > most_kt:
            return f"wind to {beside(gust_kt, most_kt)} kt {where}, {most_kt:g} accepted"
        if gust_kt - mean_kt > spread_kt:
            above = beside(gust_kt - mean_kt, spread_kt)
            return f"gusts {above} kt above the mean wind {where}, {spread_kt:g} accepted"
    return _judged(stopped, Reason.WIND)


def _turbulence(stopped: StoppedTrip) -> str:
    row = stopped.judged.found.row[stopped.rows.start:stopped.rows.stop]
    air = stopped.year.air.at(stopped.year.plan.rows.lane[row], np.full(len(row), stopped.slot // AIR_SLOTS))
    wind_kt = np.hypot(air.headwind_kt[:, 0], air.crosswind_kt[:, 0])
    limit_kt = stopped.year.plan.assumptions["flight.ridge_wind_kt"]
    most_kt = float(wind_kt.max())
    return f"{beside(most_kt, limit_kt)} kt over the mountains at the lowest clear level, {limit_kt:g} accepted" \
        if most_kt > limit_kt else ""


def _duty(stopped: StoppedTrip) -> str:
    limits = stopped.year.plan.pilot.limits
    return f"the pilot's day would be longer than {limits.max_duty_h:g} h, or than " \
           f"{limits.max_flight_per_day_h:g} h of flight"


def _maintenance(stopped: StoppedTrip) -> str:
    schedule = stopped.prepared.schedule
    until_h = float(schedule.start_h[stopped.leg] + schedule.last_slot[stopped.leg])
    visits = [v for v in stopped.year.log.shop if v.trip == stopped.end.trip
              or (v.start_h <= until_h and v.end_h >= stopped.time_h)]
    if not visits:
        return "the aircraft was away from home with a fault, or waiting for a spare day at the shop"
    visit = max(visits, key=lambda v: v.end_h)      # what it was still waiting for
    year, place = stopped.prepared.table.year, stopped.prepared.places.airports[int(visit.place)]
    first, last = (local_time(t, place.timezone, year) for t in (visit.start_h, visit.end_h))
    kind = str(visit.kind).replace("_", " ")
    article = "an" if kind[0] in "aeiou" else "a"
    return f"at the shop at {place.ident} for {article} {kind}, {first:%d %b} to {last:%d %b}"


def _booked(stopped: StoppedTrip) -> str:
    return "the aircraft had not come back from the trip before"


_OF_THE_DAY: dict[Reason, Callable[[StoppedTrip], str]] = {
    Reason.CEILING: _ceiling, Reason.VISIBILITY: _ceiling, Reason.ICING: _icing, Reason.THUNDERSTORM: _thunderstorm,
    Reason.WIND: _wind, Reason.TURBULENCE: _turbulence, Reason.DUTY: _duty, Reason.MAINTENANCE: _maintenance,
    Reason.BOOKED: _booked,
}
