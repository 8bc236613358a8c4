"""Owning for several years: cash by year, resale, net present cost; the reserve view apart, never added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.base.normal import skewed_quantile
from missionsim.money.categories import CATEGORIES, CODE, OUTSIDE, RESERVE, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.entries import Ints, Ledger, cents
from missionsim.money.finance import capital_recovery_factor, loan_balance_usd, loan_payment_usd, present_value
from missionsim.money.overhauls import Overhauls, OwnershipDraws, overhauls
from missionsim.money.prices import Prices, low_likely_high
from missionsim.money.resale import resale_usd

Array = NDArray[np.float64]

_NOT_YEARLY = RESERVE | {Category.CAPITAL, Category.CATCH_UP, Category.ENGINE_TIME, Category.LISTING_VALUE,
                         Category.UPGRADES}
"""Parts of a one-year ledger that stand in for cash which an ownership shows when it falls."""


@dataclass(frozen=True, slots=True)
class YearlyRecords:
    """What the simulated years leave behind, by replication and year of ownership.

    Attributes
    ----------
    flight_hours : (r, y) array
    completed_trips : (r, y) array
    seat_nm : (r, y) array              Miles flown times people on board.
    cash_cents : (r, y, c) int array    By category of `CATEGORIES`, at the prices of the first year.
    reserve_cents : (r, y) int array    Engine and propeller reserve of the one-year view.
    """

    flight_hours: Array
    completed_trips: Array
    seat_nm: Array
    cash_cents: Ints
    reserve_cents: Ints


def yearly_records(ledgers: Sequence[Ledger], replications: ArrayLike, flight_hours: Array, completed_trips: Array,
                   seat_nm: Array) -> YearlyRecords:
    """Return the yearly records of one-year ledgers, one a year of ownership.

    Own money, needs at purchase and reserves are taken out: an ownership has their cash instead. Substitute travel
    and valued time stay; `Ownership.net_present_cost_usd` holds them, `aircraft_present_cost_usd` does not.
    """
    tables = np.stack([ledger.by_category(replications) for ledger in ledgers], axis=1)
    reserve = tables[:, :, [CODE[c] for c in sorted(RESERVE)]].sum(axis=2)
    cash = tables.copy()
    cash[:, :, [CODE[c] for c in sorted(_NOT_YEARLY)]] = 0
    return YearlyRecords(flight_hours, completed_trips, seat_nm, cash, reserve)


@dataclass(frozen=True, slots=True)
class PurchaseTerms:
    """How it is bought and kept.

    Attributes
    ----------
    priced_hours_h : float or None    Engine hours the asking price supposes; None: the candidate's.
    dual_h : float                    Instruction asked before solo, from the insurance quote.
    at_tbo : bool                     Overhaul at the published hours by choice.
    limits_bind : bool                Published hours and calendar bind, as for hire.
    discount_share : float or None    Yearly discount rate; None: the yield of own money.
    """

    priced_hours_h: float | None = None
    dual_h: float = 0.0
    at_tbo: bool = False
    limits_bind: bool = False
    discount_share: float | None = None


@dataclass(frozen=True, slots=True)
class Ownership:
    """Several years of one candidate.

    Attributes
    ----------
    cash_cents : (r, y + 1, c) int array    Spent by category at the ends of years 0 (purchase) to y; resale negative.
    reserve_cents : (r, y) int array        The reserve view of engine and propeller; no part of the cash.
    discount_share : float
    overhauls : Overhauls
    """

    cash_cents: Ints
    reserve_cents: Ints
    discount_share: float
    overhauls: Overhauls
    records: YearlyRecords

    @property
    def by_year_cents(self) -> Ints:
        """Net cash by replication and year end, substitutes and valued time included."""
        return np.asarray(self.cash_cents.sum(axis=2), dtype=np.int64)

    @property
    def net_present_cost_usd(self) -> Array:
        """Present value of all cash by replication, substitutes and valued time included."""
        return present_value(self.discount_share, self.by_year_cents / 100.0)

    @property
    def aircraft_present_cost_usd(self) -> Array:
        """Present value of the aircraft's own cash by replication."""
        keep = np.array([c not in OUTSIDE for c in CATEGORIES])
        return present_value(self.discount_share, self.cash_cents[:, :, keep].sum(axis=2) / 100.0)

    @property
    def capital_cost_usd(self) -> Array:
        """What money tied up costs: present value of the aircraft's cash less its plain sum, by replication."""
        keep = np.array([c not in OUTSIDE for c in CATEGORIES])
        return self.aircraft_present_cost_usd - self.cash_cents[:, :, keep].sum(axis=(1, 2)) / 100.0

    @property
    def cost_per_year_usd(self) -> Array:
        """Equal yearly payment of the same present value as all cash, by replication."""
        years = self.records.flight_hours.shape[1]
        return self.net_present_cost_usd * capital_recovery_factor(self.discount_share, years)

    def per(self, measure: Array) -> Array:
        """Return equal yearly cost of the aircraft over a yearly mean: hours, completed trips, seat miles; NaN at 0."""
        years = measure.shape[1]
        yearly = self.aircraft_present_cost_usd * capital_recovery_factor(self.discount_share, years)
        mean = measure.mean(axis=1)
        return np.asarray(yearly / np.where(mean > 0.0, mean, np.nan), dtype=np.float64)


def own(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms, prices: Prices,
        assumptions: Assumptions) -> Ownership:
    """Return the cash of buying, flying and selling one candidate.

    Purchase, inspection, tax and upgrades fall at year end 0; each year's cost at that year's end; the sale at the
    last one's, with the loan paid off. Running costs, premiums and overhauls rise by their own yearly shares. No
    reserve is in the cash, so that an overhaul is never paid twice.

    Parameters
    ----------
    candidate : CostProfile      As bought.
    records : YearlyRecords      (r, y) of what is flown.
    draws : OwnershipDraws       (r,) uniforms and drawn states.

    Raises
    ------
    ValidityError                Records and draws of different numbers of replications.
    """
    n, years = records.flight_hours.shape
    if len(draws.propeller_cost) != n:
        msg = f"money.ownership: draws for {len(draws.propeller_cost)} replications; records have {n}"
        raise ValidityError(msg)
    done = overhauls(candidate, records.flight_hours, draws, assumptions, at_tbo=terms.at_tbo,
                     limits_bind=terms.limits_bind)
    cash = np.zeros((n, years + 1, len(CATEGORIES)), dtype=np.int64)
    cash[:, 1:] += _drifted(records.cash_cents, assumptions)
    cash[:, 1:, CODE[Category.ENGINE_OVERHAUL]] += cents(done.engine_usd)
    cash[:, 1:, CODE[Category.PROPELLER_OVERHAUL]] += cents(done.propeller_usd)
    _buy(cash, candidate, terms, assumptions)
    _first_year(cash, records, draws, assumptions)
    _borrow_and_repay(cash, candidate, assumptions)
    _sell(cash, candidate, records, draws, done, terms, assumptions)
    rate = prices.own_money_share_per_year if terms.discount_share is None else terms.discount_share
    return Ownership(cash, records.reserve_cents, rate, done, records)


def closing_price_usd(candidate: CostProfile, assumptions: Assumptions) -> float:
    """Return the price paid: asking less the usual discount."""
    return float(candidate.asking_price_usd * (1.0 - assumptions["ownership.purchase_discount_share"]))


def _drifted(cash_cents: Ints, assumptions: Assumptions) -> Ints:
    years = np.arange(cash_cents.shape[1])
    share = np.full(cash_cents.shape[2], assumptions["ownership.price_drift_share"])
    share[CODE[Category.INSURANCE]] = assumptions["ownership.premium_drift_share"]
    return cents(cash_cents / 100.0 * (1.0 + share) ** years[:, None])


def _buy(cash: Ints, candidate: CostProfile, terms: PurchaseTerms, assumptions: Assumptions) -> None:
    a = {k: assumptions[f"ownership.{k}"] for k in ("inspections", "sales_tax_share", "title_usd", "ferry_usd",
                                                    "instructor_usd_per_h")}
    price = closing_price_usd(candidate, assumptions)
    inspection = assumptions["ownership.pre_purchase_usd"][candidate.klass] * a["inspections"]
    for category, usd in ((Category.PURCHASE, price + a["title_usd"] + a["ferry_usd"]),
                          (Category.INSPECTION, inspection), (Category.TAX, price * a["sales_tax_share"]),
                          (Category.UPGRADES, candidate.upgrades_usd),
                          (Category.TRAINING, terms.dual_h * a["instructor_usd_per_h"])):
        cash[:, 0, CODE[category]] += cents(usd)


def _first_year(cash: Ints, records: YearlyRecords, draws: OwnershipDraws, assumptions: Assumptions) -> None:
    """Add what the seller put off: found at the first annual, or known at purchase."""
    factor = skewed_quantile(draws.first_annual, *low_likely_high(assumptions, "maintenance.first_annual_factor"))
    normal = records.cash_cents[:, 0, CODE[Category.ANNUAL]] / 100.0
    cash[:, 1, CODE[Category.ANNUAL]] += cents(normal * (factor - 1.0))
    cash[:, 1, CODE[Category.CATCH_UP]] += cents(draws.catch_up_usd)


def _borrow_and_repay(cash: Ints, candidate: CostProfile, assumptions: Assumptions) -> None:
    share, rate, term = (assumptions[f"ownership.{k}"] for k in ("loan_share", "loan_rate_share", "loan_years"))
    principal = closing_price_usd(candidate, assumptions) * share
    if principal <= 0.0:
        return
    years, code = cash.shape[1] - 1, CODE[Category.LOAN]
    months = np.clip(12.0 * term - 12.0 * np.arange(years), 0.0, 12.0)
    cash[:, 0, code] -= cents(principal)
    cash[:, 1:, code] += cents(loan_payment_usd(principal, rate, term) * months)
    cash[:, -1, code] += cents(loan_balance_usd(principal, rate, term, 12.0 * years))


def _sell(cash: Ints, candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, done: Overhauls,
          terms: PurchaseTerms, assumptions: Assumptions) -> None:
    flown = records.flight_hours.sum(axis=1)
    priced = candidate.hours_since_overhaul_h if terms.priced_hours_h is None else terms.priced_hours_h
    usd = resale_usd(candidate, priced, done.engine_hours_h, flown, float(records.flight_hours.shape[1]), assumptions,
                     done.last_usd, draws.hours_since_overhaul_h + flown)
    if draws.value_lost_share is not None:
        usd = usd * (1.0 - draws.value_lost_share)
    cash[:, -1, CODE[Category.RESALE]] -= cents(usd)
