"""Put a study together: all that replications share, computed once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

import numpy as np

from missionsim.aircraft.upgrades import catalogue
from missionsim.base.arrays import Array
from missionsim.base.aside import Keep, in_memory, laid_aside
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.decide.gate_stack import MOST_HOURS, GateStack
from missionsim.money.cost_profile import CostProfile, cost_profile
from missionsim.money.insurance import PilotExperience
from missionsim.money.ledger import Books
from missionsim.money.other_ways import TripTerms
from missionsim.money.prices import PlacePrices, Prices, place_prices, prices_of
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.inputs.load_aircraft import Candidate
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.candidates import (
    Draft,
    HopTable,
    Settings,
    as_equipped,
    draft_candidate,
    finish_candidate,
    plan_as_equipped,
)
from missionsim.study.prepare.lanes import LaneSet
from missionsim.study.prepare.level_caps import LevelCaps
from missionsim.study.prepare.network import LaneMaker, Places, Ways, route_samples
from missionsim.study.prepare.other_ways import trip_terms
from missionsim.study.prepare.people import nominal_people_lb
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.study.prepare.rental import rental_of
from missionsim.study.prepare.weather import SkyPlan, choose_alternates, sky_plan
from missionsim.study.unknowns.draws import Listing
from missionsim.study.unknowns.effects import autopilot_open
from missionsim.study.unknowns.upkeep import UpkeepRule, upkeep_rule
from missionsim.world.ground.clearance import clearance
from missionsim.world.ground.routes import Route
from missionsim.world.ground.terrain import Terrain
from missionsim.world.winds.climatology import UpperAir
from missionsim.world.winds.simulated import RouteAir
from missionsim.year.local_flying import NO_LOCAL_FLIGHTS, LocalFlights, local_flights
from missionsim.year.schedule import Schedule, make_schedule
from missionsim.year.trips import TripTable, utc_hours

MANY_LEGS = 3_000
"""What is made ready for more legs than this is laid aside in a file as it is made: memory would not hold it all."""


@dataclass(frozen=True)
class GatedPlan:
    """A candidate's plan, and the row of that plan's gates and field limits."""

    plan: CandidatePlan
    gate_row: int


@dataclass(frozen=True)
class Flyer:
    """One candidate with everything the year and the money need of it.

    `standby`: the plan flown while the autopilot is out of order; None where the listing leaves no doubt that it works.
    """

    candidate: Candidate
    plan: CandidatePlan
    hops: HopTable
    upkeep: UpkeepRule
    cost: CostProfile
    experience: PilotExperience
    listing: Listing
    standby: GatedPlan | None = None
    local: LocalFlights = NO_LOCAL_FLIGHTS

    def with_plans(self, change: Callable[[CandidatePlan], CandidatePlan]) -> Flyer:
        """Return the candidate with its plans, both of them, changed."""
        standby = self.standby and replace(self.standby, plan=change(self.standby.plan))
        return replace(self, plan=change(self.plan), standby=standby)


@dataclass(frozen=True)
class Prepared:
    """A study ready to be replicated; picklable, so that workers can share it. `flyers`: the candidates.

    `rental`: the same study with the aircraft that can be rented as its only flyer; None where none is asked for.
    """

    study: Study
    table: TripTable
    schedule: Schedule
    places: Places
    lane_sets: tuple[LaneSet, ...]
    route_air: RouteAir
    sky: SkyPlan
    flyers: tuple[Flyer, ...]
    people_lb: Array
    bags_lb: Array
    prices: Prices
    place_prices: PlacePrices
    terms: TripTerms
    rental: Prepared | None = None

    @property
    def entrants(self) -> tuple[Entrant, ...]:
        """The candidates, each together with this study."""
        return tuple(Entrant(self, number) for number in range(len(self.flyers)))

    @property
    def keep(self) -> Keep:
        """Tells where what is made for all legs at once stays: in memory, or where they are many, aside in a file."""
        return _keep(self.schedule)

    @cached_property
    def longest_leg_nm(self) -> Array:
        """Longest leg of every trip, straight. [nm]"""
        lat, lon = np.array([(a.latitude_deg, a.longitude_deg) for a in self.places.airports]).T
        start, end = self.schedule.from_place, self.schedule.to_place
        return np.maximum.reduceat(haversine_nm(lat[start], lon[start], lat[end], lon[end]),
                                   self.schedule.first_leg[:-1])

    @cached_property
    def gate_stack(self) -> GateStack | None:
        """The gates of all candidates stacked; None where they are so many that each is stacked when it flies."""
        hours = len(self.sky.gates) * self.schedule.looks.hours.column.size
        if hours > MOST_HOURS:
            return None
        return GateStack.of(self.sky.gates, self.schedule, self.sky.asked_hours.index, self.sky.climate)

    def flown_by(self, flyer: Flyer, gate_row: int) -> Prepared:
        """Return the same study with one flyer alone; `gate_row`: of its gates and field limits."""
        sky = replace(self.sky, gates=(self.sky.gates[gate_row],), fields=(self.sky.fields[gate_row],))
        return replace(self, flyers=(flyer,), sky=sky, rental=None)

    def some(self, numbers: Sequence[int]) -> Prepared:
        """Return the same study with some of its flyers, their gates and field limits; no rented aircraft."""
        rows, flyers = list(numbers), []
        for number in numbers:
            flyer = self.flyers[number]
            if flyer.standby is not None:
                rows.append(flyer.standby.gate_row)
                flyer = replace(flyer, standby=replace(flyer.standby, gate_row=len(rows) - 1))
            flyers.append(flyer)
        sky = replace(self.sky, gates=tuple(self.sky.gates[row] for row in rows),
                      fields=tuple(self.sky.fields[row] for row in rows))
        return replace(self, flyers=tuple(flyers), sky=sky, rental=None)

    def books(self, flyer: Flyer) -> Books:
        """Return what one candidate's records are priced by."""
        return Books(self.terms, self.place_prices, self.prices, flyer.experience, self.study.assumptions,
                     self.table.year)


@dataclass(frozen=True, slots=True)
class Entrant:
    """One candidate of a prepared study. `number`: its row among the flyers, gates and field limits."""

    prepared: Prepared
    number: int

    @property
    def flyer(self) -> Flyer:
        """The candidate with everything the year and the money need of it."""
        return self.prepared.flyers[self.number]


def prepare(study: Study, table: TripTable | None = None, places: Places | None = None, *, rental: bool = False,
            ) -> Prepared:
    """Return a study ready to fly.

    Parameters
    ----------
    study : Study
    table : TripTable, optional   The trips of one replication, where demand is generated; else the study's list.
    places : Places, optional     Shared by studies that are flown together, so that they number places alike.
    rental : bool                 Also prepare the aircraft that can be rented, where the study has one.
    """
    a = study.assumptions
    trips = study.trips(0) if table is None else table
    places = Places(study.airports, own_stations=study.own_stations) if places is None else places
    home = places.row(study.home.ident)
    for ident in trips.places():
        places.row(ident)
    schedule = make_schedule(trips, places.rows, places.airports, a)
    prices = _prices(study)
    settings = Settings(study.pilot, study.spec.oxygen, study.spec.plan_by, a, trips, schedule,
                        prices.fuel_price_usd_per_gal(study.home.ident), a["cost.plan_by_cost_usd_per_h"])
    listings = [Listing.of(c.profile, study.year, a) for c in study.candidates]
    twins = [_autopilot_out(c) for c, found in zip(study.candidates, listings, strict=True) if autopilot_open(found)]
    rentals = [c for c in (rental_of(study),) if c is not None] if rental else []
    drafts, makers = _drafts(study, (*study.candidates, *rentals), settings, places)
    first_twin, whole = len(study.candidates), [k for k, found in enumerate(listings) if autopilot_open(found)]
    drafts[first_twin:first_twin] = [as_equipped(drafts[k], c.name, c.profile, settings)
                                     for k, c in zip(whole, twins, strict=True)]
    keep = _keep(schedule)
    lane_sets, first = {}, 0
    for caps, maker in makers.items():
        lane_sets[caps] = keep(maker.finish(first))
        first += len(lane_sets[caps].routes)
    terrain = Terrain.packaged()
    chosen = choose_alternates(schedule, places, any(d.rules.instrument for d in drafts), a)
    order = list(lane_sets)
    plans = [keep(finish_candidate(d, settings, places, lane_sets[d.maker.caps], order.index(d.maker.caps), terrain))
             for d in (*drafts[:first_twin], *drafts[first_twin + len(twins):])]
    plans[first_twin:first_twin] = [plan_as_equipped(plans[k], drafts[first_twin + i], settings, places, terrain)
                                    for i, k in enumerate(whole)]
    sky = sky_plan(study, schedule, places, drafts, plans, chosen, terrain, keep)
    routes = [r for s in lane_sets.values() for r in s.routes]
    route_air = RouteAir.build(UpperAir.packaged(a), a, *_samples_of(routes, study), 8784.0)
    people_lb, bags_lb = nominal_people_lb(trips, study.pilot, a)
    made = Prepared(study, trips, schedule, places, tuple(lane_sets.values()), route_air, sky,
                    tuple(_flyer(study, c, p, places, found, standby) for c, p, found, standby in zip(
                        study.candidates, plans, listings, _standbys(listings, plans), strict=False)),
                    people_lb, bags_lb, prices, _place_prices(study, trips, places, home, prices),
                    trip_terms(trips, places, study.airports, a))
    return replace(made, rental=_rented(made, rentals[0], plans[-1])) if rentals else made


def _keep(schedule: Schedule) -> Keep:
    return laid_aside if len(schedule.trip) > MANY_LEGS else in_memory


def repriced(made: Prepared, study: Study) -> Prepared:
    """Return a prepared study at other prices, without preparing its flights again.

    Parameters
    ----------
    made : Prepared
    study : Study   Differs only in what no flight depends on; candidates in the same order.
    """
    prices = _prices(study)
    home = made.places.row(study.home.ident)
    flyers = tuple(_flyer(study, c, old.plan, made.places, Listing.of(c.profile, study.year, study.assumptions),
                          old.standby) for c, old in zip(study.candidates, made.flyers, strict=True))
    places = _place_prices(study, made.table, made.places, home, prices)
    rental = made.rental and replace(made.rental, study=study, prices=prices, place_prices=places)
    return replace(made, study=study, prices=prices, place_prices=places, flyers=flyers, rental=rental)


def _prices(study: Study) -> Prices:
    return prices_of(study.assumptions, study.spec.prices.model_dump(exclude_none=True, exclude_unset=True)
                     | {"value_of_time_usd_per_h": study.spec.value_of_time_usd_per_h})


def _rented(made: Prepared, candidate: Candidate, plan: CandidatePlan) -> Prepared:
    study = made.study
    closed = Listing(candidate.profile, study.year, study.assumptions, ())  # nobody buys it: nothing to be drawn
    return made.flown_by(_flyer(study, candidate, plan, made.places, closed, None), len(made.sky.gates) - 1)


def _autopilot_out(candidate: Candidate) -> Candidate:
    return replace(candidate, name=f"{candidate.name} (autopilot out of order)",
                   profile=candidate.profile.changed({"panel.autopilot_works": False}))


def _standbys(listings: Sequence[Listing], plans: Sequence[CandidatePlan]) -> list[GatedPlan | None]:
    """Return the second plans of candidates; they follow the first ones in the order of candidates that have one."""
    spare = iter(range(len(listings), len(plans)))
    rows = [next(spare) if autopilot_open(listing) else None for listing in listings]
    return [None if row is None else GatedPlan(plans[row], row) for row in rows]


def _drafts(study: Study, candidates: Sequence[Candidate], settings: Settings, places: Places,
            ) -> tuple[list[Draft], dict[LevelCaps, LaneMaker]]:
    a, pilot = study.assumptions, study.pilot
    instrument = pilot.rating == "instrument" and pilot.instrument_current
    by_rule = clearance("instrument" if instrument else "visual_day", a)
    ways = Ways(Terrain.packaged(), by_rule, clearance("visual_day", a), places)
    makers: dict[LevelCaps, LaneMaker] = {}

    def make_lanes(caps: LevelCaps) -> LaneMaker:
        return LaneMaker(ways, caps, instrument)

    drafts = [draft_candidate(c.name, c.profile, settings, places, makers, make_lanes) for c in candidates]
    return drafts, makers


def _flyer(study: Study, candidate: Candidate, plan: CandidatePlan, places: Places, listing: Listing,
           standby: GatedPlan | None) -> Flyer:
    a = study.assumptions
    known = catalogue(a)
    built_in = sum(known[name].price_usd for name in candidate.upgrades)
    cost = cost_profile(candidate.profile, study.year, a, hangared=study.spec.kept == "hangar", upgrades_usd=built_in)
    pilot = study.pilot
    known_h = PilotExperience(float(pilot.total_h or 0), float(pilot.retractable_h or 0), study.type_h(candidate.name),
                              pilot.rating == "instrument", float(pilot.age or 0),
                              pilot_figure(pilot, "multi_engine_h", a))
    return Flyer(candidate, plan, HopTable(plan.coarse, places.airports, plan.times.approach_h),
                 upkeep_rule(candidate.profile, cost, a), cost, known_h, listing, standby,
                 study_local_flights(study, plan, study.local_hours(study.pilot)))


def study_local_flights(study: Study, plan: CandidatePlan, hours_h: float) -> LocalFlights:
    """Return so many hours a year of local flying in an aircraft of a study."""
    a = study.assumptions
    flow_gph = a["local.fuel_share"] * plan.coarse.fuel_flow_gph
    return local_flights(hours_h, a["local.flight_h"], flow_gph, a["local.at_local_h"],
                         study.home.timezone, study.year)


def _samples_of(routes: Sequence[Route], study: Study) -> tuple[Array, Array, Array]:
    """Return the samples of routes; a generated year may have no trips, and then the air of home stands for all."""
    if routes:
        return route_samples(routes)
    return np.full((1, 1), study.home.latitude_deg), np.full((1, 1), study.home.longitude_deg), np.zeros((1, 1))


def _place_prices(study: Study, trips: TripTable, places: Places, home: int, prices: Prices) -> PlacePrices:
    offsets = [-utc_hours(datetime(trips.year, 1, 1), p.timezone, trips.year) for p in places.airports]
    fees = {p.ident: p.landing_fee_usd for p in places.airports if p.landing_fee_usd is not None}
    found = place_prices([p.ident for p in places.airports], home, prices, np.array(offsets), fees)
    own = np.array([np.nan if p.fuel_price_usd_per_gal is None else p.fuel_price_usd_per_gal for p in places.airports])
    fuel = np.where(np.isnan(own), found.fuel_usd_per_gal, own)
    return PlacePrices(found.home, fuel, found.landing_fee_usd, found.overnight_usd, found.utc_offset_h)
