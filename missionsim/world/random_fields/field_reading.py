"""What reading a field at pairs of place and hour asks for in every replication, worked out once per study."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Bools, Floats32, Ints, Ints32
from missionsim.base.streams import StreamSet
from missionsim.world.random_fields.windows import DAYS, Windows, asked_days

_TOGETHER = 4096
"""Pairs summed side by side: as many as stay in the processor's own memory."""

MANY_PAIRS = 100_000
"""Up to so many pairs each has its places and weights beside it, which is quicker; more of them would fill memory."""

Pairs = tuple[Ints, Ints]
"""Rows of places and hour indices."""


@dataclass(frozen=True, slots=True)
class ManyPairs:
    """How very many pairs of place and hour stand: by day, of which there are far fewer.

    `day` [m]: which pair of place and day each has; `step` [m]: how far its hour stands behind the first of the day;
    `place` [d]: of each pair of place and day.
    """

    day: Ints32
    step: Ints32
    place: Ints32


@dataclass(frozen=True, slots=True)
class PartReading:
    """Where one part of a field is read; each pair of place and hour stands once, however often it is asked for.

    `at` [..., m]: places of the values among those drawn; `weight` [..., m]: of the knot, None for the part that places
    have for themselves. Of very many pairs, `at` [..., d] is where a day begins, by place and day, and `weight` stands
    by place. `pair` [n]: of each entry asked for, its place among the pairs; `scale`, `decay` [n]: spread of the
    part, and how much of it is still known.
    """

    at: Ints32
    weight: Floats32 | None
    pair: Ints32
    scale: Floats32
    decay: Floats32
    many: ManyPairs | None = None

    def read(self, drawn: Floats32) -> Floats32:
        """Return what the part adds to each entry, [n]; `drawn`: all values of the windows windows."""
        if self.weight is None:
            value = drawn.take(self.at)
        else:
            value = np.empty(self.at.shape[1] if self.many is None else len(self.many.day), dtype=np.float32)
            for some in together(len(value)):
                value[some] = summed(*self._some(drawn, self.weight, some))
        value = value.take(self.pair)
        value *= self.decay
        value *= self.scale
        return value

    def _some(self, drawn: Floats32, weight: Floats32, some: slice) -> tuple[Floats32, Floats32]:
        """Return values and weights of the knots of some pairs, [k, pair]."""
        if self.many is None:
            return drawn.take(self.at[:, some]), weight[:, some]
        day = self.many.day[some]
        at = self.at.take(day, axis=1)
        at += self.many.step[some]
        return drawn.take(at), weight.take(self.many.place.take(day), axis=1)


@dataclass(frozen=True, slots=True)
class FieldReading:
    """Where a field is read in every replication, [n]: by part, and the places and days of what lasts for months.

    `windows`: what is drawn of the series of all parts, out of `streams`. `place`, `day` [m]: each pair of them once;
    `slow` [n]: which of them an entry has; `seasons`: what that is drawn from, None for nothing of the kind.
    """

    parts: tuple[PartReading, ...]
    windows: Windows
    streams: StreamSet
    seasons: StreamSet | None
    place: Ints
    day: Ints
    slow: Ints32


@dataclass(frozen=True, slots=True)
class PartAsked:
    """Which pairs of place and hour a part is read at, [m], each once, and which of them every entry has, [n]."""

    place: Ints
    hour: Ints
    pair: Ints32

    @classmethod
    def of(cls, place: Ints, until: Ints) -> PartAsked:
        """Return the pairs; `place`, `until` [n]: rows of places, and up to which hour the part is known there."""
        # Hours of the day come first: what is read one after the other then stands near by, as the same hour of days.
        places = int(place.max(initial=0)) + 1
        pairs, own = np.unique((until % 24 * places + place) * DAYS + until // 24, return_inverse=True)
        rest, day = np.divmod(pairs, DAYS)
        clock, where = np.divmod(rest, places)
        return cls(where, 24 * day + clock, own.astype(np.int32))

    def days(self, index: Ints | None, rows: int, near: Pairs) -> Bools:
        """Return which days are asked for of the series of the part, [series, DAYS].

        Parameters
        ----------
        index : (k, place) int array   Knots of every place, None for the places' own part.
        rows : int                     How many knots there are, or places.
        near : Pairs                   Further pairs that are not read but likely to be asked for.
        """
        # Days alone decide what is drawn; there are far fewer of them than of hours.
        every = np.unique(np.concatenate([self.place * DAYS + self.hour // 24, near[0] * DAYS + near[1] // 24]))
        there, day = np.divmod(every, DAYS)
        return asked_days(there if index is None else index.take(there, axis=1), day, rows)

    def reading(self, index: Ints, weight: Floats32 | None, windows: Windows, scale: Floats32, decay: Floats32,
                ) -> PartReading:
        """Return where the part is read.

        Parameters
        ----------
        index : (k, place) int array   Series of every place, as they are windows.
        weight : array or None         Of the same shape; None for the places' own part.
        windows : Windows              Where they are drawn.
        scale, decay : (n,) arrays     As in `PartReading`.
        """
        where, hour = self.place, self.hour
        if weight is None:
            return PartReading(windows.positions(index[0].take(where), hour), None, self.pair, scale, decay)
        if len(where) <= MANY_PAIRS:
            at = windows.positions(np.asarray(index.take(where, axis=1)), hour)
            return PartReading(at, np.asarray(weight.take(where, axis=1)), self.pair, scale, decay)
        days, of = np.unique(where * DAYS + hour // 24, return_inverse=True)
        there, day = np.divmod(days, DAYS)
        many = ManyPairs(of.astype(np.int32), (windows.columns * (hour % 24)).astype(np.int32), there.astype(np.int32))
        begin = windows.days(np.asarray(index.take(there, axis=1)), day)
        return PartReading(begin, weight, self.pair, scale, decay, many)


def days_of(place: Ints, hour: Ints) -> tuple[Ints, Ints, Ints32]:
    """Return the pairs of place and day, each once, and which of them pairs of place and hour have, [n]."""
    pairs, own = np.unique(place * DAYS + hour // 24, return_inverse=True)
    where, day = np.divmod(pairs, DAYS)
    return where, day, own.astype(np.int32)


def together(count: int) -> Iterator[slice]:
    """Yield slices of so many pairs that their values stay in the processor's own memory."""
    for start in range(0, count, _TOGETHER):
        yield slice(start, start + _TOGETHER)


def summed(values: Floats32, weight: Floats32) -> Floats32:
    """Return sums over the first axis in fixed order of values times weights, [k, ...]; the values are lost."""
    values *= weight
    total: Floats32 = values[0]
    for more in values[1:]:
        total += more
    return total
