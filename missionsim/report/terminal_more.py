"""What a terminal shows beyond the answer: ownership, questions to the sellers, and what was asked for on top."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from missionsim.report import owned_tables
from missionsim.report.tables import Table
from missionsim.report.wording import dollars
from missionsim.study.ask import worth_asking
from missionsim.study.compare import Comparison

FEW = 3
"""Questions told on the screen; the report has all."""
COLUMNS = {"ownership": (0, 1, 2, 5, 7, 8), "offers": (0, 1, 2, 3, 5), "tipping": (0, 1, 2, 3, 4),
           "rent": (0, 1, 2, 3, 4, 5), "upgrades": (0, 1, 3, 5, 7)}
"""Columns of the report's tables that fit on a screen."""


def print_more(console: Console, comparison: Comparison) -> None:
    """Print the further parts a comparison has, the fewest words each."""
    for sentence in over_years(comparison):
        console.print(Text(sentence))
    for key, table in (("ownership", owned_tables.ownership(comparison)), ("offers", owned_tables.offers(comparison))):
        if table is not None:
            console.print(_rich(table, COLUMNS[key]))
    for line in question_lines(comparison):
        console.print(Text(line))
    if comparison.rent_or_own:
        further = (("tipping", owned_tables.tipping(comparison)), ("rent", owned_tables.rent_or_own(comparison)))
        for key, table in further:
            if table is not None:
                console.print(_rich(table, COLUMNS[key]))
    for table in owned_tables.upgrades(comparison):
        console.print(_rich(table, COLUMNS["upgrades"]))
    for verdict in verdicts(comparison):
        console.print(Text(verdict))


def over_years(comparison: Comparison) -> list[str]:
    """Return which candidate costs least over the years, claimed only where it is more than chance over all rivals."""
    found = comparison.ownership
    if found is None or len(found.owned) < 2:
        return []
    lead = found.owned[found.lead]
    others = [i for i in range(len(found.owned)) if i != found.lead]
    usual = lead.cost_per_year_usd
    text = f"Over {found.years} years {lead.name} costs {dollars(usual['mean'])} dollars a year, sale included"
    if all(found.clear[i] for i in others):
        return [f"{text}: the least of all, and more than chance."]
    near = [found.owned[i].name for i in others if not found.clear[i]]
    return [f"{text}, the lowest mean; against {' and '.join(near)} that may be chance."]


def question_lines(comparison: Comparison) -> list[str]:
    """Return what to ask the sellers, in sentences; nothing where no answer would change the choice."""
    asked = comparison.questions or ()
    if comparison.replications < comparison.study.assumptions["statistics.question_replications"]:
        return []
    found = worth_asking(asked)
    if not found:
        return ["Of what the advertisements leave open, no single answer would change the choice beyond chance."] \
            if asked else []
    lines = [f"Ask the seller of {q.candidate}: {q.why} (worth {dollars(q.value_usd, 10.0)} dollars a year, "
             f"± {dollars(q.standard_error_usd, 10.0)})." for q in found[:FEW]]
    more = len(found) - FEW
    return [*lines, *([f"{more} more in the report."] if more > 0 else [])]


def verdicts(comparison: Comparison) -> list[str]:
    """Return who would not be insured."""
    found = comparison.ownership
    owned = () if found is None else found.owned
    return [f"{o.name}: not insurable with this pilot ({'; '.join(o.insurance['why'])})." for o in owned
            if not o.insurance["insurable"]]


def _rich(table: Table, columns: tuple[int, ...]) -> RichTable:
    made = RichTable(title=table.caption, title_justify="left", title_style="bold", box=None, padding=(0, 2, 0, 0),
                     header_style="underline", collapse_padding=True)
    for k in columns:
        made.add_column(table.head[k], justify="left" if k == 0 else "right")
    for row in table.rows:
        made.add_row(*(Text(row[k]) for k in columns))
    return made
