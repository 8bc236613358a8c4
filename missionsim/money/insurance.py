"""Insurance from value, class of aircraft and the pilot: premium, dual hours before solo, or no cover as a verdict.

An estimate for comparing aircraft; only an insurer quotes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.money.cost_profile import CostProfile


@dataclass(frozen=True, slots=True)
class PilotExperience:
    """The pilot as an insurer asks. Of several pilots, the least experienced counts."""

    total_h: float = 500.0
    retractable_h: float = 100.0
    type_h: float = 50.0
    instrument_rated: bool = True
    age: float = 45.0
    multi_engine_h: float = 250.0


@dataclass(frozen=True, slots=True)
class Quote:
    """What cover would cost and ask for.

    Attributes
    ----------
    insurable : bool           False: no usual cover is offered; the premium then is what one would cost.
    why : tuple of str         Reasons of a refusal.
    premium_usd : float        Hull and liability for a year.
    dual_h : float             Instruction asked before the pilot may fly it alone.
    factors : mapping          Every factor on the premium, by name.
    """

    insurable: bool
    why: tuple[str, ...]
    premium_usd: float
    hull_usd: float
    liability_usd: float
    dual_h: float
    factors: Mapping[str, float]

    @property
    def entry(self) -> dict[str, Any]:
        """What is told of it under the keys of a printed object."""
        return {"insurable": self.insurable, "why": list(self.why), "premium_usd": self.premium_usd,
                "dual_h": self.dual_h}


def difficulty(entry: Mapping[str, Any]) -> str:
    """Return what must be said before the premium is believed, from `Quote.entry`; empty where cover is usual."""
    if entry["insurable"]:
        return ""
    return (f"we expect difficulty insuring this pilot in it ({'; '.join(entry['why'])}); the premium counted, "
            f"{entry['premium_usd']:,.0f} dollars the first year, is our estimate, ask a broker")


def quote(aircraft: CostProfile, pilot: PilotExperience, assumptions: Assumptions, *, owners: int = 1,
          hired_out: bool = False) -> Quote:
    """Return the yearly premium and conditions for one aircraft and pilot.

    Parameters
    ----------
    aircraft : CostProfile
    pilot : PilotExperience
    assumptions : Assumptions    Group `insurance`.
    owners : int                 People named as owners and pilots.
    hired_out : bool             Rental, instruction or charter.
    """
    factors = {name: float(f) for name, f in _factors(aircraft, pilot, 0.0, 0, assumptions, owners, hired_out).items()}
    hull, liability = _parts_usd(aircraft, float(np.prod(list(factors.values()))), assumptions)
    why = _refusals(aircraft, pilot, assumptions)
    return Quote(not why, why, hull + liability, hull, liability, _dual_h(aircraft, pilot, assumptions), factors)


def premiums_usd(aircraft: CostProfile, pilot: PilotExperience, flown_h: Floats, assumptions: Assumptions, *,
                 owners: int = 1, hired_out: bool = False, hull_share: Floats | None = None) -> Floats:
    """Return the premiums of years of ownership as the pilot's hours grow.

    Parameters
    ----------
    flown_h : (r, y) array    Flown in it before each year; year y finds the pilot y years older.
    hull_share : (r,) array   Insured value over the candidate's, where its price is open.
    """
    factors = _factors(aircraft, pilot, flown_h, np.arange(flown_h.shape[1]), assumptions, owners, hired_out)
    product = np.ones(flown_h.shape)
    for factor in factors.values():
        product = product * factor
    hull, liability = _parts_usd(aircraft, product, assumptions)
    return np.asarray((hull if hull_share is None else hull * hull_share[:, None]) + liability)


def hull_parts(aircraft: CostProfile, assumptions: Assumptions, hull_share: Floats | None = None
               ) -> tuple[Floats, Floats]:
    """Return which parts of a premium go with the aircraft's value and with its upgrades; the rest is liability.

    Every factor on a premium is on all of it. Parameters as those of `premiums_usd`; (r,) or (1,) arrays.
    """
    hull, liability = _parts_usd(aircraft, 1.0, assumptions)
    insured = hull * (np.ones(1) if hull_share is None else hull_share)
    part = insured / (insured + liability)
    added = aircraft.upgrades_usd / aircraft.hull_value_usd
    return np.asarray(part * (1.0 - added)), np.asarray(part * added)


def deductible_usd(flight_hours: Floats, assumptions: Assumptions) -> Floats:
    """Return what is expected to be paid of claims for damage before the insurer pays; no part of the premium. [usd]

    Parameters
    ----------
    flight_hours : array    Flown in a year; a claim may come while it is parked, too.
    """
    claims = (assumptions["insurance.claims_per_1000_h"] / 1000.0 * np.asarray(flight_hours, dtype=np.float64)
              + assumptions["insurance.parked_claims_per_year"])
    return np.asarray(assumptions["insurance.deductible_usd"] * claims)


def _parts_usd(aircraft: CostProfile, product: Any, assumptions: Assumptions) -> tuple[Any, Any]:
    """Return hull and liability premium under a product of factors."""
    hull = aircraft.hull_value_usd * assumptions["insurance.hull_share"][aircraft.klass] * product
    if aircraft.engines == 2:
        hull = hull * assumptions["insurance.twin_factor"]
    if aircraft.klass == "H4" and not aircraft.retractable:
        hull = hull * assumptions["insurance.fixed_gear_share"]
    liability = assumptions["insurance.liability_usd"] * product
    if aircraft.seats > 4:
        liability = liability * assumptions["insurance.six_seat_factor"]
    return hull, liability


def _factors(aircraft: CostProfile, pilot: PilotExperience, flown_h: Any, years: Any, assumptions: Assumptions,
             owners: int, hired_out: bool) -> dict[str, Any]:
    """Return the factors on a premium after hours flown and years gone by: numbers or arrays."""
    def table(name: str, x: Any, points: str) -> Any:
        return np.interp(x, assumptions[f"insurance.{points}"], assumptions[f"insurance.{name}_factor"])

    club = owners >= assumptions["insurance.club_from"]
    partners = assumptions["insurance.partner_factor"] ** (owners - 1)
    return {
        "total_time": table("total", pilot.total_h + flown_h, "total_points_h"),
        "retractable_time": (table("retractable", pilot.retractable_h + flown_h, "retractable_points_h")
                             if aircraft.retractable else 1.0),
        "multi_engine_time": (table("multi_engine", pilot.multi_engine_h + flown_h, "multi_engine_points_h")
                              if aircraft.engines == 2 else 1.0),
        "time_in_type": table("type", pilot.type_h + flown_h, "type_points_h"),
        "age": table("age", pilot.age + years, "age_points"),
        "no_instrument_rating": (1.0 if pilot.instrument_rated
                                 else assumptions["insurance.no_instrument_factor"][aircraft.klass]),
        "owners": assumptions["insurance.club_factor"] if club else partners,
        "hired_out": assumptions["insurance.hire_factor"] if hired_out else 1.0,
    }


def _refusals(aircraft: CostProfile, pilot: PilotExperience, assumptions: Assumptions) -> tuple[str, ...]:
    key = "least_total_h" if pilot.instrument_rated else "least_visual_total_h"
    least, age = assumptions[f"insurance.{key}"][aircraft.klass], assumptions["insurance.refusal_age"][aircraft.klass]
    if aircraft.engines == 2:
        least = max(least, assumptions["insurance.multi_engine_least_total_h"])
    why = []
    if pilot.total_h < least:
        rating = "with" if pilot.instrument_rated else "without"
        why.append(f"{pilot.total_h:g} h total {rating} instrument rating; insurers ask about {least:g} h")
    if pilot.age >= age:
        why.append(f"pilot aged {pilot.age:g}; new cover ends at about {age:g}")
    return tuple(why)


def _dual_h(aircraft: CostProfile, pilot: PilotExperience, assumptions: Assumptions) -> float:
    below = assumptions["insurance.dual_below_h"]
    hours = assumptions["insurance.dual_type_h"][aircraft.klass] if pilot.type_h < below else 0.0
    if aircraft.retractable and pilot.retractable_h < below:
        hours += assumptions["insurance.dual_retractable_h"]
    if aircraft.engines == 2 and pilot.multi_engine_h < below:
        hours += assumptions["insurance.dual_multi_engine_h"]
    return float(hours)
