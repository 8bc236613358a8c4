"""The own series of places at chosen hours only: what lies between them is not drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Floats32, Ints, Ints32
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.autoregression import ar1_windows

_FAR_H = 480
"""Hours of one place farther apart than this are drawn as windows of their own: seating a stream costs as much."""


@dataclass(frozen=True, slots=True)
class Windows:
    """Stretches of places' hours that are drawn together: `address` [w, 2], `start`, `stop` [w].

    `at` [n]: where the value of each pair of place and hour asked for stands, the stretches laid one after the other.
    """

    address: Ints
    start: list[int]
    stop: list[int]
    at: Ints32

    @classmethod
    def of(cls, place: Array, hour: Array, address: Ints) -> Windows:
        """Return the windows of pairs of place and hour, in any order, [n]; `address` [place, 2]."""
        order = np.lexsort((hour, place))
        row, then = place[order], hour[order]
        cut = np.flatnonzero((np.diff(row) != 0) | (np.diff(then) > _FAR_H)) + 1
        low = np.concatenate([[0], cut])[:len(then)].astype(np.int64)
        high = np.append(cut, len(then))[:len(low)]
        start, stop = then[low], then[high - 1] + 1
        first = np.cumsum(stop - start) - (stop - start)
        at = np.empty(len(order), dtype=np.int32)
        at[order] = np.repeat(first - start, high - low) + then
        return cls(address[row[low]], start.tolist(), stop.tolist(), at)

    def draw(self, seed: int, replication: int, stream: Stream, *prefix: int, steps: int, phi: float,
             ) -> Floats32:
        """Return the first-order autoregressive series of each place, of unit variance, where asked for, [n].

        Parameters
        ----------
        seed : int        Of the study.
        replication : int
        stream : Stream   Of the series.
        steps : int       From one hour asked for to the next.
        phi : float       Correlation from one step to the next.
        """
        randoms = generators(seed, replication, stream, *prefix, *self.address.T)
        return ar1_windows(randoms, steps, phi, self.start, self.stop).take(self.at)
