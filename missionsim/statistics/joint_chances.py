"""How sure a choice by average years is: prices, open figures and the error of the flown years drawn together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.statistics.comparisons import best_shares

JOINT_DRAWS = 2_000
"""Joint draws behind a stated chance: part of what it means."""


def joint_means(level: Floats, years: Floats, effects: Floats, groups: Sequence[int], prior_errors: float,
                generator: np.random.Generator, draws: int = JOINT_DRAWS, common: Floats | None = None) -> Floats:
    """Return average years of all candidates in joint draws, (k, draws).

    Each draw takes prices (a column of `level`), open figures by their effect (rows of `effects`, together for
    candidates of one group) and the error of the mean of the flown years. True differences are supposed to scatter
    about zero with `prior_errors` standard errors of what the years tell; that shrinks a stated chance as much as an
    error larger by the square root of 1 + 1 / prior_errors^2 does, which is how it is drawn. Small numbers of years
    count by Student's t.

    Parameters
    ----------
    level : (k, d) array     Mean over years under each draw of prices. [usd]
    years : (k, n) array     Cost of each flown year with the effect of open figures taken out. [usd]
    effects : (k, m) array   That effect, by flown year, which need not be batched as the years are; zero where
                             nothing is open.
    groups : (k,) of int     Candidates made from one advertisement share a number.
    prior_errors : float     Above 0.
    common : (k, m) array    Effect of what is open for all candidates alike, by flown year.
    """
    k, n = years.shape
    columns = generator.integers(0, level.shape[1], draws)
    out = level[:, columns].copy()
    rows = {group: generator.integers(0, effects.shape[1], draws) for group in sorted(set(groups))}
    for i, group in enumerate(groups):
        out[i] += effects[i, rows[group]] - effects[i].mean()
    if common is not None:
        out += common[:, generator.integers(0, common.shape[1], draws)] - common.mean(axis=1)[:, None]
    if n > 1:
        wider = np.sqrt(1.0 + prior_errors**-2) * np.sqrt((n - 1) / generator.chisquare(n - 1, draws))
        out += _root(np.atleast_2d(np.cov(years)) / n) @ generator.standard_normal((k, draws)) * wider
    return np.asarray(out, dtype=np.float64)


def chances(means: Floats, among: Sequence[int]) -> Floats:
    """Return the share of joint draws in which each candidate is the least of some; 0 for the others."""
    rows = list(among)
    out = np.zeros(len(means))
    out[rows] = best_shares(means[rows]).mean(axis=1)
    return out


def additive_effects(values: Floats, designs: Sequence[Floats]) -> Floats:
    """Return the effect of open figures on values, (n,), with mean zero: one regression on all of them at once.

    Shrunk to what is left of the explained share after its expected chance part (adjusted), and zero where there are
    fewer than three values a column.

    Parameters
    ----------
    values : (n,) array
    designs : sequence of (n, p) arrays   Columns of each figure, without a constant.
    """
    n = values.size
    nothing = np.zeros(n)
    if not designs:
        return nothing
    x = np.concatenate(designs, axis=1)
    x = x - x.mean(axis=0)
    size = x.std(axis=0)
    x = x[:, size > 1e-12 * max(1.0, float(np.abs(x).max(initial=0.0)))]
    about = values - values.mean()
    whole = float(about @ about)
    if x.shape[1] == 0 or n < 3 * (x.shape[1] + 1) or whole == 0.0:
        return nothing
    x = x / x.std(axis=0)
    fitted = x @ np.linalg.lstsq(x, about, rcond=1e-9)[0]
    rank = np.linalg.matrix_rank(x)
    share = float(fitted @ fitted) / whole
    adjusted = 1.0 - (1.0 - share) * (n - 1) / max(n - rank - 1, 1)
    return np.asarray(fitted * np.sqrt(adjusted / share) if adjusted > 0.0 and share > 0.0 else nothing)


def _root(covariance: Floats) -> Floats:
    """Return a root of a covariance, also where it is singular: two candidates may be the same."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
