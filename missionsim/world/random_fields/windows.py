"""Series of which only the days somebody asks for are drawn, known beforehand or when they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bools, Floats32, Ints, Ints32
from missionsim.base.pcg import Jumps
from missionsim.base.streams import StreamSet, generators
from missionsim.world.random_fields.autoregression import NOWHERE, Stretches, stretches_of
from missionsim.world.random_fields.hours import HOURS

DAYS = HOURS // 24
_STRETCH_DAYS = 13
"""Days drawn together of what nobody knew of beforehand; a divisor of `DAYS`."""
_SPARE = 1 << 13
"""Days for which there is room that nobody knew of beforehand; pages of it that stay untouched take no memory."""


def asked_days(row: Array, day: Array, rows: int) -> Bools:
    """Return which days are among pairs of series and day, [series, DAYS]; the pairs broadcast."""
    asked = np.zeros((rows, DAYS), dtype=bool)
    asked[row, day] = True
    return asked


@dataclass(frozen=True, slots=True)
class Windows:
    """Days of series of several kinds that are drawn together: how they are laid, and where their streams are entered.

    `phi`: correlation from one hour to the next, by kind; `kind` [series]; `at` [series, day]: the column of each day,
    or `NOWHERE`; `columns`: how many stand side by side, with those that are free for what is asked for later.
    """

    drawn: Stretches
    jumps: Jumps
    phi: tuple[float, ...]
    kind: Ints
    at: Ints32
    columns: int

    @classmethod
    def of(cls, asked: Sequence[Bools], phi: Sequence[float], spare: int = _SPARE) -> Windows:
        """Return the windows of days asked for.

        Parameters
        ----------
        asked : sequence of (series, day) bool   By kind of series; the series are numbered on from kind to kind.
        phi : sequence of float                  Correlation from one hour to the next, by kind.
        spare : int                              Columns left free.
        """
        kind, every = np.repeat(np.arange(len(asked)), [len(own) for own in asked]), np.concatenate(asked)
        drawn, at = stretches_of(every, phi, kind)
        return cls(drawn, Jumps.of(drawn.skipped, after_deviate=True), tuple(phi), kind, at, drawn.columns + spare)

    def streams(self, address: Ints) -> StreamSet:
        """Return the streams that the windows are drawn from; `address` [series, ...]: stream and address of each."""
        return StreamSet(*address[self.drawn.row].T, jumps=self.jumps)

    def positions(self, row: Array, hour: Array) -> Ints32:
        """Return where the values of pairs of series and hour stand, flat; below 0 where they are not drawn."""
        day, clock = np.divmod(hour, 24)
        return np.asarray(self.days(row, day) + self.columns * clock, dtype=np.int32)

    def days(self, row: Array, day: Array) -> Ints32:
        """Return the columns of pairs of series and day; each hour of it stands `columns` behind the one before."""
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


class DrawnSeries:
    """Hourly series of unit variance in one replication; what no window holds is drawn when it is first asked for.

    Parameters
    ----------
    windows : Windows   Drawn at once.
    seats : Seats       Of all series.
    randoms : iterable of Generator, optional   Of the windows, where these are seated already.
    """

    def __init__(self, windows: Windows, seats: Seats, randoms: Iterable[np.random.Generator] | None = None) -> None:
        self._windows, self._seats, self._used = windows, seats, 0
        # Columns of what is drawn later, by stretch; by day they would take 13 times the room in every replication.
        self._begins = np.full(windows.at.shape[0] * (DAYS // _STRETCH_DAYS), NOWHERE, dtype=np.int32)
        self._values = np.empty((24, windows.columns), dtype=np.float32)
        self._draw(windows.drawn, seats(windows.drawn.row, windows.jumps) if randoms is None else randoms)

    @property
    def values(self) -> Floats32:
        """What was drawn at once, flat; each value stands where `Windows.positions` says."""
        return self._values[:, :self._windows.columns].reshape(-1)

    def read(self, row: Ints, hour: Ints) -> Floats32:
        """Return the values of pairs of series and hour; they broadcast, the series to the whole shape."""
        day, clock = np.divmod(hour, 24)
        column = self._columns(row * DAYS + day)
        return np.asarray(self._values.reshape(-1).take(column + self._values.shape[1] * clock))

    def hours(self, row: Ints, hour: Ints, count: int) -> Floats32:
        """Return the values of pairs of series and hour and at the hours that follow on the same day, [k, count, n].

        Parameters
        ----------
        row : (k, n) array
        hour : (n,) array   The first of so many hours.
        count : int
        """
        day, clock = np.divmod(hour, 24)
        column = self._columns(row * DAYS + day)     # first: there may be more of them for it
        behind = self._values.shape[1] * (clock + np.arange(count)[:, None])
        return self._values.reshape(-1).take(column[:, None] + behind)

    def _columns(self, day: Ints) -> Ints32:
        """Return the columns of days, flat places in [series, day]; those not drawn yet are."""
        at = self._windows.at.reshape(-1).take(day)
        if at.size and int(at.min()) == NOWHERE:
            beyond = at == NOWHERE
            stretch, within = np.divmod(day[beyond], _STRETCH_DAYS)
            new = self._begins.take(stretch) == NOWHERE
            if new.any():
                self._add(np.unique(stretch[new]))
            at[beyond] = self._begins.take(stretch) + within
        return np.asarray(at)

    def _add(self, stretches: Ints) -> None:
        """Draw some stretches, flat places in [series, stretch], in rising order."""
        row, stretch = np.divmod(stretches, DAYS // _STRETCH_DAYS)
        day = stretch * _STRETCH_DAYS
        drawn = Stretches.of(row, day, day + _STRETCH_DAYS, self._windows.phi, self._windows.kind[row])
        seated = self._seats(drawn.row, Jumps.of(drawn.skipped, after_deviate=True))
        self._begins[stretches] = drawn.column + self._draw(drawn, seated)

    def _draw(self, drawn: Stretches, randoms: Iterable[np.random.Generator]) -> int:
        """Draw stretches behind those that are there; return where their columns begin."""
        before, self._used = self._used, self._used + drawn.columns
        if self._used > self._values.shape[1]:
            longer = np.empty((24, self._used + before // 2), dtype=np.float32)
            longer[:, :before] = self._values[:, :before]
            self._values = longer
        drawn.draw(randoms, self._values[:, before:self._used])
        return before
