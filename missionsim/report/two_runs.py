"""Two runs in words: what was changed, and what that did."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from missionsim.report.tables import Table
from missionsim.report.wording import count, dollars, in_usd, listing, number, plain, start
from missionsim.study.compare.two_runs import STUDY, Changed, Effect, Measured, RunRecord, TwoRuns, two_runs

MOST_CHANGES = 60


@dataclass(frozen=True, slots=True)
class TwoRunsTold:
    """Two runs held against each other: names with what each said first, sentences, what was changed, what that did."""

    pairs: tuple[tuple[str, str], ...]
    sentences: tuple[str, ...]
    changed: Table
    effects: Table


def told(names: tuple[str, str], first: RunRecord, second: RunRecord) -> TwoRunsTold:
    """Return two runs told; the second's differences from the first."""
    found = two_runs(first, second)
    years = (first.replications, second.replications)
    pairs = tuple(zip(names, (_first(first), _first(second)), strict=True))
    return TwoRunsTold(pairs, tuple(_sentences(found, names, years)), _changed(found, names), _effects(found, names))


def _first(run: RunRecord) -> str:
    return run.sentences[0] if run.sentences else ""


def _sentences(found: TwoRuns, names: tuple[str, str], years: tuple[int, int]) -> list[str]:
    things = len(found.changed)
    said = [f"{count(things, 'thing')} {'was' if things == 1 else 'were'} changed from \u201c{names[0]}\u201d to "
            f"\u201c{names[1]}\u201d." if things else "Both say the same."]
    if things > 1:
        said.append("What follows is of all of them together, not of each by itself.")
    if found.followed:
        said.append(f"{count(found.followed, 'figure')} that we guess from the kind of aircraft moved along.")
    if found.common:
        more = "" if years[0] == years[1] else f" (of {years[0]} and {years[1]})"
        said.append(f"Both flew the same {count(found.common, 'simulated year')}{more}: each difference is taken year "
                    "by year, its interval is that of the mean (95 %) and holds the luck of years, not prices that "
                    "nobody gave.")
    else:
        said.append(f"The simulated years are not the same ones ({found.why_not}): the luck of both is in each "
                    "difference, and its interval (95 %) is that of two separate sets of years.")
    if any(e.more_usd["low"] is None for e in found.effects):
        said.append("The years are too few to say how far off a difference may be.")
    if found.trips_differ:
        said.append("The trips are not the same, so that dollars also tell of more or less travel.")
    for names_only, which in zip(found.only, names, strict=True):
        if names_only:
            said.append(f"Only \u201c{which}\u201d has {listing(names_only)}.")
    return said


def _changed(found: TwoRuns, names: tuple[str, str]) -> Table:
    rows = tuple((_what(c), c.before, c.after) for c in found.changed[:MOST_CHANGES])
    left = len(found.changed) - len(rows)
    return Table("What was changed" + (f"; {left} more are not shown" if left else ""), ("", *names), rows)


def _what(c: Changed) -> str:
    key = plain(c.key.replace(".", ", "))
    return start(key) if c.whose == STUDY else f"{c.whose}: {key}" if key else c.whose


def _effects(found: TwoRuns, names: tuple[str, str]) -> Table:
    head = ("A year, all trips done", *(f"{n}: dollars" for n in names), "Dollars more", *(f"{n}: trips made"
                                                                                          for n in names), "Trips more")
    return Table("What that did", head, tuple(_row(e) for e in found.effects))


def _row(e: Effect) -> tuple[str, ...]:
    return (e.name, *(in_usd(usd) for usd in e.usd), _more(e.more_usd, _usd),
            *(number(made) for made in e.made), _more(e.more_made, number))


def _usd(value: float) -> str:
    shown = dollars(value)
    return f"−${shown[1:]}" if shown.startswith("−") else f"${shown}"


def _more(m: Measured, shown: Callable[[float], str]) -> str:
    mean, low, high = m["mean"], m["low"], m["high"]
    if mean is None:
        return "–"
    if low is None or high is None:
        return shown(mean)
    if shown(low) == shown(high):
        return shown(mean)
    clear = "" if low > 0.0 or high < 0.0 else ", level"
    return f"{shown(mean)} ({shown(low)} to {shown(high)}{clear})"
