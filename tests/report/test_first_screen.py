"""The shapes of the first screen, held against values worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.report.first_screen import (
    DOT,
    WIDTH,
    Scale,
    _piled,
    bar_rows,
    cost_dots,
    differences,
    marks_path,
    outcome_rows,
    trade_off,
    why_not,
)
from missionsim.report.hours_screen import hours_trade_off


def test_a_scale_maps_its_ends_and_places_round_ticks_inside():
    scale = Scale(np.array([50_000.0, 98_000.0]), 8.0, 392.0)
    assert (scale(50_000.0), scale(98_000.0), scale(74_000.0)) == (8.0, 392.0, 200.0)
    assert scale.ticks(5) == [50_000.0, 60_000.0, 70_000.0, 80_000.0, 90_000.0] or max(scale.ticks(5)) <= 98_000.0
    assert all(t % 1_000 == 0 for t in scale.ticks(5))


def test_equal_values_still_have_a_scale():
    scale = Scale(np.array([7.0, 7.0]), 0.0, 10.0)
    assert scale(7.0) == 5.0


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (3.0, 3.3), (-5.0, 12.0), (0.0, 2.4e6), (48_100.0, 119_700.0)])
def test_ticks_are_few_rising_and_inside(low, high):
    ticks = Scale(np.array([low, high]), 0.0, 1.0).ticks(5)
    assert 1 <= len(ticks) <= 6
    assert all(low - 1e-9 <= t <= high + 1e-9 for t in ticks)
    assert ticks == sorted(set(ticks))


def test_dots_pile_up_where_they_would_hide_each_other():
    assert _piled([10.0, 11.0, 12.0, 10.0 + 2 * DOT, 40.0]) == [(10.0, 0), (11.0, 1), (12.0, 2), (10.0 + 2 * DOT, 0),
                                                               (40.0, 0)]


def test_bars_are_on_one_scale_and_none_is_negative():
    rows = bar_rows([("a", [(2.0, 2.0), (1.0, 0.0)]), ("b", [(-3.0, 0.0), (0.0, 1.0)])], lambda v: f"{v:g}")
    first, second = rows
    assert [(b.words, b.solid, b.outline) for b in first.bars] == [("4", 50.0, 50.0), ("1", 25.0, 0.0)]
    assert [(b.words, b.solid, b.outline) for b in second.bars] == [("-3", 0.0, 0.0), ("1", 0.0, 25.0)]


def test_dots_stay_on_the_picture(comparison):
    cost = cost_dots(comparison)
    for row in cost.rows:
        assert all(0 <= x <= WIDTH and DOT <= y <= cost.row_height - DOT for x, y in row.dots)


def test_outcomes_add_up_to_the_wanted_trips(comparison):
    sums = [0.0] * len(comparison.results)
    for row in outcome_rows(comparison):
        for bar in row.bars:
            sums[bar.mark] += float(bar.words)
    assert sums == pytest.approx([r.measures["trips_wanted"]["mean"] for r in comparison.results], abs=0.21)


def test_what_stopped_trips_adds_up_to_all_that_were_wanted_and_not_made():
    sums = {"broken_off": np.array([1.0, 2.0])}
    never, some = {"payload": 3.0, "seats": 0.5}, {"ceiling": 1.0, "icing": 0.2, "wind": 0.1, "booked": 0.4}
    result = SimpleNamespace(refused={"structural": never, "on_the_day": some}, tally=SimpleNamespace(column=sums.get))
    rows = why_not(SimpleNamespace(results=[result]), most=3)
    # 3.5 never, 1.7 on the day and 1.5 broken off are 6.7.
    assert [(row.label, row.bars[0].words) for row in rows] == [
        ("payload", "3.0"), ("ceiling", "1.0"), ("seats", "0.5"), ("others", "0.7"), ("broken off under way", "1.5")]
    assert (rows[-1].bars[0].solid, rows[-1].bars[0].outline) == (0.0, 50.0)
    sums["broken_off"] = np.zeros(2)
    assert why_not(SimpleNamespace(results=[result]), most=3)[-1].label == "others"


def test_not_owning_is_drawn_beside_the_candidates(comparison):
    found = trade_off(comparison)
    assert "car and airline" in [level.label for level in found.levels]
    assert len(found.clouds) == len(comparison.results)


def test_hours_against_dollars_has_every_alternative_and_joins_what_nothing_beats(comparison):
    found = hours_trade_off(comparison)
    ways = {x.name: x for x in comparison.alternatives.every if not x.estimate}
    drawn = {c.name: c.mean for c in found.clouds} | {level.words.split(":")[0]: (level.x, level.y)
                                                      for level in found.levels}
    assert drawn.keys() == ways.keys()
    # Farther right takes longer, farther down costs less, on one scale for all.
    assert sorted(drawn, key=lambda n: drawn[n][0]) == sorted(ways, key=lambda n: ways[n].equal_hours.mean())
    assert sorted(drawn, key=lambda n: -drawn[n][1]) == sorted(ways, key=lambda n: ways[n].usd.mean())
    best = [drawn[step["name"]] for step in comparison.alternatives.efficient()]
    assert [float(v) for v in found.joined.split()] == pytest.approx([v for place in best for v in place])
    assert hours_trade_off(replace(comparison, alternatives=None)) is None


def test_hours_are_not_held_against_dollars_that_hold_their_value(comparison):
    other = comparison.alternatives
    dear = replace(other, every=tuple(replace(x, time_usd=np.full_like(x.usd, 9_000.0 * k))
                                      for k, x in enumerate(other.every)))
    assert hours_trade_off(replace(comparison, alternatives=dear)) == hours_trade_off(comparison)


def test_every_layer_of_what_is_not_known_is_drawn_from_its_own_numbers(comparison):
    first = comparison.results[0]
    cost = np.array([[[40_000.0, 60_000.0], [44_000.0, 64_000.0]], [[50_000.0, 50_000.0], [50_000.0, 50_000.0]]])
    sure = replace(comparison.certainty, priced=replace(comparison.certainty.priced, cost=cost),
                   listing_usd=np.array([[-1_000.0, 1_000.0], [0.0, 0.0]]))
    money = {"mean": 52_000.0, "low": 51_000.0, "high": 53_000.0, "p10": 40_000.0, "p90": 64_000.0}
    known = replace(first, prices_usd={"p10": 42_000.0, "p90": 62_000.0}, measures={"net_cost_usd": money})
    still = replace(known, prices_usd={"p10": 50_000.0, "p90": 50_000.0})
    drawn = cost_dots(replace(comparison, certainty=sure, results=(known, still)))
    row, other = drawn.rows
    def at(usd):
        return round(8.0 + (usd - 40_000.0) / 24_000.0 * (WIDTH - 16.0), 1)
    assert [x for x, _ in row.dots] == [at(51_000.0), at(53_000.0)]     # 50,000 and 54,000 without what was open
    assert row.prices == (at(42_000.0), at(62_000.0))
    assert row.open_figures == (at(51_200.0), at(52_800.0))            # a tenth within the two ends
    assert row.years == (at(40_000.0), at(64_000.0))
    assert (other.prices, other.open_figures) == (None, None)
    assert row.words.endswith("average year by prices nobody gave $42,000 to 62,000; by what the advertisement leaves "
                              "open $51,200 to 52,800")


def test_differences_are_paired_year_by_year(comparison):
    years = np.array([10_000.0, 30_000.0])
    cost = np.stack([np.stack([years, years], axis=1), np.stack([years + 500.0, years + 700.0], axis=1)])
    sure = replace(comparison.certainty, priced=replace(comparison.certainty.priced, cost=cost))
    found = differences(replace(comparison, certainty=sure, lead=0, alternatives=None))
    assert found.lead == comparison.names[0]
    (row,) = found.rows
    assert row.words == "+$600"                      # each year 600 more, however far the years lie apart
    assert row.interval[0] == row.interval[1] == row.at
    assert found.zero < row.at


def test_marks_of_a_kind_are_one_shape():
    assert marks_path(1, ((10.0, 20.0), (30.0, 20.0)), 12.0) == (
        "M5.4 15.4h9.2v9.2h-9.2zM25.4 15.4h9.2v9.2h-9.2z")
    assert marks_path(2, ((6.0, 6.0),), 6.0) == "M6 3.2l2.7 5.1h-5.4z"
