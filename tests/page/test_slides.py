"""Sliders that the program answers: held to a study that says the same itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.base.errors import MissionsimError
from missionsim.page.slides import Slides, standing
from missionsim.report.slider_years import slider_years
from missionsim.study.compare.compare import compare


@pytest.fixture(scope="module")
def study():
    return small_study(trips=6)


@pytest.fixture(scope="module")
def slides(study):
    return Slides(compare(study, 4))


def summed(comparison, fuel=None, value=None, hangar=1.0, travel=1.0):
    """Return what the script of the saved report makes of its numbers."""
    held = slider_years(comparison)
    fuel = held["fuel_usd_per_gal"] if fuel is None else fuel
    value = held["value_usd_per_h"] if value is None else value
    return np.array([np.array(w["usd"]) + (fuel / held["fuel_usd_per_gal"] - 1.0) * np.array(w["fuel"])
                     + (hangar - 1.0) * np.array(w["hangar"]) + (travel - 1.0) * np.array(w["travel"])
                     + value * np.array(w["hours"]) + np.zeros(held["years"]) for w in held["ways"]])


def test_at_rest_and_for_prices_it_says_what_the_saved_report_says(slides):
    for moved in ({}, {"fuel": 9.0, "value": 80.0, "hangar": 1.5, "travel": 0.7}):
        found = np.array(slides.at(moved)["costs"])
        np.testing.assert_allclose(found, summed(slides.comparison, **moved), atol=8.0)   # tenths of hours at $80


def test_half_the_trips_take_off_half_of_what_trips_cost(slides):
    whole, half, none = (np.array(slides.at({"trips": t, "value": 0.0})["costs"]) for t in (1.0, 0.5, 0.1))
    other = [w.kind != "own" for w in slides.ways]
    np.testing.assert_allclose(half[other], 0.5 * whole[other], atol=1.0)
    owned = np.logical_not(other)
    assert (half[owned] < whole[owned]).all()
    assert (half[owned] > 0.5 * whole[owned]).all()         # hangar, insurance and money tied up stay
    assert (none[owned] < half[owned]).all()


def test_what_a_price_moves_follows_the_trips_but_neither_years_kept_nor_yield(slides):
    def moved(price, **also):
        return np.array(slides.at(price | also)["costs"]) - np.array(slides.at(also)["costs"])

    owned = [w.kind == "own" for w in slides.ways]
    for price, share in (({"hangar": 2.0}, 1.0), ({"fuel": 12.0}, 0.5)):    # a hangar is not flown, fuel is
        whole = moved(price)[owned]
        for also in ({"years": 9.0}, {"yield": 0.09}):
            np.testing.assert_allclose(moved(price, **also)[owned], whole, atol=1.0)
        np.testing.assert_allclose(moved(price, trips=0.5)[owned], share * whole, atol=2.0)


def test_years_kept_and_yield_move_what_a_study_saying_so_moves(study, slides):
    same = replace(study, spec=study.spec.model_copy(update={
        "years_kept": 9, "prices": study.spec.prices.model_copy(update={"own_money_share_per_year": 0.09})}))
    told = compare(same, 4)
    found = slides.at({"years": 9.0, "yield": 0.09})["costs"]
    for way, costs in zip(slides.ways, found, strict=True):
        if way.kind == "own":
            i = slides.recosted.names.index(way.name)
            mine = np.array(costs) - np.array(slides.at({})["costs"][i])
            wanted = (told.results[i].tally.column("net_cost_cents")
                      - slides.comparison.results[i].tally.column("net_cost_cents")) / 100.0
            np.testing.assert_allclose(mine, wanted, atol=2.0)


def test_least_service_tells_who_does_not_give_it(slides):
    assert slides.at({"least": 0.0})["out"] == {}
    assert set(slides.at({"least": 1.0})["out"]) <= set(slides.recosted.names)
    made = [r.tally.column("completed").sum() / r.tally.column("trips_wanted").sum()
            for r in slides.comparison.results]
    if min(made) < 0.6:
        assert slides.at({"least": 1.0})["out"]


def test_where_they_begin_is_what_the_study_says(slides):
    begin = standing(slides.comparison)
    assert (begin.years, begin.years_move, begin.least_share) == (slides.begin.years, True, 0.0)
    assert begin.yield_share == slides.comparison.prepared.prices.own_money_share_per_year


@pytest.mark.parametrize("given", [{"fuel": 0.0}, {"trips": float("nan")}, {"years": "6"}, {"least": True},
                                   {"wings": 2.0}])
def test_nonsense_is_refused_with_what_is_accepted(slides, given):
    with pytest.raises(MissionsimError, match="accepted"):
        slides.at(given)
