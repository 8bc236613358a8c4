"""The payments of an ownership, one sort at a time: running, overhauls, purchase, first year, loan and sale.

Each is told in the prices it is straight in, so that many draws of prices can be laid over it at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.base.normal import skewed_quantile
from missionsim.money.categories import CATEGORIES, CODE, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.finance import loan_balance_usd, loan_payment_usd
from missionsim.money.insurance import hull_parts, premiums_usd
from missionsim.money.maintenance import annual_fee_usd
from missionsim.money.overhauls import Overhauls, OwnershipDraws, overhauls
from missionsim.money.prices import Prices, event_range
from missionsim.money.purchase_terms import PurchaseTerms, YearlyRecords, closing_price_usd, price_shares
from missionsim.money.resale import EngineSold, resale

PRICE_OF: dict[Category, tuple[str, ...]] = {
    Category.FUEL: ("cost.fuel_usd_per_gal",),
    Category.CONSUMABLES: ("maintenance.consumables_usd_per_h",), Category.COMPONENTS: ("maintenance.component_usd",),
    Category.REPAIR: ("maintenance.fault_cost_usd",), Category.REPAIR_TRAVEL: ("maintenance.repair_travel_usd",),
    Category.INSPECTION: ("maintenance.hundred_hour_usd",),
    Category.LANDING: ("cost.landing_fee_usd",), Category.STOP: ("cost.landing_fee_usd",),
    Category.DIVERSION: ("cost.diversion_usd",), Category.OVERNIGHT: ("cost.overnight_fee_usd",),
    Category.LODGING: ("cost.hotel_usd_per_night",), Category.HANGAR: ("cost.hangar_usd_per_month",),
    Category.DEDUCTIBLE: ("insurance.deductible_usd",), Category.SUBSCRIPTIONS: ("cost.databases_usd",),
    Category.TRAINING: ("cost.training_usd",), Category.SUNDRIES: ("cost.sundries_usd",),
    Category.OUTDOOR_WEAR: ("cost.outdoor_wear_usd",), Category.TAX: ("cost.property_tax_usd",)}
"""Assumption whose value a flown year's category is straight in; annual, oil, premium hold several, see `_parted`."""
DISCOUNT, HULL = "ownership.purchase_discount_share", "insurance.hull_share"


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
    usd: Floats


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


def cash_items(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
               prices: Prices, assumptions: Assumptions, known: Overhauls | None = None,
               ) -> tuple[Overhauls, list[CashItem]]:
    """Return overhauls and all payments of an ownership.

    Parameters
    ----------
    known : Overhauls, optional  Worked out before, at their own price.

    Raises
    ------
    ValidityError                Records and draws of different numbers of replications.
    """
    n, years = records.flight_hours.shape
    if len(draws.propeller_cost) != n:
        raise ValidityError(f"money.ownership: draws for {len(draws.propeller_cost)} replications; records have {n}")
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


def _yearly(usd: Floats) -> Floats:
    """Return payments of years 1 to y with a year 0 before them."""
    return np.concatenate([np.zeros((len(usd), 1)), usd], axis=1)


def _running(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
             prices: Prices, assumptions: Assumptions) -> Iterator[CashItem]:
    usd = _yearly_prices(_insured(candidate, records, draws, terms, prices, assumptions), assumptions)
    parts = _parted(candidate, records, draws, usd, prices, assumptions)
    for code in np.flatnonzero(usd.any(axis=(0, 1))):
        category = CATEGORIES[code]
        if category in parts:
            yield from (CashItem(category, keys, _yearly(part)) for part, keys in parts[category])
        else:
            yield CashItem(category, _keys(category, candidate), _yearly(usd[:, :, code]))


def _keys(category: Category, candidate: CostProfile) -> tuple[str, ...]:
    """Return the assumptions that a category is straight in; none where the aircraft's own price is given."""
    keys = PRICE_OF.get(category, ())
    if category is Category.HANGAR and candidate.hangar_usd_per_month is not None:
        return ()
    if category is Category.FUEL and candidate.fuel_price_share != 1.0:
        return (*keys, "cost.jet_fuel_of_gasoline_share")
    return keys


def _parted(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, usd: Floats, prices: Prices,
            assumptions: Assumptions) -> dict[Category, list[tuple[Floats, tuple[str, ...]]]]:
    """Return categories of several prices in parts, (r, y) dollars as they are paid, each with its keys.

    The annual is a flat fee and what is found in it, oil is quarts by the hour and changes in the shop, a premium that
    nobody gave is for the aircraft's value, its upgrades and liability.
    """
    fee = np.full(records.flight_hours.shape, annual_fee_usd(candidate, prices, assumptions))
    quarts = records.flight_hours * candidate.engines * prices.oil_usd_per_quart / (
        assumptions["cost.oil_h_per_quart"][candidate.klass])
    flat = ("maintenance.annual_flat_usd",) if candidate.annual_flat_usd is None else ()
    drift = _yearly_prices(np.ones((1, usd.shape[1], len(CATEGORIES))), assumptions)
    found = {}
    for category, first, keys, rest in (
            (Category.ANNUAL, fee, flat, (*flat, "maintenance.findings_ratio")),
            (Category.OIL, quarts, ("cost.oil_usd_per_quart",), ("maintenance.oil_change_usd",))):
        whole = usd[:, :, CODE[category]]
        part = np.minimum(first * drift[:, :, CODE[category]], whole)
        found[category] = [(part, keys), (whole - part, rest)]
    return found | {Category.INSURANCE: _premium_parts(candidate, draws, usd[:, :, CODE[Category.INSURANCE]], prices,
                                                       assumptions)}


def _premium_parts(candidate: CostProfile, draws: OwnershipDraws, usd: Floats, prices: Prices,
                   assumptions: Assumptions) -> list[tuple[Floats, tuple[str, ...]]]:
    if candidate.insurance_usd_per_year is not None or prices.insurance_usd_per_year is not None:
        return [(usd, ())]
    value, upgrades = (part[:, None] * usd for part in hull_parts(candidate, assumptions, draws.price_share))
    moving = (DISCOUNT,) if candidate.value_follows_price and candidate.hull_follows_value else ()
    return [(value, (HULL, *moving)), (upgrades, (HULL,)), (usd - value - upgrades, ("insurance.liability_usd",))]


def _insured(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, terms: PurchaseTerms,
             prices: Prices, assumptions: Assumptions) -> Floats:
    """Return the records' dollars with premiums that follow the pilot's growing hours; one the user gave stays."""
    usd = np.divide(records.cash_cents, 100.0, out=np.empty(records.cash_cents.shape))   # a year may be seen many times
    known = (candidate.insurance_usd_per_year, prices.insurance_usd_per_year)
    if terms.pilot is None or known != (None, None):
        return usd
    flown = np.cumsum(records.flight_hours, axis=1) - records.flight_hours
    premiums = premiums_usd(candidate, terms.pilot, flown, assumptions, owners=terms.owners, hired_out=terms.hired_out,
                            hull_share=draws.price_share)
    usd[:, :, CODE[Category.INSURANCE]] = premiums * terms.premium_factor
    return usd


def _yearly_prices(usd: Floats, assumptions: Assumptions) -> Floats:
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
    price = closing_price_usd(candidate, terms, assumptions) * price_shares(draws, terms)
    inspection = assumptions["ownership.pre_purchase_usd"][candidate.klass] * a["inspections"]
    return [CashItem(category, keys, _at(0, years, usd)) for category, keys, usd in (
        (Category.PURCHASE, (DISCOUNT,), price),
        (Category.TITLE_AND_FERRY, ("ownership.title_usd",), a["title_usd"]),
        (Category.TITLE_AND_FERRY, ("ownership.ferry_usd",), a["ferry_usd"]),
        (Category.PRE_PURCHASE, ("ownership.pre_purchase_usd", "ownership.inspections"), inspection),
        (Category.TAX, ("ownership.sales_tax_share", DISCOUNT),
         price * a["sales_tax_share"]),
        (Category.UPGRADES, (), candidate.upgrades_usd),
        (Category.TRAINING, ("ownership.multi_engine_rating_usd",), _rating_usd(candidate, terms, assumptions)),
        (Category.TRAINING, ("ownership.instructor_usd_per_h",), terms.dual_h * a["instructor_usd_per_h"]))]


def _rating_usd(candidate: CostProfile, terms: PurchaseTerms, assumptions: Assumptions) -> float:
    """Return the multi-engine rating of a pilot without hours in twins (14 CFR 61.31 and 61.63); 0 for a single."""
    if candidate.engines == 1 or terms.pilot is None or terms.pilot.multi_engine_h > 0.0:
        return 0.0
    return float(assumptions["ownership.multi_engine_rating_usd"])


def _at(year: int, years: int, usd: Floats | float) -> Floats:
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
    usd = usd * np.atleast_1d(price_shares(draws, terms))[:, None]
    return [CashItem(Category.LOAN, (DISCOUNT,), usd)]


def _sold(candidate: CostProfile, records: YearlyRecords, draws: OwnershipDraws, done: Overhauls,
          terms: PurchaseTerms, assumptions: Assumptions) -> list[CashItem]:
    flown, years = records.flight_hours.sum(axis=1), records.flight_hours.shape[1]
    priced = candidate.counted_engine_h(assumptions) if terms.priced_hours_h is None else terms.priced_hours_h
    engine = EngineSold(priced, done.counted_h, done.last_usd, draws.kept_h(flown, float(years), assumptions),
                        draws.tbo_h)
    got = resale(candidate, engine, flown, float(years), assumptions)
    value = 1.0 if draws.price_share is None else draws.price_share
    left = 1.0 if draws.value_lost_share is None else 1.0 - draws.value_lost_share
    selling = "ownership.selling_share"
    moving = (DISCOUNT,) if candidate.value_follows_price else ()
    return [CashItem(Category.RESALE, keys, _at(years, years, -usd * left)) for keys, usd in (
        ((selling, "ownership.value_drift_share", *moving), got.aircraft * value), ((selling,), got.hours),
        ((selling, "engine_life.overhaul_usd"), got.overhaul))]


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
