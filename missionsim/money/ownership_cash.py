"""Owning: cash from purchase to sale in today's dollars, its present cost, and what a year of it comes to.

One computation for every study. Where a single year was flown it stands for all years kept; where each year was flown,
each stands for itself. Overhauls fall when they are due; no reserve is set aside, so that none is paid twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.base.normal import skewed_quantile
from missionsim.money.categories import CATEGORIES, CODE, OUTSIDE, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.entries import Ints, cents
from missionsim.money.finance import (
    capital_recovery_factor,
    deflated,
    loan_balance_usd,
    loan_payment_usd,
    present_value,
    real_rate_share,
)
from missionsim.money.insurance import PilotExperience, premiums_usd
from missionsim.money.maintenance import annual_fee_usd
from missionsim.money.overhauls import Overhauls, OwnershipDraws, overhauls
from missionsim.money.prices import Prices, event_range
from missionsim.money.resale import resale

Array = NDArray[np.float64]
INSIDE = np.array([c not in OUTSIDE for c in CATEGORIES])
"""By category: a cost of the aircraft itself."""


@dataclass(frozen=True, slots=True)
class YearlyRecords:
    """What the simulated years leave behind, by replication and year of ownership.

    Attributes
    ----------
    flight_hours : (r, y) array
    completed_trips : (r, y) array
    seat_nm : (r, y) array              Miles flown times people on board.
    cash_cents : (r, y, c) int array    By category of `CATEGORIES`, at today's prices.
    """

    flight_hours: Array
    completed_trips: Array
    seat_nm: Array
    cash_cents: Ints

    def kept(self, years: int) -> YearlyRecords:
        """Return the records of so many years; a single flown year stands for all of them.

        Raises
        ------
        ValidityError   More years than were flown, where more than one was.
        """
        flown = self.flight_hours.shape[1]
        if flown not in (1, years) and flown < years:
            msg = f"money.ownership: {years} years kept; accepted: at most the {flown} flown"
            raise ValidityError(msg)
        rows = np.zeros(years, dtype=np.int64) if flown == 1 else np.arange(years)
        return YearlyRecords(self.flight_hours[:, rows], self.completed_trips[:, rows], self.seat_nm[:, rows],
                             self.cash_cents[:, rows])


@dataclass(frozen=True, slots=True)
class PurchaseTerms:
    """How it is bought and kept.

    Attributes
    ----------
    paid_usd : float or None          Price paid; None: asked less the usual discount.
    priced_hours_h : float or None    Engine hours the asking price supposes; None: the candidate's.
    pilot : PilotExperience or None   Whose growing hours the estimated premium follows; None: it stays as recorded.
    owners : int
    hired_out : bool                  For the premium.
    premium_factor : float            On the estimated premium.
    overhaul_factor : float           On the price of engine overhauls.
    dual_h : float                    Instruction asked before solo, from the insurance quote.
    at_tbo : bool                     Overhaul at the published hours by choice.
    limits_bind : bool                Published hours and calendar bind, as for hire.
    discount_share : float or None    Yearly yield forgone, nominal; None: the yield of own money.
    nominal : bool                    Dollars as they will be paid; else today's.
    """

    paid_usd: float | None = None
    priced_hours_h: float | None = None
    pilot: PilotExperience | None = None
    owners: int = 1
    hired_out: bool = False
    premium_factor: float = 1.0
    overhaul_factor: float = 1.0
    dual_h: float = 0.0
    at_tbo: bool = False
    limits_bind: bool = False
    discount_share: float | None = None
    nominal: bool = False


PRICE_OF: dict[Category, tuple[str, ...]] = {
    Category.FUEL: ("cost.fuel_usd_per_gal",),
    Category.CONSUMABLES: ("maintenance.consumables_usd_per_h",), Category.COMPONENTS: ("maintenance.component_usd",),
    Category.REPAIR: ("maintenance.fault_cost_usd",), Category.REPAIR_TRAVEL: ("maintenance.repair_travel_usd",),
    Category.INSPECTION: ("maintenance.hundred_hour_usd",),
    Category.LANDING: ("cost.landing_fee_usd",), Category.STOP: ("cost.landing_fee_usd",),
    Category.DIVERSION: ("cost.diversion_usd",), Category.OVERNIGHT: ("cost.overnight_fee_usd",),
    Category.LODGING: ("cost.hotel_usd_per_night",), Category.HANGAR: ("cost.hangar_usd_per_month",),
    Category.INSURANCE: ("insurance.hull_share",), Category.SUBSCRIPTIONS: ("cost.databases_usd",),
    Category.TRAINING: ("cost.training_usd",), Category.SUNDRIES: ("cost.sundries_usd",),
    Category.OUTDOOR_WEAR: ("cost.outdoor_wear_usd",), Category.TAX: ("cost.property_tax_usd",)}
"""Assumption whose value a flown year's category is straight in; annual and oil hold two, see `_parted`."""


@dataclass(frozen=True, slots=True)
class CashItem:
    """One sort of payment of an ownership.

    Attributes
    ----------
    category : Category
    prices : tuple of str     Assumptions it is straight in (see `price_factor`); none where no assumed price moves it.
    usd : (r, y + 1) array    As it will be paid at the ends of years 0 to y; one row where all replications pay alike.
    """

    category: Category
    prices: tuple[str, ...]
    usd: Array


@dataclass(frozen=True, slots=True)
class PricedParts:
    """Equal yearly cost of an ownership in parts that are each straight in their prices.

    Attributes
    ----------
    prices : tuple of tuples of str   By part, the assumptions it moves with.
    usd : (r, parts) array            Their sum over parts is `Ownership.cost_per_year_usd`, cents apart.
    """

    prices: tuple[tuple[str, ...], ...]
    usd: Array

    def costs(self, factors: Mapping[str, Array]) -> Array:
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


def price_factor(key: str, value: ArrayLike, likely: float, years: int) -> Array:
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
    def real_share(self) -> float:
        """Return the yearly rate that goes with today's dollars."""
        return real_rate_share(self.discount_share, self.rise_share) if self.rise_share else self.discount_share

    @property
    def payment_share(self) -> float:
        """Return the equal yearly payment over a present value, in today's dollars."""
        return float(capital_recovery_factor(self.real_share, self.years))

    @property
    def years(self) -> int:
        """Years kept."""
        return self.cash_cents.shape[1] - 1

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
        return present_value(self.discount_share, self.cash_cents[:, :, INSIDE].sum(axis=2) / 100.0)

    @property
    def yearly_by_category_usd(self) -> Array:
        """Equal yearly payment of the same present value as each category's cash, (r, c): straight in every price."""
        grown = (1.0 + self.discount_share) ** -np.arange(self.years + 1.0)
        return np.asarray(np.einsum("ryc,y->rc", self.cash_cents / 100.0, grown) * self.payment_share)

    @property
    def cost_per_year_usd(self) -> Array:
        """Equal yearly payment of the same present value as all cash, by replication."""
        return self.net_present_cost_usd * self.payment_share

    @property
    def capital_cost_usd(self) -> Array:
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

    def per(self, measure: Array) -> Array:
        """Return equal yearly cost of the aircraft over a yearly mean: hours, completed trips, seat miles; NaN at 0."""
        yearly = self.aircraft_present_cost_usd * self.payment_share
        mean = measure.mean(axis=1)
        return np.asarray(yearly / np.where(mean > 0.0, mean, np.nan), dtype=np.float64)


def own(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms, prices: Prices,
        assumptions: Assumptions, known: Overhauls | None = None) -> Ownership:
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
    done, items = _items(candidate, records, draws, terms, prices, assumptions, known)
    n, years = records.flight_hours.shape
    usd = np.zeros((n, years + 1, len(CATEGORIES)))
    for item in items:
        usd[:, :, CODE[item.category]] += item.usd
    rate, rise = _rates(terms, prices, assumptions)
    if terms.nominal:
        return Ownership(cents(usd), rate, done, records, rise)
    return Ownership(cents(deflated(usd, rise, axis=1)), real_rate_share(rate, rise), done, records)


def overhauls_of(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
                 assumptions: Assumptions) -> Overhauls:
    """Return the overhauls of an ownership at their own price; no other price moves them.

    Parameters
    ----------
    candidate : CostProfile   What its costs depend on.
    records : YearlyRecords   Flown, by ownership and year.
    draws : OwnershipDraws    Luck and state of the engines.
    terms : PurchaseTerms     How it is bought and kept.
    assumptions : Assumptions
    """
    return overhauls(candidate, records.flight_hours, draws, assumptions, at_tbo=terms.at_tbo,
                     limits_bind=terms.limits_bind)


def priced_parts(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
                 prices: Prices, assumptions: Assumptions) -> PricedParts:
    """Return the same ownership as sums straight in single prices, to be costed under many of them at once.

    When overhauls fall, and what is sold, do not change with prices; a resale below nothing, and a fresh overhaul that
    adds more than it cost, are judged at the likely ones. Parameters as of `own`.
    """
    items = _items(candidate, records, draws, terms, prices, assumptions)[1]
    n, years = records.flight_hours.shape
    rate, rise = _rates(terms, prices, assumptions)
    factor = float(capital_recovery_factor(real_rate_share(rate, rise), years))
    usd = [np.broadcast_to(present_value(rate, item.usd) * factor, (n,)) for item in items]
    return PricedParts(tuple(item.prices for item in items), np.stack(usd, axis=1))


def _rates(terms: PurchaseTerms, prices: Prices, assumptions: Assumptions) -> tuple[float, float]:
    """Return the nominal yearly yield of own money, and the general rise of prices."""
    rate = prices.own_money_share_per_year if terms.discount_share is None else terms.discount_share
    return float(rate), float(assumptions["ownership.inflation_share"])


def _items(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms, prices: Prices,
           assumptions: Assumptions, known: Overhauls | None = None) -> tuple[Overhauls, list[CashItem]]:
    """Return overhauls and all payments of an ownership."""
    n, years = records.flight_hours.shape
    if len(draws.propeller_cost) != n:
        msg = f"money.ownership: draws for {len(draws.propeller_cost)} replications; records have {n}"
        raise ValidityError(msg)
    done = overhauls_of(candidate, records, draws, terms, assumptions) if known is None else known
    done = done.at_price(terms.overhaul_factor)
    quoted = ("engine_life.overhaul_usd",) if candidate.overhaul_usd is None else ()
    return done, [*_running(candidate, records, draws, terms, prices, assumptions),
                  CashItem(Category.ENGINE_OVERHAUL, quoted, _yearly(done.engine_usd)),
                  CashItem(Category.PROPELLER_OVERHAUL, ("engine_life.propeller_usd",), _yearly(done.propeller_usd)),
                  CashItem(Category.TURBOCHARGER, ("engine_life.turbo_overhaul_usd",), _yearly(done.turbo_usd)),
                  *_bought(candidate, draws, terms, years, assumptions), *_first_year(records, draws, assumptions),
                  *_borrowed(candidate, draws, terms, years, assumptions),
                  *_sold(candidate, records, draws, done, terms, assumptions)]


def _yearly(usd: Array) -> Array:
    """Return payments of years 1 to y with a year 0 before them."""
    return np.concatenate([np.zeros((len(usd), 1)), usd], axis=1)


def _running(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
             prices: Prices, assumptions: Assumptions) -> Iterator[CashItem]:
    usd = _yearly_prices(_insured(candidate, records, draws, terms, prices, assumptions), assumptions)
    known = {Category.HANGAR: candidate.hangar_usd_per_month, Category.INSURANCE: candidate.insurance_usd_per_year}
    parts = _parted(candidate, records, prices, assumptions)
    for code in np.flatnonzero(usd.any(axis=(0, 1))):
        category = CATEGORIES[code]
        keys = PRICE_OF.get(category, ()) if known.get(category) is None else ()
        if category is Category.FUEL and candidate.fuel_price_share != 1.0:
            keys = (*keys, "cost.jet_fuel_of_gasoline_share")
        if category not in parts:
            yield CashItem(category, keys, _yearly(usd[:, :, code]))
            continue
        first, first_keys, rest_keys = parts[category]
        drift = _yearly_prices(np.ones((1, usd.shape[1], len(CATEGORIES))), assumptions)[:, :, code]
        flat = np.minimum(first * drift, usd[:, :, code])
        yield CashItem(category, first_keys, _yearly(flat))
        yield CashItem(category, rest_keys, _yearly(usd[:, :, code] - flat))


def _parted(candidate: CostProfile, records: YearlyRecords, prices: Prices, assumptions: Assumptions,
            ) -> dict[Category, tuple[Array, tuple[str, ...], tuple[str, ...]]]:
    """Return categories of two prices: dollars of the first at today's prices, its keys, and those of the rest.

    The annual is a flat fee and what is found in it, oil is quarts by the hour and changes in the shop.
    """
    fee = np.full(records.flight_hours.shape, annual_fee_usd(candidate, prices, assumptions))
    quarts = records.flight_hours * candidate.engines * prices.oil_usd_per_quart / (
        assumptions["cost.oil_h_per_quart"][candidate.klass])
    flat = ("maintenance.annual_flat_usd",) if candidate.annual_flat_usd is None else ()
    return {Category.ANNUAL: (fee, flat, (*flat, "maintenance.findings_ratio")),
            Category.OIL: (quarts, ("cost.oil_usd_per_quart",), ("maintenance.oil_change_usd",))}


def closing_price_usd(candidate: CostProfile, terms: PurchaseTerms, assumptions: Assumptions) -> float:
    """Return the price paid: as agreed, else asked less the usual discount."""
    if terms.paid_usd is not None:
        return terms.paid_usd
    return float(candidate.asking_price_usd * (1.0 - assumptions["ownership.purchase_discount_share"]))


def _price_shares(draws: OwnershipDraws, terms: PurchaseTerms) -> Array | float:
    """Return what is paid over the likely price, by replication; 1 where it is known or agreed."""
    return 1.0 if draws.price_share is None or terms.paid_usd is not None else draws.price_share


def _insured(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
             prices: Prices, assumptions: Assumptions) -> Array:
    """Return the records' dollars with premiums that follow the pilot's growing hours; one the user gave stays."""
    usd = records.cash_cents / 100.0
    known = (candidate.insurance_usd_per_year, prices.insurance_usd_per_year)
    if terms.pilot is None or known != (None, None):
        return usd
    flown = np.cumsum(records.flight_hours, axis=1) - records.flight_hours
    premiums = premiums_usd(candidate, terms.pilot, flown, assumptions, owners=terms.owners, hired_out=terms.hired_out,
                            hull_share=draws.price_share)
    usd[:, :, CODE[Category.INSURANCE]] = premiums * terms.premium_factor
    return usd


def _yearly_prices(usd: Array, assumptions: Assumptions) -> Array:
    """Return yearly dollars at today's prices as they will be paid at the ends of years 1, 2, ..."""
    years = np.arange(1.0, usd.shape[1] + 1.0)
    share = np.full(usd.shape[2], assumptions["ownership.price_drift_share"])
    share[CODE[Category.INSURANCE]] = assumptions["ownership.premium_drift_share"]
    return np.asarray(usd * (1.0 + share) ** years[:, None])


def _bought(candidate: CostProfile, draws: OwnershipDraws, terms: PurchaseTerms, years: int,
            assumptions: Assumptions) -> list[CashItem]:
    """Return what is paid on the day of purchase; `inspections` counts those that end in no purchase."""
    a = {k: assumptions[f"ownership.{k}"] for k in ("inspections", "sales_tax_share", "title_usd", "ferry_usd",
                                                    "instructor_usd_per_h")}
    price = closing_price_usd(candidate, terms, assumptions) * _price_shares(draws, terms)
    inspection = assumptions["ownership.pre_purchase_usd"][candidate.klass] * a["inspections"]
    return [CashItem(category, keys, _at(0, years, usd)) for category, keys, usd in (
        (Category.PURCHASE, ("ownership.purchase_discount_share",), price),
        (Category.TITLE_AND_FERRY, ("ownership.title_usd",), a["title_usd"]),
        (Category.TITLE_AND_FERRY, ("ownership.ferry_usd",), a["ferry_usd"]),
        (Category.PRE_PURCHASE, ("ownership.pre_purchase_usd", "ownership.inspections"), inspection),
        (Category.TAX, ("ownership.sales_tax_share", "ownership.purchase_discount_share"),
         price * a["sales_tax_share"]),
        (Category.UPGRADES, (), candidate.upgrades_usd),
        (Category.TRAINING, ("ownership.multi_engine_rating_usd",), _rating_usd(candidate, terms, assumptions)),
        (Category.TRAINING, ("ownership.instructor_usd_per_h",), terms.dual_h * a["instructor_usd_per_h"]))]


def _rating_usd(candidate: CostProfile, terms: PurchaseTerms, assumptions: Assumptions) -> float:
    """Return the multi-engine rating of a pilot without hours in twins (14 CFR 61.31 and 61.63); 0 for a single."""
    if candidate.engines == 1 or terms.pilot is None or terms.pilot.multi_engine_h > 0.0:
        return 0.0
    return float(assumptions["ownership.multi_engine_rating_usd"])


def _at(year: int, years: int, usd: Array | float) -> Array:
    """Return a payment at the end of one year, (r, y + 1) or (1, y + 1)."""
    amount = np.atleast_1d(np.asarray(usd, dtype=np.float64))
    out = np.zeros((len(amount), years + 1))
    out[:, year] = amount
    return out


def _first_year(records: YearlyRecords, draws: OwnershipDraws, assumptions: Assumptions) -> list[CashItem]:
    """Return what the seller put off: what is known or drawn of it, or what a first annual usually finds, if more.

    The two are the same work seen before and after purchase, and are paid once.
    """
    factor = skewed_quantile(draws.first_annual, *event_range(assumptions, "maintenance.first_annual_factor"))
    normal = records.cash_cents[:, 0, CODE[Category.ANNUAL]] / 100.0
    found, years = normal * (factor - 1.0), records.flight_hours.shape[1]
    usual = found > draws.catch_up_usd
    return [CashItem(Category.CATCH_UP, keys, _at(1, years, usd)) for keys, usd in (
        (("maintenance.first_annual_factor",), np.where(usual, found, 0.0)),
        ((), np.where(usual, 0.0, draws.catch_up_usd)))]


def _borrowed(candidate: CostProfile, draws: OwnershipDraws, terms: PurchaseTerms, years: int,
              assumptions: Assumptions) -> list[CashItem]:
    share, rate, term = (assumptions[f"ownership.{k}"] for k in ("loan_share", "loan_rate_share", "loan_years"))
    principal = closing_price_usd(candidate, terms, assumptions) * share
    if principal <= 0.0:
        return []
    months = np.clip(12.0 * term - 12.0 * np.arange(years), 0.0, 12.0)
    usd = _at(0, years, -principal)
    usd[0, 1:] += loan_payment_usd(principal, rate, term) * months
    usd[0, -1] += loan_balance_usd(principal, rate, term, 12.0 * years)
    usd = usd * np.atleast_1d(_price_shares(draws, terms))[:, None]
    return [CashItem(Category.LOAN, ("ownership.purchase_discount_share",), usd)]


def loan_by_year(candidate: CostProfile, terms: PurchaseTerms, years: int, assumptions: Assumptions,
                 ) -> list[dict[str, float]]:
    """Return what is paid on the loan in each year kept, interest and principal apart, and what is owed at its end.

    Dollars as they are paid. Empty without a loan.

    Parameters
    ----------
    candidate : CostProfile   What its costs depend on.
    terms : PurchaseTerms     How it is bought and kept.
    years : int               Kept.
    assumptions : Assumptions
    """
    share, rate, term = (assumptions[f"ownership.{k}"] for k in ("loan_share", "loan_rate_share", "loan_years"))
    principal = closing_price_usd(candidate, terms, assumptions) * share
    if principal <= 0.0:
        return []
    owed = [float(loan_balance_usd(principal, rate, term, 12.0 * y)) for y in range(years + 1)]
    monthly = float(loan_payment_usd(principal, rate, term))
    rows = []
    for y in range(years):
        paid = monthly * min(max(12.0 * term - 12.0 * y, 0.0), 12.0)
        repaid = owed[y] - owed[y + 1]
        rows.append({"year": y + 1, "paid_usd": paid, "interest_usd": paid - repaid, "principal_usd": repaid,
                     "owed_usd": owed[y + 1]})
    return rows


def _sold(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, done: Overhauls,
          terms: PurchaseTerms, assumptions: Assumptions) -> list[CashItem]:
    flown, years = records.flight_hours.sum(axis=1), records.flight_hours.shape[1]
    priced = candidate.mean_engine_h if terms.priced_hours_h is None else terms.priced_hours_h
    got = resale(candidate, priced, done.engine_hours_h, flown, float(years), assumptions, done.last_usd,
                 draws.mean_engine_h + flown, draws.tbo_h)
    value = 1.0 if draws.price_share is None else draws.price_share
    left = 1.0 if draws.value_lost_share is None else 1.0 - draws.value_lost_share
    selling = "ownership.selling_share"
    return [CashItem(Category.RESALE, keys, _at(years, years, -usd * left)) for keys, usd in (
        ((selling, "ownership.value_drift_share"), got.aircraft * value), ((selling,), got.hours),
        ((selling, "engine_life.overhaul_usd"), got.overhaul))]
