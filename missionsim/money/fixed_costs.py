"""Costs of a year that come however little is flown."""

from __future__ import annotations

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.money.categories import Category, Cause
from missionsim.money.cost_profile import CostProfile, Needs
from missionsim.money.entries import Entries, Ints, month_ends, month_starts
from missionsim.money.prices import Prices
from missionsim.money.resale import upgrade_recovered_share


def add_fixed(entries: Entries, replications: Ints, candidate: CostProfile, prices: Prices, premium_usd: float,
              assumptions: Assumptions, year: int) -> None:
    """Add hangar, insurance, subscriptions, training, sundries, tax and own money tied up."""
    first, last = 0, month_ends(year)[-1] - 1
    entries.add(Category.HANGAR, Cause.MONTH, replications[:, None], month_starts(year),
                hangar_usd_per_month(candidate, prices, assumptions))
    wear = 0.0 if candidate.hangared else assumptions["cost.outdoor_wear_usd"]
    tied_up = (candidate.asking_price_usd + candidate.upgrades_usd) * prices.own_money_share_per_year
    for category, cause, day, usd in (
            (Category.INSURANCE, Cause.YEAR, first, premium_usd),
            (Category.SUBSCRIPTIONS, Cause.YEAR, first, prices.subscriptions_usd_per_year),
            (Category.TRAINING, Cause.YEAR, first, training_usd(candidate, prices, assumptions)),
            (Category.TAX, Cause.YEAR, first, prices.property_tax_usd_per_year),
            (Category.SUNDRIES, Cause.YEAR, last, prices.miscellaneous_usd_per_year),
            (Category.OUTDOOR_WEAR, Cause.YEAR, last, wear),
            (Category.CAPITAL, Cause.OWN_MONEY, last, tied_up)):
        entries.add(category, cause, replications, np.int64(day), usd)


def add_needs(entries: Entries, replications: Ints, candidate: CostProfile, needs: Needs, assumptions: Assumptions,
              year: int) -> None:
    """Add, spread over the years kept: needs at purchase, what upgrades lose, engine hours beyond the price's."""
    last, kept = month_ends(year)[-1] - 1, assumptions["ownership.years_kept"]
    entries.add(Category.CATCH_UP, Cause.NEEDS, replications, last, needs.catch_up_usd / kept)
    entries.add(Category.UPGRADES, Cause.UPGRADE_VALUE, replications, last,
                candidate.upgrades_usd * (1.0 - upgrade_recovered_share(kept, assumptions)) / kept)
    entries.add(Category.ENGINE_TIME, Cause.LISTING, replications, last, needs.engine_time_usd / kept)
    entries.add(Category.LISTING_VALUE, Cause.HISTORY, replications, last, np.asarray(needs.listing_value_usd) / kept)


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
    return float(assumptions["cost.training_usd"][candidate.klass])
