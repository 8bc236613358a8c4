"""Series of which only the days somebody asks for are drawn, known beforehand or when they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from missionsim.base.arrays import Array, Floats32, Ints, Ints32
from missionsim.base.pcg import Jumps
from missionsim.base.streams import generators
from missionsim.world.random_fields.autoregression import Stretches
from missionsim.world.random_fields.hours import HOURS

DAYS = HOURS // 24
_FAR_DAYS = 30
"""Days of one series farther apart than this are drawn as windows of their own: seating a stream costs as much."""
_STRETCH_DAYS = 13
"""Days drawn together of what nobody knew of beforehand; a divisor of `DAYS`."""
_SPARE = 1 << 16
"""Room for values that nobody knew of beforehand; pages of it that stay untouched take no memory."""
_NOT_DRAWN = np.iinfo(np.int32).min


@dataclass(frozen=True, slots=True)
class Windows:
    """Days of series that are drawn together, the windows laid one after the other.

    `row` [w]: which series each window is cut from; `drawn`: their layout; `at` [series, day]: where hour 0 of the
    series would stand, seen from each day drawn; what is not drawn lies far below 0.
    """

    row: Ints
    drawn: Stretches
    at: Ints32

    @classmethod
    def of(cls, row: Array, hour: Array, rows: int, phi: float) -> Windows:
        """Return the windows of pairs of series and hour, in any order and shape.

        Parameters
        ----------
        row, hour : int arrays   Which series, and hour index; they broadcast.
        rows : int               How many series there are.
        phi : float              Correlation from one hour to the next.
        """
        asked = np.zeros((rows, DAYS), dtype=bool)
        asked[row, np.asarray(hour) // 24] = True
        return cls._of_days(asked, phi, _FAR_DAYS)

    @classmethod
    def _of_days(cls, asked: Array, phi: float, far_days: int) -> Windows:
        row, day = np.nonzero(asked)
        cut = np.flatnonzero((np.diff(row) != 0) | (np.diff(day) > far_days)) + 1
        low = np.concatenate([[0], cut])[:len(day)].astype(np.int64)
        high = np.append(cut, len(day))[:len(low)]
        first, last, of = day[low], day[high - 1] + 1, row[low]
        drawn = Stretches.of(HOURS, phi, (24 * first).tolist(), (24 * last).tolist())
        at = np.full(asked.shape, _NOT_DRAWN, dtype=np.int32)
        which = np.repeat(np.arange(len(low)), last - first)
        days = first[which] + np.arange(len(which)) - (np.cumsum(last - first) - (last - first))[which]
        at[of[which], days] = np.array(drawn.origin, dtype=np.int32)[which]
        return cls(of, drawn, at)

    def positions(self, row: Array, hour: Array) -> Ints32:
        """Return where the values of pairs of series and hour stand; below 0 where they are not drawn."""
        return np.asarray(self.origins(row, np.asarray(hour) // 24) + hour, dtype=np.int32)

    def origins(self, row: Array, day: Array) -> Ints32:
        """Return where hour 0 of series would stand, seen from pairs of series and day; far below 0 if not drawn."""
        return np.asarray(self.at.reshape(-1).take(row * DAYS + day))


Seats = Callable[[Ints, Jumps], Iterable[np.random.Generator]]
"""Gives the generators of some series, each entered where the draws asked for begin."""


def seats_of(seed: int, replication: int, *prefix: int, address: Ints) -> Seats:
    """Return what gives the generators of series with an address each.

    Parameters
    ----------
    seed, replication : int
    prefix : int                     Before each address.
    address : (series, ...) int      What is first of prefix and address is the stream.
    """
    def seats(rows: Ints, jumps: Jumps) -> Iterable[np.random.Generator]:
        every: list[int | Ints] = [*prefix, *address[rows].T]
        return generators(seed, replication, every[0], *every[1:], jumps=jumps)

    return seats


@dataclass(frozen=True, slots=True)
class Laid:
    """Windows of several kinds of series, their values laid one after the other, and so are the series.

    `row` [w]: series of every window; `jumps`: where its stream is entered; `at` [series, day]: as in `Windows`.
    """

    windows: tuple[Windows, ...]
    row: Ints
    jumps: Jumps
    at: Ints32

    @classmethod
    def of(cls, windows: Sequence[Windows]) -> Laid:
        """Return windows laid in this order."""
        size, series, at, row = 0, 0, [], []
        for one in windows:
            at.append(np.where(one.at == _NOT_DRAWN, _NOT_DRAWN, one.at + np.int32(size)))
            row.append(series + one.row)
            size, series = size + one.drawn.size, series + len(one.at)
        return cls(tuple(windows), np.concatenate(row), _jumps([w.drawn for w in windows]), np.concatenate(at))


def _jumps(stretches: Iterable[Stretches]) -> Jumps:
    return Jumps.of([skipped for one in stretches for skipped in one.skipped], after_deviate=True)


class DrawnSeries:
    """Hourly series of unit variance in one replication; what no window holds is drawn when it is first asked for.

    Parameters
    ----------
    laid : Laid     Windows of every kind of series; drawn at once.
    seats : Seats   Of the series, as they are laid.
    """

    def __init__(self, laid: Laid, seats: Seats) -> None:
        windows = laid.windows
        self._phi, self._seats, self._at, self._first = [w.drawn.phi for w in windows], seats, laid.at, True
        self._rows = np.cumsum([0, *(len(w.at) for w in windows)])
        self._base = np.cumsum([0, *(w.drawn.size for w in windows)])
        self._size = int(self._base[-1])
        self._values = np.empty(self._size + _SPARE, dtype=np.float32)
        randoms = iter(seats(laid.row, laid.jumps))     # seated together, which takes less time than kind by kind
        for i, one in enumerate(windows):
            one.drawn.draw(randoms, self.drawn(i))

    def drawn(self, kind: int) -> Floats32:
        """Return what was drawn at once of one kind, flat; each value stands where `Windows.positions` says."""
        return self._values[self._base[kind]:self._base[kind + 1]]

    def read(self, row: Ints, hour: Ints) -> Floats32:
        """Return the values of pairs of series and hour; they broadcast, the series to the whole shape."""
        day = row * DAYS + hour // 24
        at = self._at.reshape(-1).take(day)
        if at.size and int(at.min()) == _NOT_DRAWN:
            self._draw(np.unique(day[at == _NOT_DRAWN] // _STRETCH_DAYS))
            at = self._at.reshape(-1).take(day)
        return np.asarray(self._values.take(at + hour))

    def _draw(self, stretches: Ints) -> None:
        """Draw some stretches, flat places in [series, stretch], in rising order."""
        if self._first:     # until now it was that of all replications
            self._at, self._first = self._at.copy(), False
        row, stretch = np.divmod(stretches, DAYS // _STRETCH_DAYS)
        first, cut, lots = stretch * _STRETCH_DAYS, np.searchsorted(row, self._rows).tolist(), []
        for phi, (low, high) in zip(self._phi, pairwise(cut), strict=True):
            if high > low:
                start, stop = 24 * first[low:high], 24 * (first[low:high] + _STRETCH_DAYS)
                lots.append((slice(low, high), Stretches.of(HOURS, phi, start.tolist(), stop.tolist())))
        randoms = iter(self._seats(row, _jumps(drawn for _, drawn in lots)))
        for some, drawn in lots:
            origin = np.array(drawn.origin, dtype=np.int32) + np.int32(self._size)
            drawn.draw(randoms, self._room(drawn.size))
            self._at[row[some, None], first[some, None] + np.arange(_STRETCH_DAYS)] = origin[:, None]

    def _room(self, count: int) -> Floats32:
        """Return room for so many values behind those that are there."""
        before, self._size = self._size, self._size + count
        if self._size > self._values.size:
            longer = np.empty(max(self._size, before + before // 2), dtype=np.float32)
            longer[:before] = self._values[:before]
            self._values = longer
        return self._values[before:self._size]
