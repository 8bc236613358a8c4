"""The answer of a study of shared use, as a page and on a terminal, from the same sentences and tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import pandas as pd
import rich.table
from rich.console import Console
from rich.text import Text

from missionsim.base.owned_files import with_run
from missionsim.report.contract import clean
from missionsim.report.folder import address_of, write_folder
from missionsim.report.frame import source, whole_page
from missionsim.report.html import Section
from missionsim.report.records import csv_text
from missionsim.report.run_file import provenance
from missionsim.report.tables import Table, glossary
from missionsim.report.terminal import print_all
from missionsim.report.wording import dollars, number, percent, plain, with_visual
from missionsim.study.inputs.load_study import Study
from missionsim.study.shared_use.result import SharedResult

MeasureEntry = Mapping[str, Any]
VERSION = 2
"""Of the objects that `partners` and `rates` print."""


@dataclass(frozen=True, slots=True)
class SharedKind:
    """One kind of study of shared use: from the study to what is flown, to its result, to what is told of it.

    Parameters
    ----------
    command : str       Goes into the folder's name, so that a study compared and one shared keep their results apart.
    demo : str          The packaged study.
    prepare : callable  The study to what is ready to fly.
    fly : callable      That, replications, workers and a callable that hears of replications done and wanted.
    page, csv, object_of : callable
                        The result as a page, as CSV texts by file name, and as plain objects with a folder's name.
    """

    command: str
    demo: str
    prepare: Callable[[Study], Any]
    fly: Callable[[Any, int, int, Callable[[int, int], None]], Any]
    page: Callable[[Any], SharedPage]
    csv: Callable[[Any], Mapping[str, str]]
    object_of: Callable[[Any, str | None], dict[str, Any]]


@dataclass(frozen=True, slots=True)
class SharedPage:
    """What such a study has to say.

    Parameters
    ----------
    sentences : tuple of str      The answer.
    first : Table                 The table that carries it.
    pictures : str                Markup of the pictures of the first screen.
    sections : tuple of Section   Everything else.
    beside : str                  Files beside the page, for the reader.
    terminal : tuple of Table     What a terminal shows.
    ways_told : tuple of str      Where ground or weather were not known; flights over open water.
    limits : tuple of str         What must be said in any case, before money is believed.
    """

    study: Study
    replications: int
    title: str
    question: str
    sentences: tuple[str, ...]
    first: Table
    pictures: str
    sections: tuple[Section, ...]
    not_modelled: tuple[str, ...]
    cautions: tuple[str, ...]
    beside: str
    terminal: tuple[Table, ...] = ()
    ways_told: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What the reader must know of the input: what it does not cover, and how it was read."""
        return (*self.ways_told, *self.study.notes)


def page_html(page: SharedPage) -> str:
    """Return the page as one self-contained file."""
    return whole_page("shared.html.j2", page.title, source("parts/values.js") + source("report.js"),
                      {"page": page, "about": provenance(page.study), "glossary": glossary()})


def write_page(page: SharedPage, out: Path, csv: Mapping[str, str], command: str) -> None:
    """Write page, tables and run.json of a command, all or none of them.

    Parameters
    ----------
    page : SharedPage   Texts and figures.
    out : Path          Folder.
    csv : mapping       Text of each table by its file name.
    command : str       That made it.
    """
    run = {**provenance(page.study), "command": command, "replications": page.replications,
           "cautions": list(page.cautions)}
    write_folder(out, with_run(clean(run), {"report.html": page_html(page), **csv}))


def print_page(console: Console, page: SharedPage, out: str | None) -> None:
    """Print question, answer, the main tables, notes on the input and the cautions."""
    console.print(Text(page.question, style="bold"))
    print_all(console, (*page.sentences, *page.limits))
    for table in page.terminal:
        console.print()
        console.print(_rich(table))
    console.print()
    for note in (*page.ways_told, *page.study.notes[:3]):
        console.print(Text(f"Note: {note}"))
    for caution in page.cautions:
        console.print(Text(caution, style="italic"))
    if out is not None:
        console.print(Text(f"Report and tables: {out}"), soft_wrap=True)
        console.print(Text(address_of(out), style=f"link {address_of(out)}"), soft_wrap=True)


def _rich(table: Table) -> rich.table.Table:
    made = rich.table.Table(title=table.caption, title_justify="left", title_style="bold", box=None, show_edge=False,
                            padding=(0, 2, 0, 0), header_style="underline")
    for i, head in enumerate(table.head):
        made.add_column(head, justify="left" if i == 0 else "right", overflow="fold")
    for row in table.rows:
        made.add_row(*(Text(cell) for cell in row))
    return made


def around(measured: MeasureEntry, shown: Any) -> str:
    """Return a mean with its interval: `4,300 (4,100 to 4,500)`, `12 (10 to 14) %`."""
    if measured["mean"] is None:
        return "–"
    if measured.get("low") is None or measured.get("high") is None:
        return str(shown(measured["mean"]))
    mean, low, high = (str(shown(measured[name])) for name in ("mean", "low", "high"))
    if low == high:
        return mean
    if shown is percent:
        digits = 0 if all(text[0].isdigit() for text in (mean, low, high)) else 1
        mean, low, high = (f"{100.0 * measured[name]:.{digits}f}" for name in ("mean", "low", "high"))
        return f"{mean} ({low} to {high}) %"
    return f"{mean} ({low} to {high})"


def usd_around(measured: MeasureEntry) -> str:
    """Return dollars with their interval."""
    return around(measured, dollars)


def turned(measured: MeasureEntry) -> dict[str, Any]:
    """Return a measure with its sign turned: so much cheaper for so much dearer."""
    flipped = {"mean": measured["mean"], "low": measured.get("high"), "high": measured.get("low")}
    return {name: None if value is None else -value for name, value in flipped.items()}


def usd_mean(measured: MeasureEntry) -> str:
    """Return mean dollars, to tens."""
    return dollars(measured["mean"], 10.0)


def common_reasons(counts: Sequence[Mapping[str, float]]) -> list[str]:
    """Return the reasons that show in a table with one decimal, most frequent first, equals by name."""
    shown = {reason for own in counts for reason, n in own.items() if n >= 0.05}
    return sorted(shown, key=lambda reason: (-sum(own.get(reason, 0.0) for own in counts), reason))


def shared_cautions(use: Sequence[str], computed: str, *ratings: str) -> tuple[str, ...]:
    """Return the cautions of a kind of shared use between those of every page, and that of visual flight."""
    return with_visual(("Planning estimates only. The flight manual, a current weather briefing, the regulations and "
                        "the pilot in command decide.", *use,
                        f"The program computes cost; it does not say that an {computed} is permitted."), *ratings)


def shared_object(result: SharedResult[Any, Any], cautions: Sequence[str], out: str | None, **more: Any,
                  ) -> dict[str, Any]:
    """Return a finished study as plain objects: the contract of its command. `more` stands behind the seed."""
    study = result.study
    found: dict[str, Any] = clean({
        "version": VERSION, "study": study.name, "year": study.year, "seed": study.seed, **more,
        "replications": result.replications, "candidates": [_printed(c) for c in result.candidates],
        "cautions": list(cautions), "out": out})
    return found


def _printed(candidate: Any) -> dict[str, Any]:
    """Return the fields of a candidate that are printed; its measures stand among them by their own names."""
    shown = {f.name: _cut(getattr(candidate, f.name)) for f in fields(candidate) if f.metadata.get("printed", True)}
    found: dict[str, Any] = {}
    for name, value in shown.items():
        found |= value if name == "measures" else {name: value}
    return found


def _cut(value: Any) -> Any:
    """Return measures cut to `mean, low, high`, whatever they are nested in."""
    if isinstance(value, Mapping):
        single = "mean" in value and "low" in value
        return {str(k): _cut(v) for k, v in value.items() if not (single and str(k)[:3] in {"p10", "p50", "p90"})}
    return [_cut(v) for v in value] if isinstance(value, list | tuple) else value


def tables_csv(**tables: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """Return tables as CSV texts by file name."""
    return {f"{name}.csv": csv_text(pd.DataFrame(flat_rows(rows))) for name, rows in tables.items()}


def by_candidate(caption: str, head: str, result: SharedResult[Any, Any],
                 *rows: tuple[str, Callable[[Any], str]]) -> Table:
    """Return a table with a column a candidate: each row a label and what is shown of one."""
    return Table(caption, (head, *(c.name for c in result.candidates)),
                 tuple((label, *(shown(c) for c in result.candidates)) for label, shown in rows))


def reasons_table(caption: str, counts: Mapping[str, Mapping[str, float]]) -> Table:
    """Return trips by reason, a column for each of those counted."""
    rows = tuple((plain(reason), *(number(own.get(reason, 0.0)) for own in counts.values()))
                 for reason in common_reasons(list(counts.values())))
    return Table(caption, ("Reason", *counts), rows)


def flat_rows(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return rows with measures spread over columns, for a CSV file."""
    out = []
    for row in rows:
        flat: dict[str, Any] = {}
        for name, value in row.items():
            if isinstance(value, Mapping):
                flat |= {f"{name}.{key}": inner for key, inner in value.items() if not isinstance(inner, Mapping)}
            else:
                flat[name] = value
        out.append(flat)
    return out
