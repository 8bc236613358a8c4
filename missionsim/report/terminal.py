"""The answer on one screen of a terminal."""

from __future__ import annotations

from collections.abc import Mapping

from rich.console import Console
from rich.table import Table
from rich.text import Text

from missionsim.report.answer import answer, cheapest_clearly, cheapest_first
from missionsim.report.terminal_more import print_more
from missionsim.report.wording import CAUTIONS, dollars, number, percent, plain
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.prepare.coverage import not_covered

WIDE = 110
"""From this width on more columns are shown. [characters]"""


def print_comparison(console: Console, comparison: Comparison, out: str | None) -> None:
    """Print question, answer, candidates, why trips failed and the caution."""
    said = answer(comparison)
    console.print(Text(said.question, style="bold"))
    for sentence in (*said.sentences, *said.limits):
        console.print(Text(sentence))
    console.print(_candidates(comparison, console.width))
    console.print(_failures(comparison, console.width))
    print_more(console, comparison)
    for note in (*not_covered(comparison.prepared), *comparison.study.notes[:3]):
        console.print(Text(f"Note: {note}"))
    console.print(Text(CAUTIONS[0], style="italic"))
    if out is not None:
        console.print(Text(f"Report and tables: {out}"), soft_wrap=True)


def _table(title: str) -> Table:
    return Table(title=title, title_justify="left", title_style="bold", box=None, show_edge=False, padding=(0, 1, 0, 0),
                 header_style="underline", collapse_padding=True)


def _candidates(comparison: Comparison, width: int) -> Table:
    wide = width >= WIDE
    table = _table("A year, in dollars and hours (good, bad: a tenth of years beyond)")
    table.add_column("Candidate", ratio=1, min_width=14)
    heads = ["Net cost", "good year", "bad year", *(["mean from", "to"] if wide else []), "trips", "made",
             "flight h", *(["door h", "stops"] if wide else []), "$/h", *(["cheapest"] if wide else [])]
    for head in heads:
        table.add_column(head, justify="right", no_wrap=True)
    for i in cheapest_first(comparison):
        row = _row(comparison, comparison.results[i], wide)
        bold = "bold" if i == comparison.lead and cheapest_clearly(comparison) else ""
        table.add_row(Text(comparison.names[i]), *row, style=bold)
    return table


def _row(comparison: Comparison, result: Result, wide: bool) -> list[str]:
    m = result.measures
    net = m["net_cost_usd"]
    row = [dollars(net["mean"]), dollars(net["p10"]), dollars(net["p90"])]
    if wide:
        row += [dollars(net["low"]), dollars(net["high"])]
    row += [number(m["trips_wanted"]["mean"], 0), percent(m["completed_share"]["mean"]),
            number(m["flight_hours"]["mean"], 0)]
    if wide:
        row += [number(m["door_to_door_hours"]["mean"], 0), number(m["fuel_stops"]["mean"], 0)]
    row.append(dollars(m["cost_per_hour_usd"]["mean"], 1.0))
    if wide:
        row.append(percent(comparison.probability_best["net_cost_usd"][result.name]))
    return row


def _failures(comparison: Comparison, width: int) -> Table:
    table = _table("Why trips were not made: mean number a year")
    table.add_column("Candidate", ratio=3, min_width=14)
    table.add_column("in any weather", ratio=4)
    table.add_column("on the day", ratio=6)
    most = 6 if width >= WIDE else 4
    for result in comparison.results:
        table.add_row(Text(result.name), _reasons(result.refused["structural"], most),
                      _reasons(result.refused["on_the_day"], most))
    return table


def _reasons(counts: Mapping[str, float], most: int) -> str:
    known = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    shown = [f"{plain(reason)} {number(mean)}" for reason, mean in known[:most]]
    rest = sum(mean for _, mean in known[most:])
    return ", ".join(shown) + (f", others {number(rest)}" if rest >= 0.05 else "") if shown else "none"


