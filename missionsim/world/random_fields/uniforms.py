"""Uniform draws of places, one a block of hours, of which only those asked for are drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Floats32, Ints, Ints32
from missionsim.base.pcg import Jumps
from missionsim.base.streams import StreamSet

_FAR = 2000
"""Draws of one place farther apart than this are made apart: seating a stream costs as much."""

_NOTHING = np.zeros(0, dtype=np.uint64)


@dataclass(frozen=True, slots=True)
class Uniforms:
    """Uniform draws of 32 bits each at pairs of place and number of the draw, [n].

    `streams` [w]: of the place of each run of draws, entered where it begins; `steps`: how many draws of 64 bits each
    takes; `at` [n]: where each draw stands, the runs laid one after the other.
    """

    streams: StreamSet
    steps: list[int]
    at: Ints32

    @classmethod
    def of(cls, place: Array, number: Array, stream: int, address: Ints) -> Uniforms:
        """Return the draws of pairs of place and number, in any order, [n].

        Parameters
        ----------
        place, number : (n,) int arrays
        stream : Stream
        address : (place, ...) int array   Of each place.
        """
        order = np.lexsort((number, place))
        row, then = place[order], number[order]
        cut = np.flatnonzero((np.diff(row) != 0) | (np.diff(then) > _FAR)) + 1
        low = np.concatenate([[0], cut])[:len(then)].astype(np.int64)
        high = np.append(cut, len(then))[:len(low)]
        first = then[low] // 2
        steps = then[high - 1] // 2 + 1 - first
        begin = 2 * (np.cumsum(steps) - steps - first)
        at = np.empty(len(order), dtype=np.int32)
        at[order] = np.repeat(begin, high - low) + then
        jumps = Jumps.of(first.tolist(), after_deviate=False)
        return cls(StreamSet(stream, *address[row[low]].T, jumps=jumps), steps.tolist(), at)

    def draw(self, seed: int, replication: int) -> Floats32:
        """Return the draws, 0 to 1, as `Generator.random` gives them one after the other, [n]."""
        words = [random.bit_generator.random_raw(steps)
                 for steps, random in zip(self.steps, self.streams.randoms(seed, replication), strict=True)]
        halves = np.concatenate([_NOTHING, *words]).astype("<u8", copy=False).view("<u4").take(self.at)
        return (halves >> np.uint32(8)).astype(np.float32) * np.float32(2.0**-24)
