"""Where each way of travelling wins, to read: a table a value of time, and what stands behind each cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from missionsim.report.frame import environment
from missionsim.report.html import Section
from missionsim.report.tables import Table
from missionsim.report.wording import count, dollars
from missionsim.study.compare.alternatives import NO_AIRCRAFT, NONE
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.where_each_wins import Grid, GridCell, WayInCell

TEXT = ("Round trips from home to airports in all directions and seasons, flown through the same simulated weather. "
        "The aircraft is taken as owned: its dollars are what a trip adds (fuel, fees, nights, wear, value lost by "
        "the hour); what comes anyway stands below. A trip not made by light aircraft counts with what it then costs "
        "by car or airline. Best is the least of dollars and hours of everybody aboard; several names are level: "
        "neither the weather of the years flown nor prices nobody gave tell them apart. Bags, times and flexibility "
        "are the usual ones; everybody aboard is an adult. Planning only: each flight is the pilot's to judge on its "
        "day.")


@dataclass(frozen=True, slots=True)
class Winner:
    """One name in a cell: its mark, -1 where it is no candidate, and the share of such trips it makes by itself."""

    mark: int
    name: str
    made: str


@dataclass(frozen=True, slots=True)
class Square:
    """One cell at one value of time."""

    winners: tuple[Winner, ...]
    own_trips: int


@dataclass(frozen=True, slots=True)
class Layer:
    """The cells at one value of time, a row a party."""

    usd_per_h: str
    own: bool
    rows: tuple[tuple[str, tuple[Square, ...]], ...]


def grid_section(comparison: Comparison) -> Section | None:
    """Return the section, where the grid was flown."""
    grid: Grid | None = comparison.grid
    if grid is None:
        return None
    names = list(comparison.names)
    layers = [_layer(grid, k, names) for k in range(len(grid.usd_per_h))]
    drawn = Markup(environment().get_template("parts/grid.html.j2").render(
        layers=layers, distances=[f"{nm:g} nm" for nm in grid.distances_nm], moved=_moved(grid, names)))
    anyway = "; ".join(f"{name} ${dollars(usd)}" for name, usd in grid.comes_anyway_usd.items())
    text = (TEXT, f"Flown in {grid.replications} simulated years. What a year of owning costs before any trip: "
                  f"{anyway}.")
    return Section("where-each-wins", "Where each wins: by distance and party", text, (),
                   tuple(_detail(grid, p) for p in range(len(grid.parties))), drawn)


def _moved(grid: Grid, names: list[str]) -> dict[str, Any]:
    """Return what the slider of the value of time shows: ways by number, and by cell who is best at each value."""
    every = [_winner(way, names) for way in grid.cells[0].ways]
    values = grid.moved_usd_per_h
    return {"usd_per_h": [f"{v:g}" for v in values], "at": values.index(grid.told_usd_per_h),
            "ways": [{"name": w.name, "mark": w.mark} for w in every],
            "cells": [{"made": [_winner(way, names).made for way in cell.ways], "best": cell.moved}
                      for cell in grid.cells]}


def grid_table(comparison: Comparison) -> Table | None:
    """Return what is best by party and distance at the study's value of time, where the grid was flown."""
    grid: Grid | None = comparison.grid
    if grid is None:
        return None
    value = grid.told_usd_per_h
    at = grid.usd_per_h.index(value)
    rows = tuple((_people(people), *(_names(grid.cell(d, p).best[at].names) for d in range(len(grid.distances_nm))))
                 for p, people in enumerate(grid.parties))
    return Table(f"Where each way wins, an aircraft taken as owned, an adult's hour at ${value:g}",
                 ("Aboard", *(f"{nm:g} nm" for nm in grid.distances_nm)), rows)


def _names(names: tuple[str, ...]) -> str:
    """Return who is best; of those level the first and how many more."""
    told = "car or airline" if names[0] == NO_AIRCRAFT else names[0]
    return told if len(names) == 1 else f"{told}, level with {count(len(names) - 1, 'other')}"


def _people(count: int) -> str:
    return "1, the pilot" if count == 1 else f"{count} people"


def _layer(grid: Grid, k: int, names: list[str]) -> Layer:
    value = grid.usd_per_h[k]
    rows = tuple((_people(people), tuple(_square(grid.cell(d, p), k, names) for d in range(len(grid.distances_nm))))
                 for p, people in enumerate(grid.parties))
    return Layer(f"${value:g}", value == grid.told_usd_per_h, rows)


def _square(cell: GridCell, k: int, names: list[str]) -> Square:
    ways = {w.name: w for w in cell.ways}
    return Square(tuple(_winner(ways[name], names) for name in cell.best[k].names), cell.own_trips)


def _winner(way: WayInCell, names: list[str]) -> Winner:
    mark = names.index(way.name) if way.name in names else -1
    label = "car or airline" if way.kind == NONE else way.name
    return Winner(mark, label, "" if way.kind == NONE else f"makes\u00a0{100.0 * way.made_share:.0f}\u00a0%")


def _detail(grid: Grid, party: int) -> Table:
    people = grid.parties[party]
    cells = [grid.cell(d, party) for d in range(len(grid.distances_nm))]
    rows = tuple((("car and airline" if way.name == NO_AIRCRAFT else way.name),
                  *(_told(cell.ways[i]) for cell in cells)) for i, way in enumerate(cells[0].ways))
    return Table(f"{_people(people)}: share made, hours door to door there and back, dollars a trip",
                 ("Way", *(f"{nm:g} nm" for nm in grid.distances_nm)), rows)


def _told(way: WayInCell) -> str:
    if not way.possible:
        return f"no way for it ({100.0 * way.made_share:.0f} % made)"
    share = "" if way.kind == NONE else f"{100.0 * way.made_share:.0f} %, "
    return f"{share}{way.party_hours:.1f} h, ${dollars(way.usd, 10.0)}"
