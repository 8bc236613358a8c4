"""Addressable random streams: a stream is named by what it is for, never by how many were drawn before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from ctypes import c_uint32, c_uint64, c_void_p, sizeof
from operator import itemgetter
from struct import iter_unpack
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.arrays import Bits, Floats, Ints
from missionsim.base.pcg import Halves, Jumps, Words, seated, words_drawn

_WORD = 0xFFFFFFFF
_HASH_START, _HASH_FACTOR = 0x43B0D7E5, 0x931E8875
_STATE_START, _STATE_FACTOR = 0x8B51F9DD, 0x58F38DED
_LEFT, _RIGHT, _SHIFT = 0xCA01F9DD, 0x4973F715, 16
_POOL = 4
_SEEDED = 2  # replication and stream: what all addresses may have in common
_WORTHWHILE = 12  # addresses from which seating them together takes less time than one by one
_ONE_OBJECT = 512  # bytes that a generator takes at most
_SEAT = 32  # bytes of state and increment
_LOW, _NO_HALF = 0xFFFFFFFFFFFFFFFF, bytes(8)


def generator(seed: int, replication: int, stream: int, *address: int) -> np.random.Generator:
    """Return the generator of one purpose in one replication.

    Parameters
    ----------
    seed : int            Root seed of the study.
    replication : int     Replication from 0.
    stream : Stream or its number   Purpose.
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


def generators(seed: int, replication: int | Ints, stream: int | Ints, *address: ArrayLike, jumps: Jumps | None = None,
               ) -> Iterator[np.random.Generator]:
    """Yield the generators of many addresses, each as `generator` gives it, in a fifth of the time.

    Parameters
    ----------
    seed : int                        Root seed of the study.
    replication : int or (n,) array   From 0; of every address, then below 2^32.
    stream : Stream or (n,) array     Purpose, or that of every address.
    address : int or (n,) int array   0 to below 2^32 each; at least one an array.
    jumps : Jumps, optional           Where each stream is entered, else at its beginning.

    Yields
    ------
    numpy.random.Generator   Perhaps one object, seated anew for every address: draw from it before asking for the next.

    References
    ----------
    .. [1] M. E. O'Neill, "Simple portable C++ seed entropy", 2015: the mixing of seeds that `SeedSequence` follows.
    """
    fixed, columns = _addresses(replication, stream, address)
    if columns[0].size < _WORTHWHILE:
        for number, alone in enumerate(_alone(seed, fixed, columns)):
            if jumps is not None:
                jumps.leave_out(alone, number)
            yield alone
        return
    yield from _sitting(_seated(seed, fixed, columns, jumps))


class StreamSet:
    """Streams that are drawn from together, in every replication anew.

    Seating streams takes a tenth of a millisecond a call, and a third of a microsecond a stream: what is known to be
    drawn from in the same replication is `seated_together`, though one set after the other is asked for.

    Parameters
    ----------
    stream : Stream or (n,) array     Purpose, or that of every address.
    address : int or (n,) int array   0 to below 2^32 each; at least one an array.
    jumps : Jumps, optional           Where each stream is entered, else at its beginning.
    """

    def __init__(self, stream: int | Ints, *address: ArrayLike, jumps: Jumps | None = None) -> None:
        self._columns = np.broadcast_arrays(*(np.asarray(a, dtype=np.uint32) for a in (stream, *address)))
        self._jumps, self._place = jumps, slice(0, 0)
        self._table: _Table | None = None

    def randoms(self, seed: int, replication: int) -> Iterator[np.random.Generator]:
        """Return the generators of a replication; see `generators`."""
        if self._table is None:
            return generators(seed, replication, *self._columns, jumps=self._jumps)
        return self._table.randoms(seed, replication, self._place)

    @staticmethod
    def seated_together(sets: Sequence[StreamSet]) -> None:
        """Let the first of some sets that is asked for seat all of them."""
        # Longer addresses last: what they have more is mixed into the last ones alone.
        order = sorted(sets, key=lambda own: len(own._columns))
        columns = [np.concatenate([own._columns[k] for own in order if len(own._columns) > k])
                   for k in range(len(order[-1]._columns))]
        table, first = _Table(columns, Jumps.joined([own._entered for own in order])), 0
        for own in order:
            own._table, count = table, own._columns[0].size
            own._place, first = slice(first, first + count), first + count

    @property
    def _entered(self) -> Jumps:
        return Jumps.of([0] * self._columns[0].size, after_deviate=False) if self._jumps is None else self._jumps


class _Table:
    """Addresses of streams, a column a word, later ones perhaps of the last streams alone; and their seats."""

    def __init__(self, columns: Sequence[Bits], jumps: Jumps | None) -> None:
        self._columns, self._jumps = columns, jumps
        self._known: tuple[int, int] | None = None
        self._seats = np.zeros((0, 4), dtype=np.uint64)

    def randoms(self, seed: int, replication: int, some: slice) -> Iterator[np.random.Generator]:
        """Return the generators of some streams."""
        if self._known != (seed, replication):
            self._known, self._seats = (seed, replication), _seated(seed, [replication], self._columns, self._jumps)
        return _sitting(self._seats[some])

    def __getstate__(self) -> dict[str, Any]:
        """Return what is handed to workers: each seats for itself."""
        return {**self.__dict__, "_known": None, "_seats": self._seats[:0]}


def uniforms(seed: int, replication: int | Ints, stream: int | Ints, *address: ArrayLike, count: int = 1) -> Floats:
    """Return the first uniforms of many streams, as `random(count)` of each `generator` gives them, (n, count).

    No generator is seated for them: a stream takes a tenth of a microsecond a number. Parameters as of `generators`.
    """
    fixed, columns = _addresses(replication, stream, address)
    if columns[0].size < _WORTHWHILE:
        return np.array([alone.random(count) for alone in _alone(seed, fixed, columns)]).reshape(-1, count)
    words = words_drawn(*_begun(seed, fixed, columns), count)
    return np.asarray((words >> np.uint64(11)) * 2.0**-53, dtype=np.float64)


def _addresses(replication: int | Ints, stream: int | Ints, address: Sequence[ArrayLike],
               ) -> tuple[list[int], list[Bits]]:
    """Return what is common to all addresses of a call, first, and the words of each after it, [word][n]."""
    whole: list[ArrayLike] = [replication, stream, *address]
    fixed: list[int] = []
    while len(fixed) < _SEEDED and isinstance(whole[0], int):
        fixed.append(int(whole.pop(0)))
    columns = np.broadcast_arrays(*(np.asarray(part, dtype=np.uint32) for part in whole))
    return fixed, [column.reshape(-1) for column in columns]


def _alone(seed: int, fixed: list[int], columns: Sequence[Bits]) -> Iterator[np.random.Generator]:
    """Yield the generators of a handful of addresses."""
    for own in zip(*(column.tolist() for column in columns), strict=True):
        yield generator(seed, *fixed, *own)


def _begun(seed: int, fixed: list[int], columns: Sequence[Bits]) -> tuple[Halves, Halves]:
    """Return state and increment of the generators of many addresses at the beginning of their streams."""
    common = [*_words(seed, _POOL), *(word for part in fixed for word in _words(part))]
    start = _state(_stirred(*_pool(common), columns))
    return seated((start[0], start[1]), (start[2], start[3]))


def _seated(seed: int, fixed: list[int], columns: Sequence[Bits], jumps: Jumps | None) -> Words:
    """Return state and increment of the generators of many addresses where their streams are entered."""
    begun, increment = _begun(seed, fixed, columns)
    if jumps is None:
        return _seats(begun, increment)
    ahead, others = jumps.entered(begun, increment)
    seats, chair, again = _seats(ahead, increment), _free_chair(), np.flatnonzero(others)
    beginnings = _seats(*((half[0][again], half[1][again]) for half in (begun, increment)))
    for number, seat in zip(again.tolist(), _rows(beginnings), strict=True):
        chair.sit(seat)
        jumps.leave_out(chair.random, number)
        seats[number] = chair.seat()
    _CHAIRS.append(chair)
    return seats


def _sitting(seats: Words) -> Iterator[np.random.Generator]:
    """Yield a generator in one seat after the other; draw from the last one before anything else is seated."""
    chair = _free_chair()
    try:
        if not chair.kept:
            for seat in _rows(seats):
                chair.sit(seat)
                yield chair.random
            return
        kept, half, random = chair.kept, chair.half, chair.random
        for seat in _rows(seats):
            kept[:], half[:] = seat, _NO_HALF
            yield random
    finally:
        _CHAIRS.append(chair)


def _seats(state: Halves, increment: Halves) -> Words:
    """Return state and increment of every generator as words of 64 bits, the low one of each first, [n, 4]."""
    return np.stack([state[1], state[0], increment[1], increment[0]], axis=1)


def _rows(seats: Words) -> Iterator[bytes]:
    """Yield the seats one by one, as they lie in memory: quicker than rows of an array."""
    return map(itemgetter(0), iter_unpack(f"{_SEAT}s", seats.tobytes()))


class _Chair:
    """A generator that is given one seat after the other.

    Where it keeps state and increment as it has always done they are written there, in a sixth of the time.
    """

    def __init__(self) -> None:
        self._bits = np.random.PCG64(0)
        self.random = np.random.Generator(self._bits)
        kept, half = _kept_words(self._bits)
        told = self._told()
        self.kept = (kept if kept.tolist() == told.tolist() else told[:0]).data.cast("B")
        self.half = half.data.cast("B")

    def sit(self, seat: bytes) -> None:
        """Take a seat."""
        if not self.kept:
            self._tell(seat)
            return
        self.kept[:], self.half[:] = seat, _NO_HALF

    def seat(self) -> Words:
        """Return where the generator is now."""
        return np.frombuffer(bytes(self.kept), dtype=np.uint64) if self.kept else self._told()

    def _told(self) -> Words:
        state = self._bits.state["state"]
        return np.array([part >> shift & _LOW for part in (state["state"], state["inc"]) for shift in (0, 64)],
                        dtype=np.uint64)

    def _tell(self, seat: bytes) -> None:
        low, high, odd_low, odd_high = np.frombuffer(seat, dtype=np.uint64).tolist()
        whole = self._bits.state
        whole["has_uint32"] = whole["uinteger"] = 0
        whole["state"]["state"], whole["state"]["inc"] = high << 64 | low, odd_high << 64 | odd_low
        self._bits.state = whole


def _free_chair() -> _Chair:
    """Return one that nobody sits in: making one takes as long as sitting down a hundred times."""
    return _CHAIRS.pop() if _CHAIRS else _Chair()


def _kept_words(bits: np.random.PCG64) -> tuple[Words, Bits]:
    """Return views of where a generator keeps state and increment, [4], and of half a word left over, [2].

    The first is empty where it does not stand by the pointer to it, as it does within one object.
    """
    address = int(bits.ctypes.state_address)
    half = np.ctypeslib.as_array((c_uint32 * 2).from_address(address + sizeof(c_void_p)))
    pointer = c_void_p.from_address(address).value or 0
    if abs(pointer - address) > _ONE_OBJECT:
        return np.zeros(0, dtype=np.uint64), half
    return np.ctypeslib.as_array((c_uint64 * 4).from_address(pointer)), half


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
    """Return the pool of every address, [4, n], with its words mixed in as `_pool` does; shorter columns at the end."""
    stirred = np.repeat(np.array(pool, dtype=np.uint32)[:, None], columns[0].size, axis=1)
    for column in columns:
        constants = [constant * pow(_HASH_FACTOR, i, 1 << 32) & _WORD for i in range(_POOL + 1)]
        before, after = (np.array(part, dtype=np.uint32)[:, None] for part in (constants[:-1], constants[1:]))
        value = _folded((column ^ before) * after)
        some = stirred[:, stirred.shape[1] - column.size:]
        some[:] = _folded(some * np.uint32(_LEFT) - value * np.uint32(_RIGHT))
        constant = constants[-1]
    return stirred


def _state(pool: Bits) -> NDArray[np.uint64]:
    """Return four 64-bit words for each address, [4, n]."""
    words = _folded((np.concatenate([pool, pool]) ^ _STATE_CONSTANTS[:-1]) * _STATE_CONSTANTS[1:]).astype(np.uint64)
    return words[::2] | words[1::2] << np.uint64(32)


def _folded(value: Bits) -> Bits:
    return value ^ value >> np.uint32(_SHIFT)


_CHAIRS: list[_Chair] = []
"""Those that nobody sits in."""

_STATE_CONSTANTS = np.array([[_STATE_START * pow(_STATE_FACTOR, i, 1 << 32) & _WORD] for i in range(2 * _POOL + 1)],
                            dtype=np.uint32)
