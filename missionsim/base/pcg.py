"""The generator PCG64 on many streams at once: how it is seated, and how it is entered far from its beginning.

Numbers of 128 bits stand as two arrays of 64, the high half first. Moving a generator ahead takes a microsecond for
each stream by numpy's own call, and drawing the deviate that comes before it nearly another; here both are a few dozen
operations on whole arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Bools, Floats

Words = NDArray[np.uint64]
Halves = tuple[Words, Words]

_WORD, _HALF = 0xFFFFFFFF, 0xFFFFFFFFFFFFFFFF
_STEP = 0x2360ED051FC65DA44385DF649FCCF645
_LAYERS, _EDGE, _AREA = 256, 3.6541528853610088, 0.00492867323399  # of the ziggurat: layers, outermost edge, area each
_SURELY = 1.0 - 1e-6    # of a layer's core: what rounding could not bring beyond it


@dataclass(frozen=True, slots=True)
class Jumps:
    """How far from its beginning each stream is entered, [n].

    `words`: draws of 64 bits left out. `deviate`: a first normal deviate is left out before them. `factor`, `addend`:
    two halves each of what takes the state there, were the deviate one word.
    """

    words: list[int]
    deviate: Bools
    factor: Halves
    addend: Halves

    @classmethod
    def of(cls, words: Sequence[int], after_deviate: bool) -> Jumps:
        """Return the jumps of streams; `after_deviate`: where words are left out, a normal deviate is before them."""
        steps = [w + 1 if after_deviate and w else w for w in words]
        high_factor, factor, high_addend, addend = np.array([_jump(s) for s in steps],
                                                            dtype=np.uint64).reshape(-1, 4).T.copy()
        deviate = np.array(words, dtype=np.int64) > 0 if after_deviate else np.zeros(len(words), dtype=bool)
        return cls(list(words), deviate, (high_factor, factor), (high_addend, addend))

    @classmethod
    def joined(cls, parts: Sequence[Jumps]) -> Jumps:
        """Return those of several lots of streams, one after the other."""
        factor, addend = ((np.concatenate([half[0] for half in halves]), np.concatenate([half[1] for half in halves]))
                          for halves in ([p.factor for p in parts], [p.addend for p in parts]))
        return cls([w for p in parts for w in p.words], np.concatenate([p.deviate for p in parts]), factor, addend)

    def entered(self, state: Halves, increment: Halves) -> tuple[Halves, Bools]:
        """Return the states of generators after their jumps, and where they are not these after all.

        A normal deviate takes one word but once in a hundred times.
        """
        ahead = _sum(_product(self.factor, state), _product(self.addend, increment))
        if not self.deviate.any():
            return ahead, self.deviate
        return ahead, ~takes_one_word(_first_word(state, increment)) & self.deviate

    def leave_out(self, random: np.random.Generator, number: int) -> None:
        """Bring a generator that stands at the beginning of a stream where the stream is entered."""
        words, source = self.words[number], random.bit_generator
        assert isinstance(source, np.random.PCG64)
        if words:
            if self.deviate[number]:
                random.standard_normal()
            source.advance(words)


def seated(start: Halves, stream: Halves) -> tuple[Halves, Halves]:
    """Return state and increment of generators, from the numbers of 128 bits that seed them.

    References
    ----------
    .. [1] M. E. O'Neill, "PCG: a family of simple fast space-efficient statistically good algorithms for random
       number generation", HMC-CS-2014-0905.
    """
    (high, low), one = stream, np.uint64(1)
    increment = high << one | low >> np.uint64(63), low << one | one
    return _stepped(_sum(increment, start), increment), increment


def words_drawn(state: Halves, increment: Halves, count: int) -> Words:
    """Return the first words that generators draw, (n, count)."""
    jumped = np.array([_jump(steps) for steps in range(count)], dtype=np.uint64)   # all from the same state, at once
    before, own = ((high[:, None], low[:, None]) for high, low in (state, increment))
    factor, addend = ((jumped[:, k], jumped[:, k + 1]) for k in (0, 2))
    return _first_word(_sum(_product(factor, before), _product(addend, own)), own)


def takes_one_word(word: Words) -> Bools:
    """Tell of the first word that a normal deviate is drawn from whether it surely takes no further one.

    A ziggurat of 256 layers: 8 bits choose the layer, 52 above the sign the place in it, and all of its core is taken.
    In doubt the answer is no.

    References
    ----------
    .. [1] G. Marsaglia, W. W. Tsang, "The ziggurat method for generating random variables", J. Stat. Software 5 (2000).
    """
    layer, place = word & np.uint64(_LAYERS - 1), word >> np.uint64(9) & np.uint64((1 << 52) - 1)
    return np.asarray(place < _cores().take(layer.astype(np.intp)))


@cache
def _cores() -> Floats:
    """Return how far the core of each layer reaches, in steps of 2^-52 of its width."""
    edge = np.zeros(_LAYERS)
    edge[-1] = _EDGE
    for i in range(_LAYERS - 1, 1, -1):
        edge[i - 1] = np.sqrt(-2.0 * np.log(_AREA / edge[i] + np.exp(-0.5 * edge[i] ** 2)))
    core = np.append(_EDGE * np.exp(-0.5 * _EDGE**2) / _AREA, edge[:-1] / edge[1:])
    return np.asarray(core * _SURELY * 2.0**52)


@lru_cache(maxsize=4096)
def _jump(steps: int) -> tuple[int, int, int, int]:
    """Return factor and addend, high half first, that take a state so many steps ahead.

    The addend is that of an increment of one: a geometric series of the factor of a single step.
    """
    factor = pow(_STEP, steps, (_STEP - 1) << 128)
    addend = (factor - 1) // (_STEP - 1)
    return factor >> 64 & _HALF, factor & _HALF, addend >> 64 & _HALF, addend & _HALF


def _stepped(state: Halves, increment: Halves) -> Halves:
    high, low = (np.full(1, part, dtype=np.uint64) for part in divmod(_STEP, 1 << 64))
    return _sum(_product((high, low), state), increment)


def _first_word(state: Halves, increment: Halves) -> Words:
    """Return the word that each generator draws next: the two halves folded, and turned by the uppermost six bits."""
    high, low = _stepped(state, increment)
    folded, turn = high ^ low, high >> np.uint64(58)
    return np.asarray(folded >> turn | folded << (np.uint64(64) - turn & np.uint64(63)))


def _sum(a: Halves, b: Halves) -> Halves:
    low = a[1] + b[1]
    return a[0] + b[0] + (low < b[1]), low


def _product(a: Halves, b: Halves) -> Halves:
    return a[0] * b[1] + a[1] * b[0] + _high_half(a[1], b[1]), a[1] * b[1]


def _high_half(a: Words, b: Words) -> Words:
    """Return the upper 64 bits of products of 64-bit numbers, from those of their halves."""
    half, low = np.uint64(32), np.uint64(_WORD)
    a_high, a_low, b_high, b_low = a >> half, a & low, b >> half, b & low
    cross = a_high * b_low + (a_low * b_low >> half)
    other = a_low * b_high + (cross & low)
    return a_high * b_high + (cross >> half) + (other >> half)
