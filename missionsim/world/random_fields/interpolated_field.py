"""Fields without forecast, drawn every few hours at knots and joined by straight lines: temperature, pressure, wind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Floats32, Ints32
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.autoregression import fill_rows
from missionsim.world.random_fields.field import Knots, weighted_sum
from missionsim.world.random_fields.hours import HOURS


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

    def draw(self, seed: int, replication: int, stream: Stream, *address: int) -> Floats32:
        """Return the series of the knots, [k, steps]."""
        rows = np.empty((self.knots.ids.size, self.steps), dtype=np.float32)
        fill_rows(generators(seed, replication, stream, *address, self.knots.ids), self._phi, rows)
        return rows

    @property
    def _phi(self) -> float:
        return float(np.exp(-self.step_h / self.e_fold_h))

    def blend(self) -> tuple[Floats32, Floats32]:
        """Return the weights of the step before and of the one after, by hours after the former, variance kept."""
        after = np.arange(self.step_h) / self.step_h
        scale = 1.0 / np.sqrt((1 - after) ** 2 + after**2 + 2 * after * (1 - after) * self._phi)
        return ((1 - after) * scale).astype(np.float32), (after * scale).astype(np.float32)


@dataclass(frozen=True, slots=True)
class Reading:
    """Where an interpolated field is read.

    `before` [WIDTH, n]: flat places of the step before each hour among the knots' series, with the `weight` of each
    knot; `first`, `second` [n] weigh the two steps.
    """

    before: Ints32
    weight: Floats32
    first: Floats32
    second: Floats32

    @classmethod
    def of(cls, field: InterpolatedField, row: Array, hour: Array) -> Reading:
        """Return where to read at pairs of place (row of the field's knots) and hour, [n]."""
        index, weight = field.knots.by_rank
        step, clock = np.divmod(hour, field.step_h)
        first, second = field.blend()
        at = index.take(row, axis=1) * field.steps + step
        return cls(at.astype(np.int32), weight.take(row, axis=1), first[clock], second[clock])

    def read(self, rows: Floats32) -> Floats32:
        """Return the field, of unit variance, [n]; `rows`: as `InterpolatedField.draw` gave them."""
        flat, at = rows.reshape(-1), self.before.astype(np.int64)
        out = weighted_sum(flat.take(at), self.weight) * self.first
        at += 1
        out += weighted_sum(flat.take(at), self.weight) * self.second
        return out
