"""Where each way wins: the trips are what they say, the choice of a cell by hand, identities on a flown grid."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from study_cases import small_study

from missionsim.money.categories import CODE, Category
from missionsim.money.other_ways import other_ways
from missionsim.physics.geodesy import haversine_nm
from missionsim.report.contract import comparison_object
from missionsim.report.grid import grid_section, grid_table
from missionsim.study.compare import where_each_wins as grid
from missionsim.study.compare.alternatives import NO_AIRCRAFT, NONE, OWN
from missionsim.study.compare.compare import compare
from missionsim.study.compare.grid_trips import grid_trips
from missionsim.study.compare.price_draws import Priced
from missionsim.study.compare.recost import Change, Recosted
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare

FEW = {"grid.distances_nm": [100, 240], "grid.directions": 3, "grid.parties": [1, 3], "grid.replications": 3}


@pytest.fixture(scope="module")
def study():
    small = small_study(trips=6)
    return replace(small, assumptions=small.assumptions.supposed(FEW))


@pytest.fixture(scope="module")
def found(study):
    return grid.with_grid(compare(study, 3))


def test_trips_lie_at_their_distance_and_never_overlap_within_a_party():
    study = load_study()
    trips, home = grid_trips(study), study.home
    tolerance = study.assumptions["grid.distance_tolerance_share"]
    for trip, d in zip(trips.table, trips.distance, strict=True):
        there = study.airports.find(trip.destinations[0])
        nm = haversine_nm(home.latitude_deg, home.longitude_deg, there.latitude_deg, there.longitude_deg)
        assert nm == pytest.approx(trips.distances_nm[d], rel=tolerance)
    for party, people in enumerate(trips.parties):
        own = [trips.table[row] for row in trips.of_party(party)]
        assert {t.adults for t in own} == {people}
        assert all(a.departs_local[-1] < b.departs_local[0] for a, b in pairwise(own))
        assert {t.destinations for t in own} == {t.destinations for t in (trips.table[r] for r in trips.of_party(0))}


def test_every_distance_is_flown_in_all_seasons():
    trips = grid_trips(load_study())
    for d in range(1, len(trips.distances_nm)):
        months = {trips.table[row].departs_local[0].month for row, of in enumerate(trips.distance) if of == d}
        assert {(m - 1) // 3 for m in months} == {0, 1, 2, 3}


def _way(kind, name, usd, hours, wear=0.0, people=1):
    all_h = [people * h for h in hours]
    rows = {"made": [1.0] * 3, "usd": usd, "party_h": hours, "person_h": all_h, "valued_h": all_h, "wear_h": [wear] * 3,
            "car_usd": [0.0] * 3, "airline_usd": [0.0] * 3}
    rows = {key: np.array([value]) for key, value in rows.items()}
    return grid._Flown(kind, name, **rows)


def test_the_best_of_a_cell_by_hand():
    # A: 300 dollars and 4 h; car: 100 dollars and 10 h. They are equal at 200/6 = 33 dollars an hour.
    ways = [_way(OWN, "A", [300.0, 302.0, 298.0], [4.0, 4.0, 4.0]),
            _way(NONE, NO_AIRCRAFT, [100.0, 100.0, 100.0], [10.0, 10.0, 10.0])]
    priced = Priced(("A", NO_AIRCRAFT), np.zeros((2, 3, 4)), {})
    none = {"A": np.zeros(4)}
    assert grid._best(ways, 0, 0.0, none, priced).names == (NO_AIRCRAFT,)
    assert grid._best(ways, 0, 25.0, none, priced).names == (NO_AIRCRAFT,)
    assert grid._best(ways, 0, 50.0, none, priced).names == ("A",)
    # 33.4: A is ahead by 0.4 dollars, its mean is known to 4.303 x 2 / sqrt(3) = 5: level.
    assert grid._best(ways, 0, 33.4, none, priced).names == ("A", NO_AIRCRAFT)


def test_the_hours_of_everybody_aboard_count():
    # One traveller's hour at 25 saves 150 dollars and A costs 200 more; three save 450.
    ways = [_way(OWN, "A", [300.0] * 3, [4.0] * 3, people=3),
            _way(NONE, NO_AIRCRAFT, [100.0] * 3, [10.0] * 3, people=3)]
    assert grid._best(ways, 0, 25.0, {"A": np.zeros(4)}, Priced(("A",), np.zeros((1, 3, 4)), {})).names == ("A",)


def test_prices_nobody_gave_make_level_what_many_years_would_tell_apart():
    ways = [_way(OWN, "A", [300.0] * 3, [4.0] * 3, wear=2.0), _way(NONE, NO_AIRCRAFT, [100.0] * 3, [10.0] * 3)]
    priced = Priced(("A", NO_AIRCRAFT), np.zeros((2, 3, 4)), {})
    assert grid._best(ways, 0, 50.0, {"A": np.zeros(4)}, priced).names == ("A",)
    # An hour adds -60, -20, 20 or 60 dollars: 2 h are uncertain by 2 x 44.7 = 89, and 89 x 4.3 is more than the 100.
    wide = {"A": np.array([-60.0, -20.0, 20.0, 60.0])}
    assert grid._best(ways, 0, 50.0, wide, priced).names == ("A", NO_AIRCRAFT)


def test_no_aircraft_is_the_other_way_of_each_trip(found, study):
    trips = grid_trips(study)
    one = replace(study, listed=trips.table)
    prepared = prepare(one, trips.table)
    ways = other_ways(prepared.terms, prepared.prices, study.assumptions)
    for p in range(len(trips.parties)):
        for d in range(len(trips.distances_nm)):
            rows = [k for k in trips.of_party(p) if trips.distance[k] == d]
            told = next(w for w in found.grid.cell(d, p).ways if w.kind == NONE)
            assert told.usd == pytest.approx(np.mean(ways.usd[rows]), rel=1e-5)
            assert told.party_hours == pytest.approx(np.mean(ways.hours[rows]), rel=1e-5)
            assert told.person_hours == pytest.approx(told.party_hours * trips.parties[p], rel=1e-5)


def test_dollars_otherwise_are_told_apart_by_way(study, found):
    trips = grid_trips(study)
    none = grid._flown_ways(study, trips, 2, 1, None)[-1]
    ways = other_ways(prepare(replace(study, listed=trips.table), trips.table).terms, found.prepared.prices,
                      study.assumptions)
    for cell, (p, d) in enumerate((p, d) for p in range(len(trips.parties)) for d in range(len(trips.distances_nm))):
        rows = [k for k in trips.of_party(p) if trips.distance[k] == d]
        by_air = float(np.mean(np.where(ways.by_airline, ways.usd, 0.0)[rows]))
        assert none.airline_usd[cell] == pytest.approx(by_air, rel=1e-5)
        assert none.car_usd[cell] + none.airline_usd[cell] == pytest.approx(none.usd[cell])
        assert none.car_usd[cell].mean() > 0.0


def test_an_hour_adds_what_its_trips_are_not_booked(found):
    """Fuel and fees are booked on trips; what remains is wear, parts, overhauls and value."""
    recosted = Recosted(found.prepared, [r.tally for r in found.results])
    for i, r in enumerate(found.results):
        ends = [recosted.cost(i, Change(trips=share)).mean() for share in (0.75, 1.25)]
        outside = sum(r.tally.categories[:, CODE[c]].mean() for c in (Category.SUBSTITUTE, Category.TIME)) / 100.0
        fuel = r.tally.categories[:, CODE[Category.FUEL]].mean() / 100.0
        whole = (ends[1] - ends[0]) / 0.5 - outside
        left = grid.added_usd_per_h(found, i).mean() * r.tally.column("flight_hours").mean()
        assert 0.0 < left < whole - 0.9 * fuel


def test_cells_hold_what_belongs_to_them(found):
    assert sum(c.own_trips for c in found.grid.cells) == 6
    for cell in found.grid.cells:
        names = {w.name for w in cell.ways}
        assert {b.usd_per_h for b in cell.best} == set(found.grid.usd_per_h)
        assert all(b.names and set(b.names) <= names for b in cell.best)
        assert all(0.0 <= w.made_share <= 1.0 for w in cell.ways)


def test_what_a_further_hour_adds_is_more_than_nothing_and_leaves_what_comes_anyway(found):
    for r in found.results:
        added = grid.added_usd_per_h(found, found.names.index(r.name))
        assert added.mean() > 0.0  # oil, wear, value lost by the hour
        anyway = found.grid.comes_anyway_usd[r.name]
        assert 0.0 < anyway < r.values("cost_usd").mean()


def test_the_grid_is_told_in_json_table_and_report(found):
    told = comparison_object(found, None)["grid"]
    assert len(told["cells"]) == 4
    assert len(grid_table(found).rows) == 2
    section = grid_section(found)
    assert section.drawn.count('type="radio"') == len(found.grid.usd_per_h)
    assert "of yours" in section.drawn


def test_the_slider_of_the_grid_says_at_each_value_what_is_best_there(found):
    values = found.grid.moved_usd_per_h
    assert {0.0, 5.0, 100.0, 200.0, found.grid.told_usd_per_h} <= set(values)
    for cell in found.grid.cells:
        assert len(cell.moved) == len(values)
        for best in cell.best:
            moved = cell.moved[values.index(best.usd_per_h)].split()
            assert tuple(cell.ways[int(k)].name for k in moved) == best.names
    shown = json.loads(re.search(r'id="grid-data">(.*?)</script>', grid_section(found).drawn, re.S)[1])
    assert values[shown["at"]] == found.grid.told_usd_per_h
    assert [c["best"] for c in shown["cells"]] == [list(c.moved) for c in found.grid.cells]
