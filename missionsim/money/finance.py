"""Engineering-economy formulas on floats and arrays: present cost, annuities, loans, cost per hour."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.errors import ValidityError


def present_value(rate_share: ArrayLike, cash: ArrayLike) -> Floats:
    """Return the present value of cash at the ends of years 0, 1, 2, ...

    Parameters
    ----------
    rate_share : float or array    Yearly discount rate, above -1; broadcast against the leading axes of `cash`.
    cash : (..., n) array          Cash at the end of each year; index 0 is today.

    Returns
    -------
    (...) array                    Sum of cash over (1 + rate) to the power of the year.
    """
    cash = np.asarray(cash, dtype=np.float64)
    growth = 1.0 + np.asarray(rate_share, dtype=np.float64)[..., None]
    return np.asarray((cash / growth ** np.arange(cash.shape[-1])).sum(axis=-1), dtype=np.float64)


def real_rate_share(rate_share: float, inflation_share: float) -> float:
    """Return the yearly rate in dollars of constant worth that goes with a nominal one.

    References
    ----------
    .. [1] I. Fisher: (1 + nominal) = (1 + real) (1 + inflation).
    """
    return (1.0 + rate_share) / (1.0 + inflation_share) - 1.0


def deflated(cash: Floats, inflation_share: float, axis: int = -1) -> Floats:
    """Return cash at the ends of years 0, 1, 2, ... along an axis in today's dollars."""
    shape = [1] * cash.ndim
    shape[axis] = cash.shape[axis]
    return np.asarray(cash / ((1.0 + inflation_share) ** np.arange(cash.shape[axis])).reshape(shape))


def capital_recovery_factor(rate_share: ArrayLike, years: ArrayLike) -> Floats:
    """Return the equal payment at the end of each year that repays one dollar of today.

    Raises
    ------
    ValidityError    If the years are not above zero or the rate is not above -1.

    References
    ----------
    .. [1] D. G. Newnan et al., Engineering Economic Analysis, compound interest tables, column A/P.
    """
    return sinking_fund_factor(rate_share, years) + np.asarray(rate_share, dtype=np.float64)


def sinking_fund_factor(rate_share: ArrayLike, years: ArrayLike) -> Floats:
    """Return the equal payment at the end of each year that grows to one dollar; 1 / years without interest.

    References
    ----------
    .. [1] D. G. Newnan et al., Engineering Economic Analysis, compound interest tables, column A/F.
    """
    rate, n = np.broadcast_arrays(np.asarray(rate_share, dtype=np.float64), np.asarray(years, dtype=np.float64))
    if np.any(n <= 0.0) or np.any(rate <= -1.0):
        msg = f"money.finance: years {n.min():g}, rate {rate.min():g}; accepted: years above 0, rate above -1"
        raise ValidityError(msg)
    small = np.abs(rate) < 1e-12
    growth = np.expm1(n * np.log1p(np.where(small, 1.0, rate)))
    return np.asarray(np.where(small, 1.0 / n, rate / growth), dtype=np.float64)


def loan_payment_usd(principal_usd: ArrayLike, rate_share: ArrayLike, years: ArrayLike) -> Floats:
    """Return the monthly payment of a loan at a yearly rate, compounded monthly."""
    monthly = np.asarray(rate_share, dtype=np.float64) / 12.0
    factor = capital_recovery_factor(monthly, 12.0 * np.asarray(years, dtype=np.float64))
    return np.asarray(np.asarray(principal_usd, dtype=np.float64) * factor, dtype=np.float64)


def loan_balance_usd(principal_usd: ArrayLike, rate_share: ArrayLike, years: ArrayLike, paid_months: ArrayLike,
                     ) -> Floats:
    """Return what is still owed after some monthly payments; zero past the term.

    Parameters
    ----------
    principal_usd : array   Borrowed. [usd]
    rate_share : array      A year.
    years : array           Of the loan.
    paid_months : array     Payments made.
    """
    monthly = np.asarray(rate_share, dtype=np.float64) / 12.0
    left = 12.0 * np.asarray(years, dtype=np.float64) - np.asarray(paid_months, dtype=np.float64)
    owed = loan_payment_usd(principal_usd, rate_share, years) / capital_recovery_factor(monthly, np.maximum(left, 1.0))
    return np.asarray(np.where(left > 0.0, owed, 0.0), dtype=np.float64)


def reserve_usd_per_h(overhaul_usd: ArrayLike, life_h: ArrayLike) -> Floats:
    """Return what to set aside for each flight hour so that the overhaul is paid when its hours have run out."""
    life = np.asarray(life_h, dtype=np.float64)
    if np.any(life <= 0.0):
        raise ValidityError(f"money.finance: life is {life.min():g} h; accepted: above 0")
    return np.asarray(np.asarray(overhaul_usd, dtype=np.float64) / life, dtype=np.float64)
