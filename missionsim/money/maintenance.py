"""Costs of the shop, by what happened."""

from __future__ import annotations

import numpy as np

from missionsim.base.arrays import Bools, Columns, Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import skewed_at, skewed_deviate, skewed_mean
from missionsim.base.words import Shop
from missionsim.money.categories import Category, Cause
from missionsim.money.cost_profile import CostProfile
from missionsim.money.entries import Entries, month_ends
from missionsim.money.operating_costs import days, twin_factor
from missionsim.money.prices import PlacePrices, Prices, event_range


def add_shop(entries: Entries, shop: Columns, replications: Ints, candidate: CostProfile, places: PlacePrices,
             prices: Prices, assumptions: Assumptions, year: int) -> None:
    """Add shop visits.

    Engine and propeller overhauls are left out: the reserve pays them, and the view over several years their cash.
    A repair away from home costs its travel besides.

    Parameters
    ----------
    entries : Entries               Added to.
    shop : Columns                  Columns named as in `ShopRow`.
    replications : (r,) int array   In rising order.
    candidate : CostProfile         What its costs depend on.
    places : PlacePrices
    prices : Prices
    assumptions : Assumptions
    year : int                      Calendar year.
    """
    day, luck_z = days(shop["start_h"], places), skewed_deviate(shop["cost_rank"])
    _add_annual(entries, shop, day, luck_z, replications, candidate, prices, assumptions, year)
    hundred = _rows(shop, Shop.HUNDRED_HOUR)
    fee = skewed_at(luck_z[hundred], *event_range(assumptions, "maintenance.hundred_hour_usd", candidate.klass))
    entries.add(Category.INSPECTION, Cause.HUNDRED_HOUR, shop["replication"][hundred], day[hundred],
                fee * labor_factor(prices, assumptions) * twin_factor(candidate, assumptions), shop["trip"][hundred])
    away = _rows(shop, Shop.FAULT) & (shop["place"] != places.home)
    travel = skewed_at(luck_z[away], *event_range(assumptions, "maintenance.repair_travel_usd"))
    entries.add(Category.REPAIR_TRAVEL, Cause.AWAY, shop["replication"][away], day[away], travel, shop["trip"][away])
    _add_events(entries, shop, day, luck_z, candidate, assumptions)


def annual_fee_usd(candidate: CostProfile, prices: Prices, assumptions: Assumptions) -> float:
    """Return the flat fee of the annual: the aircraft's own, else its class's at the user's shop rate."""
    if candidate.annual_flat_usd is not None:
        return candidate.annual_flat_usd
    return float(assumptions["maintenance.annual_flat_usd"][candidate.klass] * labor_factor(prices, assumptions)
                 * twin_factor(candidate, assumptions))



def labor_factor(prices: Prices, assumptions: Assumptions) -> float:
    """Return the user's shop rate over the one behind the flat fees."""
    return float(prices.labor_usd_per_h / assumptions["cost.labor_usd_per_h"])


def _rows(shop: Columns, kind: Shop) -> Bools:
    return np.asarray(shop["kind"] == kind.value, dtype=np.bool_)


def _add_events(entries: Entries, shop: Columns, day: Ints, luck_z: Floats, candidate: CostProfile,
                assumptions: Assumptions) -> None:
    for kind, category, cause, key in ((Shop.FAULT, Category.REPAIR, Cause.FAULT, "fault_cost_usd"),
                                       (Shop.OIL_CHANGE, Category.OIL, Cause.OIL_CHANGE, "oil_change_usd")):
        rows = _rows(shop, kind)
        ends = event_range(assumptions, f"maintenance.{key}", candidate.klass)
        usd = skewed_at(luck_z[rows], *ends)
        entries.add(category, cause, shop["replication"][rows], day[rows], usd, shop["trip"][rows])


def _add_annual(entries: Entries, shop: Columns, day: Ints, luck_z: Floats, replications: Ints, candidate: CostProfile,
                prices: Prices, assumptions: Assumptions, year: int) -> None:
    """Every replication pays one annual: those whose record holds none accrue a mean one at the year's end."""
    rows = _rows(shop, Shop.ANNUAL)
    accrued = replications[~np.isin(replications, shop["replication"][rows])]
    fee, end = annual_fee_usd(candidate, prices, assumptions), month_ends(year)[-1] - 1
    at, on = shop["replication"][rows], day[rows]
    ratio = event_range(assumptions, "maintenance.findings_ratio")
    entries.add(Category.ANNUAL, Cause.FLAT_FEE, at, on, fee)
    entries.add(Category.ANNUAL, Cause.FINDINGS, at, on, fee * skewed_at(luck_z[rows], *ratio))
    entries.add(Category.ANNUAL, Cause.ACCRUED, accrued, end, fee * (1.0 + skewed_mean(*ratio)))
