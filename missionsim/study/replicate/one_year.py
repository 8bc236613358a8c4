"""Fly replications: weather once for all candidates, then every candidate through the same year."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, fields, replace
from typing import cast

import numpy as np

from missionsim.base.arrays import Array, Bools, Columns
from missionsim.base.memory import let_go
from missionsim.decide.candidate_plan import CandidatePlan, Loads
from missionsim.decide.decide import RowPlans, decide
from missionsim.decide.enroute_weather import Enroute, enroute_of
from missionsim.decide.flight_records import YearRecord, flights_in_order, shop_columns, year_record
from missionsim.decide.leg_weather import WeatherSky, leg_weather
from missionsim.decide.surface_weather import LegWeather
from missionsim.decide.trip_records import trip_columns
from missionsim.flight.batch import AirOnRoutes, PackedAir
from missionsim.flight.table import with_factors, with_speed
from missionsim.money.entries import Ledger
from missionsim.money.ledger import ledger_of
from missionsim.money.substitute import Travel, travel_of
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.lanes import air_of
from missionsim.study.prepare.people import drawn_people_lb
from missionsim.study.prepare.study import Entrant, GatedPlan, Prepared
from missionsim.study.replicate.lighter import drained_lb, lighter_ways
from missionsim.study.replicate.wanted import not_wanted
from missionsim.study.unknowns.class_figures import Factors, likely_value
from missionsim.study.unknowns.effects import Effects, OneEffect, effects_of
from missionsim.study.unknowns.routines import Routines, routines_of
from missionsim.study.unknowns.upkeep import wear
from missionsim.world.surface.year import SurfaceYear
from missionsim.year.aircraft import Aircraft, Upkeep, Wear
from missionsim.year.decisions import Decisions
from missionsim.year.records import YearLog
from missionsim.year.schedule import Schedule
from missionsim.year.simulate import simulate_year
from missionsim.year.waking import WakingDay

KeptWeather = dict[int, tuple[AirOnRoutes, LegWeather]]
"""Air and weather on legs of one day, by row of gates."""
CHUNK = 10
"""Replications flown together; fixed, so that results never depend on the number of workers."""


@dataclass(frozen=True, slots=True)
class Habits:
    """What the owner does alike with every candidate: minutes of routine, and the rows of trips nobody wants."""

    routines: Routines
    absent: frozenset[int]


@dataclass(frozen=True, slots=True)
class Day:
    """What one replication brings to all candidates: air, sky, cloud, people and luck, and the owner's habits."""

    air: tuple[PackedAir, ...]
    sky: WeatherSky
    enroute: Enroute
    people_lb: Array
    luck: Wear
    habits: Habits


@dataclass(frozen=True, slots=True)
class YearColumns:
    """Flights, trips and shop visits of flown years as columns."""

    flights: Columns
    trips: Columns
    shop: Columns

    @classmethod
    def stacked(cls, years: Sequence[YearColumns]) -> YearColumns:
        """Return those of several years as one."""
        every = ([getattr(year, f.name) for year in years] for f in fields(cls))
        return cls(*({name: np.concatenate([part[name] for part in parts]) for name in parts[0]} for parts in every))


@dataclass(frozen=True)
class FlownChunk:
    """Records of one candidate over a chunk of replications, their ledger, and what figures drawn for it do.

    `travel`: how its trips were made, which ledger and sums both ask for.
    """

    name: str
    flights: Columns
    trips: Columns
    shop: Columns
    ledger: Ledger
    effects: Effects
    travel: Travel


def weather_of(prepared: Prepared, replication: int, people_lb: Array | None = None, habits: Habits | None = None,
               ) -> Day:
    """Return the weather, people, luck and habits of a replication, all drawn that candidates will ask for.

    Parameters
    ----------
    prepared : Prepared
    replication : int
    people_lb : array, optional   Weights of its people, where they are known already.
    habits : Habits, optional     Of the replication, where they are known already; then alternates are looked for on
                                  trips that these leave out no more.
    """
    study = prepared.study
    air = tuple(prepared.keep(own) for own in air_of(prepared.lane_sets, prepared.route_air, study.seed, replication,
                                                     prepared.sky.asked.streams))
    let_go()
    surface = SurfaceYear.simulate(prepared.sky.climate, study.seed, replication, prepared.sky.asked)
    let_go()    # of a long list the readings alone are 200 MB
    wanted = None if habits is None else _wanted_legs(prepared.schedule, habits.absent)
    sky = WeatherSky(surface, prepared.sky.airport_row, prepared.sky.asked_hours, prepared.gate_stack, wanted).drawn()
    let_go()
    if people_lb is None:
        people_lb = people_of(prepared, [replication])[0]
    points = prepared.sky.points
    return Day(air, sky, enroute_of(points.looked, surface, points.place.shape[1]), people_lb,
               wear(study.seed, replication), habits or habits_of(prepared, [replication])[0])


def habits_of(prepared: Prepared, replications: Sequence[int], year: int = 0) -> list[Habits]:
    """Return the routines of replications, and the trips that nobody wants in a year of their ownerships."""
    study = prepared.study
    routines = routines_of(study.seed, replications, study.assumptions)
    return [Habits(*both) for both in zip(routines, not_wanted(prepared, replications, year), strict=True)]


def people_of(prepared: Prepared, replications: Sequence[int]) -> Array:
    """Return the weights of the people of replications, [replication, trip, seat]."""
    study = prepared.study
    return drawn_people_lb(prepared.people_lb, prepared.table, study.assumptions, study.seed, replications)


def loads_of(entrant: Entrant, people_lb: Sequence[Array] | Array, effects: Effects) -> list[Loads]:
    """Return the loads of one candidate in every replication of a chunk, from the people's weights, in one go."""
    prepared, flyer = entrant.prepared, entrant.flyer
    count, trips = len(people_lb), prepared.schedule.trips
    drained = drained_lb(prepared, flyer.candidate.profile)
    extra_lb = np.repeat(np.asarray(effects.extra_empty_lb, dtype=float), trips) - np.tile(drained, count)
    every = flyer.plan.aircraft.loads(np.concatenate(people_lb), np.tile(prepared.bags_lb, count), extra_lb)
    return [Loads(*(getattr(every, f.name)[i * trips:(i + 1) * trips] for f in fields(Loads))) for i in range(count)]


def fly(entrant: Entrant, day: Day, replication: int, effects: OneEffect | None = None, loads: Loads | None = None,
        ) -> YearColumns:
    """Fly one candidate through one replication; return flights, trips and shop visits as columns.

    Parameters
    ----------
    entrant : Entrant
    day : Day                       Weather, people and luck of the replication.
    replication : int
    effects : OneEffect, optional   What the drawn figures do; else they are drawn here.
    loads : Loads, optional         Of the replication, where known already.
    """
    return columns_of(entrant.prepared, year_of(entrant, day, replication, effects, loads=loads), replication)


def columns_of(prepared: Prepared, year: FlownYear, replication: int) -> YearColumns:
    """Return flights, trips and shop visits of a flown year as columns."""
    return columns_together(prepared, [record_of(prepared, year, replication)])


def record_of(prepared: Prepared, year: FlownYear, replication: int) -> YearRecord:
    """Return what the columns of a flown year are made of; its decisions and plans take a hundred times the room."""
    return year_record(year.log, year.plan, prepared.schedule, year.rows, replication)


def columns_together(prepared: Prepared, years: Sequence[YearRecord]) -> YearColumns:
    """Return flights, trips and shop visits of flown years, replications rising; ten take hardly longer than one."""
    flights = flights_in_order(years)
    trips = trip_columns(years, flights, prepared.schedule, WakingDay.of(prepared.study.assumptions))
    return YearColumns(flights, trips, shop_columns([row for year in years for row in year.shop]))


@dataclass(frozen=True, slots=True)
class FlownYear:
    """One candidate's replication with all that was decided on the way, for columns and for explanations.

    `gate_row`: of the gates and field limits it was held against. `air`: of the lanes that the rows of the plan fly.
    """

    plan: CandidatePlan
    gate_row: int
    air: PackedAir
    weather: LegWeather
    decisions: Decisions
    rows: RowPlans
    log: YearLog
    absent: frozenset[int]


def year_of(entrant: Entrant, day: Day, replication: int, effects: OneEffect | None = None,
            upkeep: Upkeep | None = None, loads: Loads | None = None, kept: KeptWeather | None = None,
            booked: Collection[int] = ()) -> FlownYear:
    """Decide and simulate one candidate's replication.

    Parameters
    ----------
    day : Day                       Weather, people, luck and habits of the replication.
    effects : OneEffect, optional   What the figures drawn for the replication do; else they are drawn here.
    upkeep : Upkeep, optional       Of a later year of an ownership; else that of the replication's one year.
    loads : Loads, optional         Of the replication, where they are known already.
    kept : dict, optional           What the weather of this day says of legs, where more years are flown in it.
    booked : collection of int      Trips for which somebody else has the aircraft, where it is rented.
    """
    prepared, flyer = entrant.prepared, entrant.flyer
    schedule = prepared.schedule
    if effects is None:
        effects = effects_of(flyer.listing.drawn(prepared.study.seed, [replication])).at(0)
    gated = plan_for(entrant, effects)
    plan, row = gated.plan, gated.gate_row
    if plan.table is not flyer.plan.table:
        plan = replace(plan, table=prepared.keep(plan.table))     # as drawn
    plan = day.habits.routines.applied(plan)
    wanted = _wanted_legs(schedule, day.habits.absent)
    if wanted is not None and kept is None:
        # Three trips of ten of a wish list; what is kept serves years in which other trips are wanted.
        plan = replace(plan, cells=plan.cells.of_some(wanted.take(schedule.looks.hours.leg)))
    extra_lb = float(effects.extra_empty_lb) - drained_lb(prepared, flyer.candidate.profile)
    if loads is None:
        loads = plan.aircraft.loads(day.people_lb, prepared.bags_lb, extra_lb)
    air, weather = _weather_on_legs(prepared, plan, row, day, kept if effects.of_class.none else None)
    ways = lighter_ways(prepared, cast("Equipped", plan.aircraft), day.people_lb, extra_lb)
    let_go()
    decisions, rows = decide(plan, schedule, air, day.sky, weather, loads, ways)
    let_go()
    if upkeep is None:
        upkeep = effects.upkeep_rule(flyer.upkeep).upkeep(prepared.study.seed, replication)
    aircraft = Aircraft(upkeep, day.luck, flyer.hops, local=flyer.local)
    log = simulate_year(schedule, decisions, aircraft, plan.pilot.limits, replication, booked=booked,
                        absent=day.habits.absent)
    return FlownYear(plan, row, day.air[plan.rows.lane_set], weather, decisions, rows, log, day.habits.absent)


def _wanted_legs(schedule: Schedule, absent: frozenset[int]) -> Bools | None:
    """Return the legs of trips somebody wants, [leg]; None where those are all, or nobody wants any."""
    if not absent or len(absent) == schedule.trips:
        return None
    wanted = np.ones(schedule.trips, dtype=bool)
    wanted[list(absent)] = False
    return wanted[schedule.trip]


def _weather_on_legs(prepared: Prepared, plan: CandidatePlan, row: int, day: Day, kept: KeptWeather | None,
                     ) -> tuple[AirOnRoutes, LegWeather]:
    """Return the air in a candidate's cells and what weather says of its legs; neither depends on weight or routines.

    `row`: of its gates, which tells plans apart that are no drawn aircraft of a class.
    """
    if kept is not None and row in kept:
        return kept[row]
    air = prepared.keep(plan.cells.air(day.air[plan.rows.lane_set], plan.rows.lane))
    let_go()
    weather = leg_weather(plan, prepared.sky.gates[row], prepared.sky.fields[row], prepared.schedule, day.sky,
                          day.enroute, air)
    if kept is not None:
        kept[row] = air, weather
    return air, weather


def again(entrant: Entrant, year: FlownYear, upkeep: Upkeep, luck: Wear, replication: int) -> FlownYear:
    """Return a year simulated again with other upkeep; decisions and weather stay.

    Parameters
    ----------
    entrant : Entrant
    year : FlownYear   As flown before.
    upkeep : Upkeep    Of the year.
    luck : Wear        Faults and repairs.
    replication : int
    """
    prepared, flyer = entrant.prepared, entrant.flyer
    aircraft = Aircraft(upkeep, luck, flyer.hops, local=flyer.local)
    log = simulate_year(prepared.schedule, year.decisions, aircraft, year.plan.pilot.limits, replication,
                        absent=year.absent)
    return replace(year, log=log)


def plan_for(entrant: Entrant, effects: OneEffect) -> GatedPlan:
    """Return the plan of a candidate as its figures were drawn, or that of its standby with the autopilot out."""
    flyer, share = entrant.flyer, effects.speed_share
    gated = GatedPlan(flyer.plan, entrant.number)
    if flyer.standby is not None and effects.autopilot_out:
        gated = flyer.standby
    plan = gated.plan if share == 1.0 else replace(gated.plan, table=with_speed(gated.plan.table, share))
    return replace(gated, plan=plan if effects.of_class.none else drawn_plan(plan, effects.of_class))


def drawn_plan(plan: CandidatePlan, factors: Factors) -> CandidatePlan:
    """Return the plan of a drawn aircraft of a class: factors on the tables, fields and tanks of the likely one."""
    table = with_factors(plan.table, factors.speed, factors.fuel_flow, factors.climb)
    aircraft, limits, runways = cast("Equipped", plan.aircraft), plan.level_limits, plan.runways
    if factors.ceiling < 1.0:
        limits = limits.below(table.rows.levels_ft,
                              factors.ceiling * likely_value(aircraft.profile, "book.service_ceiling_ft"))
    return replace(plan, table=table, aircraft=aircraft.as_drawn(factors), level_limits=limits,
                   fuel=replace(plan.fuel, usable_gal=plan.fuel.usable_gal * factors.tank),
                   runways=replace(runways, crosswind_limit_kt=runways.crosswind_limit_kt * factors.crosswind,
                                   takeoff=runways.takeoff.scaled(factors.takeoff),
                                   landing=runways.landing.scaled(factors.landing),
                                   climb_cool=runways.climb_cool and runways.climb_cool.scaled(1.0 / factors.climb)))


def drawn_effects(prepared: Prepared, replications: Sequence[int]) -> list[Effects]:
    """Return what the figures drawn for some replications do, by candidate."""
    return [effects_of(flyer.listing.drawn(prepared.study.seed, replications)) for flyer in prepared.flyers]


def fly_parts(prepared: Prepared, replications: Sequence[int], effects: Sequence[Effects],
              people_lb: Array, also: Callable[[Day, int], None] | None = None) -> list[YearColumns]:
    """Fly all candidates through some replications, without a price; by candidate.

    Parameters
    ----------
    prepared : Prepared
    replications : sequence of int   In rising order.
    effects : sequence of Effects    As `drawn_effects` gives them.
    people_lb : array                As `people_of` gives them.
    also : callable, optional        Called with the day of each replication, for what else is flown in its weather.
    """
    parts: list[list[YearRecord]] = [[] for _ in prepared.flyers]
    loads = [loads_of(entrant, people_lb, own) for entrant, own in zip(prepared.entrants, effects, strict=True)]
    habits = habits_of(prepared, replications)
    for i, replication in enumerate(replications):
        day = weather_of(prepared, replication, people_lb[i], habits[i])
        for entrant, flown, own, every in zip(prepared.entrants, parts, effects, loads, strict=True):
            year = year_of(entrant, day, replication, own.at(i), loads=every[i])
            flown.append(record_of(prepared, year, replication))
        if also is not None:
            also(day, replication)
        del day     # before the next one is drawn: two of them are most of a worker's memory
    return [columns_together(prepared, flown) for flown in parts]


def together(entrant: Entrant, years: YearColumns, replications: Sequence[int], effects: Effects) -> FlownChunk:
    """Return the flown years of one candidate as one chunk with its ledger.

    Parameters
    ----------
    entrant : Entrant
    years : YearColumns              Flights, trips and shop visits of these replications.
    replications : sequence of int   In rising order.
    effects : Effects                What the drawn figures do.
    """
    flyer, books = entrant.flyer, entrant.prepared.books(entrant.flyer)
    travel = travel_of(years.trips, books.terms, books.prices, books.assumptions)
    ledger = ledger_of(flyer.cost, years.flights, years.trips, years.shop, np.array(replications), books, travel)
    return FlownChunk(flyer.candidate.name, years.flights, years.trips, years.shop, ledger, effects, travel)
