from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from money_cases import candidate, columns, flight, priced, terms, trip, visit

from missionsim.base.errors import ValidityError
from missionsim.money.categories import CATEGORIES, CAUSE_CODE, CODE, FIXED, OUTSIDE, Category, Cause
from missionsim.money.entries import Entries, _in_order, cents, month_ends
from missionsim.money.prices import place_prices, prices_of


@pytest.fixture
def run(assumptions, prices, places):
    def ledger(aircraft, records, replications=(0,), **changes):
        given = {"terms": terms(), "places": places, "prices": prices,
                 "assumptions": assumptions, "year": 2025}
        return priced(aircraft, *records, replications=replications, **(given | changes))

    return ledger


def test_entries_stand_in_a_fixed_order_however_they_were_added_and_nothing_is_nobodys():
    # A month a row and a replication a column, a single sum, and one entry that comes to less than half a cent.
    entries = Entries()
    entries.add(Category.HANGAR, Cause.MONTH, [[1], [4]], [31, 0], [[100.0, 0.004], [2.0, 3.0]])
    entries.add(Category.FUEL, Cause.UPLIFT, 1, 31, 5.005, 7, 3)
    entries.add(Category.FUEL, Cause.UPLIFT, [4, 4], 0, [1.0, -1.0], [2, 2], [9, 8])
    entries.add(Category.LODGING, Cause.FORCED_NIGHT, np.zeros(0, dtype=int), np.zeros(0, dtype=int), np.zeros(0))
    ledger = entries.close()
    rows = list(zip(*(getattr(ledger, f.name).tolist() for f in fields(ledger)), strict=True))
    fuel, hangar = (CODE[c] for c in (Category.FUEL, Category.HANGAR))
    uplift, month = (CAUSE_CODE[c] for c in (Cause.UPLIFT, Cause.MONTH))
    expected = [(1, 31, fuel, uplift, 7, 3, 500), (1, 31, hangar, month, -1, -1, 10_000),
                (4, 0, fuel, uplift, 2, 8, -100), (4, 0, fuel, uplift, 2, 9, 100), (4, 0, hangar, month, -1, -1, 300),
                (4, 31, hangar, month, -1, -1, 200)]
    assert rows == sorted(expected)
    assert all(getattr(Entries().close(), f.name).tolist() == [] for f in fields(ledger))


@pytest.mark.parametrize("far", [1, 10**15])
def test_entries_are_in_order_whether_or_not_their_columns_fit_one_number(far):
    columns = np.random.default_rng(1).integers(-1, 4, (7, 500)) * np.array([[1], [far], [1], [1], [far], [1], [1]])
    found = columns[:, _in_order(columns)]
    assert list(map(tuple, found[:-1].T.tolist())) == sorted(map(tuple, columns[:-1].T.tolist()))
    np.testing.assert_array_equal(_in_order(columns), np.lexsort(columns[-2::-1]))      # equal ones as they came


def usd(ledger, category, replication=0):
    return ledger.by_category([replication])[0, CODE[category]] / 100.0


def test_a_year_without_chance_is_what_a_pencil_says(run, assumptions):
    prices = replace(prices_of(assumptions), fuel_usd_per_gal=6.0, hangar_usd_per_month=300.0,
                     insurance_usd_per_year=2_000.0, training_usd_per_year=500.0, subscriptions_usd_per_year=900.0,
                     property_tax_usd_per_year=100.0, miscellaneous_usd_per_year=400.0, own_money_share_per_year=0.05,
                     landing_fee_usd=10.0, overnight_parking_usd=20.0)
    places = place_prices(["KGRI", "KOMA"], 0, prices, -6.0)
    # Out on 2 January at 08:00 local, home the next day at 09:00: one night, one landing away, two hours, 22 gal.
    records = columns([flight(depart_h=38.0), flight(depart_h=63.0, from_place=1, to_place=0)], [trip()],
                      [visit("annual")])
    ledger = run(candidate("R4", annual_flat_usd=2_000.0), records, prices=prices, places=places)
    by_hand = {
        Category.FUEL: 132.0,            # 22 gal at 6
        Category.HANGAR: 3_600.0, Category.INSURANCE: 2_000.0, Category.TRAINING: 500.0,
        Category.SUBSCRIPTIONS: 900.0, Category.TAX: 100.0, Category.SUNDRIES: 400.0,
        Category.LANDING: 10.0, Category.OVERNIGHT: 20.0,
        Category.DEDUCTIBLE: 10.30,      # 1,000 of 0.15 claims in 1,000 h, and of one in 100 years parked
        Category.ANNUAL: 2_000.0 * 1.95,  # flat fee and median findings
        Category.OIL: 2.62,              # 2 h at 10.50 / 8, 2.625 to the even cent
        Category.CONSUMABLES: 16.0,      # 2 h at 8
        Category.COMPONENTS: 14.38,      # 2 h at 700/550 + 2 x 1100/950 + 2 x 900/500
        Category.GROUND: 45.0,           # a car there for a day
    }
    found = {c: usd(ledger, c) for c in CATEGORIES if usd(ledger, c) != 0.0}
    assert found == pytest.approx(by_hand, abs=0.005)
    assert ledger.cost_cents([0])[0] == round(100 * sum(by_hand.values()))
    assert ledger.net_cost_cents([0])[0] == ledger.cost_cents([0])[0]


def test_dates_are_local_and_months_add_up(run):
    # 1 March 03:00 UTC is still 28 February at home.
    ledger = run(candidate("R4"), columns([flight(depart_h=59 * 24 + 3.0, uplift=11.0)], [trip()]))
    table = ledger.columns(2025)
    assert table["date"][table["cause"] == "fuel bought"].tolist() == ["2025-02-28"]
    assert table["amount_cents"].sum() == ledger.net_cost_cents([0])[0]
    assert ledger.by_month([0], 2025).sum() == ledger.cost_cents([0])[0]


def test_without_a_deductible_nothing_of_it_stands_in_the_ledger(run, assumptions):
    records = columns([flight()], [trip()])
    whole, none = run(candidate("R4"), records), run(candidate("R4"), records,
                                                     assumptions=assumptions.replaced({"insurance.deductible_usd": 0}))
    assert usd(whole, Category.DEDUCTIBLE) > 0.0
    kept = whole.category != CODE[Category.DEDUCTIBLE]
    assert none.amount_cents.tolist() == whole.amount_cents[kept].tolist()  # what else is paid stays to the cent
    shared = run(candidate("R4"), records, deductible=False)                 # members agree on it among themselves
    assert shared.amount_cents.tolist() == none.amount_cents.tolist()


def test_a_leap_year_has_366_days():
    assert month_ends(2024)[[0, 1, -1]].tolist() == [31, 60, 366]


def test_every_entry_is_rounded_once_halves_to_even():
    assert cents([0.125, 0.135, -0.125, 1.005]).tolist() == [12, 14, -12, 100]


@pytest.mark.parametrize("usd", [1.8e18, -2e12, np.inf, np.nan])
def test_a_cost_that_whole_cents_cannot_hold_is_refused_not_turned_round(usd):
    with pytest.raises(ValidityError, match=r"A single cost comes to .* dollars; accepted: at most 1,000,000,000,000"):
        cents([1.0, usd])
    assert cents([1e12, -1e12]).tolist() == [10**14, -10**14]


def test_a_replication_without_any_record_still_pays_the_fixed_costs_and_an_annual(run):
    ledger = run(candidate("F4"), columns([flight()], [trip()]), replications=[0, 7])
    assert usd(ledger, Category.HANGAR, 7) == pytest.approx(4_800.0)
    assert usd(ledger, Category.ANNUAL, 7) > 1_500.0
    assert usd(ledger, Category.FUEL, 7) == 0.0


def test_fuel_follows_burn_whatever_was_left_in_the_tanks(run):
    full = run(candidate("R4"), columns([flight(uplift=0.0)], [trip()]))
    bought = run(candidate("R4"), columns([flight(uplift=40.0)], [trip()]))
    assert usd(full, Category.FUEL) == pytest.approx(66.0)
    assert usd(bought, Category.FUEL) == pytest.approx(66.0)


def test_fuel_price_of_a_place_counts_where_it_is_bought(run, assumptions):
    prices = prices_of(assumptions, {"fuel_at": {"KOMA": 9.0}})
    places = place_prices(["KGRI", "KOMA"], 0, prices, -6.0)
    records = columns([flight(fuel=10.0), flight(depart_h=40.0, from_place=1, to_place=0, fuel=20.0)], [trip()])
    # 10 gal at home at 6, 20 gal away at 9; bought where a flight ends it would be 210.
    assert usd(run(candidate("R4"), records, prices=prices, places=places), Category.FUEL) == pytest.approx(240.0)


def test_nights_are_local_midnights_and_only_until_the_next_flight(run):
    stay = [flight(depart_h=38.0), flight(depart_h=38.0 + 72.0, from_place=1, to_place=0)]
    other = [flight(1, depart_h=38.0)]
    ledger = run(candidate("R4"), columns(stay + other, [trip(), trip(1)]), replications=[0, 1])
    assert usd(ledger, Category.OVERNIGHT, 0) == pytest.approx(30.0)
    assert usd(ledger, Category.OVERNIGHT, 1) == 0.0


def test_stops_and_diversions_have_their_own_categories(run, assumptions):
    records = columns([flight(is_stop=True), flight(depart_h=36.0, purpose="diversion")],
                      [trip(nights_forced=2, people=3)])
    ledger = run(candidate("R4"), records)
    assert usd(ledger, Category.STOP) == pytest.approx(8.0)
    assert usd(ledger, Category.DIVERSION) == pytest.approx(assumptions["cost.diversion_usd"])
    assert usd(ledger, Category.LODGING) == pytest.approx(2 * 2 * 130.0)


def test_kept_outside_it_pays_tie_down_and_wear(run):
    ledger = run(candidate("R4", hangared=False), columns([], [trip()]))
    assert usd(ledger, Category.HANGAR) == pytest.approx(12 * 85.0)
    assert usd(ledger, Category.OUTDOOR_WEAR) == pytest.approx(1_500.0)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.floats(0, 8_800), st.floats(0.1, 4.0), st.floats(0.0, 60.0)),
                max_size=30))
def test_totals_are_the_sum_of_the_entries(rows):
    from missionsim.base.assumptions import packaged_assumptions

    assumptions = packaged_assumptions()
    prices = prices_of(assumptions)
    flights = [flight(r, 0, d, h, 11.0 * h, up) for r, d, h, up in rows]
    records = columns(flights, [trip(r, outcome="refused") for r in range(4)], [visit("fault", 2, rank=0.9, place=1)])
    ledger = priced(candidate("H4"), *records, replications=range(4), terms=terms(), prices=prices,
                       places=place_prices(["A", "B"], 0, prices, -6.0), assumptions=assumptions)
    total = int(ledger.amount_cents.sum())
    assert int(ledger.by_category(range(4)).sum()) == total == int(ledger.net_cost_cents(range(4)).sum())
    outside = sum(int(ledger.amount_cents[ledger.category == CODE[c]].sum()) for c in OUTSIDE)
    assert int(ledger.cost_cents([3, 1, 0, 2]).sum()) == total - outside


def test_the_order_of_the_records_does_not_matter(run):
    flights = [flight(0, 0, 38.0), flight(0, 0, 63.0, from_place=1, to_place=0), flight(1, 0, 90.0)]
    trips = [trip(), trip(1)]
    one = run(candidate("R4"), columns(flights, trips), replications=[0, 1])
    two = run(candidate("R4"), columns(flights[::-1], trips[::-1]), replications=[1, 0])
    np.testing.assert_array_equal(one.by_category([0, 1]), two.by_category([0, 1]))


def test_removing_a_replication_leaves_the_others_as_they_were(run):
    flights = [flight(0), flight(5, depart_h=50.0)]
    both = run(candidate("R4"), columns(flights, [trip(), trip(5)]), replications=[0, 5])
    one = run(candidate("R4"), columns(flights[1:], [trip(5)]), replications=[5])
    np.testing.assert_array_equal(both.by_category([5]), one.by_category([5]))


def test_fixed_costs_do_not_grow_with_hours(run):
    few = run(candidate("R4"), columns([flight()], [trip()]))
    many = run(candidate("R4"), columns([flight(depart_h=34.0 + 24 * i) for i in range(50)], [trip()]))
    for category in sorted(FIXED):
        assert usd(few, category) == usd(many, category)


def test_a_diesel_burns_jet_fuel_at_its_own_price(run, assumptions):
    """22 gal at 6 dollars are 132; jet fuel at 0.9 of that 118.80, whether bought on the way or missing at the end."""
    prices = replace(prices_of(assumptions), fuel_usd_per_gal=6.0)
    places = place_prices(["KGRI", "KOMA"], 0, prices, -6.0)
    records = columns([flight(depart_h=38.0), flight(depart_h=63.0, from_place=1, to_place=0, uplift=4.0)], [trip()])
    assert usd(run(candidate("R4"), records, prices=prices, places=places), Category.FUEL) == pytest.approx(132.0)
    diesel = run(candidate("R4", fuel_price_share=0.9), records, prices=prices, places=places)
    assert usd(diesel, Category.FUEL) == pytest.approx(118.80)
