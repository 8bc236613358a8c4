"""Who pays what of a shared aircraft: bills, dues, hourly rates, the fund and what it lacks.

Everything is counted in whole cents; what members pay is what the aircraft's bills come to plus the change of the fund.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats, Ints
from missionsim.base.errors import ValidityError
from missionsim.money.categories import CATEGORIES, CODE, FIXED, ONCE, OUTSIDE, Category
from missionsim.money.entries import Ledger, cents

FEES: frozenset[Category] = frozenset({Category.LANDING, Category.STOP, Category.OVERNIGHT, Category.DIVERSION,
                                       Category.LODGING})
"""Always paid by the member on whose trip they arise."""
NO_BILL = ONCE | OUTSIDE


@dataclass(frozen=True, slots=True)
class Bills:
    """One year's bills of a shared aircraft, integer cents.

    Attributes
    ----------
    fixed_cents, hourly_cents : (r,) arrays   Bills the group pays: however little is flown, and the rest.
    own_cents : (r, m) array                  Bills of a member alone: fees and lodging of the own trips, training, and
                                              fuel where the hourly rate is dry.
    reserve_cents : (r,) array                What the engine and propeller use up; no bill.
    """

    fixed_cents: Ints
    hourly_cents: Ints
    own_cents: Ints
    reserve_cents: Ints

    @property
    def group_cents(self) -> Ints:
        """Bills the group pays, by replication."""
        return self.fixed_cents + self.hourly_cents


def bills_of(ledger: Ledger, replications: ArrayLike, member_of_trip: Ints, members: int, hours: Floats,
             hourly: Literal["wet", "dry"], reserve_cents: Ints) -> Bills:
    """Return the bills of a year, sorted by who pays them.

    Training is each pilot's own: the ledger's entry is that of one pilot, and every member pays as much.

    Parameters
    ----------
    replications : (r,) array    In rising order.
    member_of_trip : (t,) array  Member by row of the trip table.
    hours : (r, m) array         Flight hours, to share fuel that belongs to no trip.
    reserve_cents : (r,) array   What engine and propeller use up; no bill.
    """
    reps = np.asarray(replications, dtype=np.int64)
    own = FEES | ({Category.FUEL} if hourly == "dry" else set())
    codes = np.array(sorted(CODE[c] for c in own))
    mine = np.isin(ledger.category, codes) & (ledger.trip >= 0)
    table = np.zeros((len(reps), members), dtype=np.int64)
    np.add.at(table, (np.searchsorted(reps, ledger.replication[mine]), member_of_trip[ledger.trip[mine]]),
              ledger.amount_cents[mine])
    by_category = ledger.by_category(reps)
    left = by_category[:, codes].sum(axis=1) - table.sum(axis=1)
    table += allocate(left, hours)
    training = by_category[:, CODE[Category.TRAINING]]
    fixed = _sum(by_category, FIXED - ONCE - {Category.TRAINING})
    rest = _sum(by_category, set(CATEGORIES) - NO_BILL - FIXED - own)
    return Bills(fixed, rest, table + training[:, None], reserve_cents)


def _sum(by_category: Ints, categories: Collection[Category]) -> Ints:
    return np.asarray(by_category[:, sorted(CODE[c] for c in categories)].sum(axis=1), dtype=np.int64)


def allocate(total_cents: ArrayLike, weights: ArrayLike) -> Ints:
    """Return cents shared by weight, without a cent lost: odd cents go to the largest remainders.

    Parameters
    ----------
    total_cents : (r,) int array
    weights : (r, m) array        0 and above; where all are 0 the shares are equal.
    """
    total = np.asarray(total_cents, dtype=np.int64)[:, None]
    weight = np.asarray(weights, dtype=np.float64)
    if np.any(weight < 0.0):
        raise ValidityError(f"money.shares: weight is {weight.min():g}; accepted: 0 and above")
    whole = weight.sum(axis=1, keepdims=True)
    share = np.where(whole > 0.0, weight / np.where(whole > 0.0, whole, 1.0), 1.0 / weight.shape[1])
    exact = share * total
    down = np.floor(exact).astype(np.int64)
    missing = total[:, 0] - down.sum(axis=1)
    rank = np.argsort(np.argsort(-(exact - down), axis=1, kind="stable"), axis=1, kind="stable")
    return down + (rank < missing[:, None])


@dataclass(frozen=True, slots=True)
class DuesTerms:
    """What members pay: dues a month each, for each hour on the clock, and for each day the aircraft is held. [usd]"""

    dues_usd_per_month: float
    hourly_usd: float
    daily_usd: float = 0.0


@dataclass(frozen=True, slots=True)
class Payments:
    """What members pay in a year, integer cents, (r, m): dues, hours and days into the fund, own bills directly."""

    dues_cents: Ints
    hourly_cents: Ints
    daily_cents: Ints
    own_cents: Ints

    @property
    def paid_cents(self) -> Ints:
        """All a member pays."""
        return self.dues_cents + self.hourly_cents + self.daily_cents + self.own_cents


def covering_terms(bills: Bills, clock_hours: Floats, dues_usd: float | None, hourly_usd: float | None,
                   days_held: Floats | None = None, by: str = "dues_and_hours") -> DuesTerms:
    """Return the terms; dues left out cover the mean fixed bills, an hourly rate the mean rest and the reserve.

    Parameters
    ----------
    bills : Bills                            Paid by the fund and by members.
    clock_hours, days_held : (r, m) arrays   Hours on the clock of the rate, and days the aircraft was held.
    dues_usd, hourly_usd : float or None     As the group wrote them, for dues and hours.
    by : str                                 One of `SHARED_BY`. Otherwise than by dues and hours one of dues, rate and
                                             price of a day covers everything, and the other two are none.
    """
    members = bills.own_cents.shape[1]
    if by != "dues_and_hours":
        whole_usd = float((bills.group_cents + bills.reserve_cents).mean()) / 100.0
        if by == "equally":
            return DuesTerms(whole_usd / (12.0 * members), 0.0)
        use = clock_hours if by == "hours" or days_held is None else days_held
        rate_usd = whole_usd / max(float(use.sum(axis=1).mean()), 1e-9)
        return DuesTerms(0.0, rate_usd) if by == "hours" else DuesTerms(0.0, 0.0, rate_usd)
    if dues_usd is None:
        dues_usd = float(np.ceil(bills.fixed_cents.mean() / (12.0 * members)) / 100.0)
    if hourly_usd is None:
        hours = float(clock_hours.sum())
        hourly_usd = float((bills.hourly_cents + bills.reserve_cents).sum() / hours / 100.0) if hours > 0.0 else 0.0
    return DuesTerms(dues_usd, hourly_usd)


def payments(bills: Bills, clock_hours: Floats, terms: DuesTerms, days_held: Floats | float = 0.0) -> Payments:
    """Return what each member pays in each year.

    Parameters
    ----------
    bills : Bills
    clock_hours : (r, m) array    On the clock the rate is counted by.
    terms : DuesTerms
    days_held : (r, m) array
    """
    dues = np.full(clock_hours.shape, 12 * int(cents(terms.dues_usd_per_month)), dtype=np.int64)
    days = np.broadcast_to(np.asarray(days_held, dtype=np.float64), clock_hours.shape)
    return Payments(dues, cents(clock_hours * terms.hourly_usd), cents(days * terms.daily_usd), bills.own_cents)


@dataclass(frozen=True, slots=True)
class Deductible:
    """The insurance deductible of a shared aircraft, paid after each claim for damage.

    `usd`: of one claim. `per_flight_h`, `parked_per_year`: claims expected. `by_flyer`: whoever flew pays it, and all
    alike where it was parked; else all alike always.
    """

    usd: float
    per_flight_h: float
    parked_per_year: float
    by_flyer: bool

    def claims(self, flight_hours: Floats) -> Floats:
        """Return claims expected in a year of so many flight hours."""
        return np.asarray(self.per_flight_h * np.asarray(flight_hours) + self.parked_per_year, dtype=np.float64)

    def yearly_usd(self, flight_hours: Floats) -> Floats:
        """Return what a year is expected to bring, (r,), from hours (r,) or by member (r, m)."""
        hours = flight_hours if flight_hours.ndim == 1 else flight_hours.sum(axis=1)
        return np.asarray(self.usd * self.claims(hours))

    def laid_on(self, bills: Bills, flight_hours: Floats) -> Bills:
        """Return the bills with what a year is expected to bring of it.

        Parameters
        ----------
        flight_hours : (r, m) array    By member.
        """
        own = cents(self.usd * self.per_flight_h * flight_hours)
        parked = int(cents(self.usd * self.parked_per_year))
        if self.by_flyer:
            return replace(bills, hourly_cents=bills.hourly_cents + parked, own_cents=bills.own_cents + own)
        return replace(bills, hourly_cents=bills.hourly_cents + parked + own.sum(axis=1))


def split(bills: Bills, hours: Floats, days_held: Floats) -> dict[str, Ints]:
    """Return each member's part of bills and reserve, own bills added, under each way of sharing; arrays (r, m).

    By hours flown; by days the aircraft was held; by the calendar, everybody alike; and fixed bills by the calendar
    with the rest by hours, which is what dues and an hourly rate come to.
    """
    rest = bills.hourly_cents + bills.reserve_cents
    even = np.ones(hours.shape)
    fixed_even, rest_by_hours = allocate(bills.fixed_cents, even), allocate(rest, hours)
    return {"by_hours": allocate(bills.fixed_cents, hours) + rest_by_hours + bills.own_cents,
            "by_days_held": allocate(bills.fixed_cents, days_held) + allocate(rest, days_held) + bills.own_cents,
            "by_calendar": fixed_even + allocate(rest, even) + bills.own_cents,
            "half_and_half": fixed_even + rest_by_hours + bills.own_cents}


@dataclass(frozen=True, slots=True)
class FundPaths:
    """The fund over some years, dollars of the first year.

    Attributes
    ----------
    balance_usd : (r, y) array       At the end of each year, assessments paid in.
    assessment_usd : (r, y) array    Paid in by all members together because the fund was short.
    least_rate_usd : (r,) array      Hourly rate at which the fund would never have been short.
    """

    balance_usd: Floats
    assessment_usd: Floats
    least_rate_usd: Floats


def fund_paths(start_usd: float, dues_usd: ArrayLike, spent_usd: Floats, clock_hours: Floats, hourly_usd: float,
               ) -> FundPaths:
    """Follow the fund through the years.

    Parameters
    ----------
    start_usd : float           In the fund at first.
    dues_usd : float or array   All members' dues of a year.
    spent_usd : (r, y) array    The group's bills and overhauls.
    clock_hours : (r, y) array  All members' hours on the clock of the rate, or days held.
    hourly_usd : float          Paid for each of them.
    """
    without = np.asarray(dues_usd, dtype=np.float64) - spent_usd
    so_far, hours = np.cumsum(without, axis=1) + start_usd, np.cumsum(clock_hours, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = np.where(hours > 0.0, -so_far / hours, np.where(so_far < 0.0, np.inf, 0.0))
    balance, assessed = np.zeros(spent_usd.shape), np.zeros(spent_usd.shape)
    now = np.full(len(spent_usd), float(start_usd))
    for y in range(spent_usd.shape[1]):
        now = now + without[:, y] + clock_hours[:, y] * hourly_usd
        assessed[:, y] = np.maximum(-now, 0.0)
        now = np.maximum(now, 0.0)
        balance[:, y] = now
    return FundPaths(balance, assessed, np.maximum(needed.max(axis=1), 0.0))
