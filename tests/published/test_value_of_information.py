"""The value of knowing a figure against the textbook case that is solved outright."""

from __future__ import annotations

import math

import numpy as np
import pytest

from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.statistics.information_value import OpenFigure, questions

pytestmark = pytest.mark.published

# Source: unit normal loss integral, R. Schlaifer, Probability and Statistics for Business Decisions, 1959
# (from memory; four decimals).
LOSS_TABLE = [(0.0, 0.3989), (0.5, 0.1978), (1.0, 0.0833), (1.5, 0.0293), (2.0, 0.0085)]


def unit_normal_loss(u: float) -> float:
    return math.exp(-0.5 * u * u) / math.sqrt(2 * math.pi) - u * float(normal_cdf(-u))


@pytest.mark.parametrize(("u", "printed"), LOSS_TABLE)
def test_unit_normal_loss(u, printed):
    assert unit_normal_loss(u) == pytest.approx(printed, abs=0.00005)


def estimates(mean: float, scale: float, noise: float, n: int, runs: int, assumptions) -> np.ndarray:
    """Return value and standard error of repeated studies: two candidates, difference mean + scale z + noise."""
    found = []
    for run in range(runs):
        draw = generator(31, run, Stream.UNKNOWNS)
        z = normal_quantile((draw.permutation(n) + draw.random(n)) / n)
        weather = draw.normal(0, 5_000, size=n)
        costs = np.stack([20_000 + mean + scale * z + weather + draw.normal(0, noise, size=n), 20_000 + weather])
        figure = OpenFigure(0, "engine.hours", "engine hours", "h", 1_000 + 300 * z)
        (question,) = questions(costs, [figure], ("Alder", "Birch"), generator(31, run, Stream.BOOTSTRAP), assumptions)
        found.append((question.value_usd, question.standard_error_usd))
    return np.array(found)


@pytest.mark.parametrize("u", [-1.5, -0.5, 0.25, 0.5, 1.0, 1.5])
@pytest.mark.parametrize("noise", [300.0, 1_000.0])
def test_value_is_scale_times_unit_normal_loss(u, noise, assumptions):
    scale, runs = 1_000.0, 40
    found = estimates(u * scale, scale, noise, 400, runs, assumptions)
    expected = scale * unit_normal_loss(abs(u))
    error = found[:, 0].std(ddof=1) / math.sqrt(runs)
    assert found[:, 0].mean() == pytest.approx(expected, abs=4 * error)


def test_equal_means_have_the_largest_value(assumptions):
    # The estimate starts from the better of two sample means, which lies below zero by the loss integral of their
    # scatter: 0.3989 x 1,414 / sqrt(n), told to the reader as part of the standard error.
    found = estimates(0.0, 1_000.0, 1_000.0, 1_000, 40, assumptions)
    low = 0.3989 * math.sqrt(2) * 1_000 / math.sqrt(1_000)
    error = found[:, 0].std(ddof=1) / math.sqrt(40)
    assert 398.9 - low - 4 * error <= found[:, 0].mean() <= 398.9 + 4 * error


def test_standard_error_is_the_scatter_of_repeated_studies(assumptions):
    found = estimates(500.0, 1_000.0, 1_000.0, 300, 120, assumptions)
    scatter = found[:, 0].std(ddof=1)
    # A scatter from 120 runs is known to about 1 / sqrt(240); drawing z by strata makes the bootstrap a little wide.
    assert 0.8 < found[:, 1].mean() / scatter < 1.5


def test_luck_is_not_counted_as_knowledge(assumptions):
    # Much scatter, few replications, no test for significance before it: deciding by the fit of all replications and
    # valuing by the same one reports an eighth too much.
    every = assumptions.replaced({"statistics.significance_share": 1.0, "statistics.question_resamples": 2})
    found = estimates(500.0, 1_000.0, 3_000.0, 100, 1_000, every)[:, 0]
    expected = 1_000.0 * unit_normal_loss(0.5)
    assert found.mean() == pytest.approx(expected, abs=4 * found.std() / math.sqrt(1_000))
