"""One leg, planned on its own: rules, routes, levels, fuel and runways as in a year, at one hour of one day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

import numpy as np

from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Array, Ints
from missionsim.base.assumptions import Assumptions, packaged_assumptions
from missionsim.base.errors import Fault, InputError, near_match
from missionsim.base.words import BIT, REASONS, Reason
from missionsim.decide.adapt import LOAD_BITS
from missionsim.decide.candidate_plan import CandidatePlan, Loads
from missionsim.decide.enroute_weather import TYPICAL_KT
from missionsim.decide.two_runs import TwiceFlown, in_two
from missionsim.flight.batch import AirOnRoutes
from missionsim.physics.geodesy import distance_course, haversine_nm
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_aircraft import fit_faults, load_profile
from missionsim.study.inputs.load_study import filled, load_study
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.candidates import Draft, Settings, draft_candidate, finish_candidate
from missionsim.study.prepare.itineraries import alternates
from missionsim.study.prepare.level_caps import LevelCaps
from missionsim.study.prepare.network import LaneMaker, Places, Ways
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.study.replicate.exact_plans import AskedFlights, ExactRows, exact_rows
from missionsim.study.replicate.exact_reasons import JudgedFlights, Why
from missionsim.study.replicate.lighter import can_carry_freight, loads_without_seats, removable_lb
from missionsim.study.single_leg.air import LegAir, field_sky, lane_air
from missionsim.world.airports.table import Airport, AirportTable
from missionsim.world.daylight import Daylight
from missionsim.world.ground.clearance import clearance
from missionsim.world.ground.terrain import Terrain
from missionsim.world.surface.place_climate import OwnStation
from missionsim.year.schedule import Schedule, make_schedule
from missionsim.year.trips import Trip, TripTable, after_jump, skipped_note

USUAL_DAY = datetime(2025, 4, 16, 12, 0)
"""A plain weekday noon, taken when nobody names a day."""
COMFORT_SPARE_H = 0.05
EVERYTHING = ("leave_gear", "two_runs", "seats_out")
"""What may be given up where no study says so; a leg leaves nobody behind."""


@dataclass(frozen=True, slots=True)
class Given:
    """What may be given up for a load: in words, and what is then on board; in two runs, of the heavier one.

    `other`: loads of the second run; None where there is one.
    """

    words: str
    people_lb: Array
    bags_lb: float
    loads: Loads
    other: Loads | None = None


@dataclass(frozen=True, slots=True)
class LegRequest:
    """What is asked about a leg.

    Parameters
    ----------
    aircraft : str              A profile file, an aircraft of the demo, or a candidate of the study.
    from_ident, to_ident : str
    when_local : datetime       On the clock of the airport left.
    people : int or tuple       Everybody on board, pilot included: how many, or the weight of each. [lb]
    bags_lb : float             Bags and goods, without what always flies along.
    air : LegAir                Wind and temperature, given or expected.
    rules : str or None         `instrument` or `visual`; None is the pilot's rating.
    study : str or None         Whose pilot, airports and assumptions count.
    """

    aircraft: str
    from_ident: str
    to_ident: str
    when_local: datetime = USUAL_DAY
    people: int | tuple[float, ...] = 1
    bags_lb: float = 0.0
    air: LegAir = LegAir()  # noqa: RUF009  (frozen)
    rules: Literal["instrument", "visual"] | None = None
    study: str | None = None


@dataclass(frozen=True)
class Setting:
    """Aircraft, pilot and ground of a leg, from a study or from the usual."""

    profile: Profile
    pilot: Pilot
    oxygen: str
    plan_by: Literal["time", "cost"]
    airports: AirportTable
    assumptions: Assumptions
    own_stations: Mapping[str, OwnStation]
    when_it_does_not_fit: tuple[str, ...]


@dataclass(frozen=True)
class LegPlan:
    """One leg as planned.

    `rows`, `order`: all itineraries' flights, and which of them are flown, in order; a leg that does not go shows the
    itinerary that comes nearest to going. `dark_h`: hours of darkness the leg runs into. `skipped_note`: says so where
    the clock skips the time asked for in spring; `request` then has the time after the jump. `gave_up`: what stays at
    home so that the load fits; `bags_lb` and `loads` are without it.
    """

    request: LegRequest
    setting: Setting
    plan: CandidatePlan
    draft: Draft
    places: Places
    from_airport: Airport
    to_airport: Airport
    distance_nm: float
    course_deg: float
    people_lb: Array
    bags_lb: float
    loads: Loads
    air: AirOnRoutes
    rows: ExactRows
    order: tuple[int, ...]
    alternate: tuple[str, ...]
    alternate_gal: Array
    dark_h: float | None
    comfort_h: float
    skipped_note: str
    gave_up: str = ""

    @property
    def judged(self) -> JudgedFlights:
        """The flights of all itineraries with what their reasons are told from."""
        return JudgedFlights(self.plan, self.setting.profile, self.places, self.setting.assumptions, self.rows,
                             self.people_lb, np.array([self.bags_lb]), self.loads)

    @property
    def bits(self) -> int:
        """Reasons in the way, as a mask."""
        mask = int(np.bitwise_or.reduce(self.rows.bits[list(self.order)]))
        return mask | (BIT[Reason.DAYLIGHT] if self.dark_h is not None else 0)

    @property
    def go(self) -> bool:
        """Whether nothing stands in the way."""
        return self.bits == 0


def plan_leg(request: LegRequest) -> LegPlan:
    """Return the plan of a leg, whether it goes or not.

    Raises
    ------
    InputError, UnknownPlace   The aircraft, an airport or the study is not known or faulty.
    NoWeatherStation           The temperature expected at a field is not known; give a deviation instead.
    """
    setting = _setting(request)
    a = setting.assumptions
    if faults := fit_faults(request.aircraft, setting.profile, a):
        raise InputError(faults)
    places = Places(setting.airports, own_stations=setting.own_stations)
    ends = [setting.airports.find(ident) for ident in (request.from_ident, request.to_ident)]
    if ends[0].ident == ends[1].ident:
        raise InputError([Fault("leg", "to", f"{ends[1].ident} is where the leg starts", "another airport")])
    note = skipped_note(request.when_local, ends[0].timezone, ends[0].ident)
    request = replace(request, when_local=after_jump(request.when_local, ends[0].timezone))
    people_lb, bags_lb = _load(request, setting)
    table = _table(request, ends, people_lb.shape[1])
    for airport in ends:
        places.row(airport.ident)
    schedule = make_schedule(table, places.rows, places.airports, a)
    depart_h = float(schedule.start_h[0])
    settings = Settings(setting.pilot, setting.oxygen, setting.plan_by, a, table, schedule,
                        a["cost.fuel_usd_per_gal"], a["cost.plan_by_cost_usd_per_h"])
    draft, terrain = _draft(request, setting, settings, places, depart_h)
    near = {p: alternates(places, p, int(a["flight.alternates_looked_at"]), a["flight.alternate_runway_ft"],
                          a)
            for p in sorted(set(draft.to_place))} if draft.rules.instrument else {}
    lanes = draft.maker.finish(0)
    plan = finish_candidate(draft, settings, places, lanes, 0, terrain)
    row = np.flatnonzero(plan.rows.leg == 0)
    air = lane_air(request.air, lanes, plan.rows.lane[row], setting.assumptions)
    where, alternate_gal = _alternates(plan, places, row, near)
    loads = draft.equipped.loads(people_lb, np.array([bags_lb]))
    sky = field_sky(request.air, places, plan, row, a, setting.own_stations)
    asked = AskedFlights(row, depart_h + plan.rows.offset_h[row], air, alternate_gal)
    found = exact_rows(plan, places, asked, sky, loads)
    order, gave_up, more_h = _chosen(plan, found), "", 0.0
    whole_nm, course_deg, _ = distance_course(ends[0].latitude_deg, ends[0].longitude_deg, ends[1].latitude_deg,
                                              ends[1].longitude_deg)
    if _mask(found, order) & LOAD_BITS:
        for given in _lighter(setting, draft.equipped, people_lb, bags_lb, request.bags_lb, whole_nm):
            tried = exact_rows(plan, places, asked, sky, given.loads)
            flown = _chosen(plan, tried)
            twice = given.other is not None
            other = exact_rows(plan, places, asked, sky, given.other) if given.other is not None else tried
            if _mask(tried, flown) or _mask(other, flown) or (twice and len(flown) > 1):
                continue
            found, order, loads, gave_up = tried, flown, given.loads, given.words
            people_lb, bags_lb = given.people_lb, given.bags_lb
            if twice:
                more_h, more_gal = _second_run(plan, schedule, found, order[0])
                gave_up += f": {_block_h(plan, found, order) + more_h:.2f} h block, {more_gal:.1f} gal in all"
            break
    dark_h = None if draft.rules.night else _dark_h(ends, depart_h, _block_h(plan, found, order) + more_h, table.year)
    return LegPlan(request, setting, plan, draft, places, ends[0], ends[1], whole_nm, course_deg, people_lb, bags_lb,
                   loads, air, found, order, where, alternate_gal, dark_h, float(plan.rows.comfort_h[0]), note, gave_up)


def _mask(found: ExactRows, order: Sequence[int]) -> int:
    """Return what stands in the way of some flights."""
    return int(np.bitwise_or.reduce(found.bits[list(order)]))


def _lighter(setting: Setting, equipped: Equipped, people_lb: Array, bags_lb: float, own_bags_lb: float,
             distance_nm: float) -> Iterator[Given]:
    """Yield what may be given up with everybody aboard, in the order of trying."""
    words: list[str] = []
    for step in setting.when_it_does_not_fit:
        if step == "leave_gear":
            left_lb = removable_lb(setting.pilot, equipped, setting.assumptions)
            bags_lb -= left_lb
            words = [*words, f"{left_lb:.0f} lb of gear left behind"]
            yield Given(", ".join(words), people_lb, bags_lb, equipped.loads(people_lb, np.array([bags_lb])))
        elif step == "two_runs" and distance_nm <= setting.assumptions["flight.two_runs_nm"]:
            yield _in_two_runs(words, equipped, people_lb, bags_lb, own_bags_lb)
        elif step == "seats_out" and can_carry_freight(equipped.profile):
            words = [*words, "seats taken out for freight"]
            yield Given(", ".join(words), people_lb, bags_lb,
                        loads_without_seats(equipped, people_lb, np.array([bags_lb]), np.zeros(1)))


def _in_two_runs(words: Sequence[str], equipped: Equipped, people_lb: Array, bags_lb: float, own_bags_lb: float,
                 ) -> Given:
    """Return a load parted in two, all of the party being adults."""
    first, second, follow = in_two(people_lb, np.array([own_bags_lb]), np.array([people_lb.shape[1]]))
    runs = [(people[:, people[0] > 0.0], bags + bags_lb - own_bags_lb) for people, bags in (first, second)]
    every = [equipped.loads(*run) for run in runs]
    heavy = int(every[1].zero_fuel_lb[0] > every[0].zero_fuel_lb[0])
    people, bags = runs[heavy]
    told = f"two runs, {int(follow[0])} of {people_lb.shape[1]} with the second" if follow[0] else "two runs"
    return Given(", ".join([*words, told]), people, float(bags[0]), every[heavy], every[1 - heavy])


def _second_run(plan: CandidatePlan, schedule: Schedule, found: ExactRows, k: int) -> tuple[float, float]:
    """Return the hours that a second run takes beyond the first, and the fuel of all three flights. [h, gal]"""
    twice = TwiceFlown(plan, schedule, np.zeros(1, dtype=np.int64))
    one_gal = float(found.exact.plans.fuel_gal[k, 0]) + plan.fuel.taxi_gal + plan.fuel.approach_gal
    return _block_h(plan, found, (k,)) + float(twice.more_h[0]), 2.0 * one_gal + float(twice.back_gal[0])


def reasons_of_leg(plan: LegPlan) -> tuple[Why, ...]:
    """Return every reason that stops a leg, each said once: flight by flight, and the dark last."""
    judged = plan.judged
    found = [why for k in plan.order for why in judged.reasons(k)]
    order = {reason: i for i, reason in enumerate(REASONS)}
    said = {why.text: why for why in sorted(found, key=lambda why: order[why.reason])}
    if plan.dark_h is not None:
        dark = Why(Reason.DAYLIGHT, plan.dark_h, "h",
                   f"{plan.dark_h:.1f} h into the night at one end, and the pilot does not fly by night")
        said[dark.text] = dark
    return tuple(said.values())


def find_aircraft(name: str) -> Profile:
    """Return the profile of a file, or of a demo aircraft by its file's stem or its own name.

    Raises
    ------
    InputError   Neither; with a near match. Or the file's faults.
    """
    if Path(name).suffix.lower() in {".yaml", ".yml"} or _is_file(name):
        return load_profile(Path(name), name)[0]
    folder = demo_folder() / "aircraft"
    known = {path.stem: load_profile(path, path.name)[0] for path in sorted(folder.glob("*.yaml"))}
    named = {profile.name: profile for profile in known.values()} | known
    word = name.strip().casefold()
    hits = [p for key, p in named.items() if key.casefold() == word]
    starts = {p.name: p for key, p in named.items() if key.casefold().startswith(word)} if not hits else {}
    if hits or len(starts) == 1:
        return hits[0] if hits else next(iter(starts.values()))
    by_word = {part: stem for stem in reversed(known) for part in stem.split("_") if not part.isdigit()}
    near = near_match(name, list(named)) or by_word.get(near_match(name, list(by_word)), "")
    raise InputError([Fault("aircraft", "", f"no aircraft {name!r:.60} is known",
                            f"a profile file (.yaml), or one of the demo: {', '.join(known)}", near)])


def _is_file(name: str) -> bool:
    try:
        return Path(name).is_file()
    except (OSError, ValueError):
        return False  # too long for a file name: then it is a word


def _setting(request: LegRequest) -> Setting:
    if request.study is None:
        a = packaged_assumptions()
        setting = Setting(find_aircraft(request.aircraft), filled(Pilot(), a), "as_equipped", "time",
                          AirportTable.packaged(a), a, {}, EVERYTHING)
    else:
        study = load_study(request.study)
        own_names = {c.name.casefold(): c.profile for c in study.candidates}
        profile = own_names.get(request.aircraft.strip().casefold()) or find_aircraft(request.aircraft)
        setting = Setting(profile, study.pilot, study.spec.oxygen, study.spec.plan_by, study.airports,
                          study.assumptions, study.own_stations, study.spec.when_it_does_not_fit)
    if request.rules is None:
        return setting
    current = {"instrument_current": True} if request.rules == "instrument" else {}
    pilot = setting.pilot.model_copy(update={"rating": request.rules, **current})
    return replace(setting, pilot=pilot)


def _load(request: LegRequest, setting: Setting) -> tuple[Array, float]:
    """Return weights of people, [1, people], and of bags with what always flies along. [lb]"""
    a, pilot = setting.assumptions, setting.pilot
    if isinstance(request.people, int):
        weights = [pilot_figure(pilot, "weight_lb", a)] + [a["year.adult_weight_lb"]] * (request.people - 1)
    else:
        weights = list(request.people)
    return np.array([weights], dtype=float), request.bags_lb + pilot_figure(pilot, "gear_lb", a)


def _table(request: LegRequest, ends: Sequence[Airport], people: int) -> TripTable:
    """Return the leg as a trip there and back, which is what a year is made of; only the way there is looked at."""
    there = request.when_local
    stops = (ends[0].ident, ends[1].ident, ends[0].ident)
    trip = Trip("leg", stops, (there, there + timedelta(hours=12)), people, 0, request.bags_lb)
    return TripTable((trip,), ends[0].ident, there.year)


def _draft(request: LegRequest, setting: Setting, settings: Settings, places: Places, depart_h: float,
           ) -> tuple[Draft, Terrain]:
    a, pilot = setting.assumptions, setting.pilot
    instrument = pilot.rating == "instrument" and pilot.instrument_current
    here, there = places.airports[:2]
    hours = float(haversine_nm(here.latitude_deg, here.longitude_deg, there.latitude_deg,
                               there.longitude_deg)) / TYPICAL_KT
    dark = _dark_h((here, there), depart_h, hours, request.when_local.year) is not None
    terrain = Terrain.packaged()
    visual = clearance("visual_night" if dark else "visual_day", a)
    rule = clearance("instrument", a) if instrument else visual
    # By night nobody leaves the instrument minimum to follow valleys under visual rules.
    ways = Ways(terrain, rule, rule if dark else visual, places)

    def make_lanes(caps: LevelCaps) -> LaneMaker:
        return LaneMaker(ways, caps, instrument)

    return draft_candidate(setting.profile.name, setting.profile, settings, places, {}, make_lanes), terrain


def _alternates(plan: CandidatePlan, places: Places, row: Ints, near: dict[int, list[int]],
                ) -> tuple[tuple[str, ...], Array]:
    """Return alternates of flights and the fuel to them: none where the weather is fair and there is an approach.

    References
    ----------
    .. [1] 14 CFR 91.167, 91.169: an instrument flight to a place without an approach carries fuel to an alternate.
    """
    names, gallons = [], np.zeros(len(row))
    for k, place in enumerate(plan.rows.to_place[row].tolist()):
        good = [p for p in near.get(place, []) if plan.pilot.landing.approach[p]]
        if plan.pilot.landing.approach[place] or not plan.pilot.rules.instrument or not good:
            names.append("" if plan.pilot.landing.approach[place] or not plan.pilot.rules.instrument else "none near")
            continue
        here = places.airports[place]
        nm = np.array([float(haversine_nm(here.latitude_deg, here.longitude_deg, places.airports[p].latitude_deg,
                                          places.airports[p].longitude_deg)) for p in good])
        names.append(places.airports[good[int(np.argmin(nm))]].ident)
        gallons[k] = float(plan.coarse.gallons(nm.min(), 0.0))
    return tuple(names), gallons


def _chosen(plan: CandidatePlan, found: ExactRows) -> tuple[int, ...]:
    """Return the flights of the best itinerary: one that goes before one that is comfortable before a quick one.

    Where none goes, the one with the fewest reasons, and of those the one that is least over weight and fuel.
    """
    option = plan.rows.option[found.row]
    lb_per_gal = plan.fuel.lb_per_gal
    best: tuple[tuple[float, ...], tuple[int, ...]] | None = None
    for number in dict.fromkeys(option.tolist()):
        flights = tuple(np.flatnonzero(option == number).tolist())
        rows = list(flights)
        mask = int(np.bitwise_or.reduce(found.bits[rows]))
        over_gal = found.exact.required_gal - plan.fuel.taxi_gal - found.allowed_gal
        over_lb = float(np.maximum(over_gal, 0.0)[rows].max()) * lb_per_gal
        sat_h = (1.0 + plan.assumptions["flight.comfort_spare_share"]) * plan.rows.comfort_h[found.row[rows]]
        comfort = bool((found.flight_h[rows] > sat_h + COMFORT_SPARE_H).any())
        score = (float(mask.bit_count()), over_lb, float(comfort), _block_h(plan, found, flights))
        if best is None or score < best[0]:
            best = (score, flights)
    assert best is not None
    return best[1]


def _block_h(plan: CandidatePlan, found: ExactRows, order: Sequence[int]) -> float:
    flight_h, times = float(found.flight_h[list(order)].sum()), plan.times
    return flight_h + len(order) * times.taxi_h + (len(order) - 1) * times.ground_h


def _dark_h(ends: Sequence[Airport], depart_h: float, block_h: float, year: int) -> float | None:
    """Return hours of darkness that the leg runs into at either end, None where it stays in daylight. [h]"""
    worst = 0.0
    for airport, time_h in ((ends[0], depart_h), (ends[1], depart_h + block_h)):
        light = Daylight.at(airport.latitude_deg, airport.longitude_deg, year)
        if light.is_dark(time_h):
            dawn_h, dusk_h = light.of_day(light.day_of(time_h))
            worst = max(worst, float(dawn_h - time_h) if time_h < dawn_h else float(time_h - dusk_h))
    return worst or None
