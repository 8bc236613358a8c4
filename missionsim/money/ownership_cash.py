"""Owning: cash from purchase to sale in today's dollars, its present cost, and what a year of it comes to.

One computation for every study. Where a single year was flown it stands for all years kept; where each year was flown,
each stands for itself. Overhauls fall when they are due; no reserve is set aside, so that none is paid twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.money.cash_items import cash_items
from missionsim.money.categories import CATEGORIES, CODE, OUTSIDE, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.entries import cents
from missionsim.money.finance import capital_recovery_factor, deflated, present_value, real_rate_share
from missionsim.money.overhauls import Overhauls, OwnershipDraws
from missionsim.money.prices import Prices
from missionsim.money.purchase_terms import PurchaseTerms, YearlyRecords

INSIDE = np.array([c not in OUTSIDE for c in CATEGORIES])
"""By category: a cost of the aircraft itself."""


@dataclass(frozen=True, slots=True)
class PricedParts:
    """Equal yearly cost of an ownership in parts that are each straight in their prices.

    Attributes
    ----------
    prices : tuple of tuples of str   By part, the assumptions it moves with.
    usd : (r, parts) array            Their sum over parts is `Ownership.cost_per_year_usd`, cents apart.
    """

    prices: tuple[tuple[str, ...], ...]
    usd: Floats

    def costs(self, factors: Mapping[str, Floats]) -> Floats:
        """Return cost a year under many draws of prices, (r, k).

        Parameters
        ----------
        factors : mapping    Assumption to its factor in each of the k draws (`price_factor`); those left out stay.
        """
        count = len(next(iter(factors.values()))) if factors else 1
        by_part = np.ones((len(self.prices), count))
        for row, keys in enumerate(self.prices):
            for key in keys:
                by_part[row] *= factors.get(key, 1.0)
        return np.asarray(self.usd @ by_part)


def price_factor(key: str, value: ArrayLike, likely: float, years: int) -> Floats:
    """Return the factor on payments that an assumption at another value than the likely one makes.

    Parameters
    ----------
    years : int    Kept; what the value of the aircraft does in them is told at the sale.
    """
    now = np.asarray(value, dtype=np.float64)
    if key in LESS:
        return np.asarray((1.0 - now) / (1.0 - likely))
    if key == "ownership.value_drift_share":
        return np.asarray(((1.0 + now) / (1.0 + likely)) ** years)
    if key == "maintenance.first_annual_factor":
        return np.asarray((now - 1.0) / (likely - 1.0)) if likely > 1.0 else np.ones_like(now)
    return np.asarray(now / likely)


LESS = frozenset({"ownership.purchase_discount_share", "ownership.selling_share"})
"""Shares taken off a price."""


@dataclass(frozen=True, slots=True)
class NetCash:
    """Some years of one candidate, all categories together: as much of an ownership as its yearly cost needs.

    Attributes
    ----------
    by_year_cents : (r, y + 1) int array    As `Ownership.by_year_cents`.
    discount_share, rise_share : float      As of `Ownership`.
    """

    by_year_cents: Ints
    discount_share: float
    rise_share: float = 0.0

    @property
    def real_share(self) -> float:
        """Return the yearly rate that goes with today's dollars."""
        return real_rate_share(self.discount_share, self.rise_share) if self.rise_share else self.discount_share

    @property
    def payment_share(self) -> float:
        """Return the equal yearly payment over a present value, in today's dollars."""
        return float(capital_recovery_factor(self.real_share, self.by_year_cents.shape[1] - 1))

    @property
    def present_cost_usd(self) -> Floats:
        """Present value of all cash by replication, substitutes and valued time included."""
        return present_value(self.discount_share, self.by_year_cents / 100.0)

    @property
    def cost_per_year_usd(self) -> Floats:
        """Equal yearly payment of the same present value as all cash, by replication."""
        return self.present_cost_usd * self.payment_share


@dataclass(frozen=True, slots=True)
class Ownership:
    """Some years of one candidate.

    Attributes
    ----------
    cash_cents : (r, y + 1, c) int array    Spent by category at the ends of years 0 (purchase) to y; resale negative.
    discount_share : float                  Yearly rate that goes with these dollars: real with today's, else nominal.
    overhauls : Overhauls
    records : YearlyRecords                 Of the years kept.
    rise_share : float                      General yearly rise of prices in these dollars; 0 with today's.

    What a year costs is told in today's dollars whichever the cash stands in, since renting, cars and airlines are.
    """

    cash_cents: Ints
    discount_share: float
    overhauls: Overhauls
    records: YearlyRecords
    rise_share: float = 0.0

    @property
    def today_cents(self) -> Ints:
        """Return the cash in today's dollars, as `cash_cents`."""
        return self.cash_cents if self.rise_share == 0.0 else cents(deflated(self.cash_cents / 100.0, self.rise_share,
                                                                             axis=1))

    @property
    def net(self) -> NetCash:
        """All categories together."""
        return NetCash(self.by_year_cents, self.discount_share, self.rise_share)

    @property
    def real_share(self) -> float:
        """Return the yearly rate that goes with today's dollars."""
        return self.net.real_share

    @property
    def payment_share(self) -> float:
        """Return the equal yearly payment over a present value, in today's dollars."""
        return self.net.payment_share

    @property
    def years(self) -> int:
        """Years kept."""
        return self.cash_cents.shape[1] - 1

    @property
    def by_year_cents(self) -> Ints:
        """Net cash by replication and year end, substitutes and valued time included."""
        return np.asarray(self.cash_cents.sum(axis=2), dtype=np.int64)

    @property
    def net_present_cost_usd(self) -> Floats:
        """Present value of all cash by replication, substitutes and valued time included."""
        return self.net.present_cost_usd

    @property
    def aircraft_present_cost_usd(self) -> Floats:
        """Present value of the aircraft's own cash by replication."""
        return present_value(self.discount_share, self.cash_cents[:, :, INSIDE].sum(axis=2) / 100.0)

    @property
    def cost_per_year_usd(self) -> Floats:
        """Equal yearly payment of the same present value as all cash, by replication."""
        return self.net.cost_per_year_usd

    @property
    def capital_cost_usd(self) -> Floats:
        """What the money tied up would have earned, all years together: the equal payments less the plain cash."""
        return self.cost_per_year_usd * self.years - self.today_cents.sum(axis=(1, 2)) / 100.0

    @property
    def year_cents(self) -> Ints:
        """What a year of it bears, (r, c) in cents: plain cash over the years kept, by category.

        Price paid and price got back stand together as value lost; `capital` is what the money tied up would have
        earned. The sum is the equal yearly payment.
        """
        plain = self.today_cents.sum(axis=1) / 100.0 / self.years
        plain[:, CODE[Category.VALUE_LOST]] = plain[:, CODE[Category.PURCHASE]] + plain[:, CODE[Category.RESALE]]
        plain[:, [CODE[Category.PURCHASE], CODE[Category.RESALE]]] = 0.0
        plain[:, CODE[Category.CAPITAL]] = self.capital_cost_usd / self.years
        return cents(plain)


def ownership_of(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
                 prices: Prices, assumptions: Assumptions, known: Overhauls | None = None) -> Ownership:
    """Return the cash of buying, flying and selling one candidate.

    Purchase, inspections, tax and upgrades fall today; each year's cost at that year's end; the sale at the last one's,
    with the loan paid off. Running costs, premiums and overhauls rise by their own yearly shares from today's prices,
    and are told in today's dollars by the general rise of prices.

    Parameters
    ----------
    candidate : CostProfile      As bought.
    records : YearlyRecords      (r, y) of the years kept.
    draws : OwnershipDraws       (r,) uniforms and drawn states.
    known : Overhauls, optional  Those of these hours, draws and assumptions, at their own price, worked out before.

    Raises
    ------
    ValidityError                Records and draws of different numbers of replications.
    """
    done, items = cash_items(candidate, records, draws, terms, prices, assumptions, known)
    n, years = records.flight_hours.shape
    usd = np.zeros((n, years + 1, len(CATEGORIES)))
    for item in items:
        usd[:, :, CODE[item.category]] += item.usd
    discount, rise = told_rates(terms, prices, assumptions)
    if terms.nominal:
        return Ownership(cents(usd), discount, done, records, rise)
    return Ownership(cents(deflated(usd, _rise(assumptions), axis=1)), discount, done, records)


def net_cash_of(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
                prices: Prices, assumptions: Assumptions, known: Overhauls | None = None) -> NetCash:
    """Return `ownership_of(...).net`, to the last bit, without laying its categories side by side.

    Cents are whole numbers and add up the same in any order: each category is rounded and added by itself, in a third
    of the time that 37 columns take. Parameters as of `ownership_of`.
    """
    by_category: dict[Category, Floats] = {}
    for item in cash_items(candidate, records, draws, terms, prices, assumptions, known)[1]:
        before = by_category.get(item.category)
        by_category[item.category] = item.usd if before is None else before + item.usd
    discount, rise = told_rates(terms, prices, assumptions)
    total = np.zeros((len(records.flight_hours), records.flight_hours.shape[1] + 1), dtype=np.int64)
    for usd in by_category.values():
        total += cents(usd if terms.nominal else deflated(usd, _rise(assumptions), axis=1))
    return NetCash(total, discount, rise)


def priced_parts(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
                 prices: Prices, assumptions: Assumptions) -> PricedParts:
    """Return the same ownership as sums straight in single prices, to be costed under many of them at once.

    When overhauls fall, and what is sold, do not change with prices; a resale below nothing, and a fresh overhaul that
    adds more than it cost, are judged at the likely ones. Parameters as of `ownership_of`.
    """
    items = cash_items(candidate, records, draws, terms, prices, assumptions)[1]
    n, years = records.flight_hours.shape
    rate, rise = _rates(terms, prices, assumptions)
    factor = float(capital_recovery_factor(real_rate_share(rate, rise), years))
    usd = [np.broadcast_to(present_value(rate, item.usd) * factor, (n,)) for item in items]
    return PricedParts(tuple(item.prices for item in items), np.stack(usd, axis=1))


def told_rates(terms: PurchaseTerms, prices: Prices, assumptions: Assumptions) -> tuple[float, float]:
    """Return the yearly yield of own money, and the general rise of prices, in the dollars that cash is told in."""
    rate, rise = _rates(terms, prices, assumptions)
    return (rate, rise) if terms.nominal else (real_rate_share(rate, rise), 0.0)


def _rates(terms: PurchaseTerms, prices: Prices, assumptions: Assumptions) -> tuple[float, float]:
    """Return the nominal yearly yield of own money, and the general rise of prices."""
    rate = prices.own_money_share_per_year if terms.discount_share is None else terms.discount_share
    return float(rate), _rise(assumptions)


def _rise(assumptions: Assumptions) -> float:
    return float(assumptions["ownership.inflation_share"])
