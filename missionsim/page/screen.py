"""What the verdict shows of a finished comparison: plain data that travels from the flying process to the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from missionsim.report.answer import answer
from missionsim.report.first_screen import BarRow, CostDots, TradeOff, cost_dots, trade_off, why_not
from missionsim.report.slider_years import slider_years
from missionsim.report.tables import Table, candidates
from missionsim.report.wording import cautions_for
from missionsim.study.compare.compare import Comparison


@dataclass(frozen=True)
class Screen:
    """The first screen of a comparison."""

    title: str
    question: str
    sentences: tuple[str, ...]
    limits: tuple[str, ...]
    names: tuple[str, ...]
    years: int
    cost: CostDots
    trade: TradeOff
    reasons: tuple[BarRow, ...]
    table: Table
    cautions: tuple[str, ...]
    sliders: dict[str, Any] | None


def screen_of(comparison: Comparison) -> Screen:
    """Return the first screen of a comparison."""
    told = answer(comparison)
    return Screen(comparison.study.name, told.question, told.sentences, told.limits, comparison.names,
                  comparison.replications, cost_dots(comparison), trade_off(comparison), why_not(comparison),
                  candidates(comparison), cautions_for(comparison.study.pilot.rating), slider_years(comparison))
