"""The second picture of the trade-off: hours of all travellers against dollars a year, for every alternative alike."""

from __future__ import annotations

import numpy as np

from missionsim.report.first_screen import MARKS, Cloud, Level, Scale, Tick, TradeOff
from missionsim.report.wording import dollars, number
from missionsim.statistics.intervals import exact_mean
from missionsim.study.compare.alternatives import OWN, RENT, Alternative
from missionsim.study.compare.compare import Comparison

TITLE = "What hours saved cost"
CAPTION = ("Hours of all travellers a year across, on the trips that nobody gives up; dollars upward, no value of "
           "hours in them. What nothing beats in both is joined.")


def hours_trade_off(comparison: Comparison) -> TradeOff | None:
    """Return each alternative's mean hours and dollars, what nothing beats joined; None without alternatives."""
    other = comparison.alternatives
    if other is None:
        return None
    ways = [x for x in other.every if not x.estimate]
    at = {x.name: (exact_mean(x.equal_hours), exact_mean(x.usd)) for x in ways}
    empty = TradeOff((), (), (), ())
    across = Scale(np.array([h for h, _ in at.values()]), empty.left + 8.0, empty.width - 12.0)
    upward = Scale(np.array([usd for _, usd in at.values()]), empty.height - empty.below - 8.0, 12.0)
    places = {name: (across(h), upward(usd)) for name, (h, usd) in at.items()}
    clouds, levels = [], []
    for k, way in enumerate(ways):
        words = f"{way.name}: {number(at[way.name][0], 0)} hours, ${dollars(at[way.name][1])}"
        if way.kind == OWN:
            clouds.append(Cloud(k % len(MARKS), way.name, (), places[way.name], words, words))
        else:
            levels.append(_level(way, places[way.name], words))
    joined = " ".join(f"{x:g} {y:g}" for x, y in (places[step["name"]] for step in other.efficient()))
    return TradeOff(tuple(clouds), tuple(levels), tuple(Tick(across(t), f"{t:,.0f}") for t in across.ticks(5)),
                    tuple(Tick(upward(t), f"${t / 1000:,.0f}k") for t in upward.ticks(5)), joined=joined, title=TITLE,
                    caption=CAPTION)


def _level(way: Alternative, place: tuple[float, float], words: str) -> Level:
    return Level(*place, "rent" if way.kind == RENT else "car and airline", words, words)
