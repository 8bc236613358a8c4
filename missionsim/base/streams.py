"""Addressable random streams: a stream is named by what it is for, never by how many were drawn before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.arrays import Bits
from missionsim.base.words import Stream

_WORD = 0xFFFFFFFF
_HASH_START, _HASH_FACTOR = 0x43B0D7E5, 0x931E8875
_STATE_START, _STATE_FACTOR = 0x8B51F9DD, 0x58F38DED
_LEFT, _RIGHT, _SHIFT = 0xCA01F9DD, 0x4973F715, 16
_POOL = 4
_WORTHWHILE = 6  # addresses from which seating them together takes less time than one by one
_STEP, _STATE_MASK = 0x2360ED051FC65DA44385DF649FCCF645, (1 << 128) - 1


def generator(seed: int, replication: int, stream: Stream, *address: int) -> np.random.Generator:
    """Return the generator of one purpose in one replication.

    Parameters
    ----------
    seed : int            Root seed of the study.
    replication : int     Replication from 0.
    stream : Stream       Purpose.
    address : int         Finer address inside the purpose: a knot, a place, a trip, a person.

    Returns
    -------
    numpy.random.Generator   The same for the same arguments, whatever else was drawn.

    References
    ----------
    .. [1] NumPy manual, "Parallel random number generation", `SeedSequence` with a `spawn_key`.
    """
    sequence = np.random.SeedSequence(seed, spawn_key=(replication, int(stream), *address))
    return np.random.Generator(np.random.PCG64(sequence))


def generators(seed: int, replication: int, stream: Stream, *address: ArrayLike) -> Iterator[np.random.Generator]:
    """Yield the generators of many addresses, each as `generator` gives it, in a fifth of the time.

    Parameters
    ----------
    address : int or (n,) int array   0 to below 2^32 each; at least one an array.

    Yields
    ------
    numpy.random.Generator   Perhaps one object, seated anew for every address: draw from it before asking for the next.

    References
    ----------
    .. [1] M. E. O'Neill, "Simple portable C++ seed entropy", 2015: the mixing of seeds that `SeedSequence` follows.
    .. [2] M. E. O'Neill, "PCG: a family of simple fast space-efficient statistically good algorithms for random
       number generation", HMC-CS-2014-0905: the seating of the 128-bit generator.
    """
    columns = np.broadcast_arrays(*(np.asarray(a, dtype=np.uint32) for a in address))
    if columns[0].size < _WORTHWHILE:
        for own in zip(*(c.tolist() for c in columns), strict=True):
            yield generator(seed, replication, stream, *own)
        return
    pool, constant = _pool([*_words(seed, _POOL), *_words(replication), *_words(int(stream))])
    high, low, odd_high, odd_low = _state(_stirred(pool, constant, columns)).tolist()
    bits = np.random.PCG64(0)
    random = np.random.Generator(bits)
    whole = bits.state
    whole["has_uint32"] = whole["uinteger"] = 0
    for a, b, c, d in zip(high, low, odd_high, odd_low, strict=True):
        increment = (c << 65 | d << 1 | 1) & _STATE_MASK
        whole["state"]["inc"] = increment
        whole["state"]["state"] = ((increment + (a << 64 | b)) * _STEP + increment) & _STATE_MASK
        bits.state = whole
        yield random


def _words(value: int, least: int = 1) -> list[int]:
    """Return a number as 32-bit words, the low one first, filled up with zeros."""
    words = [value >> shift & _WORD for shift in range(0, max(value.bit_length(), 1), 32)]
    return words + [0] * (least - len(words))


def _pool(entropy: list[int]) -> tuple[list[int], int]:
    """Return the pool into which plain words are mixed, and the constant that the next word is hashed with."""
    constant = _HASH_START

    def hashed(value: int) -> int:
        nonlocal constant
        value ^= constant
        constant = constant * _HASH_FACTOR & _WORD
        value = value * constant & _WORD
        return value ^ value >> _SHIFT

    def mix(into: int, value: int) -> int:
        both = into * _LEFT - value * _RIGHT & _WORD
        return both ^ both >> _SHIFT

    pool = [hashed(value) for value in entropy[:_POOL]]
    for source in range(_POOL):
        for target in range(_POOL):
            if source != target:
                pool[target] = mix(pool[target], hashed(pool[source]))
    for value in entropy[_POOL:]:
        pool = [mix(part, hashed(value)) for part in pool]
    return pool, constant


def _stirred(pool: list[int], constant: int, columns: Sequence[Bits]) -> Bits:
    """Return the pool of every address, [4, n], with its words mixed in as `_pool` does."""
    stirred = np.repeat(np.array(pool, dtype=np.uint32)[:, None], columns[0].size, axis=1)
    for column in columns:
        constants = [constant * pow(_HASH_FACTOR, i, 1 << 32) & _WORD for i in range(_POOL + 1)]
        before, after = (np.array(part, dtype=np.uint32)[:, None] for part in (constants[:-1], constants[1:]))
        value = _folded((column ^ before) * after)
        stirred = _folded(stirred * np.uint32(_LEFT) - value * np.uint32(_RIGHT))
        constant = constants[-1]
    return stirred


def _state(pool: Bits) -> NDArray[np.uint64]:
    """Return four 64-bit words for each address, [4, n]."""
    words = _folded((np.concatenate([pool, pool]) ^ _STATE_CONSTANTS[:-1]) * _STATE_CONSTANTS[1:]).astype(np.uint64)
    return words[::2] | words[1::2] << np.uint64(32)


def _folded(value: Bits) -> Bits:
    return value ^ value >> np.uint32(_SHIFT)


_STATE_CONSTANTS = np.array([[_STATE_START * pow(_STATE_FACTOR, i, 1 << 32) & _WORD] for i in range(2 * _POOL + 1)],
                            dtype=np.uint32)
