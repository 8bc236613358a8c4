"""What an aircraft is worth when it is sold again: engine hours, airframe hours, overhauls and upgrades priced in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.money.cost_profile import CostProfile


@dataclass(frozen=True, slots=True)
class Resale:
    """What the seller gets, in parts by replication; they add up to the whole. [usd]

    `aircraft`: at the listed engine hours, drifted over the years. `hours`: for engine hours other than those, up to a
    run-out one, a fresh overhaul valued by its hours, and upgrades. `overhaul`: a fresh overhaul valued by its cost.
    """

    aircraft: Floats
    hours: Floats
    overhaul: Floats

    @property
    def usd(self) -> Floats:
        """The whole."""
        return self.aircraft + self.hours + self.overhaul


@dataclass(frozen=True, slots=True)
class EngineSold:
    """The engine when the aircraft is sold, by replication.

    Parameters
    ----------
    priced_h : float             Hours since overhaul the asking price supposes.
    hours_h : (r,) array         Hours since overhaul when sold.
    overhaul_usd : (r,) array    Cost of the last overhaul this owner paid; 0 for none.
    spared_h : (r,) array        Hours the engine would have now had it not been overhauled.
    tbo_h : (r,) array           Published hours; left out, the candidate's.
    """

    priced_h: float
    hours_h: ArrayLike
    overhaul_usd: ArrayLike = 0.0
    spared_h: ArrayLike = 0.0
    tbo_h: ArrayLike | None = None


def resale(candidate: CostProfile, engine: EngineSold, airframe_hours_h: ArrayLike, years: float,
           assumptions: Assumptions) -> Resale:
    """Return what the seller gets for the aircraft.

    What is usually asked for such an aircraft holds for the engine hours the listing supposes, whatever this owner
    paid; `selling_share` is off that. Every engine hour more or less counts at the value of an engine hour, up to TBO:
    a run-out engine is worth no less for 100 hours more. What a fresh overhaul adds is at most the recovered share of
    its cost, falling with the hours flown on it.

    Parameters
    ----------
    candidate : CostProfile
    engine : EngineSold
    airframe_hours_h : (r,) array     Hours flown by this owner.
    years : float                     Years owned.
    """
    tbo = candidate.tbo_h if engine.tbo_h is None else np.asarray(engine.tbo_h, dtype=np.float64)
    a = {k: assumptions[f"ownership.{k}"] for k in ("value_drift_share", "value_lost_per_airframe_h", "selling_share",
                                                    "overhaul_recovered_share")}
    per_h = candidate.engines * assumptions["ownership.value_per_engine_h"][candidate.engine]
    paid, now = np.asarray(engine.overhaul_usd, dtype=np.float64), np.minimum(engine.hours_h, tbo)
    airframe = np.maximum(1.0 - a["value_lost_per_airframe_h"] * np.asarray(airframe_hours_h, dtype=np.float64), 0.0)
    base = candidate.usual_asking_usd * (1.0 + a["value_drift_share"]) ** years * airframe
    aged = np.where(paid > 0.0, np.minimum(engine.spared_h, tbo), now)
    upgrades = candidate.upgrades_usd * upgrade_recovered_share(years, assumptions)
    hours = per_h * (np.minimum(engine.priced_h, tbo) - aged) + upgrades
    recovered, by_hours = a["overhaul_recovered_share"] * paid * (1.0 - now / tbo), per_h * np.maximum(aged - now, 0.0)
    hours = hours + np.where(by_hours < recovered, by_hours, 0.0)
    fresh = np.where(by_hours < recovered, 0.0, recovered)
    left = (1.0 - a["selling_share"]) * (base + hours + fresh > 0.0)
    return Resale(base * left, hours * left, fresh * left)


def upgrade_recovered_share(years: float, assumptions: Assumptions) -> float:
    """Return the share of an upgrade's price that comes back: straight between years one and five, then flat."""
    first, fifth = (assumptions[f"ownership.upgrade_recovered_{k}_share"] for k in ("first", "fifth"))
    return float(np.interp(years, [1.0, 5.0], [first, fifth]))
