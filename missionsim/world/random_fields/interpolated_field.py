"""Fields without forecast, drawn every few hours at knots and joined by straight lines: temperature, pressure, wind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Floats32, Ints32
from missionsim.base.streams import StreamSet
from missionsim.base.words import Stream
from missionsim.world.random_fields.autoregression import Stretches, whole_series
from missionsim.world.random_fields.field_reading import MANY_PAIRS, summed, together
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.knots import Knots


@dataclass(frozen=True, slots=True)
class InterpolatedField:
    """A field drawn every few hours at its knots and joined by straight lines between.

    Parameters
    ----------
    knots : Knots      Of the places it is read at.
    step_h : int       Hours from one draw to the next.
    e_fold_h : float   Time over which its correlation falls to 1/e. [h]
    """

    knots: Knots
    step_h: int
    e_fold_h: float

    @property
    def steps(self) -> int:
        """Steps of each knot's series."""
        return HOURS // self.step_h + 1

    @property
    def phi(self) -> float:
        """Correlation from one step to the next."""
        return float(np.exp(-self.step_h / self.e_fold_h))

    @property
    def drawn(self) -> Stretches:
        """How the series of the knots are laid, were they drawn alone."""
        return laid_together([self])

    def blend(self) -> tuple[Floats32, Floats32]:
        """Return the weights of the step before and of the one after, by hours after the former, variance kept."""
        after = np.arange(self.step_h) / self.step_h
        scale = 1.0 / np.sqrt((1 - after) ** 2 + after**2 + 2 * after * (1 - after) * self.phi)
        return ((1 - after) * scale).astype(np.float32), (after * scale).astype(np.float32)


def streams_of(fields: Sequence[InterpolatedField], stream: Stream) -> StreamSet:
    """Return what the knots of fields are drawn from, one after the other; the address: number of the field, knot."""
    ids = [field.knots.ids for field in fields]
    return StreamSet(stream, np.repeat(np.arange(len(fields)), [len(own) for own in ids]), np.concatenate(ids))


def laid_together(fields: Sequence[InterpolatedField]) -> Stretches:
    """Return how the series of the knots of fields are laid, one field after the other."""
    return whole_series(tuple((field.knots.ids.size, field.steps, field.phi) for field in fields))


def drawn_together(fields: Sequence[InterpolatedField], randoms: Iterator[np.random.Generator]) -> list[Floats32]:
    """Return the series of the knots of fields, flat, each from its first value on; `randoms`: see `streams_of`."""
    values = laid_together(fields).draw(randoms).reshape(-1)
    before = np.cumsum([0, *(field.drawn.columns for field in fields[:-1])]).tolist()
    return [values[first:] for first in before]


@dataclass(frozen=True, slots=True)
class Reading:
    """Where an interpolated field is read.

    `at` [WIDTH, m]: flat places among the knots' series of each pair of place and step, every pair once, with the
    `weight` of each knot; `before`, `after` [n]: pairs with the step before each hour and the one after it; `first`,
    `second` [n] weigh the two. Of very many pairs, `at` and `weight` stand by place, those of the first step, and
    `place` [m] tells which each pair has, `step` [m] how far its step stands behind the first.
    """

    at: Ints32
    weight: Floats32
    before: Ints32
    after: Ints32
    first: Floats32
    second: Floats32
    place: Ints32 | None = None
    step: Ints32 | None = None

    @classmethod
    def of(cls, field: InterpolatedField, row: Array, hour: Array, beside: Sequence[InterpolatedField] = ()) -> Reading:
        """Return where to read a field at pairs of place and hour.

        Parameters
        ----------
        field : InterpolatedField
        row : (n,) int array          Of the place, among those of the field's knots.
        hour : (n,) int array         Hour index.
        beside : sequence of fields   All that it is drawn together with; none for one that is drawn alone.
        """
        index, weight = field.knots.by_rank
        step, clock = np.divmod(hour, field.step_h)
        first, second = field.blend()
        flat = row * field.steps + step
        pairs, own = np.unique(np.concatenate([flat, flat + 1]), return_inverse=True)
        where, then = np.divmod(pairs, field.steps)
        before, after = own.astype(np.int32).reshape(2, -1)
        drawn = field.drawn
        begin, behind = drawn.column.take(index), laid_together(beside or [field]).behind(then)
        if len(pairs) <= MANY_PAIRS:
            at = begin.take(where, axis=1) + behind
            return cls(at.astype(np.int32), weight.take(where, axis=1), before, after, first[clock], second[clock])
        return cls(begin.astype(np.int32), weight, before, after, first[clock], second[clock],
                   where.astype(np.int32), behind.astype(np.int32))

    def read(self, rows: Floats32) -> Floats32:
        """Return the field, of unit variance, [n]; `rows`: as `drawn_together` gave them."""
        value = self._pairs(rows.reshape(-1))
        out = value.take(self.before) * self.first
        out += value.take(self.after) * self.second
        return out

    def _pairs(self, rows: Floats32) -> Floats32:
        """Return the field at pairs of place and step, [m]."""
        if self.place is None or self.step is None:
            return summed(rows.take(self.at), self.weight)
        value = np.empty(len(self.place), dtype=np.float32)
        for some in together(len(value)):
            at = self.at.take(self.place[some], axis=1)
            at += self.step[some]
            value[some] = summed(rows.take(at), self.weight.take(self.place[some], axis=1))
        return value
