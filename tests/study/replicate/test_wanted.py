"""Which trips of a wish list are wanted: a habit by year, the same for all, and nothing where all are wanted."""

from __future__ import annotations

import json
from dataclasses import fields, replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.base.assumptions import packaged_assumptions
from missionsim.report.contract import comparison_json
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import (
    KeptWeather,
    YearColumns,
    columns_of,
    habits_of,
    people_of,
    weather_of,
    year_of,
)
from missionsim.study.replicate.wanted import not_wanted, wanted_shares, wanted_trips


def test_the_share_is_drawn_between_the_bounds_people_tell():
    shares = np.array(wanted_shares(packaged_assumptions(), 1, range(4_000)))
    assert shares.max() <= 1.0
    # Published bounds of planned against flown hours are the 10, 50 and 90 % points: binomial error 3 times 0.5 %.
    for point, share in ((0.5, 0.1), (0.7, 0.5), (0.95, 0.9)):
        assert np.mean(shares < point) == pytest.approx(share, abs=0.025)


def test_must_go_trips_are_always_wanted_and_the_others_by_the_share():
    must = np.zeros(3_000, dtype=bool)
    must[::3] = True
    wanted = wanted_trips(must, 0.6, 7, 0, 1)
    assert wanted[must].all()
    assert wanted[~must].mean() == pytest.approx(0.6, abs=0.033)  # 3 standard errors of 2,000 draws
    assert wanted_trips(must, 1.0, 7, 0, 1).all()
    # A larger share keeps what a smaller one wanted.
    assert not (wanted & ~wanted_trips(must, 0.8, 7, 0, 1)).any()


def test_all_of_a_logbook_is_wanted_and_an_empty_list_is_no_fault():
    assert not_wanted(prepare(small_study()), [0, 3]) == [frozenset(), frozenset()]
    assert len(wanted_trips(np.zeros(0, dtype=bool), 0.5, 1, 0, 1)) == 0


def test_habits_of_a_chunk_are_those_of_each_replication_by_itself():
    study = small_study(trips=10)
    ready = prepare(replace(study, spec=study.spec.model_copy(update={"trips_are": "wish_list"})))
    for year in (0, 2):
        whole = habits_of(ready, [7, 3, 40], year)
        assert whole == [habits_of(ready, [r], year)[0] for r in (7, 3, 40)]
        assert len({h.absent for h in whole}) == len({h.routines.taxi_h for h in whole}) == 3
    assert weather_of(ready, 3).habits == habits_of(ready, [3])[0]
    assert [h.routines for h in habits_of(ready, [3], 1)] == [h.routines for h in habits_of(ready, [3])]


@pytest.fixture(scope="module")
def both():
    """The same years with all trips wanted and as a wish list, with habits of whoever plans twice what is flown."""
    study = small_study(trips=10)
    halved = {"trip.wanted_share": 0.5}
    wish = replace(study, spec=study.spec.model_copy(update={"trips_are": "wish_list"}),
                   assumptions=study.assumptions.replaced(halved))
    return compare(study, 10), compare(wish, 10)


def test_what_is_not_wanted_is_made_by_nobody_and_costs_nobody(both):
    every, wish = both
    for a, b in zip(every.results, wish.results, strict=True):
        assert (a.tally.column("trips_wanted") == 10).all()
        assert b.tally.column("trips_wanted").mean() < 9
    wanted = [set(zip(r.tally.trips.replication.tolist(), r.tally.trips.trip.tolist(), strict=True))
              for r in wish.results]
    assert wanted[0] == wanted[1]
    none, all_done = wish.alternatives.none, every.alternatives.none
    assert (none.usd <= all_done.usd + 1e-9).all()
    assert (none.otherwise + none.given_up == wish.results[0].tally.column("trips_wanted")).all()


def test_the_result_is_told_at_seven_of_ten_trips_and_at_all(both):
    every, wish = both
    assert every.by_share_wanted is None
    found = json.loads(comparison_json(wish, None))["by_share_wanted"]
    assert [(e["share"], e["trips_wanted"]) for e in found] == [(0.7, 7.0), (1.0, 10.0)]
    for entry in found:
        assert set(entry) == {"share", "trips_wanted", "order", "alternatives"}
        assert sorted(entry["order"]) == sorted(x["name"] for x in entry["alternatives"])
        for one in entry["alternatives"]:
            assert set(one) == {"kind", "name", "net_cost_usd", "trips_made", "over_not_owning_usd"}
            assert set(one["net_cost_usd"]) == {"mean", "low", "high"}
        # A straight line through differences is the difference of the lines: owning less having none.
        mean = {x["kind"]: x["net_cost_usd"]["mean"] for x in entry["alternatives"]}
        over = {x["kind"]: x["over_not_owning_usd"] for x in entry["alternatives"]}
        assert over["none"] is None
        assert over["own"]["mean"] == pytest.approx(mean["own"] - mean["none"])
    more = [e["alternatives"][0]["trips_made"]["mean"] for e in found]
    assert more[0] < more[1] <= 10.0


def test_a_wish_list_of_which_all_is_wanted_is_a_logbook_to_the_byte():
    study = small_study(trips=6, candidates=1)
    sure = {"trip.wanted_share": 1.0}
    every = compare(study, 2)
    for wish_list in (False, True):
        spec = study.spec.model_copy(update={"trips_are": "wish_list" if wish_list else "logbook"})
        same = compare(replace(study, spec=spec, assumptions=_always(study.assumptions.replaced(sure))), 2)
        assert np.array_equal(same.results[0].tally.table, every.results[0].tally.table)


def _always(assumptions):
    """Return the assumptions with no lower bound of the share wanted."""
    entry = replace(assumptions.entry("trip.wanted_share"), low=1.0)
    return replace(assumptions, entries={**assumptions.entries, "trip.wanted_share": entry})


def test_a_year_is_the_same_whether_or_not_trips_nobody_wants_are_decided_on_too():
    """What is kept for other years of the same weather decides on all trips."""
    prepared = prepare(load_study())
    for replication in (0, 3):
        habits, people_lb = habits_of(prepared, [replication])[0], people_of(prepared, [replication])[0]
        assert habits.absent
        few, every = weather_of(prepared, replication, people_lb, habits), weather_of(prepared, replication)
        for entrant in prepared.entrants:
            years = [year_of(entrant, few, replication), year_of(entrant, every, replication, kept=KeptWeather())]
            assert len(years[0].plan.cells.row) < len(years[1].plan.cells.row)
            first, second = (columns_of(prepared, year, replication) for year in years)
            for part in fields(YearColumns):
                for name, values in getattr(first, part.name).items():
                    np.testing.assert_array_equal(values, getattr(second, part.name)[name])
