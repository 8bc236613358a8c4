"""Tables on the terminal, for the commands that show some."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from missionsim.report.text_table import Sheet

PIPE_WIDTH = 140
"""Columns where the output is no terminal, so that tables in files and pagers stay whole."""
WIDEST = 1_000
"""Wider than any table, to ask how wide one would be."""


def print_sheets(headlines: Sequence[str], sheets: Sequence[Sheet], below: Sequence[str] = ()) -> None:
    """Print lines, then tables, then lines."""
    from rich.console import Console
    console = Console(width=None if sys.stdout.isatty() else PIPE_WIDTH, highlight=False, markup=False, emoji=False)
    for line in headlines:
        console.print(line)
    for sheet in sheets:
        if not sheet.headings:  # lines to be pasted: no frame, no wrapping
            print("\n".join(("", f"{sheet.title}:", *(f"    {line}" for line in sheet.below), "")))
            continue
        for table in tables_that_fit(sheet, console):
            console.print(table)
        for line in sheet.below:
            console.print(line)
    for line in below:
        console.print(line)


def tables_that_fit(sheet: Sheet, console: Console) -> Iterator[Table]:
    """Yield a sheet as one table, or on a narrow screen as several of some columns each: no figure is cut or broken.

    Parameters
    ----------
    sheet : Sheet
    console : Console   As wide as a table may be. The first column stands in every table.
    """
    columns = range(len(sheet.headings))
    table = _table(sheet, columns, narrow=False)
    if _width(table, console)[1] <= console.width:
        yield table
        return
    yield from _narrow(sheet, columns, console)


def _narrow(sheet: Sheet, columns: Sequence[int], console: Console) -> Iterator[Table]:
    table = _table(sheet, columns, narrow=True)
    if _width(table, console)[0] <= console.width or len(columns) < 3:
        yield table
        return
    first, *others = columns
    half = (len(others) + 1) // 2
    for part in (others[:half], others[half:]):
        yield from _narrow(sheet, [first, *part], console)


def _width(table: Table, console: Console) -> tuple[int, int]:
    """Return how narrow and how wide a table would be on a screen that sets no limit. [characters]"""
    found = console.measure(table, options=console.options.update(max_width=WIDEST))
    return found.minimum, found.maximum


def _table(sheet: Sheet, columns: Sequence[int], *, narrow: bool) -> Table:
    """Return a table of some columns; a narrow one has the headings of figures word under word, figures whole."""
    from rich import box
    from rich.table import Table
    table = Table(title=sheet.title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False,
                  padding=(0, 1, 0, 0) if narrow else (0, 1))
    for i in columns:
        heading, figures = sheet.headings[i], i in sheet.numbers
        whole = narrow and (figures or i == 0)
        table.add_column("\n".join(heading.split()) if whole else heading, justify="right" if figures else "left",
                         no_wrap=narrow and figures, overflow="fold")
    for row in sheet.rows:
        table.add_row(*(row[i] for i in columns))
    return table
