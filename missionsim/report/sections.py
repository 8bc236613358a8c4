"""Further parts of the report, each only when the comparison has what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from missionsim.report import tables
from missionsim.report.contract import clean
from missionsim.report.page import Section
from missionsim.report.plate import COLOURS, INK, Plate, names_on_y, plate
from missionsim.report.tables import Table
from missionsim.report.wording import dollars
from missionsim.study.compare import Comparison
from missionsim.study.questions import CAUTION

SHOWN = 12
"""Questions shown in the figure; the table has all."""


def further_sections(comparison: Comparison) -> list[Section]:
    """Return questions to the seller, tipping points and years of ownership, where there are any."""
    found = [_questions(comparison), _tipping(comparison), _years(comparison)]
    return [section for section in found if section is not None]


def _questions(comparison: Comparison) -> Section | None:
    asked = getattr(comparison, "questions", None)
    if not asked:
        return None
    title, anchor = "What to ask the sellers", "questions"
    text: tuple[str, ...]
    head = ("Candidate", "What the advertisement leaves open", "Worth knowing, a year", "Why")
    rows = tuple((q.candidate, q.label, _worth(q), q.why) for q in asked)
    table = Table("Open figures, the answer worth most first", head, rows)
    need = comparison.study.assumptions["statistics.question_replications"]
    if comparison.replications < need:
        text = (f"The advertisements leave these figures open. What an answer is worth can be told from {need:g} "
                f"simulated years on; this run has {comparison.replications}.",)
        open_ = {n: [q.label for q in asked if q.candidate == n] for n in comparison.names}
        lines = tuple((n, "; ".join(labels)) for n, labels in open_.items() if labels)
        return Section(anchor, title, text, (), (Table("Open figures", head[:2], lines),))
    worth = [q for q in asked if (q.value_usd or 0.0) > 0.0]
    text = ("What it would save in the mean year to know a figure before choosing: nothing where no answer would "
            "change the choice.", CAUTION)
    if not worth:
        text += ("No single answer would change the choice beyond chance.",)
    return Section(anchor, title, text, (_worth_plate(worth[:SHOWN]),) if worth else (), (table,))


def _worth(question: Any) -> str:
    if question.value_usd is None:
        return "too few years"
    error = f" ± {dollars(question.standard_error_usd, 10.0)}" if question.standard_error_usd else ""
    return f"${dollars(question.value_usd, 10.0)}{error}" if question.value_usd > 0 else "nothing"


def _worth_plate(asked: Sequence[Any]) -> Plate:
    names = [f"{q.label} ({q.candidate})" for q in asked]
    values = np.array([q.value_usd for q in asked])
    errors = np.array([q.standard_error_usd or 0.0 for q in asked])
    words = "; ".join(f"{n}: {dollars(v, 10.0)} dollars" for n, v in zip(names, values, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        axes.barh(range(len(names)), values, xerr=errors, color=COLOURS[0], ecolor=INK, height=0.6, capsize=3)
        names_on_y(axes, names)
        axes.set_xlabel("dollars a year saved by knowing")

    return plate("questions", "Which question is worth most",
                 "The longer the bar, the more it is worth to ask before choosing; the fine line is the standard "
                 "error.",
                 words, 1.0 + 0.55 * len(names), draw)


def _tipping(comparison: Comparison) -> Section | None:
    found = getattr(comparison, "tipping_points", None)
    if not found:
        return None
    rows = [r for r in clean(found) if isinstance(r, dict)]
    text = ("Where the choice between two candidates changes hands when one condition moves and all else stays.",)
    return Section("tipping", "What would change the choice", text, (), (tables.generic("Tipping points", rows),))


def _years(comparison: Comparison) -> Section | None:
    made = []
    for result in comparison.results:
        by_year = getattr(result, "by_year", None)
        if by_year:
            rows = [r for r in clean(by_year) if isinstance(r, dict)]
            made.append(tables.generic(f"{result.name}, year by year", rows))
    present = [(r.name, m) for r in comparison.results if (m := getattr(r, "net_present_cost_usd", None))]
    if present:
        costs = tuple((name, f"${dollars(m['mean'])}", tables.span(m.get("p10"), m.get("p90")),
                      tables.span(m.get("low"), m.get("high"))) for name, m in present)
        made.insert(0, Table("Net present cost of buying, flying and selling",
                             ("Candidate", "Mean", "Eight owners of ten", "Mean lies in (95 %)"), costs))
    if not made:
        return None
    text = "Cash, taxes and overhauls when they fall, less resale; not to be added to the cost of one year."
    return Section("ownership", "Years of ownership", (text,), (), tuple(made))


