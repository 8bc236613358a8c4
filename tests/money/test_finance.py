from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.money.finance import (
    capital_recovery_factor,
    loan_balance_usd,
    loan_payment_usd,
    present_value,
    reserve_usd_per_h,
    sinking_fund_factor,
)


@given(st.floats(0.0, 0.3), st.integers(1, 40))
def test_recovery_payments_are_worth_one_dollar(rate, years):
    payments = np.concatenate([[0.0], np.full(years, capital_recovery_factor(rate, years))])
    assert float(present_value(rate, payments)) == pytest.approx(1.0, rel=1e-9)


def test_without_interest_a_fund_is_an_even_split():
    np.testing.assert_allclose(sinking_fund_factor([0.0, 1e-9], 8), [0.125, 0.125], rtol=1e-6)


@given(st.floats(0.01, 0.2), st.integers(2, 25))
def test_loan_balance_follows_month_by_month(rate, years):
    owed, payment = 1_000.0, float(loan_payment_usd(1_000.0, rate, years))
    for _ in range(12):
        owed = owed * (1.0 + rate / 12.0) - payment
    assert float(loan_balance_usd(1_000.0, rate, years, 12)) == pytest.approx(owed, rel=1e-7)
    assert float(loan_balance_usd(1_000.0, rate, years, 12 * years)) == 0.0


@pytest.mark.parametrize("wrong", [lambda: reserve_usd_per_h(30_000, 0), lambda: sinking_fund_factor(0.05, 0)])
def test_impossible_lives_are_refused(wrong):
    with pytest.raises(ValidityError, match="accepted"):
        wrong()
