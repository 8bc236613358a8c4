"""One candidate made ready for a study: its flights as rows, itineraries as options, and limits that never change."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints, Ints8
from missionsim.base.assumptions import Assumptions
from missionsim.base.axes import APART, axis
from missionsim.decide.cells import AirCells, first_alike
from missionsim.flight.batch import LevelLimits
from missionsim.flight.minima import Minima, VisualMinimum
from missionsim.flight.rules import Rules
from missionsim.flight.stops import CoarseFlight
from missionsim.flight.table import FlightTable, FuelPolicy
from missionsim.year.aircraft import TripLimits


@dataclass(frozen=True, slots=True)
class RowIndex:
    """What each row of a candidate's flight table belongs to; arrays [row].

    `option`, `leg`, `trip`: the itinerary, leg and trip it serves; rows of an option stand together in flying order.
    `lane`: row of the lane set that carries its air. `offset_h`: nominal start after the leg's departure.
    `comfort_h`: longest flight the people on board accept. `way`: which of the ways between its two places it flies.
    `lane_set`: which of the study's lane sets the lanes are rows of.
    """

    option: Ints = axis(APART)
    leg: Ints = axis(APART)
    trip: Ints = axis(APART)
    lane: Ints = axis("row")
    from_place: Ints = axis("row")
    to_place: Ints = axis("row")
    offset_h: Array = axis("row")
    comfort_h: Array = axis("row")
    people: Ints = axis("row")
    way: Ints = axis("row")
    lane_set: int = axis(APART, default=0)

    def same_flight(self) -> Ints:
        """Return the first row that is the same flight as each: of its leg and load, by its lane, after as many hours.

        Itineraries that part on one flight alone, by ways around high ground or by a stop, have the others in common.
        """
        return first_alike(self.leg, self.trip, self.lane, self.offset_h)


@dataclass(frozen=True, slots=True)
class OptionIndex:
    """Itineraries: `first_row` [option + 1], `leg` [option], and per leg its options, padded with -1 [leg, m].

    `visual` [option]: flown under visual rules, so that the weather of the way and daylight count.
    """

    first_row: Ints
    leg: Ints
    of_leg: Ints
    visual: Bools


@dataclass(frozen=True, slots=True)
class Directions:
    """Directions of runway ends, kept as sine and cosine of their headings since every replication asks for those.

    Arrays of one shape; NaN stands for no end.
    """

    sine: Array
    cosine: Array

    @classmethod
    def of(cls, heading_deg: Array) -> Directions:
        """Return the directions of headings."""
        heading = np.radians(heading_deg)
        return cls(np.sin(heading), np.cos(heading))

    def take(self, index: Ints, axis: int = 0) -> Directions:
        """Return some of them along an axis."""
        return Directions(self.sine.take(index, axis), self.cosine.take(index, axis))

    def along_kt(self, east_kt: Array, north_kt: Array) -> Array:
        """Return the headwind on each end from eastward and northward wind; arrays broadcast. [kt]"""
        return -(east_kt * self.sine + north_kt * self.cosine)

    def across_kt(self, east_kt: Array, north_kt: Array) -> Array:
        """Return the crosswind on each end, from either side; arrays broadcast. [kt]"""
        return np.abs(north_kt * self.sine - east_kt * self.cosine)


@dataclass(frozen=True, slots=True)
class CoolAir:
    """Up to which temperature fields do for sure in calm: in any hour that is cooler, no higher and no heavier they do.

    `warmest_c` [k, step]: for flights no more than `over_lb` [step] heavier than `nominal_lb` [k], minus infinity where
    no temperature tried does; `altitude_ft` [k]: highest pressure altitude. `tried_c` [t]: temperatures tried, rising.
    `needed` [k, step, t]: the share of the field that is needed; kept where figures are drawn about, see `scaled`.
    """

    warmest_c: Array = axis("field_row")
    altitude_ft: Array = axis("field_row")
    nominal_lb: Array = axis("field_row")
    over_lb: Array = axis(APART)
    tried_c: Array = axis(APART)
    needed: Array | None = axis("field_row", default=None)

    def holds(self, k: Ints, altitude_ft: Array, temperature_c: Array, weight_lb: Array) -> Bools:
        """Tell which movements [n] do for sure in calm.

        Parameters
        ----------
        k : (n,) int array            Which of the fields each is at.
        altitude_ft : (n,) array      Pressure altitude. [ft]
        temperature_c : (n,) array    [°C]
        weight_lb : (n,) array        [lb]
        """
        over_lb, at = weight_lb - self.nominal_lb.take(k), k * len(self.over_lb)
        for less_lb in self.over_lb[:-1]:
            at += over_lb > less_lb
        held = temperature_c <= self.warmest_c.reshape(-1).take(at)
        held &= (temperature_c >= self.tried_c[0]) & (altitude_ft <= self.altitude_ft.take(k))
        held &= over_lb <= self.over_lb[-1]
        return np.asarray(held)

    def scaled(self, factor: float) -> CoolAir:
        """Return that of an aircraft which needs so many times as much.

        Without `needed` nothing is sure of one that needs more.
        """
        if self.needed is not None:
            return replace(self, warmest_c=warmest_of(self.needed * factor, self.tried_c))
        return self if factor <= 1.0 else replace(self, warmest_c=np.full_like(self.warmest_c, -np.inf))


def warmest_of(needed: Array, tried_c: Array) -> Array:
    """Return the warmest of the temperatures tried, [...], up to which no more is needed, [..., t], than there is."""
    return np.append(np.float32(-np.inf), tried_c).take(np.logical_and.accumulate(needed <= 1.0, axis=-1).sum(axis=-1))


@dataclass(frozen=True, slots=True)
class FieldRows:
    """Rows whose runway is not plainly long enough: which rows, and the runway ends at the airport in question.

    Ends are padded to the same number, with length NaN: arrays [k, end]. `surface_factor` lengthens the distance
    needed; `accepted` says whether the owner uses the surface. `both_ways_ft` [k]: longest runway accepted in both
    directions, on a hard surface's scale; `both_ways` [k, 2]: its ends. `cool`: in which air it is long enough.
    """

    row: Ints = axis(APART)
    place: Ints = axis("field_row")
    ends: Directions = axis("field_row")
    length_ft: Array = axis("field_row")
    surface_factor: Array = axis("field_row")
    accepted: Bools = axis("field_row")
    both_ways_ft: Array = axis("field_row")
    both_ways: Ints8 = axis("field_row")
    cool: CoolAir | None = axis("field_row", default=None)

    def ways(self, k: Ints) -> Directions:
        """Return the two directions of the longest runway both ways of some rows, [n, 2]."""
        at = k[:, None] * self.length_ft.shape[1] + self.both_ways.take(k, axis=0)
        return Directions(self.ends.sine.reshape(-1).take(at), self.ends.cosine.reshape(-1).take(at))

    def scaled(self, factor: float) -> FieldRows:
        """Return them for an aircraft that takes so many times the distance."""
        return self if self.cool is None else replace(self, cool=self.cool.scaled(factor))


@dataclass(frozen=True, slots=True)
class Loads:
    """Loads of a replication by trip: weights without fuel, and whether people and bags fit."""

    zero_fuel_lb: Array
    zero_fuel_moment_lb_in: Array
    seats_ok: Bools
    bags_ok: Bools


def weight_before_tanks(required_gal: Array, allowed_gal: Array, usable_gal: float) -> Bools:
    """Tell where fuel that the tanks do not hold is kept out by weight first, arrays of one shape. [gal]

    That is where the load leaves more of the tanks empty than the way wants beyond them: larger ones would change
    nothing, and stops were looked for with the fuel that the load leaves room for.
    """
    return np.asarray((required_gal > usable_gal) & (usable_gal - allowed_gal > required_gal - usable_gal))


class PlannedAircraft(Protocol):
    """What the year asks of an aircraft beside its flight table; arrays in, arrays out."""

    @property
    def max_landing_lb(self) -> float:
        """Landing weight limit. [lb]"""
        ...

    def loads(self, people_lb: Array, bags_lb: Array, extra_empty_lb: Array | float = 0.0) -> Loads:
        """Return loads of trips from weights of people [trip, seat] and bags [trip]."""
        ...

    def max_fuel_gal(self, zero_fuel_lb: Array) -> Array:
        """Return the usable fuel that weight limits and tanks allow. [gal]"""
        ...

    def balance_ok(self, zero_fuel_lb: Array, zero_fuel_moment_lb_in: Array, fuel_gal: Array) -> Bools:
        """Tell whether the centre of gravity is inside the envelope."""
        ...

    def takeoff_ft(self, pressure_altitude_ft: Array, temperature_c: Array, weight_lb: Array, headwind_kt: Array,
                   ) -> Array:
        """Return the distance over 50 ft, no margin. [ft]

        Parameters
        ----------
        pressure_altitude_ft : array   Of the field. [ft]
        temperature_c : array          Of the air at the field. [°C]
        weight_lb : array              Weight. [lb]
        headwind_kt : array            Along the runway, against. [kt]
        """
        ...

    def landing_ft(self, pressure_altitude_ft: Array, temperature_c: Array, weight_lb: Array, headwind_kt: Array,
                   ) -> Array:
        """Return the distance over 50 ft, no margin; arguments as for `takeoff_ft`. [ft]"""
        ...

    def departure_gradient_ft_per_nm(self, pressure_altitude_ft: Array, temperature_c: Array, weight_lb: Array,
                                     ) -> Array:
        """Return the climb gradient after take-off. [ft/nm]"""
        ...


@dataclass(frozen=True, slots=True)
class RunwayRows:
    """Rows whose fields have to be looked at in the weather of the hour, and limits that hold at every field.

    `climb`: rows whose climb after take-off may fall short of `least_gradient_ft_per_nm`; `climb_cool`: in which air it
    does not.
    """

    takeoff: FieldRows = axis(APART)
    landing: FieldRows = axis(APART)
    climb: Ints = axis(APART)
    least_gradient_ft_per_nm: float = axis(APART)
    crosswind_limit_kt: float = axis(APART)
    climb_cool: CoolAir | None = axis(APART, default=None)


@dataclass(frozen=True, slots=True)
class PilotLimits:
    """What the pilot may and will do in this aircraft: rules, limits of the calendar, weather minima by place."""

    rules: Rules
    limits: TripLimits
    landing: Minima
    takeoff: VisualMinimum


@dataclass(frozen=True, slots=True)
class PlanTimes:
    """Hours beside the flight itself, a fuel stop, taxiing in and out, an approach; and those expected in still air.

    `nominal_flight_h` [row]; `nominal_block_h` [leg]: of its first itinerary, stops included.
    """

    ground_h: float = axis(APART)
    taxi_h: float = axis(APART)
    approach_h: float = axis(APART)
    nominal_flight_h: Array = axis("row")
    nominal_block_h: Array = axis("leg")


@dataclass(frozen=True, slots=True)
class Equipment:
    """What on board decides about weather on the way."""

    ice_approved: bool
    crosses_thin_ice: bool
    weather_on_board: bool


@dataclass(frozen=True, slots=True)
class CandidatePlan:
    """A candidate ready to fly any replication of a study."""

    name: str = axis(APART)
    aircraft: PlannedAircraft = axis(APART)
    assumptions: Assumptions = axis(APART)
    pilot: PilotLimits = axis(APART)
    equipment: Equipment = axis(APART)
    fuel: FuelPolicy = axis(APART)
    coarse: CoarseFlight = axis(APART)
    table: FlightTable = axis("row")
    level_limits: LevelLimits = axis("row")
    rows: RowIndex = axis(APART)
    cells: AirCells = axis(APART)
    options: OptionIndex = axis(APART)
    runways: RunwayRows = axis(APART)
    times: PlanTimes = axis(APART)
