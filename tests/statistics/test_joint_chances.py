"""Stated chances against closed forms, and against what comes true."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.normal import normal_cdf
from missionsim.statistics.joint_chances import additive_effects, chances, joint_means

PRIOR = 4.0 / 3.0


def stated(level, years, effects=None, groups=(0, 1), seed=0, draws=20_000):
    effects = np.zeros_like(years) if effects is None else effects
    means = joint_means(level, years, effects, groups, PRIOR, np.random.default_rng(seed), draws)
    return chances(means, range(len(years)))


def test_luck_alone_gives_the_normal_law_widened_by_the_prior():
    rng = np.random.default_rng(3)
    years = rng.normal(0.0, 1_000.0, (2, 2_000))
    years -= years.mean(axis=1)[:, None]
    error = np.std(years[0] - years[1], ddof=1) / np.sqrt(2_000)
    level = np.array([[0.0], [1.5 * error]])
    by_hand = float(normal_cdf(1.5 / np.sqrt(1.0 + PRIOR**-2)))   # 1.5 errors, seen through 1.25
    assert stated(level, years)[0] == pytest.approx(by_hand, abs=0.012)


def test_with_prices_deciding_more_years_make_nobody_surer():
    rng = np.random.default_rng(4)
    own = rng.normal(0.0, 2_000.0, 1_000)
    level = np.stack([np.zeros(1_000), 1_000.0 + own])
    found = [stated(level, rng.normal(0.0, 800.0, (2, n)))[0] for n in (100, 1_000)]
    assert abs(found[0] - found[1]) < 0.03
    assert found[1] == pytest.approx(float((own > -1_000.0).mean()), abs=0.03)


def test_with_every_figure_given_the_chance_goes_to_one():
    rng = np.random.default_rng(5)
    found = [stated(np.array([[0.0], [300.0]]), rng.normal(0.0, 3_000.0, (2, n)))[0] for n in (20, 1_000, 100_000)]
    assert found[0] < found[1] < found[2]
    assert found[2] > 0.999


def test_the_same_candidate_twice_is_even_and_draws_nothing_apart():
    year = np.random.default_rng(6).normal(0.0, 500.0, 50)
    both = np.stack([year, year])
    assert stated(np.zeros((2, 3)), both, both * 0.5, (0, 0)) == pytest.approx([0.5, 0.5], abs=1e-9)


def test_open_figures_of_two_advertisements_are_drawn_apart():
    effect = np.repeat([[-1_000.0, 1_000.0]], 2, axis=0).repeat(500, axis=1)
    found = stated(np.array([[0.0], [100.0]]), np.zeros((2, 1_000)), effect)
    # Apart: the first is cheaper by 1,900, 2,100 or 100 in three of four draws.
    assert found[0] == pytest.approx(0.75, abs=0.01)


def test_effects_are_found_at_once_and_chance_ones_shrink_away():
    rng = np.random.default_rng(7)
    x, z = rng.normal(0.0, 1.0, (2, 400))
    values = 800.0 * x - 300.0 * z + rng.normal(0.0, 400.0, 400)
    found = additive_effects(values, [x[:, None], z[:, None]])
    assert np.corrcoef(found, 800.0 * x - 300.0 * z)[0, 1] > 0.99
    assert found.std() == pytest.approx(np.hypot(800.0, 300.0), rel=0.1)
    nothing = np.mean([additive_effects(rng.normal(0.0, 400.0, 60), [rng.normal(0.0, 1.0, (60, 6))]).var()
                       for _ in range(40)])
    assert nothing < 0.1 * 400.0**2
    assert not additive_effects(values[:10], [rng.normal(0.0, 1.0, (10, 5))]).any()  # too few years for so many


@pytest.mark.parametrize("years", [20, 100])
@pytest.mark.parametrize("scatter", [1.0, 2.0])
def test_stated_chances_come_true(scatter, years):
    """True differences scatter with one or two standard errors about zero: stated and true shares agree within 5 of 100
    in each band of ten from 50 to 100."""
    assert worst_band(scatter, years, 2_500) < 0.05 + 0.012   # the last for the 2,500 pairs scored


def worst_band(scatter, years, pairs):
    rng = np.random.default_rng(int(10 * scatter) + years)
    said, right = np.empty(pairs), np.empty(pairs, dtype=bool)
    error = np.sqrt(2.0 / years)
    for i in range(pairs):
        true = rng.normal(0.0, scatter * error)
        year = rng.normal(0.0, 1.0, (2, years))
        year[1] += true
        means = year.mean(axis=1)
        drawn = joint_means(means[:, None], year - means[:, None], np.zeros_like(year), (0, 1), PRIOR, rng, 400)
        share = chances(drawn, (0, 1))
        lead = int(np.argmin(means))
        said[i], right[i] = share[lead], (true > 0.0) == (lead == 0)
    bands = np.clip(((said - 0.5) * 10).astype(int), 0, 4)
    return max(abs(said[bands == b].mean() - right[bands == b].mean()) for b in range(5) if (bands == b).sum() > 150)


def test_an_effect_is_shrunk_to_what_its_share_leaves_after_chance():
    x = np.array([-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0])
    values = np.array([-2.0, -4.0, 1.0, 0.0, -1.0, 4.0, 2.0])      # slope 26/28, about the mean 0
    share = 26.0**2 / 28.0 / 42.0
    adjusted = 1.0 - (1.0 - share) * 6.0 / 5.0
    found = additive_effects(values, [x[:, None]])
    assert found == pytest.approx(26.0 / 28.0 * x * np.sqrt(adjusted / share))
