"""Who pays what: cents that add up, terms that cover, and a fund worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from money_cases import all_cents, fund_change_cents

from missionsim.base.errors import ValidityError
from missionsim.money.categories import FIXED, ONCE, OUTSIDE, Category, Cause
from missionsim.money.cost_sharing import (
    NO_BILL,
    Bills,
    Deductible,
    DuesTerms,
    allocate,
    bills_of,
    covering_terms,
    fund_paths,
    payments,
    split,
)
from missionsim.money.entries import Entries


@given(st.lists(st.tuples(st.integers(-10**7, 10**9), st.lists(st.floats(0, 1e4), min_size=3, max_size=3)), min_size=1,
                max_size=10))
def test_no_cent_is_lost_in_sharing(rows):
    total, weights = np.array([r[0] for r in rows]), np.array([r[1] for r in rows])
    parts = allocate(total, weights)
    assert parts.sum(axis=1).tolist() == total.tolist()
    whole = weights.sum(axis=1, keepdims=True)
    exact = np.where(whole > 0, weights / np.where(whole > 0, whole, 1.0), 1 / 3) * total[:, None]
    assert np.abs(parts - exact).max() <= 1.0 + 1e-6


def test_sharing_by_hand():
    assert allocate([100], [[1, 1, 1]]).tolist() == [[34, 33, 33]]
    assert allocate([100], [[0, 0, 0]]).tolist() == [[34, 33, 33]]
    assert allocate([1001], [[3, 1, 0]]).tolist() == [[751, 250, 0]]
    with pytest.raises(ValidityError, match="0 and above"):
        allocate([1], [[-1, 2]])


def test_no_bill_of_a_year_comes_for_what_is_paid_once():
    assert NO_BILL == ONCE | OUTSIDE
    assert {Category.CAPITAL, Category.CATCH_UP} <= ONCE & FIXED


def ledger():
    """Two members, three trips of members 0, 1, 1; all amounts in dollars."""
    e = Entries()
    rows = [(Category.HANGAR, 4800.0, -1), (Category.INSURANCE, 3000.0, -1), (Category.TRAINING, 600.0, -1),
            (Category.ANNUAL, 2300.0, -1), (Category.CAPITAL, 7000.0, -1), (Category.CATCH_UP, 500.0, -1),
            (Category.ENGINE_OVERHAUL, 2200.0, -1), (Category.OIL, 131.25, -1), (Category.REPAIR, 410.0, -1),
            (Category.FUEL, 200.10, 0), (Category.FUEL, 300.0, 1), (Category.FUEL, 99.9, 2), (Category.FUEL, 50.0, -1),
            (Category.LANDING, 8.0, 0), (Category.OVERNIGHT, 20.0, 2), (Category.LODGING, 130.0, 1),
            (Category.SUBSTITUTE, 700.0, 1), (Category.TIME, 400.0, 0)]
    for category, usd, trip in rows:
        e.add(category, Cause.MONTH, [0], 10, usd, trip)
    return e.close()


MEMBER = np.array([0, 1, 1])


@pytest.mark.parametrize("hourly", ["wet", "dry"])
def test_bills_are_the_ledger_without_what_is_no_bill(hourly):
    bills = bills_of(ledger(), [0], MEMBER, 2, np.array([[10.0, 30.0]]), hourly, np.array([2_200_00]))
    assert bills.fixed_cents.tolist() == [10_100_00]
    assert bills.reserve_cents.tolist() == [2_200_00]
    fuel = 650_00
    assert bills.hourly_cents.tolist() == [541_25 + (fuel if hourly == "wet" else 0)]
    # Own: landing 8; overnight 20 and lodging 130; training 600 each; dry fuel by trip, the tanks by hours 1 to 3.
    own = [600_00 + 8_00, 600_00 + 150_00]
    if hourly == "dry":
        own = [own[0] + 200_10 + 12_50, own[1] + 399_90 + 37_50]
    assert bills.own_cents.tolist() == [own]
    # The ledger's own cost, less what is no bill, plus the second member's training.
    cost = ledger().cost_cents([0])[0] - (7000_00 + 500_00 + 2200_00) + 600_00
    assert all_cents(bills).tolist() == [cost]


@given(st.floats(0, 800), st.floats(0, 400), st.floats(0, 200), st.floats(0, 200))
def test_what_members_pay_is_the_bills_and_the_change_of_the_fund(dues, hourly, first_h, second_h):
    hours = np.array([[first_h, second_h]])
    bills = bills_of(ledger(), [0], MEMBER, 2, hours, "dry", np.array([2_200_00]))
    paid = payments(bills, hours * 0.87, DuesTerms(dues, hourly))
    change = fund_change_cents(paid, bills)
    assert paid.paid_cents.sum(axis=1).tolist() == (all_cents(bills) + change).tolist()
    for parts in split(bills, hours, hours).values():
        assert parts.sum(axis=1).tolist() == (all_cents(bills) + bills.reserve_cents).tolist()


def test_terms_left_out_cover_what_they_should():
    fixed, rest = np.array([9_000_00, 9_600_00]), np.array([4_000_00, 6_000_00])
    bills = Bills(fixed, rest, np.zeros((2, 3), dtype=np.int64), np.array([1_000_00, 1_000_00]))
    clock = np.array([[20.0, 20.0, 10.0], [30.0, 20.0, 0.0]])
    terms = covering_terms(bills, clock, None, None)
    # Worked by hand: 9,300 a year over 3 members and 12 months, to the next cent; 12,000 over 100 h.
    assert terms == DuesTerms(258.34, 120.0)
    assert covering_terms(bills, clock, 300.0, 95.0) == DuesTerms(300.0, 95.0)
    surplus = fund_change_cents(payments(bills, clock, terms), bills).mean()
    assert surplus == pytest.approx(1_000_00, abs=36)  # the reserve stays in the fund


def test_published_example_of_three_equal_owners():
    # Source: definition; fixed 9,000 a year, 95 an hour, three owners of 60 h: 8,700 each; alone 14,700.
    none = np.zeros(1, dtype=np.int64)
    bills = Bills(none + 9_000_00, none + 180 * 95_00, np.zeros((1, 3), dtype=np.int64), none)
    hours = np.full((1, 3), 60.0)
    for parts in split(bills, hours, hours).values():
        assert parts.tolist() == [[8_700_00] * 3]


def test_a_fund_by_hand():
    # Start 5,000; dues 1,000 over bills each year; 100 h at 20; an overhaul of 12,000 in year 3.
    spent = np.array([[9_000.0, 9_000.0, 21_000.0, 9_000.0]])
    hours = np.full((1, 4), 100.0)
    found = fund_paths(5_000.0, 10_000.0, spent, hours, 20.0)
    # 8,000; 11,000; 2,000; 5,000.
    assert found.balance_usd.tolist() == [[8_000.0, 11_000.0, 2_000.0, 5_000.0]]
    assert found.assessment_usd.sum() == 0.0
    short = fund_paths(0.0, 10_000.0, spent, hours, 10.0)
    # 2,000; 4,000; 4,000 + 10,000 + 1,000 - 21,000 = -6,000 is assessed; 2,000.
    assert short.balance_usd.tolist() == [[2_000.0, 4_000.0, 0.0, 2_000.0]]
    assert short.assessment_usd.tolist() == [[0.0, 0.0, 6_000.0, 0.0]]
    # At year 3 the fund has had 3,000 of dues over bills less 12,000, over 300 h.
    assert short.least_rate_usd == pytest.approx([9_000.0 / 300.0])


@given(st.lists(st.floats(0, 60_000), min_size=3, max_size=6), st.floats(0, 20_000), st.floats(10, 300))
def test_the_least_rate_is_the_one_at_which_nothing_is_assessed(spent, start, hours):
    years = np.array([spent])
    clock = np.full(years.shape, hours)
    rate = float(fund_paths(start, 12_000.0, years, clock, 0.0).least_rate_usd[0])
    assert fund_paths(start, 12_000.0, years, clock, rate + 1e-6).assessment_usd.max() < 1e-3
    if rate > 0.01:
        assert fund_paths(start, 12_000.0, years, clock, 0.99 * rate).assessment_usd.max() > 0.0


def test_one_way_of_sharing_covers_everything_by_hand():
    # Bills 13,000 and 15,600 and a reserve of 1,000 each: 15,300 a year in the mean, over 50 h, 60 days, or 36 months.
    fixed, rest = np.array([9_000_00, 9_600_00]), np.array([4_000_00, 6_000_00])
    bills = Bills(fixed, rest, np.zeros((2, 3), dtype=np.int64), np.array([1_000_00, 1_000_00]))
    clock = np.array([[20.0, 20.0, 10.0], [30.0, 20.0, 0.0]])
    days = np.array([[10.0, 40.0, 10.0], [20.0, 40.0, 0.0]])
    assert covering_terms(bills, clock, None, None, days, "hours") == DuesTerms(0.0, 306.0)
    assert covering_terms(bills, clock, None, None, days, "days_held") == DuesTerms(0.0, 0.0, 255.0)
    assert covering_terms(bills, clock, None, None, days, "equally") == DuesTerms(425.0, 0.0)
    by_days = payments(bills, clock, DuesTerms(0.0, 0.0, 255.0), days)
    assert by_days.paid_cents.tolist() == [[2_550_00, 10_200_00, 2_550_00], [5_100_00, 10_200_00, 0]]
    assert fund_change_cents(by_days, bills).tolist() == [15_300_00 - 13_000_00, 15_300_00 - 15_600_00]


def test_a_deductible_by_hand():
    # 2,000 dollars; one claim in a thousand hours and one in fifty years parked: 100 h and 50 h bring 200 and 100.
    none = np.zeros(1, dtype=np.int64)
    bills, hours = Bills(none + 5_000_00, none, np.zeros((1, 2), dtype=np.int64), none), np.array([[100.0, 50.0]])
    shared = Deductible(2_000.0, 0.001, 0.02, by_flyer=False)
    assert shared.claims(np.array([150.0])).tolist() == pytest.approx([0.17])
    assert shared.yearly_usd(hours).tolist() == pytest.approx([340.0])
    assert shared.laid_on(bills, hours).hourly_cents.tolist() == [340_00]
    flyer = Deductible(2_000.0, 0.001, 0.02, by_flyer=True).laid_on(bills, hours)
    assert flyer.own_cents.tolist() == [[200_00, 100_00]]
    assert flyer.hourly_cents.tolist() == [40_00]
