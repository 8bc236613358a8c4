"""All that the weather of a replication says about one candidate's legs, and the surface air at its fields."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from math import ceil, floor

import numpy as np

from missionsim.base.arrays import Array, Bits, Bools, Ints
from missionsim.base.axes import axis, take
from missionsim.base.words import BIT, Reason
from missionsim.decide.alternates import alternate_fuel
from missionsim.decide.candidate_plan import CandidatePlan, Directions
from missionsim.decide.enroute_weather import Enroute, icing_levels, storm_bits
from missionsim.decide.gate_plan import GatePlan
from missionsim.decide.gate_stack import GateStack
from missionsim.decide.minima import CeilingView, look
from missionsim.decide.surface_weather import LegWeather
from missionsim.flight.batch import AirOnRoutes
from missionsim.flight.rules import Rules
from missionsim.physics.atmosphere import level_ft_of_pressure
from missionsim.world.random_fields.hours import HOURS, NEW_YEAR_INDEX, hour_index, start_of_hour_h
from missionsim.world.surface.air import AskedHours, SurfaceAir
from missionsim.world.surface.year import SurfaceYear
from missionsim.year.looked_slots import AIR_SLOTS, LookedHours
from missionsim.year.schedule import Schedule

FORTNIGHT_H = 336
OPENS_WITHIN_H = 12
"""A destination below minima is looked at for so long after arrival. [h]"""


@dataclass(frozen=True)
class WeatherSky:
    """Surface air of a replication; satisfies `sky.Sky`.

    `airport_row` [place]: row among the airports that keep their year, -1 for the others. `asked_hours`: their hours
    that flights are likely to ask for, drawn together; hours beyond them are drawn when somebody asks. `stack`: gates
    of all candidates likely to fly this weather, held against it together. `wanted` [leg]: those for which alternates
    are looked for; None for all.
    """

    surface: SurfaceYear
    airport_row: Ints
    asked_hours: AskedHours
    stack: GateStack | None = None
    wanted: Bools | None = None
    _views: list[CeilingView] = field(default_factory=list)
    _windy: dict[Rules, tuple[Bools, Bools]] = field(default_factory=dict)

    @cached_property
    def here(self) -> SurfaceAir:
        """Weather at the asked hours."""
        return self.surface.air.at(self.asked_hours.plan, self.surface.looked()[0])

    @cached_property
    def freezing(self) -> Bools:
        """Freezing rain or drizzle at the asked hours; only where it is cold and low enough is it looked for."""
        here, plan, a = self.here, self.asked_hours.plan, self.surface.climate.assumptions
        low, high = a["weather.freezing_rain_band_c"]
        out = np.zeros(len(here.latent), dtype=bool)
        some = np.flatnonzero((here.temperature_c >= low) & (here.temperature_c <= high)
                              & (here.latent < a["weather.freezing_rain_rank"]))
        out[some] = self.surface.clouds.freezing_rain(plan.place[some], plan.hour[some], here.temperature_c[some],
                                                      here.latent[some])
        return out

    def windy(self, rules: Rules) -> tuple[Bools, Bools]:
        """Return `own_wind` at the asked hours: candidates have the pilot's limits in common."""
        if rules not in self._windy:
            self._windy[rules] = own_wind(self.here, rules)
        return self._windy[rules]

    def drawn(self) -> WeatherSky:
        """Return itself with everything drawn that every candidate will ask for."""
        _ = self.here, self.freezing
        return self

    def held_against(self, gates: GatePlan, schedule: Schedule, forecasts: Array) -> GatesHeld:
        """Return what ceilings and visibility say of a candidate's hours; with the first that of all is found."""
        number, shape = None if self.stack is None else self.stack.number(gates), schedule.looks.hours.column.shape
        if self.stack is None or number is None:
            alone = GateStack.of([gates], schedule, self.asked_hours.index, self.surface.climate)
            return GatesHeld(alone, 0, self._view(alone, schedule, forecasts), shape)
        if not self._views:
            self._views.append(self._view(self.stack, schedule, forecasts))
        return GatesHeld(self.stack, number, self._views[0], shape)

    def _view(self, stack: GateStack, schedule: Schedule, forecasts: Array) -> CeilingView:
        mean, hours = forecasts.take(stack.forecast), schedule.looks.hours
        asked = None if self.wanted is None else np.tile(self.wanted.take(hours.leg), len(hours.column))
        fuel = alternate_fuel(stack, self.surface, mean, asked)
        return look(stack, self.surface, self.here.latent, forecasts, mean, fuel)

    def field_air(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return pressure altitude and temperature of fields at times."""
        pressure_hpa, temperature_c = self._read(place, time_h, "pressure_hpa", "temperature_c")
        return level_ft_of_pressure(pressure_hpa, check=False), temperature_c

    def surface_wind(self, place: Array, time_h: Array) -> tuple[Array, Array]:
        """Return eastward and northward wind at fields."""
        east_kt, north_kt = self._read(place, time_h, "east_kt", "north_kt")
        return east_kt, north_kt

    def at_fields(self, place: Array, time_h: Array) -> tuple[Array, Array, Array, Array]:
        """Return what `field_air` and `surface_wind` do, with one look for where each hour stands."""
        pressure_hpa, temperature_c, east_kt, north_kt = self._read(place, time_h, "pressure_hpa", "temperature_c",
                                                                    "east_kt", "north_kt")
        return level_ft_of_pressure(pressure_hpa, check=False), temperature_c, east_kt, north_kt

    def _read(self, place: Array, time_h: Array, *names: str) -> list[Array]:
        hour = np.minimum(np.maximum(hour_index(time_h), 0), HOURS - 1)
        at = self.asked_hours.index.take(self.airport_row.take(place) * HOURS + hour)
        every = [getattr(self.here, name) for name in names]
        # In a year without trips there is no asked hour to stand in for those beyond them.
        out = [values.take(at, mode="clip") if len(values) else np.empty(at.shape, values.dtype) for values in every]
        if at.min(initial=0) < 0:
            beyond = np.nonzero(at < 0)
            air = self.surface.air_at(np.broadcast_to(place, at.shape)[beyond], np.broadcast_to(hour, at.shape)[beyond])
            for values, name in zip(out, names, strict=True):
                values[beyond] = getattr(air, name)
        return out


@dataclass(frozen=True, slots=True)
class GatesHeld:
    """Gates of some candidates, which of them one's are, and what ceilings and visibility say of all.

    `shape`: of [hour, block looked at].
    """

    stack: GateStack
    number: int
    view: CeilingView
    shape: tuple[int, ...]

    def of(self, values: Array) -> Array:
        """Return values [gate, hour] of the one candidate, [hour, block]."""
        return values[self.number].reshape(self.shape)


@dataclass(frozen=True, slots=True)
class FieldLimits:
    """Runway directions a candidate can count on at the two ends of each leg, and daylight.

    `from_ends`, `to_ends` [end, leg], padded with NaN; a leg with none is judged end by end elsewhere.
    `dark` [leg, slot]: the flight would run into darkness that the pilot does not accept, on some way at least.
    """

    from_ends: Directions = axis("leg", at=1)
    to_ends: Directions = axis("leg", at=1)
    dark: Bools = axis("leg")

    def of_legs(self, legs: Ints) -> FieldLimits:
        """Return the limits of some legs."""
        return take(self, "leg", legs)


@dataclass(frozen=True, slots=True)
class Diversions:
    """What an arrival below minima leads to in one replication; satisfies `year.schedule.DiversionLook`."""

    gates: GatePlan
    schedule: Schedule
    surface: SurfaceYear

    def diversion(self, leg: int, slot: int) -> tuple[int, float]:
        """Return the nearest alternate above minima then, and the hours until the destination is, 99 past half a day.

        With everything near below minima the pilot goes back to where the weather was good enough to leave.
        """
        gates, schedule, spans = self.gates, self.schedule, self.surface.place_spans
        place, arrive = int(schedule.to_place[leg]), int(gates.hours.arrival_i[leg, schedule.looks.column[leg, slot]])
        landing, near = gates.thresholds.landing, [p for p in gates.alternates.place[place].tolist() if p >= 0]
        later = [min(arrive + hours_h, HOURS - 1) for hours_h in range(1, OPENS_WITHIN_H + 1)]
        spans.read([(place, later[0]), *((p, arrive) for p in near)])
        opens_h = (hours_h for hours_h, hour in enumerate(later, start=1) if not spans.below(landing, place, hour))
        usable = (p for p in near if not spans.below(landing, p, arrive))
        return next(usable, int(schedule.from_place[leg])), float(next(opens_h, 99))


@dataclass(frozen=True, slots=True)
class FairWeather:
    """When a pilot alone brings an aircraft over: by day, both places above minima; satisfies `year.schedule.FairLook`.

    Icing, storms and wind are not looked at again. `landing`: thresholds of the surface climate; `local_h`: first and
    last hour of departure, mean solar time.
    """

    surface: SurfaceYear
    landing: Array
    local_h: tuple[float, float]

    def next_fair_h(self, from_place: int, to_place: int, time_h: float) -> float:
        """Return the first fair hour at or after a time; after a fortnight without one the last hour looked at."""
        first = min(max(ceil(time_h) + NEW_YEAR_INDEX, 0), HOURS - 1)
        hours = range(first, min(first + FORTNIGHT_H, HOURS))
        (dawn_h, dusk_h), solar_h = self.local_h, self.surface.climate.longitude_deg[from_place] / 15.0
        by_day = (hour for hour in hours if dawn_h <= (start_of_hour_h(hour) + solar_h) % 24.0 <= dusk_h)
        for hour in by_day:
            if self._both_open(from_place, hour, to_place, hour):
                return float(start_of_hour_h(hour))
        return float(start_of_hour_h(hours[-1]))

    def lets_through(self, from_place: int, to_place: int, depart_h: float, flight_h: float) -> bool:
        """Tell whether one place is above minima at departure and the other on arrival.

        Parameters
        ----------
        from_place, to_place : int   Numbers of places.
        depart_h : float             UTC hours since the year began. [h]
        flight_h : float             From one to the other. [h]
        """
        leaves, arrives = (min(max(floor(time_h) + NEW_YEAR_INDEX, 0), HOURS - 1)
                           for time_h in (depart_h, depart_h + flight_h))
        return self._both_open(from_place, leaves, to_place, arrives)

    def _both_open(self, from_place: int, leaves: int, to_place: int, arrives: int) -> bool:
        """Tell whether one place is above minima at an hour and the other at another."""
        spans = self.surface.place_spans
        spans.read([(from_place, leaves), (to_place, arrives)])
        return not (spans.below(self.landing, from_place, leaves) or spans.below(self.landing, to_place, arrives))


def leg_weather(plan: CandidatePlan, gates: GatePlan, limits: FieldLimits, schedule: Schedule, sky: WeatherSky,
                enroute: Enroute, air: AirOnRoutes) -> LegWeather:
    """Return what weather says about a candidate's legs in a replication.

    Parameters
    ----------
    enroute : Enroute   Cloud and storms over ways.
    air : AirOnRoutes   In the candidate's cells.
    """
    hours = schedule.looks.hours
    held = sky.held_against(gates, schedule, enroute.forecasts)
    view, visual = held.view, gates.route_looks is not None
    at_departure, at_arrival = held.stack.departure_at.reshape(held.shape), held.of(held.stack.arrival_at)
    storm, detour = storm_bits(plan, enroute, gates.way, hours)
    wind, marginal = _wind_bits(plan, limits, hours, sky, at_departure, at_arrival)
    own = storm | wind
    dark: Bits = np.where(hours.of_columns(limits.dark), np.uint32(BIT[Reason.DAYLIGHT]), np.uint32(0))
    if not plan.pilot.rules.night:
        own |= dark
    # Freezing rain stops everybody, approved or not; what falls at either end is seen before leaving.
    rain = sky.freezing.take(at_departure) | sky.freezing.take(at_arrival)
    own |= np.where(rain, np.uint32(BIT[Reason.ICING]), np.uint32(0))
    bad_ahead = view.bad_ahead[held.number]
    leg, column = schedule.planned_column
    stormy = storm.take(hours.number[leg, column // AIR_SLOTS]) != 0
    return LegWeather(held.of(view.reasons) | own, held.of(view.below) & (own == 0), held.of(view.alternate_gal),
                      bad_ahead | stormy, np.broadcast_to(detour, held.shape),
                      icing_levels(plan, enroute, gates.way, air), held.of(view.visual_reasons) | dark,
                      held.of(view.ends) if visual else None, held.of(view.met_below) if visual else None,
                      Diversions(gates, schedule, sky.surface),
                      FairWeather(sky.surface, gates.thresholds.landing, tuple(plan.assumptions["year.ferry_local_h"])),
                      marginal, bad_ahead)


def _wind_bits(plan: CandidatePlan, limits: FieldLimits, hours: LookedHours, sky: WeatherSky,
               at_departure: Ints, at_arrival: Ints) -> tuple[Bits, Bits]:
    """Return the wind bit: too much wind, gusts or crosswind at either end; and where it is met marginally instead.

    The crosswind is the flight manual's limit, with no tolerance.
    """
    here, limit_kt = sky.here, plan.runways.crosswind_limit_kt
    over, bad = (at_hour.take(at_departure) | at_hour.take(at_arrival) for at_hour in sky.windy(plan.pilot.rules))
    strong = here.mean_kt > limit_kt
    for ends, at in ((limits.from_ends, at_departure), (limits.to_ends, at_arrival)):
        # Only where the wind could be across too much is the direction of runways looked at.
        open_ = np.flatnonzero(strong.take(at) & ~bad)
        then, leg = at.take(open_), hours.leg.take(open_ % len(hours.leg))
        across_kt = ends.take(leg, 1).across_kt(here.east_kt.take(then), here.north_kt.take(then))
        # Of no end at all the least is NaN, which is above no limit.
        bad.reshape(-1)[open_] = np.fmin.reduce(across_kt, axis=0) > limit_kt
    bit = np.uint32(BIT[Reason.WIND])
    return np.where(bad, bit, np.uint32(0)), np.where(over & ~bad, bit, np.uint32(0))


def own_wind(here: SurfaceAir, rules: Rules) -> tuple[Bools, Bools]:
    """Return where wind or gusts are over the pilot's own limits, and where by more than their tolerance."""
    spread_kt, spare = here.gust_kt - here.mean_kt, 1.0 + rules.tolerance_share
    return ((here.gust_kt > rules.max_wind_kt) | (spread_kt > rules.max_gust_spread_kt),
            (here.gust_kt > spare * rules.max_wind_kt) | (spread_kt > spare * rules.max_gust_spread_kt))
