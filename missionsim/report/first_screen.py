"""The pictures of the first screen as plain shapes: what a year costs, what more trips cost, why trips are not made.

Layout happens here, in typed code; templates only place it. The report file and the page draw the same shapes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.words import REASONS
from missionsim.report.draw_money import group_table
from missionsim.report.wording import GROUPS, dollars, in_usd, number, plain
from missionsim.statistics.intervals import evenly, mean_interval
from missionsim.study.compare.alternatives import NONE, RENT
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.compare.ownership import independent, least_rows

DOTS = 20
"""A row of dots shows years in this many equal shares: one dot is a year in twenty."""
WIDTH, APART = 400.0, 200.0
DOT, LANE = 4.0, 6.0
MARKS = ("circle", "square", "triangle", "diamond", "triangle-down", "plus")
"""A candidate is a mark, a colour and its name, never colour alone."""

BROKEN_OFF = "broken off under way"


@dataclass(frozen=True, slots=True)
class Tick:
    """One labelled place on an axis."""

    at: float
    label: str


Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class CostRow:
    """What a year with one candidate costs, each layer of what is not known by itself, and all together.

    Parameters
    ----------
    mark : int               Number of its mark and colour.
    name : str
    mean, good, bad : str    Dollars, in words; a tenth of cases lies beyond good and beyond bad, all layers together.
    dots : tuple of pairs    Luck: a year in twenty each, open figures and prices averaged: x, y. [px]
    years, interval : pairs  From and to of eight cases of ten, all layers together, and of the mean's 95 % interval;
                             None where unknown. [px]
    open_figures, prices : pairs  From and to of eight cases of ten of the average year: by what the advertisement
                             leaves open and by prices nobody gave; None where there is nothing. [px]
    words : str              All of it, for hovering, focus and those who cannot see it.
    """

    mark: int
    name: str
    mean: str
    good: str
    bad: str
    dots: tuple[Pair, ...]
    years: Pair | None
    interval: Pair | None
    open_figures: Pair | None = None
    prices: Pair | None = None
    words: str = ""

    @property
    def path(self) -> str:
        """The dots as one shape."""
        return marks_path(self.mark, self.dots, 2 * DOT)


@dataclass(frozen=True, slots=True)
class CostDots:
    """All candidates on one axis of dollars."""

    rows: tuple[CostRow, ...]
    ticks: tuple[Tick, ...]
    row_height: float
    width: float = WIDTH
    lane: float = LANE


@dataclass(frozen=True, slots=True)
class DifferenceRow:
    """What one way costs more than the leading one, in the same years.

    `mark`: -1 where it is no candidate. `at`: of the mean; `years`, `interval`: eight years of ten and where the mean
    lies. [px]
    """

    mark: int
    name: str
    words: str
    at: float
    years: Pair | None
    interval: Pair | None


@dataclass(frozen=True, slots=True)
class Differences:
    """What every other way costs more or less than the leading one."""

    lead: str
    rows: tuple[DifferenceRow, ...]
    zero: float
    ticks: tuple[Tick, ...]
    width: float = APART


@dataclass(frozen=True, slots=True)
class Cloud:
    """Trips made against dollars a year: a point a year in twenty, and the mean."""

    mark: int
    name: str
    points: tuple[tuple[float, float], ...]
    mean: tuple[float, float]
    words: str
    short: str = ""

    @property
    def path(self) -> str:
        """The points as one shape."""
        return marks_path(self.mark, self.points, 6.0)


@dataclass(frozen=True, slots=True)
class Level:
    """What the same trips cost without owning: a place across where that makes trips, else a line from the left."""

    x: float | None
    y: float
    label: str
    words: str
    short: str = ""


@dataclass(frozen=True, slots=True)
class TradeOff:
    """Trips made across, dollars a year upward; `joined`: path through what nothing beats, where that is drawn."""

    clouds: tuple[Cloud, ...]
    levels: tuple[Level, ...]
    across: tuple[Tick, ...]
    upward: tuple[Tick, ...]
    width: float = WIDTH
    height: float = 220.0
    left: float = 48.0
    below: float = 28.0
    joined: str = ""
    title: str = "What more trips cost"
    caption: str = "Trips made across, dollars a year upward: years as a cloud, the average large."


@dataclass(frozen=True, slots=True)
class HalfBar:
    """One bar: whose it is, its number in words, and the lengths of its solid and outlined part. [%]"""

    mark: int
    words: str
    solid: float
    outline: float = 0.0


@dataclass(frozen=True, slots=True)
class BarRow:
    """One row of bars, one a candidate."""

    label: str
    bars: tuple[HalfBar, ...]


def marks_path(mark: int, points: Sequence[Pair], size: float) -> str:
    """Return marks of one kind about points as path data; shapes and sizes as in the symbols of the page."""
    unit = size / 12.0
    begin, shape = _SHAPES[mark]
    steps = "".join(f"{letter}{' '.join(f'{v * unit:.4g}' for v in numbers)}" for letter, numbers in shape)
    return "".join(f"M{x + begin[0] * unit:.4g} {y + begin[1] * unit:.4g}{steps}z" for x, y in points)


_SHAPES: tuple[tuple[Pair, tuple[tuple[str, tuple[float, ...]], ...]], ...] = (
    ((-5.0, 0.0), (("q", (0.0, -5.0, 5.0, -5.0)), ("t", (5.0, 5.0)), ("t", (-5.0, 5.0)), ("t", (-5.0, -5.0)))),
    ((-4.6, -4.6), (("h", (9.2,)), ("v", (9.2,)), ("h", (-9.2,)))),
    ((0.0, -5.6), (("l", (5.4, 10.2)), ("h", (-10.8,)))),
    ((0.0, -6.0), (("l", (5.4, 6.0)), ("l", (-5.4, 6.0)), ("l", (-5.4, -6.0)))),
    ((0.0, 5.6), (("l", (5.4, -10.2)), ("h", (-10.8,)))),
    ((-1.8, -5.6), (("h", (3.6,)), ("v", (3.8,)), ("h", (3.8,)), ("v", (3.6,)), ("h", (-3.8,)), ("v", (3.8,)),
                    ("h", (-3.6,)), ("v", (-3.8,)), ("h", (-3.8,)), ("v", (-3.6,)), ("h", (3.8,)))),
)
"""Where each mark begins about its middle, and its steps; the circle as four bends."""


def cost_dots(comparison: Comparison) -> CostDots:
    """Return what a year costs, one row a candidate, on one axis; each layer of what is not known by itself."""
    sure = comparison.certainty
    luck = [comparison.cost_years(i) - (0.0 if sure is None else sure.listing_usd[i])
            for i in range(len(comparison.results))]
    layers = [_layers(comparison, i) for i in range(len(comparison.results))]
    points = [m[k] for r in comparison.results for m in [r.measures["net_cost_usd"]] for k in ("p10", "p90")]
    ends = [v for row in layers for pair in row if pair is not None for v in pair]
    scale = Scale(np.array([*np.concatenate(luck), *ends, *(p for p in points if p is not None)]), 8.0, WIDTH - 8.0)
    piles = [_piled([scale(float(v)) for v in evenly(years, DOTS)]) for years in luck]
    tall = 2 * DOT * (1 + max(level for pile in piles for _, level in pile))
    rows = tuple(_cost_row(i, r, pile, tall, scale, layers[i])
                 for i, (r, pile) in enumerate(zip(comparison.results, piles, strict=True)))
    return CostDots(rows, tuple(Tick(scale(t), f"${t / 1000:,.0f}k") for t in scale.ticks(5)), tall + 3 * LANE)


def _layers(comparison: Comparison, i: int) -> tuple[Pair | None, Pair | None]:
    """Return between which dollars eight of ten average years lie, by open figures and by prices nobody gave."""
    sure, result = comparison.certainty, comparison.results[i]
    if sure is None:
        return None, None
    mean, effects = float(comparison.cost_years(i).mean()), sure.listing_usd[i]
    open_ = None if not np.ptp(effects) else (mean + float(np.quantile(effects, 0.1)),
                                              mean + float(np.quantile(effects, 0.9)))
    prices = result.prices_usd
    return open_, None if prices is None or prices["p90"] <= prices["p10"] else (prices["p10"], prices["p90"])


def differences(comparison: Comparison) -> Differences | None:
    """Return what every other candidate, renting and no aircraft cost more than the leading candidate, paired."""
    lead, names = comparison.lead, comparison.names
    mine = comparison.cost_years(lead)
    ways = [(i, names[i], comparison.cost_years(i)) for i in range(len(names)) if i != lead]
    if comparison.alternatives is not None:
        ways += [(-1, "rented" if o.kind == RENT else "no aircraft", o.net_usd) for o in comparison.alternatives.every
                 if o.kind in {NONE, RENT}]
    if not ways or comparison.replications < 2:
        return None
    told = [(mark, name, usd - mine) for mark, name, usd in ways]
    spans = [_spans(comparison, d) for _, _, d in told]
    scale = Scale(np.array([0.0, *(v for pairs in spans for pair in pairs if pair for v in pair),
                             *(float(d.mean()) for _, _, d in told)]), 12.0, APART - 12.0)
    rows = tuple(DifferenceRow(mark % len(MARKS) if mark >= 0 else mark, name, _more(float(d.mean()), interval),
                               scale(float(d.mean())), _at(scale, years), _at(scale, interval))
                 for (mark, name, d), (years, interval) in zip(told, spans, strict=True))
    return Differences(names[lead], rows, scale(0.0), tuple(Tick(scale(t), _signed(t)) for t in scale.ticks(3)))


def _spans(comparison: Comparison, usd: Array) -> tuple[Pair | None, Pair | None]:
    """Return eight years of ten of a paired difference and the interval of its mean, each where it can be told."""
    study = comparison.study
    rows = independent(study, np.asarray(usd, dtype=float)[None])[0]
    _, low, high = mean_interval(rows)
    known = low is not None and high is not None and len(rows) >= least_rows(study)
    years = (float(np.quantile(usd, 0.1)), float(np.quantile(usd, 0.9))) if len(usd) >= DOTS else None
    return years, (float(low or 0.0), float(high or 0.0)) if known else None


def _more(mean: float, interval: Pair | None) -> str:
    level = interval is not None and interval[0] <= 0.0 <= interval[1]
    return f"{'+' if mean >= 0.0 else '−'}${dollars(abs(mean))}{', level' if level else ''}"


def _signed(value: float) -> str:
    return "same" if value == 0.0 else f"{'+' if value > 0 else '−'}${abs(value) / 1000:,.0f}k"


def _at(scale: Scale, pair: Pair | None) -> Pair | None:
    return None if pair is None else (scale(pair[0]), scale(pair[1]))


def trade_off(comparison: Comparison) -> TradeOff:
    """Return the cloud of years of each candidate."""
    made = [r.tally.column("completed") for r in comparison.results]
    cost = [comparison.cost_years(i) for i in range(len(comparison.results))]
    others = [] if comparison.alternatives is None else \
        [o for o in comparison.alternatives.every if o.kind in {NONE, RENT}]
    empty = TradeOff((), (), (), ())
    seen = np.array([float(o.made.mean()) for o in others if o.kind == RENT])
    across = Scale(np.concatenate([*made, seen]), empty.left + 8.0, empty.width - 12.0)
    upward = Scale(np.concatenate([*cost, [float(o.net_usd.mean()) for o in others]]),
                    empty.height - empty.below - 8.0, 12.0)
    clouds = tuple(_cloud(i, r.name, m, c, across, upward)
                   for i, (r, m, c) in enumerate(zip(comparison.results, made, cost, strict=True)))
    levels = tuple(Level(across(float(o.made.mean())) if o.kind == RENT else None, upward(float(o.net_usd.mean())),
                         "rent" if o.kind == RENT else "car and airline",
                         f"{o.name}: {number(float(o.made.mean()))} trips made, ${dollars(float(o.net_usd.mean()))}",
                         f"{o.name}: {number(float(o.made.mean()))}, ${dollars(float(o.net_usd.mean()))}")
                   for o in others)
    return TradeOff(clouds, levels, tuple(Tick(across(t), f"{t:,.0f}") for t in across.ticks(5) if t.is_integer()),
                    tuple(Tick(upward(t), f"${t / 1000:,.0f}k") for t in upward.ticks(5)))


def why_not(comparison: Comparison, most: int = 5) -> tuple[BarRow, ...]:
    """Return the reasons that stop most trips, what hurts most first; solid in any weather, outlined on the day.

    Trips that set out and were broken off stand last, so that the rows add up to the trips wanted and not made.
    """
    found = [(plain(str(r)), [(c.refused["structural"].get(str(r), 0.0), c.refused["on_the_day"].get(str(r), 0.0))
                              for c in comparison.results]) for r in REASONS]
    found = sorted((f for f in found if any(a + b > 0 for a, b in f[1])), key=lambda f: -max(map(sum, f[1])))
    kept, rest = found[:most], found[most:]
    if rest:
        kept = [*kept, ("others", [(sum(r[1][i][0] for r in rest), sum(r[1][i][1] for r in rest))
                                   for i in range(len(comparison.results))])]
    broken = [float(c.tally.column("broken_off").mean()) for c in comparison.results]
    if max(broken) >= 0.05:
        kept = [*kept, (BROKEN_OFF, [(0.0, mean) for mean in broken])]
    return bar_rows(kept, number)


def outcome_rows(comparison: Comparison) -> tuple[BarRow, ...]:
    """Return what becomes of the wanted trips, a year in the mean: on time, late, broken off, not made."""
    sums = [r.tally for r in comparison.results]
    mean = {name: [float(t.column(name).mean()) for t in sums] for name in ("completed", "delayed", "broken_off",
                                                                            "trips_wanted")}
    rows = {"made on time": [c - d for c, d in zip(mean["completed"], mean["delayed"], strict=True)],
            "made late": mean["delayed"], "broken off": mean["broken_off"],
            "not made": [w - c - b for w, c, b in zip(mean["trips_wanted"], mean["completed"], mean["broken_off"],
                                                      strict=True)]}
    return bar_rows([(label, [(v, 0.0) for v in values]) for label, values in rows.items()], number)


def money_rows(comparison: Comparison) -> tuple[BarRow, ...]:
    """Return what a year costs by group of the ledger, in the mean."""
    tables = [group_table(r) for r in comparison.results]
    used = [g for g in GROUPS if any(g in t for t in tables)]
    return bar_rows([(g, [(float(t[g].mean()) if g in t else 0.0, 0.0) for t in tables]) for g in used],
                 in_usd)


def bar_rows(rows: Sequence[tuple[str, Sequence[tuple[float, float]]]], words: Callable[[float], str],
          ) -> tuple[BarRow, ...]:
    """Return rows of bars on one scale; what is below zero has its number and no bar."""
    top = max((a + b for _, pairs in rows for a, b in pairs), default=1.0) or 1.0
    return tuple(BarRow(label, tuple(HalfBar(i % len(MARKS), words(a + b), max(a, 0.0) / top * 100.0,
                                         max(b, 0.0) / top * 100.0) for i, (a, b) in enumerate(pairs)))
                 for label, pairs in rows)


class Scale:
    """Maps values to places; the ends are those of the values."""

    def __init__(self, values: Array, first: float, last: float) -> None:
        low, high = float(np.nanmin(values)), float(np.nanmax(values))
        if high <= low:
            low, high = low - 1.0, high + 1.0
        self.low, self.high, self.first, self.last = low, high, first, last

    def __call__(self, value: float) -> float:
        """Return the place of a value."""
        share = (value - self.low) / (self.high - self.low)
        return round(self.first + share * (self.last - self.first), 1)

    def ticks(self, most: int) -> list[float]:
        """Return round values inside, at most so many."""
        step = 10.0 ** np.floor(np.log10((self.high - self.low) / most))
        while (self.high - self.low) / step > most:
            step *= 2.5 if round(step / 10.0 ** np.floor(np.log10(step))) == 2 else 2.0
        return [float(t) for t in np.arange(np.ceil(self.low / step), self.high / step) * step]


def _cost_row(i: int, result: Result, pile: Sequence[tuple[float, int]], tall: float, scale: Scale,
              layers: tuple[Pair | None, Pair | None]) -> CostRow:
    m = result.measures["net_cost_usd"]
    years = None if m["p10"] is None or m["p90"] is None else (scale(m["p10"]), scale(m["p90"]))
    mean = None if m["low"] is None or m["high"] is None else (scale(m["low"]), scale(m["high"]))
    told = [f"{result.name}: ${dollars(m['mean'])} a year in the mean"]
    told += [f"{what} ${dollars(pair[0])} to {dollars(pair[1])}" for what, pair in (
        ("all together, 8 of 10", None if years is None else (m["p10"], m["p90"])),
        ("average year by prices nobody gave", layers[1]), ("by what the advertisement leaves open", layers[0]))
        if pair is not None]
    return CostRow(i % len(MARKS), result.name, in_usd(m['mean']), in_usd(m['p10']),
                   in_usd(m['p90']), tuple((x, tall - DOT * (1 + 2 * level)) for x, level in pile),
                   years, mean, _at(scale, layers[0]), _at(scale, layers[1]), "; ".join(told))


def _piled(places: Sequence[float]) -> list[tuple[float, int]]:
    """Return dots with the level each lies on, so that none hides another."""
    taken: list[tuple[float, int]] = []
    for x in places:
        level = 0
        while any(abs(x - a) < 2 * DOT and b == level for a, b in taken):
            level += 1
        taken.append((x, level))
    return taken


def _cloud(i: int, name: str, made: Array, cost: Array, across: Scale, upward: Scale) -> Cloud:
    order = np.argsort(cost, kind="stable")
    chosen = order[np.unique(np.linspace(0, len(order) - 1, min(DOTS, len(order))).round().astype(int))]
    words = f"{name}: {number(float(made.mean()))} trips made, ${dollars(float(cost.mean()))} a year"
    return Cloud(i % len(MARKS), name, tuple((across(float(made[k])), upward(float(cost[k]))) for k in chosen),
                 (across(float(made.mean())), upward(float(cost.mean()))), words,
                 f"{name}: {number(float(made.mean()))} trips")
