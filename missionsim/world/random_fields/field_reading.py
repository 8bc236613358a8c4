"""What reading a field at pairs of place and hour asks for in every replication, worked out once per study."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Floats32, Ints, Ints32
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.windows import DAYS, Laid, Windows

_TOGETHER = 4096
"""Pairs summed side by side: as many as stay in the processor's own memory."""

MANY_PAIRS = 100_000
"""Up to so many pairs each has its places and weights beside it, which is quicker; more of them would fill memory."""

Pairs = tuple[Ints, Ints]
"""Rows of places and hour indices."""


@dataclass(frozen=True, slots=True)
class ManyPairs:
    """How very many pairs of place and hour stand: by day, of which there are far fewer.

    `day` [m]: which pair of place and day each has, `hour` [m] of the year; `place` [d]: of each pair of place and day.
    """

    day: Ints32
    hour: Ints32
    place: Ints32


@dataclass(frozen=True, slots=True)
class PartReading:
    """Where one part of a field is read; each pair of place and hour stands once, however often it is asked for.

    `at` [..., m]: places of the values among those drawn; `weight` [..., m]: of the knot, None for the part that places
    have for themselves. Of very many pairs, `at` [..., d] is where hour 0 would stand, by place and day, and `weight`
    stands by place. `pair` [n]: of each entry asked for, its place among the pairs; `scale`, `decay` [n]: spread of the
    part, and how much of it is still known.
    """

    at: Ints32
    weight: Floats32 | None
    pair: Ints32
    scale: Floats32
    decay: Floats32
    many: ManyPairs | None = None

    def read(self, drawn: Floats32) -> Floats32:
        """Return what the part adds to each entry, [n]; `drawn`: all values drawn of the part's windows."""
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
        at += self.many.hour[some]
        return drawn.take(at), weight.take(self.many.place.take(day), axis=1)


@dataclass(frozen=True, slots=True)
class FieldReading:
    """Where a field is read in every replication, [n]: by part, and the places and days of what lasts for months.

    `laid`: what is drawn of the series of all parts. `place`, `day` [m]: each pair of them once; `slow` [n]: which of
    them an entry has.
    """

    parts: tuple[PartReading, ...]
    laid: Laid
    place: Ints
    day: Ints
    slow: Ints32


def part_reading(knots: tuple[Ints, Floats32] | None, rows: int, phi: float, place: Ints, until: Ints,
                 near: Pairs, scale: Floats32, decay: Floats32,
                 ) -> tuple[PartReading, Windows]:
    """Return where a part is read, and what is drawn of its series.

    Parameters
    ----------
    knots : two (k, place) arrays   Index and weight of the knots of every place, None for the places' own part.
    rows : int                      How many knots there are, or places.
    phi : float                     Correlation of the part from one hour to the next.
    place, until : (n,) int         Rows of places, and up to which hour the part is known there.
    near : Pairs                    Further pairs that are not read but likely to be asked for.
    scale, decay : (n,) arrays      As in `PartReading`.
    """
    pairs, own = np.unique(place * HOURS + until, return_inverse=True)
    where, hour = np.divmod(pairs, HOURS)
    # Days alone decide what is drawn; there are far fewer of them than of hours.
    every = np.unique(np.concatenate([where * DAYS + hour // 24, near[0] * DAYS + near[1] // 24]))
    there, day = np.divmod(every, DAYS)
    own = own.astype(np.int32)
    if knots is None:
        windows = Windows.of(there, 24 * day, rows, phi)
        return PartReading(windows.positions(where, hour), None, own, scale, decay), windows
    index, weights = knots
    windows = Windows.of(index.take(there, axis=1), 24 * day, rows, phi)
    if len(where) <= MANY_PAIRS:
        at = windows.positions(np.asarray(index.take(where, axis=1)), hour)
        return PartReading(at, np.asarray(weights.take(where, axis=1)), own, scale, decay), windows
    days, of = np.unique(where * DAYS + hour // 24, return_inverse=True)
    there, day = np.divmod(days, DAYS)
    many = ManyPairs(of.astype(np.int32), hour.astype(np.int32), there.astype(np.int32))
    return PartReading(windows.origins(index.take(there, axis=1), day), weights, own, scale, decay, many), windows


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
