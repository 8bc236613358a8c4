"""What reading a field at pairs of place and hour asks for in every replication, worked out once per study."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Floats32, Ints, Ints32
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.windows import DAYS, Laid, Windows

_TOGETHER = 4096
"""Pairs summed side by side: as many as stay in the processor's own memory."""

MANY_PAIRS = 200_000
"""Up to so many pairs each has its weights beside it, which is quicker; more of them would fill the memory."""

Pairs = tuple[Ints, Ints]
"""Rows of places and hour indices."""


@dataclass(frozen=True, slots=True)
class PartReading:
    """Where one part of a field is read; each pair of place and hour stands once, however often it is asked for.

    `at` [..., m]: places of the values among those drawn; `weight` [..., m]: of the knot, None for the part that places
    have for themselves. Of very many pairs, weights stand by place, and `place` [m] tells whose each pair takes.
    `pair` [n]: of each entry asked for, its place among the pairs; `scale`, `decay` [n]: spread of the part, and how
    much of it is still known.
    """

    at: Ints32
    weight: Floats32 | None
    pair: Ints32
    scale: Floats32
    decay: Floats32
    place: Ints32 | None = None

    def read(self, drawn: Floats32) -> Floats32:
        """Return what the part adds to each entry, [n]; `drawn`: all values drawn of the part's windows."""
        if self.weight is None:
            value = drawn.take(self.at)
        else:
            value = np.empty(self.at.shape[1], dtype=np.float32)
            for start in range(0, len(value), _TOGETHER):
                some = slice(start, start + _TOGETHER)
                weight = (self.weight[:, some] if self.place is None
                          else self.weight.take(self.place[some], axis=1))
                value[some] = summed(drawn.take(self.at[:, some]), weight)
        value = value.take(self.pair)
        value *= self.decay
        value *= self.scale
        return value


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
    every, then = np.concatenate([where, near[0]]), np.concatenate([hour, near[1]])
    if knots is None:
        windows, row, weight, of = Windows.of(every, then, rows, phi), where, None, None
    else:
        index, weights = knots
        windows = Windows.of(index.take(every, axis=1), then, rows, phi)
        row, few = np.asarray(index[:, where]), len(where) <= MANY_PAIRS
        weight, of = (np.asarray(weights[:, where]), None) if few else (weights, where.astype(np.int32))
    return PartReading(windows.positions(row, hour), weight, own.astype(np.int32), scale, decay, of), windows


def days_of(place: Ints, hour: Ints) -> tuple[Ints, Ints, Ints32]:
    """Return the pairs of place and day, each once, and which of them pairs of place and hour have, [n]."""
    pairs, own = np.unique(place * DAYS + hour // 24, return_inverse=True)
    where, day = np.divmod(pairs, DAYS)
    return where, day, own.astype(np.int32)


def summed(values: Floats32, weight: Floats32) -> Floats32:
    """Return sums over the first axis in fixed order of values times weights, [k, ...]; the values are lost."""
    values *= weight
    total: Floats32 = values[0]
    for more in values[1:]:
        total += more
    return total
