"""Prices of a study: what the user gave, else the assumptions; by place and by class of aircraft."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import Fault, InputError, NearMatches


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices where the user lives. `None` means: by class of aircraft, from the assumptions."""

    fuel_usd_per_gal: float
    oil_usd_per_quart: float
    labor_usd_per_h: float
    tiedown_usd_per_month: float
    subscriptions_usd_per_year: float
    property_tax_usd_per_year: float
    miscellaneous_usd_per_year: float
    landing_fee_usd: float
    overnight_parking_usd: float
    hotel_usd_per_night: float
    own_money_share_per_year: float
    value_of_time_usd_per_h: float = 0.0
    hangar_usd_per_month: float | None = None
    insurance_usd_per_year: float | None = None
    training_usd_per_year: float | None = None
    fuel_at: Mapping[str, float] = field(default_factory=dict)

    def fuel_price_usd_per_gal(self, ident: str) -> float:
        """Return the price of fuel at an airport: the user's for it, else the general one."""
        return self.fuel_at.get(ident, self.fuel_usd_per_gal)


def prices_of(assumptions: Assumptions, given: Mapping[str, Any] | None = None) -> Prices:
    """Return the prices of a study.

    Parameters
    ----------
    assumptions : Assumptions    Group `cost`.
    given : mapping              What the user gave, by the field names of `Prices`; None values are not given.

    Raises
    ------
    InputError                   Unknown names and values that are no price, all at once.
    """
    given = {key: value for key, value in (given or {}).items() if value is not None}
    known = [f.name for f in fields(Prices)]
    nearest = NearMatches()
    faults = [Fault("study", f"prices.{key}", "unknown price", ", ".join(known), nearest.of(key, known))
              for key in given if key not in known]
    numbers = {key: value for key, value in given.items() if key in known and key != "fuel_at"}
    numbers |= {f"fuel_at.{place}": value for place, value in given.get("fuel_at", {}).items()}
    faults += [Fault("study", f"prices.{key}", f"is {value!r}", "a number, 0 or above")
               for key, value in numbers.items() if not _is_price(value)]
    if faults:
        raise InputError(faults)
    return Prices(**(_defaults(assumptions) | given))


def _is_price(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value) and value >= 0


def _defaults(assumptions: Assumptions) -> dict[str, Any]:
    subscriptions = sum(assumptions[f"cost.{k}"] for k in ("databases_usd", "weather_usd", "instrument_checks_usd"))
    names = {"fuel_usd_per_gal": "fuel_usd_per_gal", "oil_usd_per_quart": "oil_usd_per_quart",
             "labor_usd_per_h": "labor_usd_per_h", "tiedown_usd_per_month": "tie_down_usd_per_month",
             "property_tax_usd_per_year": "property_tax_usd", "miscellaneous_usd_per_year": "sundries_usd",
             "landing_fee_usd": "landing_fee_usd", "overnight_parking_usd": "overnight_fee_usd",
             "hotel_usd_per_night": "hotel_usd_per_night", "own_money_share_per_year": "own_money_share"}
    return {ours: assumptions[f"cost.{key}"] for ours, key in names.items()} | {
        "subscriptions_usd_per_year": subscriptions}


@dataclass(frozen=True, slots=True)
class PlacePrices:
    """Prices and clock by row of the study's places.

    Attributes
    ----------
    home : int                        Row of home; nothing is charged for landing or parking there.
    fuel_usd_per_gal : (p,) array
    landing_fee_usd : (p,) array
    overnight_usd : (p,) array        Parking for a night.
    utc_offset_h : (p,) array         Local standard time minus UTC; it dates the entries and counts the nights.
    """

    home: int
    fuel_usd_per_gal: Floats
    landing_fee_usd: Floats
    overnight_usd: Floats
    utc_offset_h: Floats


def place_prices(idents: Sequence[str], home: int, prices: Prices, utc_offset_h: ArrayLike = 0.0,
                 landing_fee_at: Mapping[str, float] | None = None) -> PlacePrices:
    """Return the prices of a study's places, in their order.

    Parameters
    ----------
    idents : sequence of str             Identifiers by row of places.
    home : int                           Row of home.
    prices : Prices
    utc_offset_h : (place,) array        Of clocks. [h]
    landing_fee_at : mapping, optional   By identifier, where it differs.
    """
    fees = landing_fee_at or {}
    landing = np.array([fees.get(ident, prices.landing_fee_usd) for ident in idents], dtype=np.float64)
    overnight = np.full(len(idents), prices.overnight_parking_usd, dtype=np.float64)
    if idents[home] not in fees:
        landing[home] = 0.0
    overnight[home] = 0.0
    return PlacePrices(home, np.array([prices.fuel_price_usd_per_gal(i) for i in idents], dtype=np.float64), landing,
                       overnight, np.broadcast_to(np.asarray(utc_offset_h, dtype=np.float64), (len(idents),)))


EVENT_PRICES = frozenset({
    "maintenance.fault_cost_usd", "maintenance.repair_travel_usd", "maintenance.findings_ratio",
    "maintenance.first_annual_factor", "maintenance.hundred_hour_usd", "maintenance.oil_change_usd",
    "engine_life.overhaul_usd", "engine_life.propeller_usd"})
"""Prices whose range is that of a single event: part of it is luck of the event, part a level that nobody knows."""
QUOTED = frozenset({"maintenance.hundred_hour_usd", "maintenance.oil_change_usd", "engine_life.overhaul_usd",
                    "engine_life.propeller_usd"})
"""Of those, the ones that a shop quotes: a figure the user gives is paid as given."""


def low_likely_high(assumptions: Assumptions, key: str, klass: str = "") -> tuple[float, float, float]:
    """Return low, likely and high of an assumption, of one class where it is a table."""
    entry = assumptions.entry(key)
    likely, low, high = entry.value, entry.low, entry.high
    if isinstance(likely, dict):
        likely = likely[klass]
        low, high = (None if limit is None else limit[klass] for limit in (low, high))
    low = likely if low is None else min(low, likely)
    high = likely if high is None else max(high, likely)
    return float(low), float(likely), float(high)


def event_range(assumptions: Assumptions, key: str, klass: str = "") -> tuple[float, float, float]:
    """Return the range of a single event's price about its level, which is laid over the flown years."""
    entry = assumptions.entry(key)
    low, likely, high = low_likely_high(assumptions, key, klass)
    if key in QUOTED and entry.overridden and not entry.ranged:
        return likely, likely, likely
    if (entry.overridden and not entry.ranged) or likely == 0.0:
        return low, likely, high
    part = (1.0 - assumptions["statistics.event_level_share"]) ** 0.5
    return (low, likely, high) if part == 1.0 else (likely * (low / likely) ** part, likely,
                                                   likely * (high / likely) ** part)
