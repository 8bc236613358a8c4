"""First-order autoregressive series, whole or in part, from streams of random bits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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
    count = done = 0
    for random in randoms:
        firsts[count] = random.standard_normal()
        bits[count] = random.bit_generator.random_raw(stride)
        count += 1
        if count == most or done + count == rows:
            block = out[done:done + count]
            np.take(_normal_table(), _sixteenths(bits[:count])[:, :steps], out=block, mode="clip")
            block *= np.float32(np.sqrt(1.0 - phi * phi))
            block[:, 0] = firsts[:count]
            _double(block, steps, phi)
            done, count = done + count, 0
    if done != rows:
        raise ValueError(f"{done} generators for {rows} rows; accepted: as many")


def ar1_windows(randoms: Iterable[np.random.Generator], steps: int, phi: float, start: Sequence[int],
                stop: Sequence[int]) -> Floats32:
    """Return stretches of series, one after the other, bit for bit as `fill_rows` gives them, and draw little else.

    A series has forgotten what lies farther back than its doublings reach; the draws before that are skipped.

    Parameters
    ----------
    randoms : iterable of Generator   One a stretch, of which PCG64 makes the bits.
    steps : int                       Of the whole series.
    start, stop : sequences of int    First step of each stretch and the one after its last.
    """
    reach = 4 * -(-sum(lag for lag, _ in _lags(steps, phi)) // 4)
    begin = [max(first - reach, 0) // 4 * 4 for first in start]
    # A stretch from the beginning has nothing before it: as many zeros keep what stands before it in the row out of it.
    pad = [0 if first else reach for first in begin]
    drawn = [(last - first) // 4 + 1 for first, last in zip(begin, stop, strict=True)]
    at = np.cumsum([0, *(p + 4 * d for p, d in zip(pad, drawn, strict=True))]).tolist()
    bits, firsts = np.zeros(at[-1] // 4, dtype=np.uint64), {}
    for i, random in enumerate(randoms):
        first, source = random.standard_normal(), random.bit_generator
        assert isinstance(source, np.random.PCG64)
        if begin[i]:
            source.advance(begin[i] // 4)
        else:
            firsts[i] = first
        bits[(at[i] + pad[i]) // 4:at[i + 1] // 4] = source.random_raw(drawn[i])
    series = np.take(_normal_table(), _sixteenths(bits))
    series *= np.float32(np.sqrt(1.0 - phi * phi))
    for i, first in firsts.items():
        series[at[i]:at[i] + pad[i]], series[at[i] + pad[i]] = 0.0, first
    _double(series[None], steps, phi)
    spans = zip(at, pad, begin, start, stop, strict=False)
    return np.concatenate([series[a + p + first - b:a + p + last - b] for a, p, b, first, last in spans]
                          or [np.zeros(0, dtype=np.float32)])


def _lags(steps: int, phi: float) -> list[tuple[int, np.float32]]:
    """Return by how many steps each round shifts the series, and what the shifted one weighs."""
    lags, lag, decay = [], 1, float(phi)
    while lag < steps and decay > _FORGOTTEN:
        lags.append((lag, np.float32(decay)))
        lag, decay = 2 * lag, decay * decay
    return lags


def _double(series: Floats32, steps: int, phi: float) -> None:
    """Turn scaled innovations along the last axis into the recursion, in place."""
    held = np.empty_like(series)
    for lag, decay in _lags(steps, phi):
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
