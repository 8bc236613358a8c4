"""First-order autoregressive series, whole or in part, from streams of random bits."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Floats32
from missionsim.base.normal import normal_quantile

_FORGOTTEN = 1e-4
_TOGETHER = 1 << 16
"""Values drawn side by side: as many as stay in the processor's own memory."""


def fill_rows(randoms: Iterable[np.random.Generator], phi: float, out: Floats32) -> None:
    """Fill each row of `out` [rows, steps] with the stationary first-order series of its generator, of unit variance.

    The innovations are quantiles looked up by 16 random bits each, four of them from one 64-bit draw: more than
    twice as quick as drawing normal deviates, and normal to 1 in 65,536. By doubling: after k rounds each value has
    taken up its last 2^k innovations, until what is left weighs less than a ten-thousandth.

    Raises
    ------
    ValueError   If there are fewer generators than rows.
    """
    rows, steps = out.shape
    stride = steps // 4 + 1
    most = max(1, min(rows, _TOGETHER // max(steps, 1)))
    bits, firsts = np.empty((most, stride), dtype=np.uint64), np.empty(most, dtype=np.float32)
    count, done, lags = 0, 0, _lags(steps, phi)
    for random in randoms:
        firsts[count] = random.standard_normal()
        bits[count] = random.bit_generator.random_raw(stride)
        count += 1
        if count == most or done + count == rows:
            block = out[done:done + count]
            np.take(_normal_table(), _sixteenths(bits[:count])[:, :steps], out=block, mode="clip")
            block *= np.float32(np.sqrt(1.0 - phi * phi))
            block[:, 0] = firsts[:count]
            _double(block, lags)
            done, count = done + count, 0
    if done != rows:
        raise ValueError(f"{done} generators for {rows} rows; accepted: as many")


@dataclass(frozen=True, slots=True)
class Stretches:
    """Stretches of series laid one after the other, and what has to be drawn for them.

    A series has forgotten what lies farther back than its doublings reach; the draws before that are skipped. So many
    steps before each stretch are drawn with it, and are no part of it.

    Parameters
    ----------
    phi : float                      Correlation from one step to the next.
    lags : tuple of (int, float32)   By how many steps each doubling shifts a series, and what the shifted one weighs.
    skipped : list of int            Draws of 64 bits left out before each stretch; 0 at the beginning of a series.
    head, edge : list of int         Where the draws of each stretch start among all of them, and where the next one
                                     begins: before a stretch from the beginning stand zeros instead.
    origin : list of int             Where the first step of each whole series would stand.
    """

    phi: float
    lags: tuple[tuple[int, np.float32], ...]
    skipped: list[int]
    head: list[int]
    edge: list[int]
    origin: list[int]

    @classmethod
    def of(cls, steps: int, phi: float, start: Sequence[int], stop: Sequence[int]) -> Stretches:
        """Return the layout of stretches.

        Parameters
        ----------
        steps : int                       Of the whole series.
        phi : float                       Correlation from one step to the next.
        start, stop : sequences of int    First step of each stretch and the one after its last.
        """
        lags = tuple(_lags(steps, phi))
        reach = 4 * -(-sum(lag for lag, _ in lags) // 4)
        skipped, head, edge, origin, at = [], [], [0], [], 0
        for first, last in zip(start, stop, strict=True):
            begin = max(first - reach, 0) // 4 * 4
            pad = 0 if begin else reach
            skipped.append(begin // 4)
            head.append((at + pad) // 4)
            origin.append(at + pad - begin)
            at += pad + 4 * ((last - begin) // 4 + 1)
            edge.append(at // 4)
        return cls(phi, lags, skipped, head, edge, origin)

    @property
    def size(self) -> int:
        """How many values are drawn."""
        return 4 * self.edge[-1]

    def draw(self, randoms: Iterable[np.random.Generator], out: Floats32 | None = None) -> Floats32:
        """Return the series, each step at its stretch's `origin` and so many on, bit for bit as `fill_rows` gives it.

        Parameters
        ----------
        randoms : iterable of Generator   One a stretch, entered so many draws (`skipped`) after its first
                                          normal deviate; none is asked for beyond the last.
        out : (size,) array, optional     To draw into.
        """
        series = np.empty(self.size, dtype=np.float32) if out is None else out
        seats, begun = iter(randoms), 0
        while begun < len(self.origin):
            # As many together as stay in the processor's own memory.
            done = max(bisect_right(self.edge, self.edge[begun] + _TOGETHER // 4) - 1, begun + 1)
            self._draw_some(seats, begun, done, series[4 * self.edge[begun]:4 * self.edge[done]])
            begun = done
        return series

    def _draw_some(self, seats: Iterator[np.random.Generator], begun: int, done: int, out: Floats32) -> None:
        base, firsts = self.edge[begun], []
        bits = np.empty(self.edge[done] - base, dtype=np.uint64)
        # The generators come last: none is asked for beyond the last stretch.
        for skipped, tail, head, end, random in zip(self.skipped[begun:done], self.edge[begun:done],
                                                    self.head[begun:done], self.edge[begun + 1:done + 1], seats,
                                                    strict=False):
            if not skipped:
                bits[tail - base:head - base] = 0
                firsts.append((4 * (tail - base), 4 * (head - base), random.standard_normal()))
            bits[head - base:end - base] = random.bit_generator.random_raw(end - head)
        np.take(_normal_table(), _sixteenths(bits), out=out, mode="clip")
        out *= np.float32(np.sqrt(1.0 - self.phi * self.phi))
        for tail, head, first in firsts:
            out[tail:head], out[head] = 0.0, first
        _double(out[None], self.lags)


def _lags(steps: int, phi: float) -> list[tuple[int, np.float32]]:
    """Return by how many steps each round shifts the series, and what the shifted one weighs."""
    lags, lag, decay = [], 1, float(phi)
    while lag < steps and decay > _FORGOTTEN:
        lags.append((lag, np.float32(decay)))
        lag, decay = 2 * lag, decay * decay
    return lags


def _double(series: Floats32, lags: Iterable[tuple[int, np.float32]]) -> None:
    """Turn scaled innovations along the last axis into the recursion, in place."""
    held = np.empty_like(series)
    for lag, decay in lags:
        if lag < series.shape[1]:
            shifted = np.multiply(series[:, :-lag], decay, out=held[:, lag:])
            series[:, lag:] += shifted


def _sixteenths(bits: NDArray[np.uint64]) -> NDArray[np.uint16]:
    return bits.astype("<u8", copy=False).view("<u2")


@cache
def _normal_table() -> Floats32:
    table = normal_quantile((np.arange(65536) + 0.5) / 65536.0)
    table /= table.std()
    return table.astype(np.float32)
