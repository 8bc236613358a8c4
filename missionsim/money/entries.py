"""The ledger: frozen columns of integer cents, from which every total is summed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, fields
from datetime import date, timedelta
from math import prod

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Array, Bools, Floats, Indices, Ints
from missionsim.base.errors import ValidityError
from missionsim.money.categories import CATEGORIES, CAUSE_CODE, CAUSES, CODE, OUTSIDE, Category, Cause

NO_ROW = -1
MOST_USD = 1e12
"""Of one entry; sums of thousands of them, and multiples of those, are still exact in cents. [usd]"""


def cents(usd: ArrayLike) -> Ints:
    """Return dollars as whole cents: every entry is rounded once, to the nearest cent, halves to the even one.

    Raises
    ------
    ValidityError   An amount is no number, or beyond all that sums of whole cents can hold.
    """
    amounts = np.asarray(usd, dtype=np.float64)
    if not np.all(np.abs(amounts) <= MOST_USD):
        raise ValidityError(f"A single cost comes to {np.max(np.abs(amounts)):.3g} dollars; accepted: at most "
                            f"{MOST_USD:,.0f}. The prices and assumptions that the study replaces do not fit together.")
    return np.rint(amounts * 100.0).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Ledger:
    """Every dollar with its date, category and cause, ordered by replication, day and category.

    Attributes
    ----------
    replication, day : (n,) int arrays     Day of the year from 0, in home's local time; past 364 for trips still open.
    category, cause : (n,) int arrays      Positions in `CATEGORIES` and `CAUSES`.
    trip, flight : (n,) int arrays         Row of the trip table and of the chunk's flight rows; -1 for none.
    amount_cents : (n,) int array          Positive is spent.
    """

    replication: Ints
    day: Ints
    category: Ints
    cause: Ints
    trip: Ints
    flight: Ints
    amount_cents: Ints

    def __len__(self) -> int:
        return len(self.amount_cents)

    def by_category(self, replications: ArrayLike) -> Ints:
        """Return cents by replication and category, shape (replications, categories)."""
        return self._sums(replications, self.category, len(CATEGORIES))

    def by_month(self, replications: ArrayLike, year: int) -> Ints:
        """Return cents paid for the aircraft by replication and month of the flown year, shape (replications, 12).

        Days past the year's end count in December.
        """
        inside = np.isin(self.category, _codes(OUTSIDE), invert=True) & (self.cause != CAUSE_CODE[Cause.SHARE])
        return self._sums(replications, np.searchsorted(month_ends(year)[:-1], self.day, side="right"), 12, inside)

    def total_cents(self, replications: ArrayLike, without: Collection[Category] = ()) -> Ints:
        """Return the sum of all categories but some, by replication."""
        table = self.by_category(replications)
        keep = np.array([c not in without for c in CATEGORIES])
        return np.asarray(table[:, keep].sum(axis=1), dtype=np.int64)

    def cost_cents(self, replications: ArrayLike) -> Ints:
        """Return the cost of the aircraft by replication: all but substitute travel and valued time."""
        return self.total_cents(replications, OUTSIDE)

    def net_cost_cents(self, replications: ArrayLike) -> Ints:
        """Return the net cost by replication: the whole ledger, substitute travel and valued time included."""
        return self.total_cents(replications)

    def spread(self, replications: Ints, cents: Ints, day: int) -> Ledger:
        """Return the ledger with entries that make each category come to what a year of the ownership bears of it.

        Parameters
        ----------
        replications : (r,) array       In rising order.
        cents : (r, categories) array   Of a year of the ownership.
        day : int                       Of the year, of the entries.
        """
        missing = cents - self.by_category(replications)
        row, category = np.nonzero(missing)
        own = np.stack([self.replication, self.day, self.category, self.cause, self.trip, self.flight,
                        self.amount_cents])
        return Entries([own, _block(row.shape, replications[row], day, category, CAUSE_CODE[Cause.SHARE], NO_ROW,
                                    NO_ROW, missing[row, category])]).close()

    def columns(self, year: int) -> dict[str, Array]:
        """Return the ledger as columns with dates and words, one row an entry."""
        start = date(year, 1, 1)
        days = {int(d): (start + timedelta(days=int(d))).isoformat() for d in np.unique(self.day)}
        return {
            "replication": self.replication,
            "date": np.array([days[d] for d in self.day.tolist()], dtype=object),
            "category": np.array(CATEGORIES, dtype=object)[self.category],
            "cause": np.array(CAUSES, dtype=object)[self.cause],
            "trip": self.trip,
            "flight": self.flight,
            "amount_cents": self.amount_cents,
        }

    def _sums(self, replications: ArrayLike, column: Ints, width: int, keep: Bools | None = None) -> Ints:
        replications = np.asarray(replications, dtype=np.int64)
        order = np.argsort(replications, kind="stable")
        at = np.searchsorted(replications[order], self.replication)
        at = np.minimum(at, len(replications) - 1)
        ours = replications[order][at] == self.replication
        ours = ours if keep is None else ours & keep
        table = np.zeros((len(replications), width), dtype=np.int64)
        np.add.at(table, (order[at[ours]], column[ours]), self.amount_cents[ours])
        return table


@dataclass
class Entries:
    """Collects entries, a block at a time, and closes into a `Ledger`. Zero amounts are left out."""

    blocks: list[Ints] = field(default_factory=list)
    """Rows in the order of the ledger's columns, all of them counted."""
    _added: list[Ints] = field(default_factory=list)
    _usd: list[Floats] = field(default_factory=list)
    """Those added, and their amounts: all are rounded to cents together, a third of the time of one after the other."""

    def add(self, category: Category, cause: Cause, replication: ArrayLike, day: ArrayLike, usd: ArrayLike,
            trip: ArrayLike = NO_ROW, flight: ArrayLike = NO_ROW) -> None:
        """Add one entry per element of the broadcast arguments.

        Parameters
        ----------
        category : Category
        cause : Cause
        replication : int array
        day : array          Day of the year, January 1 is 0.
        usd : array          Amounts, costs positive.
        trip : int array     Row of the trip, -1 for none.
        flight : int array   Row of the flight, -1 for none.
        """
        shape = np.broadcast(replication, day, trip, flight, usd).shape or (1,)
        amounts = np.empty(shape)
        amounts[...] = usd
        self._usd.append(amounts.reshape(-1))
        self._added.append(_block(shape, replication, day, CODE[category], CAUSE_CODE[cause], trip, flight, 0))

    def close(self) -> Ledger:
        """Return the ledger of all entries in a fixed order.

        Raises
        ------
        ValidityError   As `cents` does.
        """
        none = np.zeros((len(fields(Ledger)), 0), dtype=np.int64)
        added = np.concatenate([none, *self._added], axis=1)
        added[-1] = cents(np.concatenate([np.zeros(0), *self._usd]))
        columns = np.concatenate([added[:, added[-1] != 0], *self.blocks], axis=1)
        return Ledger(*columns[:, _in_order(columns)])


def _block(shape: tuple[int, ...], *columns: ArrayLike) -> Ints:
    """Return columns of some entries, each a row of a shape they broadcast to; numpy's own way to it takes longer."""
    block = np.empty((len(columns), *shape), dtype=np.int64)
    for row, column in zip(block, columns, strict=True):
        row[...] = column
    return block.reshape(len(columns), -1)


def _in_order(columns: Ints) -> Indices:
    """Return the order by all columns but the amount.

    They are one number where it fits: entries come in sorted runs, which a stable sort merges in a fifth of the time
    that a sort column by column takes.
    """
    if not columns.shape[1]:
        return np.zeros(0, dtype=np.intp)
    lows, spans = columns[:-1].min(axis=1), np.ptp(columns[:-1], axis=1) + 1
    if prod(spans.tolist()) > np.iinfo(np.int64).max:
        return np.lexsort(columns[-2::-1])
    key = np.zeros(columns.shape[1], dtype=np.int64)
    for column, low, span in zip(columns, lows.tolist(), spans.tolist(), strict=False):
        key *= span
        key += column - low
    return np.argsort(key, kind="stable")


def month_ends(year: int) -> Ints:
    """Return the day of the year on which each month has ended: 31, 59, ... for a common year."""
    start = date(year, 1, 1)
    firsts = [date(year + m // 12, m % 12 + 1, 1) for m in range(1, 13)]
    return np.array([(d - start).days for d in firsts], dtype=np.int64)


def month_starts(year: int) -> Ints:
    """Return the day of the year on which each month begins."""
    return np.concatenate([[0], month_ends(year)[:-1]]).astype(np.int64)


def _codes(categories: Collection[Category]) -> list[int]:
    return sorted(CODE[c] for c in categories)
