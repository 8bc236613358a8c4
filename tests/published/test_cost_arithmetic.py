from __future__ import annotations

import pytest

from missionsim.money.finance import (
    capital_recovery_factor,
    loan_payment_usd,
    present_value,
    reserve_usd_per_h,
    sinking_fund_factor,
)

pytestmark = pytest.mark.published


# Source: compound interest tables as printed in engineering-economy textbooks, 7 %, 20 periods, columns A/P and A/F.
def test_capital_recovery_and_sinking_fund_at_seven_percent_and_twenty_years():
    assert float(capital_recovery_factor(0.07, 20)) == pytest.approx(0.0943929, abs=0.5e-7)
    assert float(sinking_fund_factor(0.07, 20)) == pytest.approx(0.0243929, abs=0.5e-7)


# Source: the same tables, 10 %, rows of four places. (periods, A/P)
@pytest.mark.parametrize(("years", "factor"), [(1, 1.1000), (5, 0.2638), (10, 0.1627), (30, 0.1061)])
def test_capital_recovery_at_ten_percent(years, factor):
    assert float(capital_recovery_factor(0.10, years)) == pytest.approx(factor, abs=0.5e-4)


# Source: definition of the yearly cost of capital, (P - S) A/P + S i, with A/P 5 %, 10 years from the tables.


# Source: definition in the Government Aircraft Cost Accounting Guide (ICAP / GSA, 2011): reserve = cost / TBO.
def test_engine_reserve_of_an_overhaul():
    rate = float(reserve_usd_per_h(30_000, 2_000))
    assert rate == pytest.approx(15.0, abs=1e-9)
    assert 500 * rate == pytest.approx(7_500, abs=1e-6)


# Source: present worth factors P/F at 5 % of the same tables: 0.9524, 0.9070, 0.8638.
@pytest.mark.parametrize(("year", "factor"), [(1, 0.9524), (2, 0.9070), (3, 0.8638)])
def test_present_worth_of_a_dollar(year, factor):
    assert float(present_value(0.05, [0.0] * year + [1.0])) == pytest.approx(factor, abs=0.5e-4)


# Source: mortgage payment tables as commonly printed: 100,000 at 6 %, 30 years, monthly 599.55.
def test_monthly_payment_of_a_loan():
    assert float(loan_payment_usd(100_000, 0.06, 30)) == pytest.approx(599.55, abs=0.005)
