"""Several years: the first year is the one-year study's, cash is what hand and formula say, engines reach the shop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import fly_chunk, small_study

from missionsim.base.words import Shop
from missionsim.money.categories import CAUSE_CODE, CODE, Category, Cause
from missionsim.statistics.intervals import mean_interval
from missionsim.study.compare.compare import compare, flown_tallies
from missionsim.study.compare.ownership import batch_means, batched, cash_at_hand, ownerships, worst_tenth
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import again, weather_of, year_of
from missionsim.study.replicate.ownership_years import bought, fly_owned, joined_years, ownership_draws

YEARS = 3
REAL = 1.05 / 1.03
"""Growth of own money in dollars of constant worth: 5 % a year with prices rising by 3 %."""


@pytest.fixture(scope="module")
def prepared():
    return prepare(small_study(years=YEARS))


@pytest.fixture(scope="module")
def flown(prepared):
    return tuple(zip(*fly_owned(prepared, range(4)), strict=True))


def owned_years(prepared, replications):
    return [years for _, years in fly_owned(prepared, replications)]


def test_the_first_year_is_that_of_a_one_year_study(prepared, flown):
    one_year = fly_chunk(prepared, range(4))
    for several, one in zip(flown[0], one_year, strict=True):
        cash = several.ledger.cause != CAUSE_CODE[Cause.SHARE]
        np.testing.assert_array_equal(several.ledger.amount_cents[cash], one.ledger.amount_cents)
        np.testing.assert_array_equal(several.flights["depart_h"], one.flights["depart_h"])


def test_an_ownership_does_not_depend_on_the_chunk_it_is_flown_in(prepared, flown):
    alone = owned_years(prepared, [2])
    for whole, one in zip(flown[1], alone, strict=True):
        np.testing.assert_array_equal(one.records.cash_cents[0], whole.records.cash_cents[2])
        np.testing.assert_array_equal(one.records.flight_hours[0], whole.records.flight_hours[2])
        np.testing.assert_array_equal(one.draws.engine_life[0], whole.draws.engine_life[2])


def test_chunks_join_in_order(prepared, flown):
    parts = [owned_years(prepared, [k])[0] for k in (0, 1)]
    joined = joined_years(parts)
    np.testing.assert_array_equal(joined.records.cash_cents, flown[1][0].records.cash_cents[:2])
    assert joined.draws.overhaul_kind.shape == (2,)


def test_years_differ_but_luck_is_the_ownerships_own(flown):
    hours = flown[1][0].records.flight_hours
    assert len(np.unique(hours)) > hours.size // 2
    assert (hours > 0.0).all()


def test_cash_adds_up_and_the_purchase_is_what_a_hand_finds(prepared, flown):
    found = bought(prepared.entrants[0], flown[1][0])
    np.testing.assert_array_equal(found.by_year_cents, found.cash_cents.sum(axis=2))
    # Asked 139,000, closed 5 % lower: 132,050; title 450, ferry 1,500; inspections 1.7 at 2,000; tax 6 % of that;
    # five hours of instruction for a pilot without time in type, at 75.
    by_hand = 132_050 + 450 + 1_500 + 1.7 * 2_000 + 0.06 * 132_050 + 5 * 75
    assert found.by_year_cents[:, 0] / 100.0 == pytest.approx(by_hand, abs=0.005)
    for category in (Category.VALUE_LOST, Category.CAPITAL):
        assert not found.cash_cents[:, :, CODE[category]].any()
    assert (found.cash_cents[:, 1:-1, CODE[Category.RESALE]] == 0).all()
    assert (found.cash_cents[:, -1, CODE[Category.RESALE]] < 0).all()


def test_net_present_cost_is_the_sum_discounted_year_by_year(prepared, flown):
    view = ownerships(prepared, flown[1])
    for owned in view.owned:
        cash = owned.values.by_year_cents / 100.0
        by_hand = sum(cash[:, t] / REAL**t for t in range(YEARS + 1))
        assert owned.values.net_present_cost_usd == pytest.approx(by_hand)
        assert owned.net_present_cost_usd["mean"] == pytest.approx(by_hand.mean())
        # Equal yearly payments: P i (1 + i)^n / ((1 + i)^n - 1).
        factor = (REAL - 1.0) * REAL**YEARS / (REAL**YEARS - 1.0)
        assert owned.yearly == pytest.approx(by_hand * factor)
        assert [e["year"] for e in owned.by_year] == list(range(YEARS + 1))
        assert sum(owned.by_year[0]["categories_usd"].values()) == pytest.approx(owned.by_year[0]["cash_usd"]["mean"])


def test_premiums_fall_as_the_pilot_gains_time_in_type(prepared, flown):
    cash = bought(prepared.entrants[0], flown[1][0]).cash_cents[:, :, CODE[Category.INSURANCE]]
    assert (cash[:, 2] < cash[:, 1]).all()


def test_training_comes_before_the_first_trip():
    study = small_study(years=2, candidates=1, trips=8)
    slow = replace(study, assumptions=study.assumptions.replaced({"keeping.training_days_per_dual_h": 40.0}))
    quick = replace(study, assumptions=study.assumptions.replaced({"keeping.training_days_per_dual_h": 0.0,
                                                                   "keeping.training_days_least": 0}))
    trips = [owned_years(prepare(s), [0])[0].records.completed_trips for s in (slow, quick)]
    assert (trips[0][:, 0] < trips[1][:, 0]).all()   # 200 days without the aircraft
    assert trips[0][:, 0].max() <= 1.0               # all of these trips fall into them, or nearly


def test_an_engine_due_in_the_year_goes_to_the_shop_once(prepared):
    day = weather_of(prepared, 0)
    year = year_of(prepared.entrants[1], day, 0)
    usual = prepared.flyers[1].upkeep.upkeep(1, 0)
    due = replace(usual, overhaul_due_h=5.0, overhaul_down_h=24.0 * 400)
    log = again(prepared.entrants[1], year, due, day.luck, 0).log
    visits = [v for v in log.shop if v.kind == Shop.ENGINE_OVERHAUL]
    assert len(visits) == 1
    assert visits[0].flight_hours >= 5.0
    assert not [leg for leg in log.legs if visits[0].start_h < leg.depart_h < visits[0].end_h]


def test_a_worn_engine_is_overhauled_in_cash_and_in_the_shop():
    study = small_study(years=3, candidates=1)
    share = study.assumptions["engine_life.overhauled_share"]
    # Of engines with 1,720 h half still run, past 2,300 h one in ten million: this one is due within some 40 h.
    ends = {**share, "six": [*share["six"][:-1], 1.0 - 1e-7]}
    study = replace(study, assumptions=study.assumptions.replaced({"engine_life.overhauled_share": ends}))
    worn = study.candidates[0].profile.changed({"engine.hours_since_overhaul_h": 2_250.0})
    prepared = prepare(replace(study, candidates=(replace(study.candidates[0], profile=worn),)))
    years = owned_years(prepared, range(4))
    found = ownerships(prepared, years).owned[0]
    assert found.engine_overhaul_share > 0.7
    assert years[0].trips_lost.sum() > 0.0
    overhaul = found.values.cash_cents[:, :, CODE[Category.ENGINE_OVERHAUL]].sum(axis=1) / 100.0
    assert (overhaul[overhaul > 0.0] > 25_000.0).all()


def test_drawn_state_reaches_engine_and_propeller(prepared):
    flyer = prepared.flyers[0]
    from missionsim.study.unknowns.effects import effects_of
    effects = effects_of(flyer.listing.drawn(4, range(40)))
    draws = ownership_draws(flyer, effects, 4, range(40))
    np.testing.assert_array_equal(draws.hours_since_overhaul_h, effects.drawn.values["engine.hours_since_overhaul_h"])
    assert set(draws.overhaul_kind) == {"field", "shop", "factory"}
    assert draws.years_since_overhaul == pytest.approx(16.0)       # overhauled in 2009, bought in 2025
    assert np.ptp(draws.propeller_years) > 5.0
    u = np.sort(draws.engine_life[:, 0])
    assert np.abs(u - (np.arange(40) + 0.5) / 40).max() < 0.05     # stratified


def test_intervals_rest_on_batches_of_ten(rng):
    weather = np.repeat(rng.normal(0.0, 1_000.0, size=30), 10)     # ten ownerships share their weather
    found = batched(weather)
    _, low, high = mean_interval(batch_means(weather))
    assert (found["low"], found["high"]) == pytest.approx((low, high))
    assert high - low > 2.5 * (mean_interval(weather)[2] - mean_interval(weather)[1])
    assert batched(weather[:19])["low"] is None
    # Three ownerships of an unfinished batch move the mean and with it the middle of the interval, not its width.
    more = batched(np.append(weather, [9_000.0] * 3))
    middle, width = 0.5 * (more["low"] + more["high"]), more["high"] - more["low"]
    assert (middle, width) == pytest.approx(((weather.sum() + 27_000.0) / 303.0, high - low))


def test_worst_tenth_and_cash_at_hand(prepared, flown):
    assert worst_tenth(np.arange(20.0)) == pytest.approx(18.5)
    found = cash_at_hand(bought(prepared.entrants[0], flown[1][0]))
    assert 0.0 <= found["p90_usd"] <= found["p95_usd"]
    assert 1 <= found["year"] <= YEARS


def test_a_comparison_over_years_carries_them():
    found = compare(small_study(years=2, trips=6), 2)
    assert found.ownership.years == 2
    for result, owned in zip(found.results, found.ownership.owned, strict=True):
        assert result.by_year == owned.by_year
        assert result.net_present_cost_usd == owned.net_present_cost_usd
        assert "values" not in result.ownership


@pytest.mark.slow
def test_two_workers_own_the_same_years_as_one():
    prepared = prepare(small_study(years=2, trips=6))
    one, two = flown_tallies(prepared, 12, workers=1), flown_tallies(prepared, 12, workers=2)
    for a, b in zip(one, two, strict=True):
        np.testing.assert_array_equal(a.owned.records.cash_cents, b.owned.records.cash_cents)
        np.testing.assert_array_equal(a.table, b.table)


def test_a_pilot_nobody_insures_is_told_so():
    study = small_study(years=2, trips=4)
    young = study.pilot.model_copy(update={"total_h": 60.0, "retractable_h": 0.0})
    found = compare(replace(study, pilot=young), 2)
    verdict = found.ownership.owned[0].insurance
    assert not verdict["insurable"]
    assert "60 h total" in verdict["why"][0]
