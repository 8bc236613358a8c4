"""Every sum of money in an owner's words: what it is, how it is worked out, from which inputs and whose word."""

from __future__ import annotations

from collections.abc import Mapping

from missionsim.base.assumptions import Assumptions
from missionsim.money.categories import Category
from missionsim.report.html import Section
from missionsim.report.tables import Table
from missionsim.report.wording import in_usd, plain, source_words
from missionsim.study.compare.compare import Comparison

WORDS: Mapping[Category, tuple[str, tuple[str, ...]]] = {
    Category.FUEL: ("gallons bought times the price where they are bought; the tanks end as full as they began",
                    ("cost.fuel_usd_per_gal",)),
    Category.OIL: ("quarts by the hour, and the shop's oil changes",
                   ("cost.oil_usd_per_quart", "cost.oil_h_per_quart", "maintenance.oil_change_usd")),
    Category.CONSUMABLES: ("flight hours times tyres, brakes, battery, plugs", ("maintenance.consumables_usd_per_h",)),
    Category.COMPONENTS: ("flight hours times price over life of pump, alternator, starter, magnetos",
                          ("maintenance.component_usd", "maintenance.component_life_h")),
    Category.REPAIR: ("each fault that happened, at its own drawn price", ("maintenance.fault_cost_usd",)),
    Category.REPAIR_TRAVEL: ("travel and call-out for a fault away from home", ("maintenance.repair_travel_usd",)),
    Category.ANNUAL: ("flat fee, and what the annual finds",
                      ("maintenance.annual_flat_usd", "maintenance.findings_ratio")),
    Category.INSPECTION: ("100-hour inspections, when operated for hire", ("maintenance.hundred_hour_usd",)),
    Category.LANDING: ("landings away from home", ("cost.landing_fee_usd",)),
    Category.STOP: ("landings for fuel", ("cost.landing_fee_usd",)),
    Category.DIVERSION: ("car, meals and calls when a flight ends elsewhere", ("cost.diversion_usd",)),
    Category.OVERNIGHT: ("parking for nights away", ("cost.overnight_fee_usd",)),
    Category.LODGING: ("rooms for nights beyond the plan", ("cost.hotel_usd_per_night", "cost.people_per_room")),
    Category.GROUND: ("a car where you land", ("cost.ground_usd_per_day",)),
    Category.HANGAR: ("twelve months of rent", ("cost.hangar_usd_per_month", "cost.tie_down_usd_per_month")),
    Category.INSURANCE: ("hull and liability for this pilot, falling with hours and rising with age",
                         ("insurance.hull_share", "insurance.liability_usd", "ownership.premium_drift_share")),
    Category.DEDUCTIBLE: ("what you pay of a claim for damage before the insurer does, times the claims expected; no "
                          "part of the premium",
                          ("insurance.deductible_usd", "insurance.claims_per_1000_h",
                           "insurance.parked_claims_per_year")),
    Category.SUBSCRIPTIONS: ("databases, weather, instrument checks",
                             ("cost.databases_usd", "cost.weather_usd", "cost.instrument_checks_usd")),
    Category.TRAINING: ("recurrent training, and the instruction an insurer asks for at first",
                        ("cost.training_usd", "ownership.instructor_usd_per_h")),
    Category.SUNDRIES: ("wash, tools, heater", ("cost.sundries_usd",)),
    Category.OUTDOOR_WEAR: ("paint, seals and avionics of an aircraft tied down outside", ("cost.outdoor_wear_usd",)),
    Category.TAX: ("property tax each year; sales tax on the price, over the years kept",
                   ("cost.property_tax_usd", "ownership.sales_tax_share")),
    Category.CATCH_UP: ("what the seller put off, or what a first annual usually finds, if that is more; over the "
                        "years kept", ("maintenance.first_annual_factor", "ownership.directives_usd")),
    Category.CAPITAL: ("what your money would have earned: equal yearly payments of the same present value as all "
                       "cash, less the plain cash", ("cost.own_money_share", "ownership.inflation_share")),
    Category.VALUE_LOST: ("price paid less what comes back at the sale, over the years kept",
                          ("ownership.purchase_discount_share", "ownership.value_drift_share",
                           "ownership.value_per_engine_h", "engine_life.value_age_share", "ownership.selling_share")),
    Category.PRE_PURCHASE: ("inspections, those that end in no purchase too, over the years kept",
                            ("ownership.pre_purchase_usd", "ownership.inspections")),
    Category.TITLE_AND_FERRY: ("title search, registration, bringing it home, over the years kept",
                               ("ownership.title_usd", "ownership.ferry_usd")),
    Category.UPGRADES: ("installed price, over the years kept; what comes back is in value lost", ()),
    Category.ENGINE_OVERHAUL: ("overhauls for condition that came in the years kept, over those years",
                               ("engine_life.overhaul_usd", "engine_life.overhauled_share",
                                "engine_life.calendar_years")),
    Category.PROPELLER_OVERHAUL: ("the same for propeller and governor",
                                  ("engine_life.propeller_usd", "engine_life.propeller_years")),
    Category.TURBOCHARGER: ("the same for turbocharger and exhaust",
                            ("engine_life.turbo_overhaul_usd", "engine_life.turbo_life_h")),
    Category.LOAN: ("payments less the money lent, over the years kept: what borrowing costs",
                    ("ownership.loan_share", "ownership.loan_rate_share", "ownership.loan_years")),
    Category.SUBSTITUTE: ("car and airline for trips this aircraft did not make, and what moving trips cost",
                          ("cost.car_usd_per_sm", "cost.airline_fare_usd", "trip.moved_usd")),
    Category.TIME: ("hours of those on board times what an hour is worth to you", ("time.choice_usd_per_h",)),
}
"""By category: how it is worked out, and the assumptions in it."""


def money_section(comparison: Comparison) -> Section:
    """Return every sum of a year with how it is worked out, its inputs with their source, and its mean."""
    a, rows = comparison.study.assumptions, []
    for code, category in enumerate(Category):
        means = [r.tally.categories[:, code].mean() / 100.0 for r in comparison.results]
        if category in WORDS and any(abs(m) >= 0.5 for m in means):
            how, keys = WORDS[category]
            rows.append((plain(category), *(in_usd(m, 10.0) for m in means), how,
                         "; ".join(_input(a, key) for key in keys) or "–"))
    total = [r.tally.categories.sum(axis=1).mean() / 100.0 for r in comparison.results]
    rows.append(("all together", *(in_usd(t, 10.0) for t in total), "the sum of the lines above at likely prices", "–"))
    head = ("Sum", *comparison.names, "How it is worked out", "From")
    return Section("money-words", "Each sum of money, and where it comes from", (
        "Dollars of a mean year at likely prices, in today's money. "
        "ledger.csv and years.csv hold every entry behind them.",), (),
        (Table("A year, sum by sum", head, tuple(rows)),))


def _input(assumptions: Assumptions, key: str) -> str:
    entry = assumptions.entry(key)
    value = "by class" if isinstance(entry.value, dict | list) else _with_unit(entry.value, entry.unit)
    return f"{entry.what}: {value} ({'the study' if entry.overridden else source_words(entry.source)})"


def _with_unit(value: float, unit: str) -> str:
    """Return a value with its unit as people read it: a plain number has none, a yearly share is percent a year."""
    if unit == "1/year":
        return f"{100.0 * value:g} % a year"
    return f"{value:g}" if unit in {"-", ""} else f"{value:g} {unit}"
