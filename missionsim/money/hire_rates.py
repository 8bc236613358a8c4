"""What an hour costs, and what must be charged for it: direct and full cost, and rates that break even."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Array
from missionsim.base.errors import ValidityError


@dataclass(frozen=True, slots=True)
class Sale:
    """How much of the price of a revenue hour reaches the owner.

    `ticket_tax_share` is taken out of what the customer pays, `operator_share` out of the rest.
    """

    operator_share: float
    ticket_tax_share: float

    @property
    def kept_share(self) -> float:
        """Owner's part of a dollar charged.

        Raises
        ------
        ValidityError   Nothing is left.
        """
        kept = (1.0 - self.ticket_tax_share) * (1.0 - self.operator_share)
        if kept <= 0.0:
            raise ValidityError(f"money.rates: {kept:.0%} of the price reaches the owner; accepted: above 0 %")
        return kept


@dataclass(frozen=True, slots=True)
class Tariff:
    """What a customer is billed besides the rate, and by which hours.

    `daily_minimum_h`: hours billed at least for each day away. `waiting_usd_per_h`: for each waking hour the aircraft
    waits. `positioning_billed`: empty legs are billed too. `dry`: the customer pays the fuel. `fees_passed_on`:
    landing, stops and parking too. `by_meter`: engine-speed hours in place of block hours.
    """

    daily_minimum_h: float = 0.0
    waiting_usd_per_h: float = 0.0
    positioning_billed: bool = False
    fuel_surcharge_usd_per_h: float = 0.0
    fees_passed_on: bool = False
    dry: bool = False
    by_meter: bool = False


def least_rate_usd(cost_usd: ArrayLike, revenue_hours: ArrayLike, sale: Sale, margin_share: float = 0.0) -> Array:
    """Return the price of a revenue hour that pays a cost and leaves a margin of the owner's part; NaN without hours.

    Parameters
    ----------
    cost_usd : (r,) array        Cost a year. [usd]
    revenue_hours : (r,) array   Sold a year. [h]
    sale : Sale                  What is kept of a price.
    margin_share : float         Of what reaches the owner.

    References
    ----------
    .. [1] Break-even: price times what is kept of it times hours equals cost (definition).
    """
    hours = np.asarray(revenue_hours, dtype=np.float64)
    owner = np.asarray(cost_usd, dtype=np.float64) / np.where(hours > 0.0, hours, np.nan)
    return np.asarray(owner / sale.kept_share / (1.0 - margin_share), dtype=np.float64)


def crew_usd(days: ArrayLike, nights: ArrayLike, usd_per_day: float, expenses_usd_per_day: float,
             hotel_usd_per_night: float, crew: int, second_pilot_share: float) -> Array:
    """Return pay, expenses and rooms of the crew for days on duty and nights away.

    Parameters
    ----------
    crew : int                   1, or 2 with a second pilot at a share of the first one's pay.
    """
    pay = usd_per_day * (1.0 + second_pilot_share * (crew - 1)) + expenses_usd_per_day * crew
    return np.asarray(np.asarray(days) * pay + np.asarray(nights) * hotel_usd_per_night * crew, dtype=np.float64)
