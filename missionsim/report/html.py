"""The report as one self-contained page: opens from disk, prints, needs no network and no script to be read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from missionsim.report import draw_ground, draw_money, draw_outcomes, tables
from missionsim.report.answer import answer, cheapest_clearly
from missionsim.report.explained_trips import usual_days
from missionsim.report.first_screen import DOTS, cost_dots, differences, money_rows, outcome_rows, trade_off, why_not
from missionsim.report.frame import source, whole_page
from missionsim.report.hours_screen import hours_trade_off
from missionsim.report.influential_assumptions import influential_assumptions
from missionsim.report.not_modelled import NOT_MODELLED
from missionsim.report.origins import origins_of_candidates
from missionsim.report.place_map import place_map
from missionsim.report.run_file import provenance
from missionsim.report.slider_years import slider_years
from missionsim.report.stopping_text import stopping_text
from missionsim.report.svg_figure import SvgFigure
from missionsim.report.tables import Table
from missionsim.report.trip_squares import squares_of
from missionsim.report.weather_pictures import weather_pictures
from missionsim.report.wording import cautions_for, the
from missionsim.study.compare.compare import Comparison
from missionsim.study.prepare.coverage import not_covered
from missionsim.study.prepare.open_water import open_water

SCRIPTS = ("parts/sliders.js", "parts/values.js", "parts/grid.js", "report.js")


@dataclass(frozen=True, slots=True)
class Section:
    """One further part of the report: figures and tables of results that not every study has.

    Parameters
    ----------
    anchor, title : str
    text : tuple of str       Paragraphs.
    figures : tuple of SvgFigure
    tables : tuple of Table
    drawn : str               Markup of a part of the page with a template of its own, between text and tables.
    """

    anchor: str
    title: str
    text: tuple[str, ...] = ()
    figures: tuple[SvgFigure, ...] = ()
    tables: tuple[Table, ...] = ()
    drawn: str = ""


def page_figures(comparison: Comparison) -> dict[str, SvgFigure]:
    """Return the dense figures that the page shows, by name; what else it shows is drawn by its own templates."""
    found = [draw_ground.payload_range(comparison), draw_outcomes.months(comparison)]
    day_by_day = draw_outcomes.calendar(comparison)
    return {p.name: p for p in (*found, *([day_by_day] if day_by_day else []))}


def figures(comparison: Comparison, page: Mapping[str, SvgFigure] | None = None) -> dict[str, SvgFigure]:
    """Return every figure of a comparison by name, those for slides and papers first; `page`: those of the page."""
    found = [draw_outcomes.outcomes(comparison), draw_outcomes.reasons(comparison), draw_money.cost(comparison),
             draw_money.spread(comparison), *draw_ground.maps(comparison)]
    return {p.name: p for p in found} | dict(page or page_figures(comparison))


def report_html(comparison: Comparison, drawn: Mapping[str, SvgFigure] | None = None,
                sections: Sequence[Section] = ()) -> str:
    """Return the text of report.html.

    Parameters
    ----------
    drawn : mapping     Figures already drawn, else they are drawn here.
    sections : sequence  Further parts: questions to the seller, years of ownership, tipping points.
    """
    return whole_page("report.html.j2", f"{comparison.study.name}: a year in each aircraft",
                      "".join(map(source, SCRIPTS)),
                      _context(comparison, drawn or page_figures(comparison), sections))


def _context(comparison: Comparison, drawn: Mapping[str, SvgFigure], sections: Sequence[Section]) -> dict[str, Any]:
    study = comparison.study
    days = usual_days(comparison)
    lines = tables.trip_lines(comparison) if days else []
    return {
        "title": study.name, "answer": answer(comparison), "clear": cheapest_clearly(comparison),
        "names": list(comparison.names), "home": f"{study.home.ident}, {study.home.name}", "year": study.year,
        "figures": drawn, "map": place_map(comparison),
        "candidates": tables.candidates(comparison), "pairs": tables.pairs(comparison),
        "refusals": tables.refusals(comparison), "costs": tables.costs(comparison), "sections": list(sections),
        "lines": lines, "days": days, "lead": the(comparison.names[comparison.lead]),
        "squares": squares_of(comparison, range(len(lines))),
        "mattered": influential_assumptions(comparison),
        "origins": origins_of_candidates(comparison),
        "not_modelled": NOT_MODELLED, "weather": weather_pictures(),
        "glossary": tables.glossary(), "cautions": cautions_for(comparison.study.pilot.rating),
        **_first_screen(comparison), **_rest(comparison),
        "sliders": slider_years(comparison), "served": None,
    }


def _first_screen(comparison: Comparison) -> dict[str, Any]:
    return {"cost": cost_dots(comparison), "trade": trade_off(comparison),
            "hours_trade": hours_trade_off(comparison), "apart": differences(comparison),
            "reasons": why_not(comparison), "outcome_rows": outcome_rows(comparison),
            "money_rows": money_rows(comparison), "dots": DOTS}


def _rest(comparison: Comparison) -> dict[str, Any]:
    study, about = comparison.study, provenance(comparison.study)
    return {
        "about": about, "replications": comparison.replications, "listed": study.listed is not None,
        "stopping": "" if comparison.stopping is None else stopping_text(comparison.stopping),
        "notes": _notes(comparison), "assumptions": len(about["assumptions"]),
        "upgrades": [(c.name, ", ".join(u.replace("_", " ") for u in c.upgrades)) for c in study.candidates
                     if c.upgrades],
        "files": [(Path(f["file"]).name, f["sha256"][:12]) for f in about["files"]],
    }


def _notes(comparison: Comparison) -> list[str]:
    study = comparison.study
    notes = [*not_covered(comparison.prepared), *open_water(comparison.prepared), *study.notes]
    if study.listed is not None:
        notes += [f"Line {u.line}, {u.when}: {u.from_place} to {u.to_place}: {u.why}" for u in study.listed.unstitched]
    return notes
