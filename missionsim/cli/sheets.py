"""Tables on the terminal, for the commands that show some."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from missionsim.report.text_table import Sheet

PIPE_WIDTH = 140
"""Columns where the output is no terminal, so that tables in files and pagers stay whole."""


def print_sheets(headlines: Sequence[str], sheets: Sequence[Sheet], below: Sequence[str] = ()) -> None:
    """Print lines, then tables, then lines."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    console = Console(width=None if sys.stdout.isatty() else PIPE_WIDTH, highlight=False, markup=False, emoji=False)
    for line in headlines:
        console.print(line)
    for sheet in sheets:
        if not sheet.headings:  # lines to be pasted: no frame, no wrapping
            print("\n".join(("", f"{sheet.title}:", *(f"    {line}" for line in sheet.below), "")))
            continue
        table = Table(title=sheet.title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
        for i, heading in enumerate(sheet.headings):
            table.add_column(heading, justify="right" if i in sheet.numbers else "left", overflow="fold")
        for row in sheet.rows:
            table.add_row(*row)
        console.print(table)
        for line in sheet.below:
            console.print(line)
    for line in below:
        console.print(line)
