"""Costing flown years again: the same as flying them at the other price, and tipping points that hold when flown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.money.categories import CODE, Category
from missionsim.study.compare.compare import chunk_tallies, compare, compared, flown_tallies
from missionsim.study.compare.measures import values_of
from missionsim.study.compare.recost import Change, Recosted
from missionsim.study.compare.rent_or_own import _travelling_as_flown, rent_or_own, travelling
from missionsim.study.compare.sensitivity import bars, offers, tied_down, tippings
from missionsim.study.prepare.study import prepare

COUNT = 5


@pytest.fixture(scope="module")
def prepared():
    return prepare(small_study(candidates=3))


@pytest.fixture(scope="module")
def recosted(prepared):
    return Recosted(prepared, flown_tallies(prepared, COUNT))


@pytest.fixture(scope="module")
def owned():
    prepared = prepare(small_study(years=3, trips=8))
    return Recosted(prepared, flown_tallies(prepared, COUNT))


def flown_at(recosted, **prices):
    """Fly the same years with other prices of the study."""
    study = recosted.prepared.study
    spec = study.spec.model_copy(update={"prices": study.spec.prices.model_copy(update=prices)})
    tallies = flown_tallies(prepare(replace(study, spec=spec)), COUNT)
    return np.stack([values_of(t, "net_cost_usd") for t in tallies])


def test_unchanged_costs_are_those_of_the_comparison(recosted):
    net = np.stack([values_of(t, "net_cost_usd") for t in recosted.tallies])
    # A year's categories are rounded to the cent one by one.
    assert recosted.costs() == pytest.approx(net, abs=0.1)


def test_another_fuel_price_is_as_flown_with_it(recosted):
    again = recosted.costs(Change(scale={Category.FUEL: 9.0 / 6.0}))
    # Every entry of a ledger is rounded to the cent once, some eighty a year.
    assert again == pytest.approx(flown_at(recosted, fuel_usd_per_gal=9.0), abs=1.0)


def test_another_yield_of_own_money_is_as_flown_with_it(recosted):
    again = recosted.costs(Change(own_money_share=0.08))
    assert again == pytest.approx(flown_at(recosted, own_money_share_per_year=0.08), abs=0.1)


def test_a_discount_is_worth_what_the_money_earns_and_the_tax(recosted):
    """The market value stays: what is paid less is saved with its tax of 6 %, spread over five years at 1.94 % real."""
    base = recosted.cost(0, Change(price_usd={0: 120_000.0}))
    less = recosted.cost(0, Change(price_usd={0: 110_000.0}))
    real = 1.05 / 1.03 - 1.0
    by_hand = 10_000.0 * 1.06 * real / (1.0 - (1.0 + real) ** -5)
    assert base - less == pytest.approx(by_hand, abs=0.05)
    # An engine hour is worth 19 dollars less the selling share, years later, and its share of an overhaul.
    (offer, *_) = offers(recosted)
    assert 8.0 < offer.engine_hour_low_usd <= offer.engine_hour_usd <= offer.engine_hour_high_usd < 40.0
    assert offer.market_value_usd == pytest.approx(0.95 * 139_000.0)


def evened(recosted):
    """Return the study with the second candidate at the price that makes it as dear as the first, by hand."""
    study = recosted.prepared.study
    base = recosted.costs().mean(axis=1)
    paid = 0.95 * 272_000.0
    step = (recosted.cost(1, Change(price_usd={1: paid + 10_000.0})).mean() - base[1]) / 10_000.0
    second = study.candidates[1]
    price = (paid + (base[0] - base[1]) / step) / 0.95
    profile = second.profile.changed({"prices.asking_price_usd": price, "prices.market_value_usd": paid,
                                      "prices.hull_value_usd": paid})
    return replace(study, candidates=(study.candidates[0], replace(second, profile=profile)))


def test_the_fuel_price_at_which_the_choice_changes_holds_when_flown(recosted):
    """Two candidates made even at 6 dollars: the thirsty one is cheaper below, and even when flown at that price."""
    study = evened(recosted)
    prepared = prepare(study)
    even = Recosted(prepared, flown_tallies(prepared, COUNT))
    (point,) = [t for t in tippings(even) if t.variable == "fuel_usd_per_gal"]
    assert point.at == pytest.approx(6.0, abs=0.05)
    burnt = [t.column("fuel_gal").mean() for t in even.tallies]
    assert point.from_name == even.names[int(np.argmax(burnt))]
    means = flown_at(even, fuel_usd_per_gal=point.at).mean(axis=1)
    assert means[0] == pytest.approx(means[1], abs=2.0)
    found = compared(prepared, even.tallies)
    assert {"variable", "at", "low", "high", "from", "to"} <= set(found.tipping_points[0])


def test_tipping_points_are_crossings_of_the_cheapest(recosted):
    for t in tippings(recosted):
        if t.variable != "own_money_share_per_year":
            continue
        below, above = (recosted.costs(Change(own_money_share=t.at + d)).mean(axis=1) for d in (-0.002, 0.002))
        assert recosted.names[int(np.argmin(below))] == t.from_name
        assert recosted.names[int(np.argmin(above))] == t.to_name


def test_hours_scale_what_is_flown_and_nothing_fixed(recosted):
    once, twice = recosted.ownership(0).year_cents, recosted.ownership(0, Change(trips=2.0)).year_cents
    for category, times in ((Category.FUEL, 2), (Category.CONSUMABLES, 2), (Category.HANGAR, 1), (Category.ANNUAL, 1)):
        assert twice[:, CODE[category]] == pytest.approx(times * once[:, CODE[category]], abs=2), category
    # More hours in an older engine come back less, and the pilot's premium falls sooner.
    assert (twice[:, CODE[Category.VALUE_LOST]] >= once[:, CODE[Category.VALUE_LOST]]).all()
    assert (twice[:, CODE[Category.INSURANCE]] <= once[:, CODE[Category.INSURANCE]]).all()


def test_bars_are_sorted_and_move_the_right_way(recosted):
    found = bars(recosted)
    assert [b.swing_usd for b in found] == sorted((b.swing_usd for b in found), reverse=True)
    fuel = next(b for b in found if b.what == "fuel at 9 dollars")
    for i, name in enumerate(recosted.names):
        burnt = recosted.tallies[i].categories[:, CODE[Category.FUEL]].mean() / 100.0
        assert fuel.high_usd[name] - fuel.low_usd[name] == pytest.approx(0.5 * burnt, abs=0.05)
    overhaul = next(b for b in found if b.unit == "$" and "90,000" in b.what)
    assert all(overhaul.high_usd[name] >= overhaul.low_usd[name] for name in recosted.names)


def test_offers_make_rivals_equal(owned):
    found = offers(owned)
    assert len(found) == 2
    base = owned.costs().mean(axis=1)
    for i, offer in enumerate(found):
        if offer.equal_usd is None:
            continue
        there = owned.cost(i, Change(price_usd={i: offer.equal_usd})).mean()
        assert there == pytest.approx(base[1 - i], abs=2.0)
        assert offer.engine_hour_usd > 0.0
    assert [o.paid_usd for o in found] == pytest.approx([0.95 * o.asking_usd for o in found])    # the usual discount
    assert [o.equal_usd > o.paid_usd for o in found if o.equal_usd] == [
        i == int(np.argmin(base)) for i, o in enumerate(found) if o.equal_usd]
    # Whoever is cheaper may cost more than what is usually paid, which is below the asking price; the other must less.
    cheap = int(np.argmin(base))
    assert found[cheap].equal_usd > found[cheap].market_value_usd
    assert found[1 - cheap].equal_usd is None or found[1 - cheap].equal_usd < found[1 - cheap].market_value_usd


def test_years_kept_are_at_most_those_flown(owned):
    short, whole = owned.ownership(0, Change(years=2)), owned.ownership(0)
    assert short.cash_cents.shape[1] == 3
    np.testing.assert_array_equal(short.cash_cents[:, :2], whole.cash_cents[:, :2])
    again = owned.ownership(0, Change(years=3))
    np.testing.assert_array_equal(again.cash_cents, whole.cash_cents)


def test_renting_worked_by_hand(recosted):
    row = rent_or_own(recosted)[0]
    study, part = recosted.prepared.study, recosted.tallies[0]
    cents = {c: part.categories[:, CODE[c]].mean() / 100.0 for c in (
        Category.LANDING, Category.STOP, Category.DIVERSION, Category.OVERNIGHT, Category.LODGING, Category.TRAINING,
        Category.SUBSTITUTE, Category.TIME, Category.GROUND)}
    assert row.rent_usd_per_h == study.assumptions["keeping.rent_usd_per_h"]["H4"]
    assert row.rent_usd == pytest.approx(sum(cents.values()) + row.rent_usd_per_h * row.billed_hours)
    assert row.billed_hours >= row.flight_hours * 0.9
    at = row.renting_from_h["at"]
    if at is not None:
        times = at / row.flight_hours
        rented = cents[Category.TRAINING] + times * (row.rent_usd - cents[Category.TRAINING])
        assert recosted.cost(0, Change(trips=times)).mean() == pytest.approx(rented, rel=0.02)


def test_corrosion_of_a_tie_down_is_spread_over_the_years_kept(recosted):
    found = tied_down(recosted)
    for row in found.values():
        assert row["corrosion_usd"] == pytest.approx(8_000.0 * 0.12 / 5)     # 192 a year over five
        assert row["wear_usd"] == 1_500.0


def test_a_renter_bills_the_least_hours_a_day_and_what_is_flown_locally():
    prepared = prepare(small_study(candidates=1, local_hours_per_year=15.0))

    def billed(least_h):
        rule = {"keeping.rent_least_h_per_day": {"weekday": least_h, "weekend": least_h}}
        study = prepared.study
        told = replace(prepared, study=replace(study, assumptions=study.assumptions.replaced(rule)))
        part = chunk_tallies(told, range(2), 2)[0]
        return part.column("rented_hours"), part

    flown_h, part = billed(0.0)
    trips, local_h = part.kept.trips, part.column("local_block_hours")
    assert (local_h > 0.0).all()
    by_year = [trips["block_h"][trips["replication"] == r].sum() for r in range(2)]
    np.testing.assert_allclose(flown_h, by_year + local_h, atol=1e-6)
    left = trips["outcome"] != "refused"
    most_h, _ = billed(12.0)                # more than anybody flies in a day: all is billed by days away
    days = (most_h - local_h) / 12.0
    np.testing.assert_allclose(days, np.rint(days), atol=1e-9)
    assert (days >= [(left & (trips["replication"] == r)).sum() for r in range(2)]).all()


def test_travelling_costs_the_same_whoever_owns_what(recosted):
    usd, hours = travelling(recosted)
    refused = recosted.tallies[0].categories[:, CODE[Category.SUBSTITUTE]].mean() / 100.0
    assert usd > refused
    assert hours > 0.0
    # The trips of the years flown, added up one by one, come to the same; owning is told for one traveller too.
    assert _travelling_as_flown(recosted.tallies[0]) == pytest.approx((usd, hours), rel=1e-4)
    for row, part in zip(rent_or_own(recosted), recosted.tallies, strict=True):
        assert row.own_door_h == pytest.approx(part.column("party_hours").mean())


def test_a_tie_down_saves_rent_and_costs_wear(recosted):
    for line in tied_down(recosted).values():
        assert line["rent_saved_usd"] == pytest.approx(12 * 400 - 12 * 85, abs=1.0)
        assert min(line.values()) >= 0.0


def test_the_comparison_carries_it_all(prepared, recosted):
    found = compared(prepared, recosted.tallies)
    assert len(found.bars) >= 8
    assert compare(small_study(trips=3, candidates=1), 2).tipping_points == ()


def test_the_swing_of_a_bar_is_what_it_moves_between_the_two_cheapest(recosted):
    names = recosted.names
    first, second = (names[i] for i in np.argsort(recosted.costs().mean(axis=1), kind="stable")[:2])
    for bar in bars(recosted):
        apart = [usd[first] - usd[second] for usd in (bar.low_usd, bar.high_usd)]
        assert bar.swing_usd == pytest.approx(abs(apart[1] - apart[0]), abs=1e-6), bar.what


def test_a_premium_twice_as_high_costs_the_premium_once_more(recosted):
    twice = recosted.costs(Change(scale={Category.INSURANCE: 2.0})) - recosted.costs()
    once = np.stack([t.categories[:, CODE[Category.INSURANCE]] for t in recosted.tallies]) / 100.0
    # Premiums fall as the pilot's hours grow, and early years weigh a little more in the equal yearly payment.
    assert twice == pytest.approx(once, rel=0.005)
    assert (twice > once).all()


def test_costs_are_those_of_the_whole_ownership_to_the_last_bit(recosted):
    """Every change but another yield of own money is costed anew; that one is laid over the cash as it stands."""
    for change in (Change(), Change(own_money_share=0.11), Change(own_money_share=0.02, trips=1.4), Change(years=2),
                   Change(scale={Category.ENGINE_OVERHAUL: 1.5}), Change(assume={"ownership.inflation_share": 0.01})):
        for number in range(len(recosted.tallies)):
            assert (recosted.cost(number, change) == recosted.ownership(number, change).cost_per_year_usd).all()
    more = recosted.cost(1, Change(extra_usd={1: 250.0})) - recosted.cost(1)
    assert more == pytest.approx(250.0)
