"""What a terminal shows beyond the answer: ownership, questions to the sellers, and what was asked for on top."""

from __future__ import annotations

from dataclasses import replace

from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from missionsim.report import owned_tables
from missionsim.report.grid import grid_table
from missionsim.report.tables import Table
from missionsim.report.wording import start
from missionsim.study.compare.compare import Comparison

COLUMNS = {"ownership": (0, 1, 2, 5, 7, 8), "offers": (0, 1, 2, 4, 5, 7), "tipping": (0, 1, 2, 3, 4),
           "rent": (0, 1, 2, 3, 4, 5), "upgrades": (0, 1, 3, 5, 7)}
"""Columns of the report's tables that fit on a screen."""


def print_more(console: Console, comparison: Comparison) -> None:
    """Print the further parts a comparison has, the fewest words each."""
    for key, table in (("ownership", owned_tables.ownership(comparison)), ("offers", owned_tables.offers(comparison))):
        if table is not None:
            console.print(_rich(table, COLUMNS[key]))
    if comparison.rent_or_own:
        further = (("tipping", owned_tables.tipping(comparison)), ("rent", owned_tables.rent_or_own(comparison)))
        for key, table in further:
            if table is not None:
                console.print(_rich(table, COLUMNS[key]))
    for table in owned_tables.upgrades(comparison):
        _print_upgrades(console, table)
    if (found := grid_table(comparison)) is not None:
        console.print(_rich(found, tuple(range(len(found.head)))))


def _print_upgrades(console: Console, table: Table) -> None:
    """Print what pays as a table; that the rest does not stands below, where its words have room."""
    rows = tuple(row for row in table.rows if row[0] != owned_tables.REST)
    if rows:
        console.print(_rich(replace(table, rows=rows), COLUMNS["upgrades"]))
    else:
        console.print(Text(table.caption, style="bold"))
    if len(rows) < len(table.rows):
        console.print(Text(start(f"{owned_tables.REST if rows else owned_tables.NOTHING}.")))


def _rich(table: Table, columns: tuple[int, ...]) -> RichTable:
    made = RichTable(title=table.caption, title_justify="left", title_style="bold", box=None, padding=(0, 2, 0, 0),
                     header_style="underline", collapse_padding=True)
    for k in columns:
        made.add_column(table.head[k], justify="left" if k == 0 else "right", overflow="fold",
                        min_width=14 if k == 0 else None)
    for row in table.rows:
        made.add_row(*(Text(row[k]) for k in columns))
    return made
