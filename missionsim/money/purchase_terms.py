"""What an ownership is worked out from: the records of the flown years, and how the aircraft is bought and kept."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.money.cost_profile import CostProfile
from missionsim.money.insurance import PilotExperience
from missionsim.money.overhauls import OwnershipDraws


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

    flight_hours: Floats
    completed_trips: Floats
    seat_nm: Floats
    cash_cents: Ints

    def kept(self, years: int) -> YearlyRecords:
        """Return the records of so many years; a single flown year stands for all of them.

        Raises
        ------
        ValidityError   More years than were flown, where more than one was.
        """
        flown = self.flight_hours.shape[1]
        if flown not in (1, years) and flown < years:
            raise ValidityError(f"money.ownership: {years} years kept; accepted: at most the {flown} flown")
        rows = np.zeros(years, dtype=np.int64) if flown == 1 else np.arange(years)
        # The one year's dollars are seen once a year, not copied: 1.5 MB of 1,000 years.
        shape = (len(self.cash_cents), years, self.cash_cents.shape[2])
        cash = np.broadcast_to(self.cash_cents, shape) if flown == 1 else self.cash_cents[:, rows]
        return YearlyRecords(self.flight_hours[:, rows], self.completed_trips[:, rows], self.seat_nm[:, rows], cash)


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


def closing_price_usd(candidate: CostProfile, terms: PurchaseTerms, assumptions: Assumptions) -> float:
    """Return the price paid: as agreed, else asked less the usual discount."""
    if terms.paid_usd is not None:
        return terms.paid_usd
    return float(candidate.asking_price_usd * (1.0 - assumptions["ownership.purchase_discount_share"]))


def price_shares(draws: OwnershipDraws, terms: PurchaseTerms) -> Floats | float:
    """Return what is paid over the likely price, by replication; 1 where it is known or agreed."""
    return 1.0 if draws.price_share is None or terms.paid_usd is not None else draws.price_share
