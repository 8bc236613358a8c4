"""Costs of a year that come however little is flown."""

from __future__ import annotations

import numpy as np

from missionsim.base.arrays import Ints
from missionsim.base.assumptions import Assumptions
from missionsim.money.categories import Category, Cause
from missionsim.money.cost_profile import CostProfile
from missionsim.money.entries import Entries, month_ends, month_starts
from missionsim.money.prices import Prices


def add_fixed(entries: Entries, replications: Ints, candidate: CostProfile, prices: Prices, premium_usd: float,
              assumptions: Assumptions, year: int) -> None:
    """Add hangar, insurance, subscriptions, training, sundries and tax.

    Parameters
    ----------
    entries : Entries               Added to.
    replications : (r,) int array   In rising order.
    candidate : CostProfile         What its costs depend on.
    prices : Prices
    premium_usd : float             Insurance of a year. [usd]
    assumptions : Assumptions
    year : int                      Calendar year.
    """
    first, last = 0, month_ends(year)[-1] - 1
    entries.add(Category.HANGAR, Cause.MONTH, replications[:, None], month_starts(year),
                hangar_usd_per_month(candidate, prices, assumptions))
    wear = 0.0 if candidate.hangared else assumptions["cost.outdoor_wear_usd"]
    for category, cause, day, usd in (
            (Category.INSURANCE, Cause.YEAR, first, premium_usd),
            (Category.SUBSCRIPTIONS, Cause.YEAR, first, prices.subscriptions_usd_per_year),
            (Category.TRAINING, Cause.YEAR, first, training_usd(candidate, prices, assumptions)),
            (Category.TAX, Cause.YEAR, first, prices.property_tax_usd_per_year),
            (Category.SUNDRIES, Cause.YEAR, last, prices.miscellaneous_usd_per_year),
            (Category.OUTDOOR_WEAR, Cause.YEAR, last, wear)):
        entries.add(category, cause, replications, np.int64(day), usd)


def hangar_usd_per_month(candidate: CostProfile, prices: Prices, assumptions: Assumptions) -> float:
    """Return the rent: the aircraft's own, the user's, or its class's; a tie-down when kept outside."""
    if not candidate.hangared:
        return prices.tiedown_usd_per_month
    if candidate.hangar_usd_per_month is not None:
        return candidate.hangar_usd_per_month
    if prices.hangar_usd_per_month is not None:
        return prices.hangar_usd_per_month
    return float(assumptions["cost.hangar_usd_per_month"][candidate.klass])


def training_usd(candidate: CostProfile, prices: Prices, assumptions: Assumptions) -> float:
    """Return the recurrent training of a year: the user's, or its class's."""
    if prices.training_usd_per_year is not None:
        return prices.training_usd_per_year
    return float(assumptions["cost.training_usd"][candidate.klass]) + refresher_usd(candidate, assumptions)


def refresher_usd(candidate: CostProfile, assumptions: Assumptions) -> float:
    """Return the yearly practice on one engine; none in a single."""
    return float(assumptions["cost.multi_engine_refresher_usd"]) if candidate.engines == 2 else 0.0
