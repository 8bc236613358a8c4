"""Make a study ready to fly: places, ways and lanes once, and every candidate's table of flights."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np

from missionsim.aircraft.loading import fuel_lb_per_gal
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.runway import crosswind_limit_kt
from missionsim.base.arrays import Array, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.decide.candidate_plan import (
    CandidatePlan,
    Equipment,
    OptionIndex,
    PilotLimits,
    PlanTimes,
    RowIndex,
    RunwayRows,
)
from missionsim.decide.cells import AirCells
from missionsim.flight.batch import LevelLimits
from missionsim.flight.minima import landing_minima, takeoff_minimum
from missionsim.flight.rules import HALF_HOUR_FT, Rules, oxygen_allows, passengers_allow
from missionsim.flight.stops import CoarseFlight
from missionsim.flight.table import FlightRows, FlightTable, FuelPolicy, build_table
from missionsim.physics.atmosphere import cabin_altitude_ft, level_of_cabin_ft
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.cool_air import cool_climb, cool_fields
from missionsim.study.prepare.gliding import all_beyond_nm
from missionsim.study.prepare.itineraries import StopPlanner
from missionsim.study.prepare.lanes import LaneSet
from missionsim.study.prepare.level_caps import LevelCaps
from missionsim.study.prepare.network import LaneMaker, Places
from missionsim.study.prepare.people import nominal_people_lb
from missionsim.study.prepare.pilot import crew_for, limits_for, rules_for
from missionsim.study.prepare.runways import field_rows, high_rows
from missionsim.study.unknowns.class_figures import Factors, drawn_limits
from missionsim.world.airports.table import Airport
from missionsim.world.ground.routes import Route
from missionsim.world.ground.terrain import Terrain
from missionsim.world.ground.water import Glide
from missionsim.year.aircraft import Hop
from missionsim.year.schedule import Schedule
from missionsim.year.trips import TripTable

CEILING_STEPS_FT = (10_500.0, HALF_HOUR_FT, 18_000.0, 21_000.0, 25_000.0)
"""Usable ceilings are rounded down to these, so that like candidates share lanes; see `lane_ceiling_ft`."""
LEVEL_STEP_FT = 1000.0
WORST = Factors(climb=0.6, takeoff=1.8, landing=1.8)
"""No aircraft drawn of a class climbs worse or needs more runway than this, over the likely one."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What all candidates of a study share."""

    pilot: Pilot
    oxygen: str
    plan_by: str
    assumptions: Assumptions
    table: TripTable
    schedule: Schedule
    fuel_usd_per_gal: float
    cost_usd_per_h: float


@dataclass
class Draft:
    """A candidate between choosing its itineraries and tabling its flights."""

    name: str
    equipped: Equipped
    rules: Rules
    fuel: FuelPolicy
    coarse: CoarseFlight
    maker: LaneMaker
    nominal_zero_fuel_lb: Array
    option_leg: list[int] = field(default_factory=list)
    option_rows: list[int] = field(default_factory=list)
    option_visual: list[bool] = field(default_factory=list)
    lane: list[int] = field(default_factory=list)
    way: list[int] = field(default_factory=list)
    from_place: list[int] = field(default_factory=list)
    to_place: list[int] = field(default_factory=list)
    offset_h: list[float] = field(default_factory=list)
    _whole_hours: dict[tuple[int, int], float] = field(default_factory=dict)

    def whole_hours(self, from_place: int, to_place: int, airports: Sequence[Airport], ground_h: float) -> float:
        """Return after how many whole hours about a flight and the time on the ground behind it are over. [h]

        Parameters
        ----------
        from_place, to_place : int      Rows of places.
        airports : sequence of Airport  By row.
        ground_h : float                Time on the ground behind a flight. [h]
        """
        key = (from_place, to_place)
        if key not in self._whole_hours:
            a, b = (airports[place] for place in key)
            nm = haversine_nm(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)
            self._whole_hours[key] = float(round(float(self.coarse.hours(np.array(nm), 0.0)) + ground_h))
        return self._whole_hours[key]


def draft_candidate(name: str, profile: Profile, settings: Settings, places: Places,
                    makers: dict[LevelCaps, LaneMaker], make_lanes: Callable[[LevelCaps], LaneMaker]) -> Draft:
    """Choose the itineraries of a candidate and ask for the lanes they need.

    Parameters
    ----------
    makers : dict          Lane makers by caps of level, shared by candidates; added to when needed.
    make_lanes : callable  Makes a lane maker for such caps.
    """
    a = settings.assumptions
    equipped = Equipped.of(profile, a)
    rules = rules_for(settings.pilot, profile, settings.oxygen, a)
    highest_ft = equipped.highest_level_ft(a["flight.highest_level_ft"] if rules.oxygen else min(
        a["flight.highest_level_ft"], level_of_cabin_ft(HALF_HOUR_FT, rules.cabin_differential_psi)))
    step_ft = lane_ceiling_ft(highest_ft)
    caps = LevelCaps.of(step_ft, rules.cabin_differential_psi, a)
    if caps not in makers:
        makers[caps] = make_lanes(caps)
    coarse = equipped.coarse(min(8000.0, step_ft) if profile.engine.aspiration == "normal" else min(14000.0, step_ft))
    fuel = _fuel_policy(equipped, rules, settings)
    people_lb, bags_lb = nominal_people_lb(settings.table, settings.pilot, a)
    loads = equipped.loads(people_lb, bags_lb)
    draft = Draft(name, equipped, rules, fuel, coarse, makers[caps], loads.zero_fuel_lb)
    planner = _stop_planner(draft, places, a)
    allowed_gal = np.minimum(equipped.max_fuel_gal(loads.zero_fuel_lb), profile.usable_gal)
    for leg in range(len(settings.schedule.trip)):
        _add_leg(draft, planner, settings, leg, float(allowed_gal[settings.schedule.trip[leg]]))
    return draft


def lane_ceiling_ft(highest_ft: float) -> float:
    """Return the ceiling of the lanes an aircraft shares.

    One that fades at 12,500 ft or a little above shares those to 14,000 ft: levels it cannot reach close by themselves.
    """
    if 12_250.0 <= highest_ft < HALF_HOUR_FT:
        return HALF_HOUR_FT
    return max((s for s in CEILING_STEPS_FT if s <= highest_ft + 250.0), default=highest_ft)


def _fuel_policy(equipped: Equipped, rules: Rules, settings: Settings) -> FuelPolicy:
    a = settings.assumptions
    flow_gph = equipped.coarse(6000.0).fuel_flow_gph
    approach_h = a["flight.approach_min" if rules.instrument else "flight.pattern_min"] / 60.0
    return FuelPolicy(equipped.performance.taxi_fuel_gal, a["flight.approach_flow_share"] * flow_gph * approach_h,
                      max(rules.reserve_day_min, rules.reserve_night_min) / 60.0, fuel_lb_per_gal(equipped.profile, a),
                      equipped.profile.usable_gal,
                      settings.fuel_usd_per_gal / settings.cost_usd_per_h if settings.plan_by == "cost" else 0.0)


def _stop_planner(draft: Draft, places: Places, a: Assumptions) -> StopPlanner:
    top_lb = draft.equipped.profile.max_takeoff_lb
    needed = [float(f(np.zeros(1), np.full(1, 15.0), np.full(1, top_lb), np.zeros(1))[0])
              for f in (draft.equipped.takeoff_ft, draft.equipped.landing_ft)]
    runway_ft = np.nanmax(needed) * a["flight.stop_runway_factor"] * draft.rules.runway_margin
    flow_gph = draft.coarse.fuel_flow_gph
    alternate_gal = a["flight.stop_alternate_h"] * flow_gph if draft.rules.instrument else 0.0
    reserve_gal = draft.fuel.taxi_gal + draft.fuel.approach_gal + draft.fuel.reserve_h * flow_gph + alternate_gal
    return StopPlanner(places, draft.coarse, draft.rules, a, float(runway_ft), reserve_gal)


def _add_leg(draft: Draft, planner: StopPlanner, settings: Settings, leg: int, allowed_gal: float) -> None:
    schedule = settings.schedule
    people = int(schedule.people[schedule.trip[leg]])
    ground_h = (settings.assumptions["flight.fuel_stop_min"] + settings.assumptions["flight.taxi_out_min"]
                + settings.assumptions["flight.taxi_in_min"]) / 60.0
    for chain in planner.of(int(schedule.from_place[leg]), int(schedule.to_place[leg]), allowed_gal, people):
        for ways in draft.maker.ways_along(chain):
            _add_option(draft, planner.places.airports, schedule, leg, chain, ways, ground_h)


def _add_option(draft: Draft, airports: Sequence[Airport], schedule: Schedule, leg: int, chain: Sequence[int],
                ways: Sequence[int], ground_h: float) -> None:
    """Add the flights of an itinerary, each by one of its ways."""
    draft.option_leg.append(leg)
    draft.option_rows.append(len(chain) - 1)
    flights = [(a, b, way) for (a, b), way in zip(pairwise(chain), ways, strict=True)]
    draft.option_visual.append(not draft.rules.instrument or any(draft.maker.visual(*flight) for flight in flights))
    offset_h = 0.0
    for a, b, way in flights:
        draft.lane.append(draft.maker.lane(a, b, float(schedule.start_h[leg]) + offset_h,
                                           schedule.looks.air[leg], way))
        draft.way.append(way)
        draft.from_place.append(a)
        draft.to_place.append(b)
        draft.offset_h.append(offset_h)
        offset_h += draft.whole_hours(a, b, airports, ground_h)


def finish_candidate(draft: Draft, settings: Settings, places: Places, lanes: LaneSet, lane_set: int,
                     terrain: Terrain) -> CandidatePlan:
    """Table the flights of a candidate, once all lanes and places are known.

    Parameters
    ----------
    draft : Draft
    settings : Settings   What all candidates share.
    places : Places
    lanes : LaneSet
    lane_set : int        Row of the set of lanes that it uses.
    terrain : Terrain
    """
    a, schedule, profile = settings.assumptions, settings.schedule, draft.equipped.profile
    rows = _row_index(draft, schedule, lane_set)
    routes = [lanes.routes[lanes.route[lane]] for lane in rows.lane]
    routing = a["flight.routing_instrument" if draft.rules.instrument else "flight.routing_visual"]
    distance_nm = np.array([r.distance_nm for r in routes]) * routing
    elevation_ft = places.elevation_ft
    levels_ft = lanes.levels_ft[rows.lane]
    flight_rows = FlightRows(distance_nm, elevation_ft[rows.from_place], elevation_ft[rows.to_place], levels_ft,
                       np.array([r.minimum_level_ft if r.known else np.nan for r in routes]),
                       np.array([r.mountainous for r in routes], dtype=bool), draft.nominal_zero_fuel_lb[rows.trip])
    table = replace(build_table(draft.equipped.performance, flight_rows, draft.fuel, profile.max_takeoff_lb),
                    least_descent_share=a["flight.steepest_descent_share"])
    limits = _level_limits(draft, flight_rows, table.still_air_h, _high_share(routes, a), rows.people, a)
    most_nm = settings.pilot.open_water_nm
    if most_nm is not None and profile.engine.count == 1:
        beyond = all_beyond_nm(table, rows, lanes, places.airports, Glide.assumed(a))
        limits = replace(limits, beyond_land_nm=beyond, most_beyond_nm=most_nm)
    return CandidatePlan(
        name=draft.name, aircraft=draft.equipped, assumptions=a,
        pilot=_pilot_limits(draft, settings, places, terrain),
        equipment=Equipment(profile.panel.ice_protection == "approved", bool(a["icing.cross_thin_layers"]),
                            profile.panel.weather_on_board),
        fuel=draft.fuel, coarse=draft.coarse, table=table,
        level_limits=limits, rows=rows,
        cells=AirCells.of(rows.leg, rows.option, schedule, rows.same_flight()),
        options=_option_index(draft, len(schedule.trip)),
        runways=_runway_rows(draft, places, rows, table, a),
        times=_times(draft, table.still_air_h, a),
    )


def _runway_rows(draft: Draft, places: Places, rows: RowIndex, table: FlightTable, a: Assumptions) -> RunwayRows:
    """Return the rows whose fields are looked at by the hour; the worst aircraft drawn tells which, of a class."""
    equipped, elevation_ft, takeoff_lb = draft.equipped, places.elevation_ft, table.nominal_takeoff_lb
    drawn = drawn_limits(equipped.profile)
    worst = equipped.as_drawn(WORST) if drawn else equipped
    takeoff, landing = (
        cool_fields(field_rows(worst, places, place, takeoff_lb, a, draft.rules, lands), equipped, elevation_ft,
                    takeoff_lb, draft.rules, lands, drawn)
        for place, lands in ((rows.from_place, False), (rows.to_place, True)))
    from_ft, least_ft_per_nm = elevation_ft[rows.from_place], a["flight.least_gradient_ft_per_nm"]
    high = high_rows(worst, from_ft, table.rows.mountainous | draft.rules.instrument, a)
    return RunwayRows(takeoff, landing, high, least_ft_per_nm, crosswind_limit_kt(equipped.profile, a),
                      cool_climb(high, equipped, from_ft, takeoff_lb, least_ft_per_nm, drawn))


def as_equipped(draft: Draft, name: str, profile: Profile, settings: Settings) -> Draft:
    """Return a candidate's draft for the same aircraft with other equipment, which flies the same ways as fast.

    Parameters
    ----------
    draft : Draft
    name : str            Of the aircraft with that equipment.
    profile : Profile     Differs in no figure of performance, weight or fuel.
    settings : Settings   What all candidates share.
    """
    return replace(draft, name=name, equipped=replace(draft.equipped, profile=profile),
                   rules=rules_for(settings.pilot, profile, settings.oxygen, settings.assumptions))


def plan_as_equipped(plan: CandidatePlan, draft: Draft, settings: Settings, places: Places, terrain: Terrain,
                     ) -> CandidatePlan:
    """Return a finished plan for the draft that `as_equipped` made of its own: pilot and minima are judged anew.

    Parameters
    ----------
    plan : CandidatePlan   Of the draft that draft was made of.
    draft : Draft
    settings : Settings    What all candidates share.
    places : Places
    terrain : Terrain
    """
    pilot = _pilot_limits(draft, settings, places, terrain)
    return replace(plan, name=draft.name, aircraft=draft.equipped, pilot=pilot)


def _pilot_limits(draft: Draft, settings: Settings, places: Places, terrain: Terrain) -> PilotLimits:
    a, airports = settings.assumptions, places.airports
    crew = crew_for(settings.pilot, draft.equipped.profile, a)
    minima = landing_minima([p.approach for p in airports], [p.approach_ceiling_ft for p in airports],
                            [p.approach_visibility_sm for p in airports], places.elevation_ft,
                            terrain.mountainous(*_positions(places)), crew, a)
    return PilotLimits(draft.rules, limits_for(draft.rules, a), minima, takeoff_minimum(crew, a))


def _row_index(draft: Draft, schedule: Schedule, lane_set: int) -> RowIndex:
    counts = np.array(draft.option_rows, dtype=np.int64)
    option = np.repeat(np.arange(len(counts)), counts)
    leg = np.array(draft.option_leg, dtype=np.int64)[option]
    trip = schedule.trip[leg]
    people = schedule.people[trip]
    return RowIndex(option, leg, trip, np.array(draft.lane, dtype=np.int64),
                    np.array(draft.from_place, dtype=np.int64), np.array(draft.to_place, dtype=np.int64),
                    np.array(draft.offset_h), draft.rules.max_leg_h(people),
                    people, np.array(draft.way, dtype=np.int64), lane_set)


def _option_index(draft: Draft, legs: int) -> OptionIndex:
    first_row = np.concatenate([[0], np.cumsum(draft.option_rows)]).astype(np.int64)
    of_leg: list[list[int]] = [[] for _ in range(legs)]
    for option, leg in enumerate(draft.option_leg):
        of_leg[leg].append(option)
    width = max((len(x) for x in of_leg), default=1)
    padded = np.array([x + [-1] * (width - len(x)) for x in of_leg], dtype=np.int64).reshape(legs, width)
    return OptionIndex(first_row, np.array(draft.option_leg, dtype=np.int64), padded,
                       np.array(draft.option_visual, dtype=bool))


def _level_limits(draft: Draft, rows: FlightRows, still_air_h: Array, high_share: Array,
                  people: Ints, a: Assumptions) -> LevelLimits:
    """Return the levels open to each row; rules of oxygen are read at the altitude inside the cabin.

    Where the ground leaves no level below the limit without oxygen, only the time over high ground counts as spent
    above it: before and after, the pilot is lower, though time and fuel are figured at the one level.
    """
    levels = np.nan_to_num(rows.levels_ft, nan=1e9)
    clears = (levels < 1e8) & ~(levels < rows.lowest_ft[:, None])
    without_ft = np.minimum(draft.rules.oxygen_free_ft, np.where(people > 1, a["flight.passengers_level_ft"], np.inf))
    cabin = np.nan_to_num(cabin_altitude_ft(rows.levels_ft, draft.rules.cabin_differential_psi), nan=1e9)
    low = (clears & (cabin <= without_ft[:, None])).any(axis=1)
    hours = np.nan_to_num(still_air_h, nan=9.0) * np.where(low, 1.0, high_share)[:, None]
    oxygen = oxygen_allows(cabin, hours, draft.rules.oxygen, draft.rules.oxygen_free_ft)
    oxygen &= passengers_allow(cabin, hours, people[:, None], a["flight.passengers_level_ft"])
    mountain, plain = a["flight.least_climb_mountain_fpm"], a["flight.least_climb_fpm"]
    return LevelLimits(clears, oxygen & (levels < 1e8), np.where(rows.mountainous, mountain, plain).astype(np.float32),
                       a["flight.level_spare_share"], draft.rules.tolerance_share)


def _high_share(routes: Sequence[Route], a: Assumptions) -> Array:
    """Return the share of each way over ground that the margin lifts above the limit without oxygen."""
    margin_ft, free_ft = a["terrain.visual_mountain_margin_ft"], a["flight.oxygen_free_ft"]
    # The last level below the limit may lie as much as a level lower, by direction.
    return np.array([float(np.mean(np.nan_to_num(r.sample_terrain_ft) + margin_ft > free_ft - LEVEL_STEP_FT))
                     for r in routes])


def _times(draft: Draft, still_air_h: Array, a: Assumptions) -> PlanTimes:
    flight_h = np.nan_to_num(np.nanmin(np.where(np.isfinite(still_air_h), still_air_h, 99.0), axis=1))
    flight_h = np.where(flight_h > 90.0, 1.0, flight_h)
    taxi_min, stop_min = a["flight.taxi_out_min"] + a["flight.taxi_in_min"], a["flight.fuel_stop_min"]
    ground_h = (stop_min + a["flight.taxi_out_min"] + a["flight.taxi_in_min"]) / 60.0
    first = np.concatenate([[0], np.cumsum(draft.option_rows)])[:-1].astype(np.int64)
    block_h = np.add.reduceat(flight_h + ground_h, first) - stop_min / 60.0
    leg = np.array(draft.option_leg)
    approach_min = a["flight.approach_min" if draft.rules.instrument else "flight.pattern_min"]
    return PlanTimes(stop_min / 60.0, taxi_min / 60.0, approach_min / 60.0, flight_h,
                     block_h[np.searchsorted(leg, np.unique(leg))])


def _positions(places: Places) -> tuple[Array, Array]:
    return (np.array([p.latitude_deg for p in places.airports]), np.array([p.longitude_deg for p in places.airports]))


@dataclass
class HopTable:
    """Flights outside the trip list, by coarse figures; remembers distances. Satisfies `year.schedule.Hops`."""

    coarse: CoarseFlight
    airports: Sequence[Any]
    approach_h: float
    _known: dict[tuple[int, int], Hop] = field(default_factory=dict)

    def hop(self, from_place: int, to_place: int) -> Hop:
        """Return what a flight takes in still air."""
        key = (from_place, to_place)
        if key not in self._known:
            a, b = self.airports[from_place], self.airports[to_place]
            nm = float(haversine_nm(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg))
            hours = float(self.coarse.hours(np.array(nm), 0.0)) if nm > 0 else 0.0
            gallons = float(self.coarse.gallons(np.array(nm), 0.0)) if nm > 0 else 0.0
            self._known[key] = Hop(hours + self.approach_h, gallons + self.approach_h * self.coarse.fuel_flow_gph, nm)
        return self._known[key]
