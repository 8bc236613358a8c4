"""The shapes of the first screen, held against values worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.report.first_screen import DOT, WIDTH, Scale, _piled, bar_rows, cost_dots, outcome_rows, trade_off


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


def test_not_owning_is_drawn_beside_the_candidates(comparison):
    found = trade_off(comparison)
    assert "car and airline" in [level.label for level in found.levels]
    assert len(found.clouds) == len(comparison.results)
