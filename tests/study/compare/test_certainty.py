"""Prices laid over flown years, and how sure the answer is: closed forms and identities."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.base.normal import normal_quantile
from missionsim.money.prices import low_likely_high
from missionsim.statistics.comparisons import best_shares
from missionsim.statistics.intervals import measure, point_interval, pooled_points
from missionsim.study.compare.alternatives import NONE, RENT, alternatives
from missionsim.study.compare.certainty import YEARS_AT_ONCE, _often_best, certainty
from missionsim.study.compare.compare import compared, flown_tallies
from missionsim.study.compare.find_out import FindOut, _kept, find_out
from missionsim.study.compare.price_draws import (
    Priced,
    drawn_prices,
    means_at_common_share,
    price_at,
    priced,
    value_of_knowing,
)
from missionsim.study.compare.recost import Recosted
from missionsim.study.prepare.study import prepare


@pytest.fixture(scope="module")
def prepared():
    return prepare(small_study(trips=8), rental=True)


@pytest.fixture(scope="module")
def tallies(prepared):
    return flown_tallies(prepared, 12)


@pytest.fixture(scope="module")
def laid(prepared, tallies):
    return priced_again(prepared, tallies)


def priced_again(prepared, tallies):
    recosted = Recosted(prepared, tallies[:-1])
    return priced(recosted, alternatives(tallies[:-1], tallies[-1], 0, prepared.study.assumptions).every)


def with_assumptions(prepared, values):
    study = prepared.study
    return replace(prepared, study=replace(study, assumptions=study.assumptions.replaced(values)))


def test_a_price_has_its_three_points():
    z = np.array([-normal_quantile(0.9), 0.0, normal_quantile(0.9)])
    assert price_at(z, 4.9, 6.0, 7.8) == pytest.approx([4.9, 6.0, 7.8])
    assert price_at(z, 0.0, 8.0, 60.0) == pytest.approx([0.0, 8.0, 60.0])
    assert price_at(z, -0.04, 0.0, 0.03) == pytest.approx([-0.04, 0.0, 0.03])


def test_what_aircraft_have_in_common_is_shown_at_nothing_and_at_all(prepared, tallies, laid):
    """With half in common the draws are those of the answer; the more is in common, the less two aircraft differ."""
    recosted = Recosted(prepared, tallies[:-1])
    apart, half, alike = (means_at_common_share(recosted, share) for share in (0.0, 0.5, 1.0))
    assert half == pytest.approx(laid.by_draw[:2])
    spread = [np.std(level[0] - level[1]) for level in (apart, half, alike)]
    assert spread == sorted(spread, reverse=True)
    sure = certainty(prepared, tallies[:-1], laid, [0, 1], {0.5: half, 1.0: alike})
    assert sure.at_common[0.5] == pytest.approx(sure.confidence_mean_best)
    assert sum(sure.at_common[1.0]) == pytest.approx(1.0)


def test_the_same_years_are_costed_again(laid, tallies, prepared):
    """With every factor at one the costs are those flown; the draws differ from it only by their prices."""
    for number, part in enumerate(tallies[:-1]):
        flown = part.column("net_cost_cents") / 100.0
        plain = Recosted(prepared, tallies[:-1]).parts(number).costs({})[:, 0]
        assert plain == pytest.approx(flown, abs=1.0)
        across = laid.cost[number] - flown[:, None]
        assert across.std() > 0.0


def test_who_has_no_aircraft_pays_no_hangar(laid, tallies):
    one = next(i for i, n in enumerate(laid.names) if n == "no aircraft")
    car = laid.factors[tallies[0].name, "cost.car_usd_per_sm"]
    air = laid.factors[tallies[0].name, "cost.airline_fare_usd"]
    of = alternatives(tallies[:-1], tallies[-1], 0, tallies_assumptions(tallies)).of(NONE)
    by_hand = (of.net_usd[:, None] + of.car_usd[:, None] * (car - 1.0)
               + (of.travel_usd - of.car_usd)[:, None] * (air - 1.0))
    assert laid.cost[one] == pytest.approx(by_hand)


def tallies_assumptions(_):
    return small_study(trips=2).assumptions


def test_what_is_given_or_overridden_is_a_point(prepared, tallies):
    keys = drawn_prices(prepared)
    assert "cost.fuel_usd_per_gal" not in keys      # the demo's study gives it
    assert "insurance.hull_share" in keys
    assert "maintenance.fault_cost_usd" in keys     # its level; what differs by event is drawn with the years
    other = with_assumptions(prepared, {"cost.car_usd_per_sm": 0.9})
    assert "cost.car_usd_per_sm" not in drawn_prices(other)
    again = priced_again(other, tallies)
    assert (again.factors[tallies[0].name, "cost.car_usd_per_sm"] == 1.0).all()


def test_a_range_the_study_gives_is_drawn_about_it(prepared, tallies):
    other = with_assumptions(prepared, {"cost.car_usd_per_sm": {"low": 0.6, "likely": 0.9, "high": 1.8}})
    assert "cost.car_usd_per_sm" in drawn_prices(other)
    found = priced_again(other, tallies).factors[tallies[0].name, "cost.car_usd_per_sm"]
    assert np.quantile(found, [0.1, 0.5, 0.9]) == pytest.approx([2.0 / 3.0, 1.0, 2.0], rel=0.12)


def test_the_level_of_what_single_events_cost_is_laid_over(prepared, tallies):
    """Low over likely at the 10 % point to the root of the share that is level; none of it without one."""
    name, key = tallies[0].name, "maintenance.fault_cost_usd"
    low, likely, high = low_likely_high(prepared.study.assumptions, key, prepared.flyers[0].cost.klass)
    found = priced_again(with_assumptions(prepared, {"statistics.event_level_share": 0.25}), tallies)
    assert np.quantile(found.factors[name, key], [0.1, 0.9]) == pytest.approx(
        [(low / likely)**0.5, (high / likely)**0.5], rel=0.12)
    none = priced_again(with_assumptions(prepared, {"statistics.event_level_share": 0.0}), tallies)
    assert (none.factors[name, key] == 1.0).all()


def test_annual_and_oil_are_split_by_their_prices(prepared, tallies):
    """Parts add up to the cost of the ownership, and findings move with fee and findings."""
    recosted = Recosted(prepared, tallies[:-1])
    parts = recosted.parts(0)
    assert parts.usd.sum(axis=1) == pytest.approx(recosted.cost(0), abs=0.5)
    keys = set(parts.prices)
    assert ("cost.oil_usd_per_quart",) in keys
    assert ("maintenance.oil_change_usd",) in keys
    fees = [p for p in keys if "maintenance.annual_flat_usd" in p or "maintenance.findings_ratio" in p]
    assert len(fees) == 2


@pytest.mark.parametrize(("share", "least", "most"), [(0.0, -0.1, 0.1), (0.5, 0.35, 0.65), (1.0, 0.999, 1.0)])
def test_two_aircraft_share_as_much_of_a_price_as_said(prepared, tallies, share, least, most):
    found = priced_again(with_assumptions(prepared, {"statistics.common_price_share": share}), tallies)
    a, b = (np.log(found.factors[t.name, "insurance.hull_share"]) for t in tallies[:2])
    assert least <= np.corrcoef(a, b)[0, 1] <= most
    fuel = [found.factors[t.name, "cost.oil_usd_per_quart"] for t in tallies[:2]]
    assert np.array_equal(*fuel)        # a price of the field is the same for every aircraft


def test_the_layers_add_up(prepared, tallies, laid):
    sure = certainty(prepared, tallies[:-1], laid, [0, 1])
    for s in sure.spread:
        assert s["total"]**2 == pytest.approx(s["luck"]**2 + s["listing"]**2 + s["prices"]**2 + s["interaction"]**2)
    assert sum(sure.probability_best) == pytest.approx(1.0)
    assert sum(sure.confidence_mean_best) == pytest.approx(1.0)


def test_who_does_not_serve_has_no_chance(prepared, tallies, laid):
    sure = certainty(prepared, tallies[:-1], laid, [1])
    assert (sure.lead, sure.probability_best, sure.confidence_mean_best) == (1, (0.0, 1.0), (0.0, 1.0))


def test_the_headline_is_the_mean_over_years_and_draws(prepared, tallies, laid):
    found = compared(prepared, tallies)
    for i, r in enumerate(found.results):
        assert r.measures["net_cost_usd"]["mean"] == pytest.approx(laid.cost[i].mean())
        assert r.measures["net_cost_at_likely_prices_usd"]["mean"] == pytest.approx(
            tallies[i].column("net_cost_cents").mean() / 100.0)
    rent = found.alternatives.of(RENT)
    assert rent.entry()["net_cost_usd"]["mean"] == pytest.approx(rent.net_usd.mean())


def test_knowing_a_price_is_worth_nothing_to_who_would_not_choose_otherwise(prepared, tallies, laid):
    recosted = Recosted(prepared, tallies[:-1])
    alone = find_out(recosted, laid, (), [0], [0])
    assert all(f.kept != "choice" for f in alone)
    assert all(f.value_usd >= 0.0 for f in find_out(recosted, laid, (), [0, 1], [0, 1]))


def test_what_is_worth_little_does_not_stand_first(assumptions):
    """100 dollars a year make the choice; below, what one that may be chosen hangs on is for the budget."""
    one = FindOut("seller", "A", "engine.hours", "", "", 100.0, 10.0, 0.0, (), (), "", "", True)
    rows = {"choice": one, "": replace(one, value_usd=94.0), "budget": replace(one, value_usd=20.0, spread_usd=300.0)}
    for kept, row in rows.items():
        assert _kept(row, assumptions, {"A"}) == kept
    assert _kept(rows["budget"], assumptions, {"B"}) == ""
    drift = replace(rows["budget"], figure="ownership.value_drift_share")
    assert _kept(drift, assumptions, {"A"}) == ""                           # nobody can tell


def test_what_one_price_tells_of_the_other_aircraft():
    """Both premiums move together: knowing one changes no choice; if they were independent it would."""
    z = np.random.default_rng(4).normal(0.0, 1.0, (2, 1_000))
    usd = {"A": 10_000.0, "B": 10_000.0}
    for other, worth in ((z[0], 0.0), (z[1], 10_000.0 * 0.1 / (2.0 * np.pi)**0.5)):
        factors = {("A", "k"): 1.0 + 0.1 * z[0], ("B", "k"): 1.0 + 0.1 * other}
        cost = 30_000.0 + 10_000.0 * np.stack([f - f.mean() for f in factors.values()])[:, None, :]
        found = value_of_knowing(Priced(("A", "B"), cost, factors), "A", "k", ("A", "B"), usd)
        assert found == pytest.approx(worth, abs=25.0)                      # sigma over the root of 2 pi, by hand


def test_the_bound_is_knowing_everything_open(prepared, tallies, laid):
    """More than any one price is worth, and nothing for one who has no choice."""
    both = certainty(prepared, tallies[:-1], laid, [0, 1])
    found = find_out(Recosted(prepared, tallies[:-1]), laid, (), [0, 1], [0, 1])
    assert max((f.value_usd for f in found), default=0.0) <= both.knowing_all_usd + 1.0
    assert certainty(prepared, tallies[:-1], laid, [0]).knowing_all_usd == pytest.approx(0.0, abs=1e-6)


def test_points_of_few_years_are_not_bracketed():
    assert point_interval(np.arange(35.0), 0.1) == (None, None)
    low, high = point_interval(np.arange(36.0), 0.1)
    assert low == 0.0
    assert high > 3.7
    assert measure(np.arange(20.0))["p10_low"] is None


@pytest.mark.parametrize("share", [0.1, 0.9])
def test_order_statistics_bracket_the_true_point(share):
    rng = np.random.default_rng(8)
    held = [low <= float(-np.log(1.0 - share)) <= high for low, high in (
        point_interval(rng.exponential(1.0, 60), share) for _ in range(2_000))]
    assert np.mean(held) >= 0.95 - 3.0 * (0.05 * 0.95 / 2_000)**0.5


def test_pooled_points_are_those_of_the_years_where_nothing_is_laid_over_them():
    years = np.random.default_rng(9).normal(0.0, 1.0, 50)
    plain = {k: v for k, v in measure(years).items() if k.startswith("p")}
    assert pooled_points(np.repeat(years[:, None], 7, axis=1)) == pytest.approx(plain)


def test_a_further_year_with_new_prices_falls_between_the_points_in_eight_of_ten():
    rng = np.random.default_rng(10)
    inside = []
    for _ in range(600):
        year, price = rng.normal(0.0, 1.0, 20), rng.normal(0.0, 0.5, 300)
        found = pooled_points(year[:, None] + price)
        new = rng.normal() + rng.normal(0.0, 0.5)
        inside.append(found["p10"] <= new <= found["p90"])
    assert 0.75 <= np.mean(inside) <= 0.85


def test_looking_through_some_years_at_a_time_counts_as_all_at_once_do(rng):
    cost = rng.integers(0, 4, size=(4, 2 * YEARS_AT_ONCE + 7, 9)).astype(float)     # many of them level
    every = best_shares(cost[[0, 2, 3]].reshape(3, -1)).mean(axis=1)
    assert np.array_equal(_often_best(cost, [0, 2, 3]), every)
    assert _often_best(cost, [1]).tolist() == [1.0]
