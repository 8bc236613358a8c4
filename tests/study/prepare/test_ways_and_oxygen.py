"""Equipment that opens higher levels loses no way: what is flown without oxygen is flown with it, too."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pytest

from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.level_caps import LevelCaps
from missionsim.study.prepare.network import LaneMaker, Places, Ways
from missionsim.study.prepare.study import prepare
from missionsim.study.prepare.weather_samples import watched_ways
from missionsim.study.single_leg.plan import LegRequest, plan_leg
from missionsim.world.airports.table import AirportTable
from missionsim.world.ground.routes import Route

MOUNTAIN_PLACES = ("KLXV", "KEGE", "KCNY", "KSAF", "KABQ", "KJAC", "KGUC")
HEADINGS = "trip_id,date,time,to,return,return_time,adults\n"
CAPS = LevelCaps(25_000.0, (10_500.0, 12_500.0, 14_000.0), 14_000.0)


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """Return files of one turbocharged aircraft with oxygen and without."""
    folder = tmp_path_factory.mktemp("oxygen")
    written = (demo_folder() / "aircraft" / "boosted_six.yaml").read_text(encoding="utf-8")
    assert "oxygen: fixed" in written
    files = folder / "with.yaml", folder / "without.yaml"
    for file, oxygen in zip(files, ("fixed", "none"), strict=True):
        text = written.replace("oxygen: fixed", f"oxygen: {oxygen}").replace("Boosted six-seater", file.stem)
        file.write_text(text, encoding="utf-8")
    return files


def mountain_study(files, rating: str, assumptions: str = "{}"):
    """Return a study from the edge of the mountains to places among and behind them, alone and with two others."""
    rows = "".join(f"{place}-{adults},2025-06-{day:02},09:00,{place},2025-06-{day:02},16:00,{adults}\n"
                   for adults in (1, 3) for day, place in enumerate(MOUNTAIN_PLACES, 3 + 10 * (adults == 3)))
    folder = files[0].parent
    (folder / "trips.csv").write_text(HEADINGS + rows, encoding="utf-8")
    (folder / "study.yaml").write_text(
        f"study: mountains\nhome: KBJC\nyear: 2025\npilot: {{rating: {rating}, total_h: 800}}\ntrips: trips.csv\n"
        f"trips_are: logbook\nassumptions: {assumptions}\ncandidates: [with.yaml, without.yaml]\n", encoding="utf-8")
    return load_study(folder / "study.yaml")


def itineraries(plan, leg: int):
    """Yield the itineraries of a leg: whether it is flown by sight, and of each flight its ends, its length, and its
    levels that clear the ground and are open."""
    for option in plan.options.of_leg[leg]:
        if option < 0:
            continue
        flights = []
        for row in np.flatnonzero(plan.rows.option == option):
            open_ = (plan.level_limits.clears_terrain & plan.level_limits.oxygen)[row]
            levels = frozenset(plan.table.rows.levels_ft[row][open_].tolist())
            flights.append((int(plan.rows.from_place[row]), int(plan.rows.to_place[row]),
                            float(plan.table.rows.distance_nm[row]), levels))
        yield bool(plan.options.visual[option]), flights


def serves(mine, other) -> bool:
    """Tell whether an itinerary does all that another one does: the same places, no longer, every level of its own."""
    (by_sight, flights), (other_by_sight, others) = mine, other
    return by_sight <= other_by_sight and len(flights) == len(others) and all(
        a[:2] == b[:2] and a[2] <= 1.005 * b[2] and a[3] >= b[3] for a, b in zip(flights, others, strict=True))


@pytest.mark.parametrize("rating", ["visual", "instrument"])
@pytest.mark.parametrize(("assumptions", "least"), [
    ("{}", 8), ("{flight.passengers_level_ft: 10000, flight.oxygen_free_ft: 10000}", 2),
    ("{flight.passengers_level_ft: 15000}", 8)])
def test_every_itinerary_open_without_oxygen_is_open_with_it(both, rating, assumptions, least):
    prepared = prepare(mountain_study(both, rating, assumptions), rental=False)
    with_it, without = (flyer.plan for flyer in prepared.flyers)
    assert with_it.pilot.rules.oxygen
    assert not without.pilot.rules.oxygen
    compared = 0
    for leg in range(len(prepared.schedule.trip)):
        mine = list(itineraries(with_it, leg))
        for other in itineraries(without, leg):
            if all(levels for *_, levels in other[1]):
                compared += 1
                assert any(serves(own, other) for own in mine), (leg, other, mine)
    assert compared >= least


class Asked:
    """Lanes that keep which ways are known to be open when the one to watch is asked for."""

    def __init__(self) -> None:
        self.open_: list[tuple[int, ...]] = []

    def watched_way(self, from_place: int, to_place: int, people: int, open_) -> int:
        """Note what is asked, and return the first way."""
        self.open_.append(tuple(open_))
        return 0


def test_ways_known_to_be_open_are_those_with_an_open_level(both):
    """To Leadville the straight way is closed to three, a bent one is open; alone every way is."""
    prepared, asked = prepare(mountain_study(both, "visual"), rental=False), Asked()
    schedule, plan = prepared.schedule, prepared.flyers[0].plan
    ends = watched_ways(asked, plan, schedule)
    there = prepared.places.row("KLXV")
    legs = [leg for leg, (_, t, _) in enumerate(ends) if t == there]
    people = [int(schedule.people[schedule.trip[leg]]) for leg in legs]
    assert people == [1, 3]
    alone, party = (asked.open_[leg] for leg in legs)
    assert alone == tuple(range(len(alone)))
    assert 0 in alone
    assert 0 not in party
    assert party


def test_the_pilot_alone_goes_as_high_as_ever(both):
    prepared = prepare(mountain_study(both, "visual"), rental=False)
    with_it, without = (flyer.plan for flyer in prepared.flyers)
    leg = int(prepared.schedule.first_leg[0])
    assert prepared.schedule.people[0] == 1
    highest = [max(max(levels, default=0.0) for _, flights in itineraries(plan, leg) for *_, levels in flights)
               for plan in (with_it, without)]
    assert highest[0] > 14_500.0
    assert highest[1] <= 14_000.0


@pytest.mark.parametrize("hour", [7, 11, 15])
@pytest.mark.parametrize("ends", [("KBJC", "KLXV"), ("KLXV", "KBJC"), ("KBJC", "KEGE"), ("KGUC", "KCOS"),
                                  ("KBJC", "KSAF"), ("KASE", "KGJT")])
def test_a_leg_that_goes_without_oxygen_goes_with_it(both, ends, hour):
    with_it, without = (plan_leg(LegRequest(str(file), *ends, datetime(2025, 7, 18, hour), 3, rules="visual"))
                        for file in both)
    assert with_it.go >= without.go
    if without.go and len(without.order) == len(with_it.order) == 1:
        flight_h = [float(plan.rows.flight_h[plan.order[0]]) for plan in (with_it, without)]
        assert flight_h[0] <= 1.02 * flight_h[1]


def test_three_people_cross_to_leadville_round_the_high_ground_and_one_goes_straight(both):
    """The straight way wants 15,000 ft over the divide; the bent one 13,500 ft, for less than half an hour."""
    party, alone = (plan_leg(LegRequest(str(both[0]), "KBJC", "KLXV", datetime(2025, 7, 18, 8), people, rules="visual"))
                    for people in (3, 1))
    levels_ft = [float(plan.rows.exact.plans.level_ft[plan.order[0], 0]) for plan in (party, alone)]
    assert party.go
    assert alone.go
    assert levels_ft[0] == 13_500.0
    assert levels_ft[1] >= 15_000.0


def test_caps_by_hand(assumptions):
    """Without pressure the figures themselves; 2.0 psi (138 hPa) over 18,500 ft (494 hPa) is 632 hPa or 12,400 ft."""
    caps = LevelCaps.of(25_000.0, 0.0, assumptions)
    assert caps == CAPS
    assert [caps.of_party_ft(people) for people in (1, 2)] == [25_000.0, 14_000.0]
    assert LevelCaps.of(14_000.0, 0.0, assumptions) == LevelCaps(14_000.0, (10_500.0, 12_500.0), 14_000.0)
    low = assumptions.replaced({"flight.passengers_level_ft": 10_000})
    assert LevelCaps.of(25_000.0, 0.0, low) == LevelCaps(25_000.0, (10_000.0, *CAPS.lower_ft), 10_000.0)
    high = assumptions.replaced({"flight.passengers_level_ft": 17_500})
    assert LevelCaps.of(25_000.0, 0.0, high) == LevelCaps(25_000.0, (*CAPS.lower_ft, 17_500.0), 17_500.0)
    pressurised = LevelCaps.of(25_000.0, 2.0, assumptions)
    assert pressurised.lower_ft[:3] == CAPS.lower_ft
    assert pressurised.lower_ft[3] == pytest.approx(18_600.0, abs=150.0)
    assert pressurised.lower_ft[4] == pytest.approx(20_600.0, abs=300.0)
    assert pressurised.with_passengers_ft == pressurised.lower_ft[4]


def a_route(distance_nm: float, minimum_ft: float) -> Route:
    none = np.zeros(1)
    return Route(distance_nm, 100.0, 90.0, 90.0, (), minimum_ft, none, none, none, none, known=True, mountainous=True)


@dataclass
class Finder:
    """Finds the shortest of some routes below a level, as the ground would have it."""

    routes: tuple[Route, ...]

    def within(self, top_ft: float) -> Route | None:
        """Return the shortest."""
        return min((r for r in self.routes if r.minimum_level_ft <= top_ft), key=lambda r: r.distance_nm, default=None)

    def lowest(self) -> Route:
        """Return the lowest."""
        return min(self.routes, key=lambda r: r.minimum_level_ft)


def maker_of(assumptions, caps: LevelCaps, routes) -> LaneMaker:
    """Return lanes between places 0, 1, 2 by given routes; `routes`: of each pair those by rule and those by sight."""
    table = AirportTable.packaged(assumptions)
    places = Places(table)
    for ident in ("KBJC", "KLXV", "KGUC"):
        places.row(ident)
    ways = Ways(None, "rule", "sight", places)
    ways._finder = lambda a, b, visual: (Finder(routes[a, b][visual]), False)
    return LaneMaker(ways, caps, instrument=True)


def test_a_way_open_by_day_alone_does_not_stand_in_for_one_always_open(assumptions):
    """By sight 110 nm do below 14,000 and below 12,500 ft; by rule it takes 150 nm there, but by night, too."""
    by_rule = (a_route(100.0, 15_000.0), a_route(140.0, 13_900.0), a_route(150.0, 12_000.0))
    maker = maker_of(assumptions, CAPS, {(0, 1): (by_rule, (a_route(110.0, 12_300.0),))})
    found = [(w.route.distance_nm, w.visual) for w in maker.ways.between(0, 1, CAPS)]
    assert found == [(100.0, False), (140.0, False), (110.0, True), (150.0, False)]


def test_weather_is_looked_at_along_a_way_the_party_accepts(assumptions):
    routes = (a_route(100.0, 15_000.0), a_route(110.0, 13_500.0), a_route(120.0, 12_000.0)), (a_route(100.0, 15_000.0),)
    maker = maker_of(assumptions, CAPS, {(0, 1): routes})
    assert maker.watched_way(0, 1, people=1) == 0
    assert maker.watched_way(0, 1, people=2) == 1
    # Above 12,500 ft for longer than half an hour: a rule closes that one, too.
    assert maker.watched_way(0, 1, people=2, open_=(2,)) == 2
    none = maker_of(assumptions, CAPS, {(0, 1): ((a_route(100.0, 15_000.0),), (a_route(100.0, 15_000.0),))})
    assert none.watched_way(0, 1, people=2) == 0
    seen = maker_of(assumptions, CAPS, {(0, 1): (routes[0], (a_route(105.0, 13_800.0),))})
    assert seen.watched_way(0, 1, people=2) == 2


def test_flights_of_an_itinerary_are_held_to_one_level_together(assumptions):
    """The first flight has ways at 15,000, 13,000 and 12,000 ft, the second one at 12,300 and 10,000 ft: below 14,000
    and below 12,500 ft the second one needs no bend."""
    first = (a_route(100.0, 15_000.0), a_route(110.0, 13_000.0), a_route(120.0, 12_000.0))
    second = (a_route(50.0, 12_300.0), a_route(80.0, 10_000.0))
    maker = maker_of(assumptions, CAPS, {(0, 1): (first, first), (1, 2): (second, second)})
    assert maker.ways_along((0, 1)) == ((0,), (1,), (2,))
    assert maker.ways_along((0, 1, 2)) == ((0, 0), (1, 0), (2, 0), (2, 1))
