"""What the verdict shows of a finished comparison: plain data that travels from the flying process to the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from missionsim.page.slides import Standing, standing
from missionsim.report.answer import answer
from missionsim.report.explained_trips import ToldDay, days_of
from missionsim.report.first_screen import (
    BarRow,
    CostDots,
    Differences,
    TradeOff,
    cost_dots,
    differences,
    trade_off,
    why_not,
)
from missionsim.report.money_words import money_section
from missionsim.report.one_sheet import OneSheet, one_sheet
from missionsim.report.shared_page import SharedPage
from missionsim.report.slider_years import slider_years
from missionsim.report.tables import Table, candidates, costs, trip_lines
from missionsim.report.trip_squares import TripSquares, trip_squares
from missionsim.report.wording import cautions_for
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.ownership import LEAST_BATCHES
from missionsim.study.compare.two_runs import RunRecord, record_of
from missionsim.study.prepare.open_water import open_water
from missionsim.study.replicate.one_year import CHUNK


@dataclass(frozen=True, slots=True)
class TripChoice:
    """One trip of the list, to be opened."""

    number: int
    words: str
    made: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TripView:
    """One trip over all flown years, and for each candidate the days worth opening."""

    number: int
    title: str
    when: str
    candidates: tuple[TripSquares, ...]
    days: tuple[tuple[ToldDay, ...], ...]


@dataclass(frozen=True)
class Screen:
    """The first screen of a comparison.

    `more` are the other sentences under what they are about; `table` are the numbers; `money` each sum of a year and
    where it comes from, as in the report. `view` says what was simulated: years, one that stands for several, or whole
    ownerships; of the last too few are not `enough` to tell intervals.
    """

    title: str
    question: str
    form: str
    sentences: tuple[str, ...]
    more: tuple[tuple[str, tuple[str, ...]], ...]
    limits: tuple[str, ...]
    names: tuple[str, ...]
    years: int
    cost: CostDots
    trade: TradeOff
    apart: Differences | None
    reasons: tuple[BarRow, ...]
    table: Table
    money: tuple[Table, ...]
    cautions: tuple[str, ...]
    sliders: dict[str, Any] | None
    served: Standing
    trips: tuple[TripChoice, ...]
    record: RunRecord
    sheet: OneSheet
    view: str
    enough: bool


@dataclass(frozen=True)
class SharedScreen:
    """The verdict of a partnership or of hire.

    Parameters
    ----------
    revision : int               Of the file that was flown.
    first : Table                The table that carries the answer.
    parts : tuple of triples     Title, paragraphs and tables of everything else.
    limits : tuple of str        What must be said in any case.
    pictures : str               Markup of the report's own pictures.
    """

    revision: int
    title: str
    question: str
    sentences: tuple[str, ...]
    years: int
    first: Table
    parts: tuple[tuple[str, tuple[str, ...], tuple[Table, ...]], ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    limits: tuple[str, ...]
    pictures: str


def shared_screen(page: SharedPage, revision: int) -> SharedScreen:
    """Return what the page shows of a study of shared use: its report's own sentences and tables."""
    return SharedScreen(revision, page.title, page.question, page.sentences, page.replications, page.first,
                        tuple((s.title, s.text, s.tables) for s in page.sections if s.tables), page.cautions,
                        page.notes, page.limits, page.pictures)


def screen_of(comparison: Comparison) -> Screen:
    """Return the first screen of a comparison."""
    told = answer(comparison)
    return Screen(comparison.study.name, told.question, told.form, told.first, told.parts, told.limits,
                  comparison.names, comparison.replications, cost_dots(comparison), trade_off(comparison),
                  differences(comparison), why_not(comparison), candidates(comparison),
                  (costs(comparison), *money_section(comparison).tables),
                  (*cautions_for(comparison.study.pilot.rating), *open_water(comparison.prepared)),
                  slider_years(comparison), standing(comparison),
                  _choices(comparison), record_of(comparison, told.sentences), one_sheet(comparison),
                  *_view(comparison))


def _view(comparison: Comparison) -> tuple[str, bool]:
    years, spec = comparison.replications, comparison.study.spec
    if spec.years > 1:
        return (f"{years} purchases, each kept {spec.years} years and sold, every year of them flown",
                years >= LEAST_BATCHES * CHUNK)
    if spec.years_kept is not None and spec.years_kept > 1:
        return f"{years} simulated years, each standing for all {spec.years_kept} years kept", True
    return f"{years} simulated years", True


def _choices(comparison: Comparison) -> tuple[TripChoice, ...]:
    if comparison.study.listed is None:
        return ()
    return tuple(TripChoice(k, f"{line.day}: {line.title} ({line.places})", tuple(c.made for c in line.cells))
                 for k, line in enumerate(trip_lines(comparison)))


def trip_view(comparison: Comparison, number: int) -> TripView | None:
    """Return one trip of the list; None where there is no such trip."""
    if comparison.study.listed is None or not 0 <= number < len(comparison.prepared.table):
        return None
    line = trip_lines(comparison)[number]
    when = f"{line.day}, {line.places}, {line.people} on board, {line.bags_lb:,.0f} lb of bags"
    return TripView(number, line.title, when, trip_squares(comparison, number),
                    days_of(comparison, number))
