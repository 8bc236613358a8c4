"""Further parts of the report, each only when the comparison has what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from missionsim.report import draw_change, owned_tables
from missionsim.report.decide_early import decide_early
from missionsim.report.html import Section
from missionsim.report.shop import shop_section
from missionsim.report.svg_figure import COLOURS, INK, SvgFigure, names_on_y, svg_figure
from missionsim.report.tables import Table
from missionsim.report.wording import dollars
from missionsim.statistics.information_value import CAUTION
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.recost import Recosted
from missionsim.study.compare.sensitivity import tied_down

SHOWN = 12
"""Questions shown in the figure; the table has all."""


def further_sections(comparison: Comparison) -> list[Section]:
    """Return the sections on shop, deciding, ownership, questions to the seller, tipping points, upgrades, if any."""
    found = [shop_section(comparison), decide_early(comparison), _years(comparison), _questions(comparison),
             _hangs_on(comparison)]
    return [*(section for section in found if section is not None), *_more(comparison)]


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
    return Section(anchor, title, text, (_worth_figure(worth[:SHOWN]),) if worth else (), (table,))


def _worth(question: Any) -> str:
    if question.value_usd is None:
        return "too few years"
    error = f" ± {dollars(question.standard_error_usd, 10.0)}" if question.standard_error_usd else ""
    return f"${dollars(question.value_usd, 10.0)}{error}" if question.value_usd > 0 else "nothing"


def _worth_figure(asked: Sequence[Any]) -> SvgFigure:
    names = [f"{q.label} ({q.candidate})" for q in asked]
    values = np.array([q.value_usd for q in asked])
    errors = np.array([q.standard_error_usd or 0.0 for q in asked])
    words = "; ".join(f"{n}: {dollars(v, 10.0)} dollars" for n, v in zip(names, values, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        axes.barh(range(len(names)), values, xerr=errors, color=COLOURS[0], ecolor=INK, height=0.6, capsize=3)
        names_on_y(axes, names, 26)
        axes.set_xlabel("dollars a year saved by knowing")

    return svg_figure("questions", "Which question is worth most",
                 "The longer the bar, the more it is worth to ask before choosing; the fine line is the standard "
                 "error.",
                 words, 1.0 + 0.55 * len(names), draw)


def _hangs_on(comparison: Comparison) -> Section | None:
    makers = (owned_tables.tipping, owned_tables.bars, owned_tables.offers)
    made = [table for make in makers if (table := make(comparison)) is not None]
    if not made:
        return None
    text = ("Where the cheapest candidate changes when one condition moves and all else stays, and how far each input "
            "moves the lead. The same flown years are costed again; routes and loads stay as flown.",)
    drawn = draw_change.bars(comparison)
    return Section("tipping", "What would change the choice", text, () if drawn is None else (drawn,), tuple(made))


def _years(comparison: Comparison) -> Section | None:
    makers = (owned_tables.ownership, owned_tables.ownership_units, owned_tables.cash_by_year)
    made = [table for make in makers if (table := make(comparison)) is not None]
    if not made:
        return None
    text = ("Cash, taxes and overhauls when they fall, less resale; not to be added to the cost of one year, which "
            "sets engine and propeller aside instead. The first year starts with instruction and, where there are any, "
            "upgrades in the shop. Each later year has its own weather and luck; the trips are the same. Reaching the "
            "published hours is not a promise.",)
    drawn = draw_change.engines(comparison)
    return Section("ownership", "Years of ownership", text, () if drawn is None else (drawn,), tuple(made))


def _more(comparison: Comparison) -> list[Section]:
    found = []
    made = owned_tables.upgrades(comparison)
    if made:
        months = owned_tables.months(comparison)
        text = ("Each upgrade flown through the same simulated years as the aircraft without it. What several add "
                "together is less than their sum. Prices and times in the shop are likely values; half as long again "
                "is not rare.",)
        made += [] if months is None else [months]
        found.append(Section("upgrades", "What upgrades would bring", text, (), tuple(made)))
    rent = owned_tables.rent_or_own(comparison)
    if rent is not None:
        recosted = Recosted(comparison.prepared, [r.tally for r in comparison.results])
        text = ("Renting: fuel, upkeep, insurance and hangar are in the rate, with a least number of hours for each "
                "day away. That a rented aircraft is there when it is wanted is supposed.",)
        found.append(Section("rent", "Rent or own, hangar or tie-down", text, (),
                             (rent, owned_tables.hangar(tied_down(recosted)))))
    return found
