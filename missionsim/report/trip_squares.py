"""One trip over all simulated years: a square a year in hundred, and a sentence for each candidate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Codes, Floats
from missionsim.base.words import REASONS, Outcome
from missionsim.report.first_screen import MARKS
from missionsim.report.wording import count, listing, plain
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.explain.refusals import RefusedTrip

ACROSS, MOST = 10, 100
"""Squares in a row, and squares in all; a square is one unit wide."""
OUTCOMES = tuple(Outcome)
MADE, LATE, BROKEN, NOT = (OUTCOMES.index(o) for o in (Outcome.COMPLETED, Outcome.DELAYED, Outcome.BROKEN_OFF,
                                                       Outcome.REFUSED))
MOST_REASONS = 3


@dataclass(frozen=True, slots=True)
class TripSquares:
    """What became of one trip with one candidate.

    Parameters
    ----------
    mark : int              Number of the candidate's mark and colour.
    name, sentence : str
    change : str            By how much it usually fails and the smallest change that would make it go; may be empty.
    shapes : tuple of str   Sorted, those made first: all squares, those of trips begun, of trips made, of those on
                            time. Each is drawn over the one before, in the pattern of its outcome.
    height : int            Of the picture: rows.
    """

    mark: int
    name: str
    sentence: str
    change: str
    shapes: tuple[str, ...]
    height: int


def trip_squares(comparison: Comparison, trip: int) -> tuple[TripSquares, ...]:
    """Return one trip of a list with every candidate; empty where each year draws its own trips."""
    return squares_of(comparison, [trip])[0]


def squares_of(comparison: Comparison, trips: Sequence[int]) -> list[tuple[TripSquares, ...]]:
    """Return several trips of a list, each as `trip_squares` does."""
    if comparison.study.listed is None:
        return [()] * len(trips)
    told = {(x.candidate, x.trip): x for x in comparison.refusals or ()}
    flown = [(r, years.trip, years.outcome) for r in comparison.results for years in (r.tally.trips,)]
    return [tuple(_of(i, r, outcome[row == trip], trip, told.get((r.name, trip)))
                  for i, (r, row, outcome) in enumerate(flown)) for trip in trips]


def _of(i: int, result: Result, codes: Codes, trip: int, told: RefusedTrip | None) -> TripSquares:
    shown = in_hundred(codes)
    shapes = tuple(area(int((shown <= code).sum())) for code in (NOT, BROKEN, LATE, MADE))
    sentence = _sentence(codes, result.tally.trip_reason[trip], len(result.tally.replications))
    return TripSquares(i % len(MARKS), result.name, sentence, _change(told), shapes,
                       max(-(-len(shown) // ACROSS), 1))


def _change(found: RefusedTrip | None) -> str:
    if found is None:
        return ""
    if found.change.kind == "day" and not found.margins:
        return ""      # how often it goes is told already
    margin = f"{found.margins[0].words}; " if found.margins else ""
    text = margin + found.change.words
    return f"{text[:1].upper()}{text[1:]}."


def in_hundred(codes: Codes) -> Codes:
    """Return outcomes sorted, those made first; of more than a hundred years each stands for its hundredth."""
    ordered = np.sort(codes)
    if len(ordered) <= MOST:
        return ordered
    return ordered[((np.arange(MOST) + 0.5) * len(ordered) / MOST).astype(int)]


def area(count_: int) -> str:
    """Return the first so many squares as one shape, ten in a row; a pattern cuts it into squares."""
    rows, rest = divmod(count_, ACROSS)
    if not rows:
        return f"M0 0H{rest}V1H0z" if rest else ""
    last = f"H{rest}V{rows + 1}" if rest else ""
    return f"M0 0H{ACROSS}V{rows}{last}H0z"


def _sentence(codes: Codes, reasons: Floats, of: int) -> str:
    """Return what became of a trip in the years that wanted it, of so many flown."""
    years = len(codes)
    if not years:
        return f"Wanted in none of {count(of, 'year')}."
    made, late, broken, refused = (int((codes == c).sum()) for c in (MADE, LATE, BROKEN, NOT))
    text = f"Of {count(years, 'year')}{'' if years == of else ' that wanted it'}, made in {made + late}"
    text += f", {late} of them late" if late else ""
    text += f"; broken off in {broken}" if broken else ""
    text += f"; not made in {refused}" if refused else ""
    return f"{text}.{_why(reasons, late + broken + refused)}"


def _why(reasons: Floats, spoiled: int) -> str:
    order = [k for k in np.argsort(-reasons, kind="stable")[:MOST_REASONS] if reasons[k] > 0]
    if not spoiled or not order:
        return ""
    words: Sequence[str] = [f"{plain(str(REASONS[k]))} ({reasons[k]:.0f})" for k in order]
    return f" In the way: {listing(words)}."
