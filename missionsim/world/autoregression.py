"""First-order autoregressive series, whole or in part, from a stream of random bits."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from missionsim.base.normal import normal_quantile

_FORGOTTEN = 1e-4


def ar1(random: np.random.Generator, steps: int, phi: float) -> NDArray[np.float32]:
    """Return one stationary first-order autoregressive series of unit variance.

    The innovations are quantiles looked up by 16 random bits each, four of them from one 64-bit draw: more than
    twice as quick as drawing normal deviates, and normal to 1 in 65,536.

    Parameters
    ----------
    random : Generator
    steps : int
    phi : float     Correlation from one step to the next, 0 to below 1.

    Returns
    -------
    (steps,) float32     By doubling: after k rounds each value has taken up its last 2^k innovations, until
                         what is left weighs less than a ten-thousandth.
    """
    first = random.standard_normal()
    bits = random.bit_generator.random_raw(steps // 4 + 1).astype("<u8", copy=False)
    series = np.take(_normal_table(), bits.view("<u2")[:steps])
    series *= np.float32(np.sqrt(1.0 - phi * phi))
    series[0] = first
    lag, decay = 1, float(phi)
    while lag < steps and decay > _FORGOTTEN:
        series[lag:] += np.float32(decay) * series[:-lag]
        lag, decay = 2 * lag, decay * decay
    return series


def ar1_part(random: np.random.Generator, steps: int, phi: float, start: int, stop: int) -> NDArray[np.float32]:
    """Return the steps from `start` to before `stop` of the series that `ar1` gives, bit for bit, and draw no others.

    The series has forgotten what lies farther back than its doublings reach; the draws before that are skipped.
    """
    reach, lag, decay = 0, 1, float(phi)
    while lag < steps and decay > _FORGOTTEN:
        reach, lag, decay = reach + lag, 2 * lag, decay * decay
    begin = max(start - reach, 0) // 4 * 4
    if begin == 0 and stop > steps // 2:
        return ar1(random, steps, phi)[start:stop]
    first = random.standard_normal()
    bit_generator = random.bit_generator
    assert isinstance(bit_generator, np.random.PCG64)
    bit_generator.advance(begin // 4)
    bits = random.bit_generator.random_raw((stop - begin) // 4 + 1).astype("<u8", copy=False)
    series = np.take(_normal_table(), bits.view("<u2")[:stop - begin])
    series *= np.float32(np.sqrt(1.0 - phi * phi))
    if begin == 0:
        series[0] = first
    lag, decay = 1, float(phi)
    while lag < steps and decay > _FORGOTTEN:
        series[lag:] += np.float32(decay) * series[:-lag]
        lag, decay = 2 * lag, decay * decay
    return series[start - begin:]


@cache
def _normal_table() -> NDArray[np.float32]:
    table = normal_quantile((np.arange(65536) + 0.5) / 65536.0)
    table /= table.std()
    return table.astype(np.float32)
