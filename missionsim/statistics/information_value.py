"""What to ask the seller: the value of knowing one figure before choosing, from replications already run.

Regression estimate of the expected value of partial perfect information (M. Strong, J. Oakley, A. Brennan, Medical
Decision Making 34 (2014), from memory; there with smoother regressions and all candidates at once). Here each figure
belongs to one candidate, which is held against its cheapest rival by mean.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.statistics.comparisons import best_shares, holm
from missionsim.statistics.intervals import exact_mean, finite_row
from missionsim.statistics.splines import Basis, against_constant, group_basis, number_basis, predicted, weighted_fits

CAUTION = "Values of several figures do not add up: one answer can make the next question idle."

_GRID = 401


@dataclass(frozen=True, slots=True)
class Figure:
    """One uncertain figure of one candidate, as drawn in every replication.

    Parameters
    ----------
    candidate : int              Row of the candidate.
    key : str                    Key of the figure in the profile.
    label : str                  The figure in plain words.
    unit : str                   Unit as people read it; `year` for a calendar year; empty for a category.
    drawn : (n,) array           Value in each replication; for a category its code from 0.
    categories : tuple of str    Names of the categories in the order of their codes; empty for a number.
    """

    candidate: int
    key: str
    label: str
    unit: str
    drawn: NDArray[np.float64]
    categories: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """What it is worth to know one figure before choosing.

    Parameters
    ----------
    candidate, key, label         Whose figure it is.
    value_usd : float or None     Expected saving a year; 0 where no answer would change the choice; None: too few
                                  replications.
    standard_error_usd            Of the value, by bootstrap, before it is set to 0.
    probability_change_share      By how much the chance of choosing the year's best candidate rises.
    p_value : float or None       F test of the fit against a constant, after Holm's correction over all figures.
    break_even : tuple of float   Values at which the choice changes; empty for a category.
    changing : tuple of str       Categories that change the choice.
    why : str                     The reason in plain words.
    """

    candidate: int
    key: str
    label: str
    value_usd: float | None
    standard_error_usd: float | None
    probability_change_share: float | None
    p_value: float | None
    break_even: tuple[float, ...]
    changing: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class _Fit:
    figure: Figure
    basis: Basis
    rival: int
    difference: NDArray[np.float64]   # candidate minus rival [usd]
    design: NDArray[np.float64]
    fitted: NDArray[np.float64]       # by all replications
    p_value: float

    @property
    def chosen_before(self) -> bool:
        """Whether the candidate is chosen without knowing the figure."""
        return exact_mean(self.difference) < 0.0


def questions(costs: ArrayLike, figures: Sequence[Figure], names: Sequence[str], generator: np.random.Generator,
              assumptions: Assumptions) -> list[Question]:
    """Rank the uncertain figures by what it is worth to know each of them alone before choosing.

    Parameters
    ----------
    costs : (candidates, n) array        Net cost a year, one column a replication. [usd]
    figures : sequence of Figure         Figures drawn in those replications.
    names : sequence of str              Names of the candidates, in the order of the rows.
    generator : numpy.random.Generator   Stream of the bootstrap.
    assumptions : Assumptions            Group `statistics`.

    Returns
    -------
    list of Question                     Highest value first; equals by p value, then as given.

    Raises
    ------
    ValidityError                        If shapes do not fit together.
    """
    table = np.ascontiguousarray(costs, dtype=np.float64)
    _check(table, figures, names)
    n = table.shape[1]
    if table.shape[0] < 2:
        return [_unasked(f, 0.0, f"{f.label} unknown: no other candidate to choose") for f in figures]
    if n < assumptions["statistics.question_replications"]:
        wanted = assumptions["statistics.question_replications"]
        return [_unasked(f, None, f"{f.label} unknown: too few replications to tell ({n} of {wanted:g})")
                for f in figures]
    fits = [_fit(table, f) for f in figures]
    tested = [i for i, f in enumerate(fits) if f.basis.freedom > 1]
    adjusted = np.ones(len(fits))
    adjusted[tested] = holm([fits[i].p_value for i in tested])
    counts = _fold_counts(n, int(assumptions["statistics.question_resamples"]), generator)
    limit = assumptions["statistics.significance_share"]
    shares = best_shares(table)
    found = [_question(f, float(p), limit, shares, counts, names) for f, p in zip(fits, adjusted, strict=True)]
    return sorted(found, key=lambda q: (-(q.value_usd or 0.0), 1.0 if q.p_value is None else q.p_value))


def fitted_difference(costs: ArrayLike, figure: Figure, at: ArrayLike) -> NDArray[np.float64]:
    """Return the fitted net cost of a figure's candidate minus its cheapest rival at given values of the figure. [usd]

    Running the study again with the figure fixed at these values should give the same picture.
    """
    fit = _fit(np.ascontiguousarray(costs, dtype=np.float64), figure)
    return _at(fit, np.atleast_1d(np.asarray(at, dtype=np.float64)))


def _check(table: NDArray[np.float64], figures: Sequence[Figure], names: Sequence[str]) -> None:
    if table.ndim != 2 or table.shape[0] != len(names):
        msg = f"study.questions: costs have shape {table.shape}; accepted: {len(names)} candidates x replications"
        raise ValidityError(msg)
    finite_row(table)
    for f in figures:
        if finite_row(f.drawn).size != table.shape[1] or not 0 <= f.candidate < table.shape[0]:
            msg = f"study.questions: {f.key} of candidate {f.candidate} has {np.size(f.drawn)} values; " \
                  f"accepted: {table.shape[1]} values of one of {table.shape[0]} candidates"
            raise ValidityError(msg)
        if f.categories and not np.isin(f.drawn, np.arange(len(f.categories))).all():
            msg = f"study.questions: {f.key} has codes beyond its {len(f.categories)} categories; accepted: from 0"
            raise ValidityError(msg)


def _fit(table: NDArray[np.float64], figure: Figure) -> _Fit:
    means = np.array([exact_mean(row) for row in table])
    means[figure.candidate] = np.inf
    rival = int(np.argmin(means))
    difference = table[figure.candidate] - table[rival]
    drawn = np.asarray(figure.drawn, dtype=np.float64)
    basis = group_basis(drawn, len(figure.categories)) if figure.categories else number_basis(drawn)
    design = basis.design(drawn)
    fitted = predicted(design, weighted_fits(design, difference, np.ones((1, drawn.size))))[0]
    freedom = np.unique(drawn).size if figure.categories else basis.freedom
    return _Fit(figure, basis, rival, difference, design, fitted, against_constant(difference, fitted, freedom))


def _question(fit: _Fit, p_value: float, limit: float, shares: NDArray[np.float64],
              counts: tuple[NDArray[np.float64], NDArray[np.float64]], names: Sequence[str]) -> Question:
    figure = fit.figure
    if fit.basis.freedom == 1:
        return _unasked(figure, 0.0, f"{figure.label}: the same in every replication, nothing to ask")
    folds = _folds(np.asarray(figure.drawn))
    even = (np.ones((1, folds[0].size)), np.ones((1, folds[1].size)))
    values, chosen = _values(fit, folds, even)
    error = float(np.std(_values(fit, folds, counts)[0], ddof=1))
    break_even, flips = _changes(fit)
    what, changing = _what_changes(fit, break_even, flips)
    head = _head(fit)
    if p_value > limit or not flips.any() or flips.all():
        why = f"{head}, no effect on the choice beyond chance" if p_value > limit else \
              f"{head}, {_before(fit, names)} stays ahead of {_after(fit, names)} throughout"
        return Question(figure.candidate, figure.key, figure.label, 0.0, error, 0.0, p_value, (), (), why)
    before = shares[figure.candidate if fit.chosen_before else fit.rival]
    informed = np.where(chosen[0], shares[figure.candidate], shares[fit.rival])
    change = exact_mean(informed) - exact_mean(before)
    why = f"{head}, choice changes {what} from {_before(fit, names)} to {_after(fit, names)}"
    return Question(figure.candidate, figure.key, figure.label, float(values[0]), error, change, p_value, break_even,
                    changing, why)


def _folds(drawn: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return two halves of the replications that cover the figure's range alike."""
    order = np.argsort(drawn, kind="stable")
    return np.sort(order[0::2]), np.sort(order[1::2])


def _fold_counts(n: int, resamples: int, generator: np.random.Generator,
                 ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return how often each replication is drawn, within each half: a copy must not sit on both sides of the fit.

    Drawn once for all figures, so that a figure's standard error does not depend on which others are asked about.
    """
    sizes = (n - n // 2, n // 2)
    first, second = (generator.multinomial(m, np.full(m, 1.0 / m), size=resamples).astype(np.float64) for m in sizes)
    return first, second


def _values(fit: _Fit, folds: tuple[NDArray[np.intp], NDArray[np.intp]],
            counts: tuple[NDArray[np.float64], NDArray[np.float64]],
            ) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return the value of knowing under each set of counts, (b,), and which replications choose the candidate, (b, n).

    Each half decides by the fit of the other half and is valued by the fit of both: deciding and valuing by the same
    fit would count its luck as knowledge, valuing by single replications would add their scatter.
    """
    design, difference = fit.design, fit.difference
    chosen = np.empty((counts[0].shape[0], difference.size), dtype=np.bool_)
    weights = np.empty(chosen.shape)
    for here, there, own, other in ((*folds, *counts), (*folds[::-1], *counts[::-1])):
        across = predicted(design[here], weighted_fits(design[there], difference[there], other))
        chosen[:, here] = across < 0.0
        weights[:, here] = own
    whole = weighted_fits(design, difference, weights)
    informed = np.where(chosen, predicted(design, whole), 0.0)
    mean_informed = np.einsum("bn,bn->b", weights, informed) / weights.sum(axis=1)
    return np.maximum(0.0, np.minimum(whole[1], 0.0) - mean_informed), chosen


def _at(fit: _Fit, values: NDArray[np.float64]) -> NDArray[np.float64]:
    own = weighted_fits(fit.design, fit.difference, np.ones((1, fit.difference.size)))
    return predicted(fit.basis.design(values), own)[0]


def _changes(fit: _Fit) -> tuple[tuple[float, ...], NDArray[np.bool_]]:
    """Return the break-even values, and for points over the drawn range whether the choice changes there."""
    drawn = np.asarray(fit.figure.drawn, dtype=np.float64)
    points = np.unique(drawn) if fit.figure.categories else np.linspace(drawn.min(), drawn.max(), _GRID)
    at = _at(fit, points)
    flips = np.asarray((at < 0.0) != fit.chosen_before)
    if fit.figure.categories:
        return (), flips
    turn = np.flatnonzero(flips[1:] != flips[:-1])
    share = at[turn] / (at[turn] - at[turn + 1])  # the cubic is straight enough between neighbouring points
    return tuple(float(v) for v in points[turn] + share * (points[1] - points[0])), flips


def _what_changes(fit: _Fit, break_even: tuple[float, ...], flips: NDArray[np.bool_],
                  ) -> tuple[str, tuple[str, ...]]:
    figure = fit.figure
    if figure.categories:
        codes = np.unique(figure.drawn)[flips]
        changing = tuple(figure.categories[int(c)] for c in codes)
        return "if it is " + " or ".join(changing), changing
    marks = [_number(v, figure) for v in break_even]
    runs = []
    inside = bool(flips[0])
    start = None if inside else ""
    for mark in marks:
        if inside:
            runs.append(f"below {mark}" if start is None else f"between {start} and {mark}")
        else:
            start = mark
        inside = not inside
    if inside and marks:
        runs.append(f"above {start}")
    return _with_unit(" and ".join(runs), figure), ()


def _head(fit: _Fit) -> str:
    figure = fit.figure
    if figure.categories:
        return f"{figure.label} unknown"
    low, high = (_number(float(v), figure) for v in (np.min(figure.drawn), np.max(figure.drawn)))
    return _with_unit(f"{figure.label} unknown: between {low} and {high}", figure)


def _before(fit: _Fit, names: Sequence[str]) -> str:
    return names[fit.figure.candidate if fit.chosen_before else fit.rival]


def _after(fit: _Fit, names: Sequence[str]) -> str:
    return names[fit.rival if fit.chosen_before else fit.figure.candidate]


def _number(value: float, figure: Figure) -> str:
    """Return a value as fine as the drawn range deserves, about a fiftieth of it."""
    if figure.unit == "year":
        return f"{value:.0f}"
    decimals = -math.floor(math.log10(float(np.ptp(figure.drawn)) / 50.0))
    return f"{round(value, decimals):,.{max(0, decimals)}f}"


def _with_unit(text: str, figure: Figure) -> str:
    return text if figure.unit in {"", "year"} else f"{text} {figure.unit}"


def _unasked(figure: Figure, value: float | None, why: str) -> Question:
    nothing = None if value is None else 0.0
    return Question(figure.candidate, figure.key, figure.label, value, nothing, nothing, None, (), (), why)
