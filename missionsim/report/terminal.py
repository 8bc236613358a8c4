"""The answer on one screen of a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from missionsim.report.answer import answer
from missionsim.report.answer_alternatives import alternative_rows, flown_results, must_go_lost, must_go_words
from missionsim.report.folder import address_of
from missionsim.report.refusals import never_made
from missionsim.report.terminal_more import print_more
from missionsim.report.wording import CAUTIONS, cautions_for, dollars, number, plain
from missionsim.statistics.intervals import LEAST_YEARS_OF_POINTS
from missionsim.study.compare.alternatives import OWN
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.prepare.coverage import not_covered
from missionsim.study.prepare.open_water import open_water
from missionsim.study.replicate.shop_sums import MARKS

WIDE = 110
"""From this width on more columns are shown. [characters]"""
LEAST_SHOWN, NONE_LEFT = 0.05, "none"
"""A mean number of trips a year below this would be printed as 0.0; what is said where no reason is left."""


def print_comparison(console: Console, comparison: Comparison, out: str | None) -> None:
    """Print question, first sentences, candidates and why trips failed; then the rest by what it is about; cautions."""
    said = answer(comparison)
    console.print(Text(said.question, style="bold"))
    print_all(console, (*said.first, *said.limits))
    if comparison.replications < LEAST_YEARS_OF_POINTS:
        console.print(Text("To fly more years: --replications 100."))
    console.print()
    console.print(_candidates(comparison, console.width))
    if words := must_go_words(comparison):
        console.print(Text(f"Lost: {words}."))
    console.print()
    console.print(_failures(comparison, console.width))
    print_all(console, never_made(comparison, 3))
    for about, sentences in said.parts:
        console.print()
        console.print(Text(about, style="bold"))
        print_all(console, sentences)
    console.print()
    print_more(console, comparison)
    prepared = comparison.prepared
    for note in (*not_covered(prepared), *open_water(prepared), *comparison.study.notes[:3]):
        console.print(Text(f"Note: {note}"))
    console.print(Text(CAUTIONS[0], style="italic"))
    for caution in cautions_for(comparison.study.pilot.rating)[len(CAUTIONS):]:
        console.print(Text(caution, style="italic"))
    if out is not None:
        console.print(Text(f"Report and tables: {out}"), soft_wrap=True)
        console.print(Text(address_of(out), style=f"link {address_of(out)}"), soft_wrap=True)


def print_all(console: Console, sentences: Iterable[str]) -> None:
    """Print each sentence behind a dash, so that where one ends and the next begins is seen."""
    grid = Table.grid(padding=(0, 1, 0, 0))
    for sentence in sentences:
        grid.add_row("-", Text(sentence))
    console.print(grid)


def _table(title: str) -> Table:
    return Table(title=title, title_justify="left", title_style="bold", box=None, show_edge=False, padding=(0, 1, 0, 0),
                 header_style="underline", collapse_padding=True)


def _candidates(comparison: Comparison, width: int) -> Table:
    """Return all alternatives, those that make the fewest trips first."""
    wide = width >= WIDE
    table = _table("Dollars a year (good, bad: 1 in 10 beyond), hours of trips nobody gives up")
    table.add_column("Alternative", ratio=1, min_width=14)
    heads = ["dollars", "good year", "bad year", "trips", "car, airline", "hours",
             *(["faster", "slower", "must-go lost", "flight h"] if wide else ["lost"])]
    for head in heads:
        table.add_column(head, justify="right", no_wrap=True)
    results = flown_results(comparison)
    for row in alternative_rows(comparison):
        flown = results.get((row["kind"], row["name"]))
        bold = "bold" if row["kind"] == OWN and row["name"] == comparison.names[comparison.lead] else ""
        name = row["name"] + (" (estimate)" if row["estimate"] else "")
        name += f" ({flown.why_not})" if flown is not None and flown.does_the_job == "no" else ""
        table.add_row(Text(name), *_row(row, flown, wide), style=bold)
    return table


def _row(row: Mapping[str, Any], flown: Result | None, wide: bool) -> list[str]:
    net = row["net_cost_usd"]
    cells = [dollars(net["mean"]), dollars(net["p10"]), dollars(net["p90"]), number(row["trips_made"]["mean"], 0),
             dollars(row["car_and_airline_usd"]["mean"]), number(row["compared_hours"]["mean"], 0)]
    if not wide:
        return [*cells, must_go_lost(row)]
    faster, slower, hours = ("–" if flown is None else number(flown.measures[k]["mean"], 0)
                             for k in ("trips_faster", "trips_slower", "flight_hours"))
    return [*cells, faster, slower, must_go_lost(row), hours]


def _failures(comparison: Comparison, width: int) -> Table:
    table = _table("Why trips were not made, and what was given up for others: mean number a year")
    table.add_column("Candidate", ratio=3, min_width=14)
    table.add_column("in any weather", ratio=4)
    table.add_column("on the day", ratio=6)
    table.add_column("made, but", ratio=3)
    most = 6 if width >= WIDE else 4
    for result in comparison.results:
        table.add_row(Text(result.name), _reasons(result.refused["structural"], most),
                      _on_the_day(result, most), _made_but(result))
    return table


def _on_the_day(result: Result, most: int) -> str:
    """Return what refused trips on the day, and how many set out and were broken off: with all of both none is left."""
    refused, broken = _reasons(result.refused["on_the_day"], most), float(result.tally.column("broken_off").mean())
    if broken < LEAST_SHOWN:
        return refused
    return f"broken off {number(broken)}" if refused == NONE_LEFT else f"{refused}; broken off {number(broken)}"


def _made_but(result: Result) -> str:
    """Return how many of the trips made were moved, adapted or marginal."""
    wanted = float(result.measures["trips_wanted"]["mean"] or 0.0)
    counts = {mark: wanted * float(result.measures[f"{mark}_share"]["mean"] or 0.0) for mark in MARKS}
    return _reasons(counts, len(MARKS))


def _reasons(counts: Mapping[str, float], most: int) -> str:
    """Return the most frequent reasons, those apart that would be printed as 0.0, and the others in one sum."""
    known = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    shown = [(reason, mean) for reason, mean in known[:most] if mean >= LEAST_SHOWN]
    rest = sum(mean for _, mean in known[len(shown):])
    told = [f"{plain(reason)} {number(mean)}" for reason, mean in (*shown, ("others", rest)) if mean >= LEAST_SHOWN]
    return ", ".join(told) if told else NONE_LEFT
