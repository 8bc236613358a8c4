"""Series that places have for themselves, each drawn when it is first asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from missionsim.base.arrays import Floats32, Ints

_FIRST_ROWS = 32
_MOST_SPARE = 2
_SPARE: dict[int, list[Floats32]] = {}


class PlaceRows:
    """One series per place; only those asked for take room.

    Parameters
    ----------
    places : int
    length : int        Of a series.
    draw : callable     Places to their series, one after the other; must not depend on what was drawn before.
    """

    def __init__(self, places: int, length: int,
                 draw: Callable[[Ints], Iterable[Floats32]]) -> None:
        # Touching new pages of memory costs more than drawing: what an earlier replication has done with is used again.
        spare = _SPARE.get(length)
        self._rows = spare.pop() if spare else np.empty((_FIRST_ROWS, length), dtype=np.float32)
        self._row = np.full(places, -1, dtype=np.int64)
        self._count = 0
        self._draw = draw

    def __del__(self) -> None:
        spare = _SPARE.setdefault(self._rows.shape[1], [])
        if len(spare) < _MOST_SPARE:
            spare.append(self._rows)

    def at(self, place: Ints, step: Ints) -> Floats32:
        """Return the values of places at steps of their series, [n]."""
        self._ensure(place)
        return self._rows.reshape(-1).take(self._row.take(place) * self._rows.shape[1] + step)

    def of(self, place: Ints) -> Floats32:
        """Return the whole series of places, [n, length]."""
        self._ensure(place)
        return self._rows[self._row[place]]

    def _ensure(self, place: Ints) -> None:
        if not (self._row.take(place) < 0).any():
            return
        wanted = np.zeros(self._row.shape, dtype=bool)
        wanted[place] = True
        missing = np.flatnonzero(wanted & (self._row < 0))
        end = self._count + missing.size
        if end > len(self._rows):
            longer = np.empty((max(2 * len(self._rows), end), self._rows.shape[1]), dtype=np.float32)
            longer[:self._count] = self._rows[:self._count]
            self._rows = longer
        for row, series in zip(self._rows[self._count:end], self._draw(missing), strict=True):
            row[:] = series
        self._row[missing] = np.arange(self._count, end)
        self._count = end
