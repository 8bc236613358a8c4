"""One trip over all simulated years: a square a year, and a sentence for each candidate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from missionsim.base.words import REASONS, Outcome
from missionsim.report.first_screen import MARKS
from missionsim.report.wording import count, listing, plain
from missionsim.study.compare.compare import Comparison, Result

Codes = NDArray[np.uint8]
SIDE, STEP, ACROSS, MOST = 8.0, 10.0, 10, 100
"""A square, the way to the next one, squares in a row, and squares in all. [px]"""
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
    made, late, broken, refused : str   Paths of the squares of each outcome, years in their order.
    height : float          Of the picture. [px]
    """

    mark: int
    name: str
    sentence: str
    made: str
    late: str
    broken: str
    refused: str
    height: float


def trip_squares(comparison: Comparison, trip: int) -> tuple[TripSquares, ...]:
    """Return one trip of a list with every candidate; empty where each year draws its own trips."""
    if comparison.study.listed is None:
        return ()
    return tuple(_of(i, r, trip) for i, r in enumerate(comparison.results))


def _of(i: int, result: Result, trip: int) -> TripSquares:
    trips = result.tally.trips
    codes = trips.outcome[trips.trip == trip]
    shown = codes[:MOST]
    height = STEP * -(-len(shown) // ACROSS)
    made, late, broken, refused = (squares(shown, code) for code in (MADE, LATE, BROKEN, NOT))
    sentence = _sentence(codes, result.tally.trip_reason[trip], len(result.tally.replications))
    return TripSquares(i % len(MARKS), result.name, sentence, made, late, broken, refused, height)


def squares(codes: Codes, code: int) -> str:
    """Return the squares of the years with one outcome as a path, ten in a row."""
    return "".join(f"M{k % ACROSS * STEP + 1:g} {k // ACROSS * STEP + 1:g}h{SIDE:g}v{SIDE:g}h-{SIDE:g}z"
                   for k in np.flatnonzero(codes == code))


def _sentence(codes: Codes, reasons: NDArray[np.float64], of: int) -> str:
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


def _why(reasons: NDArray[np.float64], spoiled: int) -> str:
    order = [k for k in np.argsort(-reasons, kind="stable")[:MOST_REASONS] if reasons[k] > 0]
    if not spoiled or not order:
        return ""
    words: Sequence[str] = [f"{plain(str(REASONS[k]))} ({reasons[k]:.0f})" for k in order]
    return f" What stood in the way: {listing(words)}."
