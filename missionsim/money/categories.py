"""Categories and causes of money: one list each, used in every ledger and report."""

from __future__ import annotations

from enum import StrEnum


class Category(StrEnum):
    """What a dollar was spent on."""

    FUEL = "fuel"
    OIL = "oil"
    CONSUMABLES = "consumables"
    COMPONENTS = "components"
    REPAIR = "repair"
    REPAIR_TRAVEL = "repair_travel"
    ANNUAL = "annual"
    INSPECTION = "inspection"
    LANDING = "landing"
    STOP = "stop"
    DIVERSION = "diversion"
    OVERNIGHT = "overnight"
    LODGING = "lodging"
    GROUND = "ground"
    RENT = "rent"
    HANGAR = "hangar"
    INSURANCE = "insurance"
    DEDUCTIBLE = "deductible"
    SUBSCRIPTIONS = "subscriptions"
    TRAINING = "training"
    SUNDRIES = "sundries"
    OUTDOOR_WEAR = "outdoor_wear"
    TAX = "tax"
    CATCH_UP = "catch_up"
    CAPITAL = "capital"
    VALUE_LOST = "value_lost"
    PURCHASE = "purchase"
    PRE_PURCHASE = "pre_purchase"
    TITLE_AND_FERRY = "title_and_ferry"
    UPGRADES = "upgrades"
    ENGINE_OVERHAUL = "engine_overhaul"
    PROPELLER_OVERHAUL = "propeller_overhaul"
    TURBOCHARGER = "turbocharger"
    LOAN = "loan"
    RESALE = "resale"
    SUBSTITUTE = "substitute"
    TIME = "time"


CATEGORIES: tuple[Category, ...] = tuple(Category)
"""Fixed order; the position of a category is its code in a ledger."""

CODE: dict[Category, int] = {category: i for i, category in enumerate(CATEGORIES)}

OUTSIDE: frozenset[Category] = frozenset({Category.SUBSTITUTE, Category.TIME})
"""Not a cost of the aircraft: they count in the net cost alone."""

OVERHAULS: frozenset[Category] = frozenset(
    {Category.ENGINE_OVERHAUL, Category.PROPELLER_OVERHAUL, Category.TURBOCHARGER}
)
"""Paid when hours or condition say so; what is set aside for them is a view beside the cash."""

ONCE: frozenset[Category] = frozenset(
    {Category.CATCH_UP, Category.PURCHASE, Category.PRE_PURCHASE, Category.TITLE_AND_FERRY, Category.UPGRADES,
     Category.LOAN, Category.RESALE, Category.CAPITAL, Category.VALUE_LOST}
) | OVERHAULS
"""Of the ownership, not of a flown year; what a year of it bears of them is worked out over the years kept."""

FIXED: frozenset[Category] = frozenset(
    {Category.HANGAR, Category.INSURANCE, Category.SUBSCRIPTIONS, Category.TRAINING, Category.SUNDRIES,
     Category.OUTDOOR_WEAR, Category.TAX, Category.ANNUAL}
    | ONCE - OVERHAULS
)
"""Paid however little is flown."""

HOURLY: frozenset[Category] = frozenset(
    {Category.FUEL, Category.OIL, Category.CONSUMABLES, Category.COMPONENTS, Category.REPAIR, Category.INSPECTION,
     Category.DEDUCTIBLE}
) | OVERHAULS
"""Grows with the hours flown. What is neither fixed nor hourly belongs to single events."""


class Cause(StrEnum):
    """Why a ledger entry stands there."""

    UPLIFT = "fuel bought"
    TANKS = "tanks back to where the year began"
    HOURS = "flight hours of the month"
    FIELD = "landing away from home"
    FUEL_STOP = "landing for fuel"
    OTHER_FIELD = "flight ended at another field"
    NIGHT = "night away from home"
    FORCED_NIGHT = "night beyond the plan"
    GROUND = "car at the destination"
    FLAT_FEE = "flat fee"
    FINDINGS = "findings at the annual"
    ACCRUED = "annual falling in no month of this year"
    OIL_CHANGE = "oil change"
    HUNDRED_HOUR = "100-hour inspection"
    FAULT = "fault repaired"
    AWAY = "repair away from home"
    MONTH = "month"
    YEAR = "year"
    CLAIMS = "claims expected"
    SHARE = "share of the years kept"
    REFUSED = "trip refused"
    BROKEN_OFF = "trip broken off"
    DID_NOT_FIT = "people who did not fit"
    MOVED = "trip moved to another day"
    DOOR_TO_DOOR = "hours of those on board"


CAUSES: tuple[Cause, ...] = tuple(Cause)
CAUSE_CODE: dict[Cause, int] = {cause: i for i, cause in enumerate(CAUSES)}
