"""The pictures of a study of shared use as plain shapes: lines on two axes, sums of money on one, bars.

Layout happens here; templates only place it. Report file and page draw the same shapes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from markupsafe import Markup

from missionsim.report.first_screen import MARKS, WIDTH, BarRow, Scale, Tick
from missionsim.report.frame import environment


class Value(NamedTuple):
    """One point to be drawn: across, upward, its short label, its words, and whether it is the study's own."""

    across: float
    upward: float
    label: str
    words: str
    own: bool = False


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One mark. [px]"""

    x: float
    y: float
    label: str
    words: str
    own: bool


@dataclass(frozen=True, slots=True)
class Series:
    """The line of one candidate."""

    mark: int
    name: str
    points: tuple[CurvePoint, ...]

    @property
    def words(self) -> str:
        """The line in words, for those who cannot see it."""
        return f"{self.name}: " + ", ".join(p.words for p in self.points)


@dataclass(frozen=True, slots=True)
class Curves:
    """Lines on two axes."""

    title: str
    note: str
    across_label: str
    series: tuple[Series, ...]
    across: tuple[Tick, ...]
    upward: tuple[Tick, ...]
    width: float = WIDTH
    height: float = 270.0
    left: float = 48.0
    below: float = 42.0
    kind: str = "curves"


@dataclass(frozen=True, slots=True)
class RulerRow:
    """Sums of one candidate: hollow and filled marks, and intervals of the filled ones. [px]"""

    mark: int
    name: str
    words: str
    points: tuple[tuple[float, bool], ...]
    spans: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Ruler:
    """Sums of money of each candidate on one axis; `line`: one that holds for all."""

    title: str
    note: str
    rows: tuple[RulerRow, ...]
    ticks: tuple[Tick, ...]
    line: Tick | None
    width: float = WIDTH
    kind: str = "ruler"


@dataclass(frozen=True, slots=True)
class Bars:
    """A table whose cells hold a number and its bar."""

    title: str
    note: str
    head: str
    rows: tuple[BarRow, ...]
    kind: str = "bars"


class MarkedName(NamedTuple):
    """A candidate's mark and name."""

    mark: int
    name: str


def keys_of(names: Sequence[str]) -> tuple[MarkedName, ...]:
    """Return the candidates' marks and names."""
    return tuple(MarkedName(i % len(MARKS), name) for i, name in enumerate(names))


def curves(title: str, note: str, across_label: str, lines: Sequence[tuple[str, Sequence[Value]]], *,
           across: Callable[[float], str], upward: Callable[[float], str]) -> Curves:
    """Return lines on two axes; upward begins at zero.

    Parameters
    ----------
    title, note, across_label : str
    lines : sequence                   Name and values of each candidate.
    across, upward : callable          The label of a tick.
    """
    blank = Curves(title, note, across_label, (), (), ())
    every = [value for _, values in lines for value in values]
    x = Scale(np.array([v.across for v in every] or [0.0, 1.0]), blank.left + 14.0, blank.width - 14.0)
    y = Scale(np.array([0.0, *(v.upward for v in every)]), blank.height - blank.below, 20.0)
    series = tuple(Series(key.mark, key.name, tuple(CurvePoint(x(v.across), y(v.upward), v.label, v.words, v.own)
                                                    for v in values))
                   for key, (_, values) in zip(keys_of([name for name, _ in lines]), lines, strict=True))
    return Curves(title, note, across_label, series, tuple(Tick(x(t), across(t)) for t in x.ticks(5)),
                  tuple(Tick(y(t), upward(t)) for t in y.ticks(5)))


class RulerSums(NamedTuple):
    """What a ruler shows of a candidate: its words, hollow and filled values, and intervals of the latter."""

    name: str
    words: str
    hollow: tuple[float, ...]
    filled: tuple[float, ...]
    spans: tuple[tuple[float, float], ...]


def ruler(title: str, note: str, sums: Sequence[RulerSums], line: float | None, label: Callable[[float], str]) -> Ruler:
    """Return sums of money on one axis that begins at zero.

    Parameters
    ----------
    title, note : str
    sums : sequence           One a candidate.
    line : float or None      A sum that holds for all.
    label : callable          The label of a tick.
    """
    every = [v for s in sums for v in (*s.hollow, *s.filled, *(end for span in s.spans for end in span))]
    scale = Scale(np.array([0.0, *every, *([] if line is None else [line])]), 12.0, WIDTH - 12.0)
    rows = tuple(RulerRow(key.mark, s.name, s.words,
                          (*((scale(v), False) for v in s.hollow), *((scale(v), True) for v in s.filled)),
                          tuple((scale(low), scale(high)) for low, high in s.spans))
                 for key, s in zip(keys_of([s.name for s in sums]), sums, strict=True))
    return Ruler(title, note, rows, tuple(Tick(scale(t), label(t)) for t in scale.ticks(6)),
                 None if line is None else Tick(scale(line), label(line)))


def drawn(pictures: Sequence[Curves | Ruler | Bars], names: Sequence[str]) -> Markup:
    """Return the pictures of a first screen as markup."""
    template = environment().get_template("parts/shared_pictures.html.j2")
    return Markup(template.render(pictures=pictures, keys=keys_of(names)))
