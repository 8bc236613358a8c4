"""Fields without forecast, drawn every few hours at knots and joined by straight lines: temperature, pressure, wind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.autoregression import fill_rows
from missionsim.world.random_fields.field import Knots, place_sum
from missionsim.world.random_fields.hours import HOURS


@dataclass(frozen=True, slots=True)
class SmoothPlan:
    """A field without forecast, drawn every few hours and joined by straight lines, at the dense places only."""

    knots: Knots
    dense: NDArray[np.int64]
    step_h: int
    e_fold_h: float

    @property
    def steps(self) -> int:
        """Steps of each knot's series."""
        return HOURS // self.step_h + 1

    def knot_rows(self, seed: int, replication: int, stream: Stream, *address: int) -> NDArray[np.float32]:
        """Return the series of the knots, [k, steps]."""
        rows = np.empty((self.knots.ids.size, self.steps), dtype=np.float32)
        fill_rows(generators(seed, replication, stream, *address, self.knots.ids), self._phi, rows)
        return rows

    @property
    def _phi(self) -> float:
        return float(np.exp(-self.step_h / self.e_fold_h))

    def blend(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Return the weights of the step before and of the one after, by hours after the former, variance kept."""
        after = np.arange(self.step_h) / self.step_h
        scale = 1.0 / np.sqrt((1 - after) ** 2 + after**2 + 2 * after * (1 - after) * self._phi)
        return ((1 - after) * scale).astype(np.float32), (after * scale).astype(np.float32)

    def draw(self, seed: int, replication: int, stream: Stream, *address: int) -> NDArray[np.float32]:
        """Return a unit-variance series for each dense place, [d, HOURS]."""
        coarse = place_sum(self.knot_rows(seed, replication, stream, *address), self.knots, self.dense, 1.0)
        out = np.empty((self.dense.size, self.steps - 1, self.step_h), dtype=np.float32)
        held = np.empty(coarse[:, 1:].shape, dtype=np.float32)
        for k, (first, second) in enumerate(zip(*self.blend(), strict=True)):
            np.multiply(coarse[:, :-1], first, out=out[:, :, k])
            np.multiply(coarse[:, 1:], second, out=held)
            np.add(out[:, :, k], held, out=out[:, :, k])
        return np.asarray(out.reshape(self.dense.size, -1)[:, :HOURS])
