"""First-order autoregressive series, whole or in part, from streams of random bits.

A series is worked out span by span: first what the innovations of a span make of it by themselves, of many spans side
by side; then what the spans before leave at its beginning, which fades step by step. Of spans that lie between those
asked for only their ends are of use, and of those farther back than the series remembers nothing is.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Bools, Floats32, Ints, Ints32
from missionsim.base.normal import normal_quantile

SPAN = 24
"""Steps of a series that are worked out together: a day of an hourly one."""
_WORDS = SPAN // 4
"""Draws of 64 bits a span takes: each gives four steps."""
_FORGOTTEN = 1e-4
_TOGETHER = 1 << 14
"""Spans worked out side by side: fewer take more calls, more of them do not stay in the processor's own memory."""
_FAR = 120
"""Spans of one series farther apart than this are drawn as windows of their own: entering a stream takes as long as
the draws between, of which nothing is made."""
NOWHERE = np.iinfo(np.int32).min // 2
"""Column of a span that is not drawn."""


def fill_rows(randoms: Iterable[np.random.Generator], phi: float, out: Floats32) -> None:
    """Fill each row of `out` [rows, steps] with the stationary first-order series of its generator, of unit variance.

    Raises
    ------
    ValueError   If there are fewer generators than rows.
    """
    rows, steps = out.shape
    whole = whole_rows(rows, steps, phi)
    series, behind = whole.draw(randoms).reshape(-1), whole.behind(np.arange(steps))
    for row, first in zip(out, whole.column, strict=True):
        series.take(first + behind, out=row, mode="clip")


@dataclass(frozen=True, slots=True)
class _Kind:
    """What series of one correlation from step to step are worked out with.

    `phi`: that correlation; `spread`: of the innovations; `between`: correlation from span to span; `back`: how many
    spans back a series remembers; `fade` [step]: what of the end of the span before is left at each step.
    """

    phi: np.float32
    spread: np.float32
    between: np.float32
    back: int
    fade: Floats32

    @classmethod
    def of(cls, phi: float) -> _Kind:
        """Return the kind of a correlation from one step to the next."""
        fade = np.power(phi, np.arange(1.0, SPAN + 1.0)).astype(np.float32)
        return cls(np.float32(phi), np.float32(math.sqrt(1.0 - phi * phi)), fade[-1], spans_back(phi), fade)


@dataclass(frozen=True, slots=True)
class _Lot:
    """Windows that are worked out side by side: the spans needed of them, one a column.

    `windows`, `columns`: first one and the one after the last, among those of all lots. `kinds`: columns of each kind,
    and its number. `source` [column]: where the draws of each begin among those of the lot. `unborn`: columns before
    the beginning of a series; `begun`: those that begin one.
    """

    windows: slice
    columns: slice
    kinds: tuple[tuple[slice, int], ...]
    source: Ints
    unborn: Ints
    begun: Ints


@dataclass(frozen=True, slots=True)
class Stretches:
    """Stretches of series, whole spans each, and what has to be drawn for them: [step of the span, column].

    A series has forgotten what lies farther back than so many spans. Before each stretch as many are worked out, and
    are no part of it; what lies before them is skipped, or drawn and left unused where the stretch before it is near:
    entering a stream costs as much.

    Parameters
    ----------
    kinds : tuple            What the series are worked out with, by kind.
    row : (window,) int      Series that each window is cut from.
    skipped : list of int    Draws of 64 bits left out before each window; 0 at the beginning of a series.
    words : list of int      Draws of 64 bits made for each window.
    column : (stretch,) int  Where the first span of each stretch stands; the others follow.
    columns : int            How many spans are worked out.
    lots : tuple             The windows, in lots.
    """

    kinds: tuple[_Kind, ...]
    row: Ints
    skipped: list[int]
    words: list[int]
    column: Ints
    columns: int
    lots: tuple[_Lot, ...]

    @classmethod
    def of(cls, row: Ints, first: Ints, stop: Ints, phi: Sequence[float], kind: Ints, far: int = 0) -> Stretches:
        """Return the layout of stretches.

        Parameters
        ----------
        row, first, stop : (stretch,) int   Series, first span and the one after the last, in rising order and apart.
        phi : sequence of float             Correlation from one step to the next, by kind of series.
        kind : (stretch,) int               Of each series; those of a kind follow each other.
        far : int                           Spans between two stretches of a series beyond which its stream is entered
                                            anew.
        """
        kinds = tuple(map(_Kind.of, phi))
        back, count = np.array([k.back for k in kinds], dtype=np.int64)[kind], stop - first
        gap = np.where(np.diff(row, prepend=-1) == 0, first - np.roll(stop, 1), np.iinfo(np.int64).max)
        fresh = np.flatnonzero(gap > far)
        # Columns: each stretch behind the spans that it still feels, or those up to the stretch before.
        lead = np.where(gap > far, back, np.minimum(gap, back))
        span, end = _ranges(first - lead, lead + count), np.cumsum(lead + count)
        # Draws: of each window all from its first column on, but for what lies before the beginning.
        cut = np.append(fresh, len(row))
        begin = np.maximum(first[fresh] - back[fresh], 0)
        words = stop[cut[1:] - 1] - begin
        edge = np.concatenate([[0], np.cumsum(words)])
        bounds = np.concatenate([[0], end])[cut]
        source = np.maximum(span, 0) + np.repeat(edge[:-1] - begin, np.diff(bounds))
        return cls(kinds, row[fresh], (_WORDS * begin).tolist(), (_WORDS * words).tolist(), end - count, len(span),
                   _lots(edge, bounds.tolist(), span, source, np.repeat(kind, lead + count)))

    def behind(self, step: Ints) -> Ints:
        """Return how far steps stand behind the first one of a stretch, flat."""
        span, own = np.divmod(step, SPAN)
        return np.asarray(own * self.columns + span)

    def draw(self, randoms: Iterable[np.random.Generator], out: Floats32 | None = None) -> Floats32:
        """Return the spans, one a column, each of a stretch bit for bit as cut from its whole series.

        The innovations are quantiles looked up by 16 random bits each, four of them from one 64-bit draw: more than
        twice as quick as drawing normal deviates, and normal to 1 in 65,536.

        Parameters
        ----------
        randoms : iterable of Generator            One a window, entered so many draws (`skipped`) after its first
                                                   normal deviate; none is asked for beyond the last.
        out : (SPAN, columns) array, optional      To draw into.

        Raises
        ------
        ValueError   If there are fewer generators than windows.
        """
        series = np.empty((SPAN, self.columns), dtype=np.float32) if out is None else out
        seats = iter(randoms)
        for lot in self.lots:
            self._draw_lot(lot, seats, series[:, lot.columns])
        return series

    def _draw_lot(self, lot: _Lot, seats: Iterator[np.random.Generator], out: Floats32) -> None:
        """Draw the windows of a lot into their columns."""
        words, firsts = self._words(lot.windows, seats)
        own = [(out[:, some], self.kinds[number]) for some, number in lot.kinds]
        phi, spread = (np.repeat(np.array([getattr(kind, name) for _, kind in own]), [some.shape[1] for some, _ in own])
                       for name in ("phi", "spread"))
        _innovations(words, lot.source, spread, out)
        out[0, lot.begun] = firsts
        held = np.empty_like(phi)
        for before, step in pairwise(out):
            np.add(step, np.multiply(before, phi, out=held), out=step)
        out[-1, lot.unborn] = 0.0
        for some, kind in own:
            some[:, 1:] += np.multiply.outer(kind.fade, _left(some[-1], kind))

    def _words(self, windows: slice, seats: Iterator[np.random.Generator]) -> tuple[NDArray[np.uint64], list[float]]:
        """Return the draws of windows, one after the other, and the first deviates of those that begin a series."""
        counts, firsts, words = self.words[windows], [], []
        # The generators come last: none is asked for beyond the last window.
        for skipped, count, random in zip(self.skipped[windows], counts, seats, strict=False):
            if not skipped:
                firsts.append(random.standard_normal())
            words.append(random.bit_generator.random_raw(count))
        if len(words) < len(counts):
            raise ValueError(f"too few generators for {len(self.words)} windows; accepted: as many")
        return np.concatenate(words), firsts


def stretches_of(asked: Bools, phi: Sequence[float], kind: Ints) -> tuple[Stretches, Ints32]:
    """Return the layout of spans asked for, and the column of each, [series, span], far below 0 where none is.

    Parameters
    ----------
    asked : (series, span) bool
    phi : sequence of float   Correlation from one step to the next, by kind of series.
    kind : (series,) int      Of each series; those of a kind follow each other.
    """
    row, span = np.nonzero(asked)
    # Spans between two that are near are worked out for the later one anyway: they are there for whoever asks.
    near = np.array([spans_back(own) for own in phi], dtype=np.int64)[kind[row]]
    begins = np.flatnonzero((np.diff(row, prepend=-1) != 0) | (np.diff(span, prepend=-1) > near + 1))
    row, first, count = row[begins], span[begins], span[np.append(begins, len(span))[1:] - 1] + 1 - span[begins]
    drawn = Stretches.of(row, first, first + count, phi, kind[row], _FAR)
    at = np.full(asked.shape, NOWHERE, dtype=np.int32)
    at[np.repeat(row, count), _ranges(first, count)] = _ranges(drawn.column, count)
    return drawn, at


def spans_back(phi: float) -> int:
    """Return how many spans back a series remembers: what lies farther weighs less than a ten-thousandth."""
    return math.ceil(max(math.log(_FORGOTTEN) / (SPAN * math.log(phi)), 1.0)) if phi > 0.0 else 1


@lru_cache(maxsize=8)
def whole_series(kinds: tuple[tuple[int, int, float], ...]) -> Stretches:
    """Return the layout of whole series, which each replication draws anew; by kind how many, their steps and phi."""
    rows, steps, phi = zip(*kinds, strict=True)
    kind = np.repeat(np.arange(len(kinds)), rows)
    return Stretches.of(np.arange(len(kind)), np.zeros_like(kind), -(-np.array(steps)[kind] // SPAN), phi, kind)


def whole_rows(rows: int, steps: int, phi: float) -> Stretches:
    """Return the layout of whole series of one kind; see `whole_series`."""
    return whole_series(((rows, steps, phi),))


def _left(ends: Floats32, kind: _Kind) -> Floats32:
    """Return what the series is at the end of each column but the last: what it and so many before it make of it."""
    left, held = ends[:-1].copy(), np.empty(len(ends), dtype=np.float32)
    for _ in range(kind.back - 1):
        np.multiply(left[:-1], kind.between, out=held[1:-1])
        np.add(ends[1:-1], held[1:-1], out=left[1:])
    return left


def _lots(edge: Ints, bounds: list[int], span: Ints, source: Ints, kind: Ints) -> tuple[_Lot, ...]:
    """Return windows in lots; `edge`, `bounds`: where the draws and the columns of each window begin, and the end."""
    lots, done = [], 0
    while done < len(edge) - 1:
        first = done
        done = max(bisect_right(bounds, bounds[first] + _TOGETHER) - 1, first + 1)
        some = slice(bounds[first], bounds[done])
        cut = np.flatnonzero(np.diff(kind[some], prepend=-1, append=-1)).tolist()
        kinds = tuple((slice(low, high), int(kind[some][low])) for low, high in pairwise(cut))
        lots.append(_Lot(slice(first, done), some, kinds, _WORDS * (source[some] - edge[first]),
                         np.flatnonzero(span[some] < 0), np.flatnonzero(span[some] == 0)))
    return tuple(lots)


def _ranges(first: Ints, count: Ints) -> Ints:
    """Return ranges of whole numbers, one after the other."""
    before = np.cumsum(count) - count
    return np.asarray(np.repeat(first - before, count) + np.arange(int(count.sum())))


def _innovations(words: NDArray[np.uint64], source: Ints, spread: Floats32, out: Floats32) -> None:
    """Draw normal deviates into spans, [step, column]; by column where the draws begin, and the spread."""
    lane, drawn = np.empty(len(source), dtype=np.uint64), np.empty((4, len(source)), dtype=np.float32)
    for number in range(_WORDS):
        words[number:].take(source, out=lane, mode="clip")
        quarters = lane.astype("<u8", copy=False).view("<u2").reshape(-1, 4).T
        np.take(_normal_table(), quarters, out=drawn, mode="clip")
        np.multiply(drawn, spread, out=out[4 * number:4 * number + 4])


@cache
def _normal_table() -> Floats32:
    table = normal_quantile((np.arange(65536) + 0.5) / 65536.0)
    table /= table.std()
    return table.astype(np.float32)
