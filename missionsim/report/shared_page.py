"""The answer of a study of shared use, as a page and on a terminal, from the same sentences and tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import rich.table
from rich.console import Console
from rich.text import Text

from missionsim.base.owned_files import with_run
from missionsim.report.contract import clean
from missionsim.report.folder import address_of, write_folder
from missionsim.report.html import Section, environment, sealed
from missionsim.report.run_file import provenance
from missionsim.report.tables import Table, glossary
from missionsim.report.wording import percent
from missionsim.study.inputs.load_study import Study

Measured = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SharedPage:
    """What such a study has to say.

    Parameters
    ----------
    sentences : tuple of str      The answer.
    first : Table                 The table that carries it.
    sections : tuple of Section   Everything else.
    beside : str                  Files beside the page, for the reader.
    terminal : tuple of Table     What a terminal shows.
    not_covered : tuple of str    Where ground or weather were not known.
    """

    study: Study
    replications: int
    title: str
    question: str
    sentences: tuple[str, ...]
    first: Table
    sections: tuple[Section, ...]
    not_modelled: tuple[str, ...]
    cautions: tuple[str, ...]
    beside: str
    terminal: tuple[Table, ...] = ()
    not_covered: tuple[str, ...] = ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What the reader must know of the input: what it does not cover, and how it was read."""
        return (*self.not_covered, *self.study.notes)


def page_html(page: SharedPage) -> str:
    """Return the page as one self-contained file."""
    return environment().get_template("shared.html.j2").render(**sealed(), page=page, about=provenance(page.study),
                                                               glossary=glossary())


def write_page(page: SharedPage, out: Path, csv: Mapping[str, str], command: str) -> None:
    """Write page, tables and run.json of a command, all or none of them."""
    run = {**provenance(page.study), "command": command, "replications": page.replications,
           "cautions": list(page.cautions)}
    write_folder(out, with_run(clean(run), {"report.html": page_html(page), **csv}))


def print_page(console: Console, page: SharedPage, out: str | None) -> None:
    """Print question, answer, the main tables, notes on the input and the cautions."""
    console.print(Text(page.question, style="bold"))
    for sentence in page.sentences:
        console.print(Text(sentence))
    for table in page.terminal:
        console.print(_rich(table))
    for note in (*page.not_covered, *page.study.notes[:3]):
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


def around(measured: Measured, shown: Any) -> str:
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


def common_reasons(counts: Sequence[Mapping[str, float]]) -> list[str]:
    """Return the reasons that show in a table with one decimal, most frequent first, equals by name."""
    shown = {reason for own in counts for reason, n in own.items() if n >= 0.05}
    return sorted(shown, key=lambda reason: (-sum(own.get(reason, 0.0) for own in counts), reason))


def three(measured: Measured | None) -> dict[str, float | None]:
    """Return a measure as `mean, low, high`, as the contract has it."""
    if measured is None:
        return {"mean": None, "low": None, "high": None}
    return {name: measured.get(name) for name in ("mean", "low", "high")}


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
