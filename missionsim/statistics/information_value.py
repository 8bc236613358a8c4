"""What to ask the seller: the value of knowing one figure before choosing, from replications already run.

Regression estimate of the expected value of partial perfect information (M. Strong, J. Oakley, A. Brennan, Medical
Decision Making 34 (2014), from memory; there with smoother regressions). All open figures of an advertisement are
fitted at once, beside the cost of what flew the same weather, so that one figure is not credited with what another or
the weather did; the choice is among all candidates one chooses among. A figure of one advertisement moves the cost of
no other's candidates, which is why those enter as one constant each.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Bools, Floats, Indices
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.statistics.comparisons import holm
from missionsim.statistics.intervals import exact_mean, f_above, finite_row
from missionsim.statistics.splines import Basis, group_basis, number_basis, predicted, weighted_fits

CAUTION = "Values of several figures do not add up: one answer can make the next question idle."

_GRID = 401
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class OpenFigure:
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
    drawn: Floats
    categories: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """What it is worth to know one figure before choosing.

    Parameters
    ----------
    candidate : str               Name of the one whose figure it is.
    figure : str                  Key of the figure in the profile.
    label, unit                   The figure in plain words, and its unit.
    value_usd : float or None     Expected saving a year; 0 where no answer would change the choice; None: too few
                                  replications.
    standard_error_usd            Of the value, by bootstrap, before it is set to 0.
    spread_usd : float or None    Standard deviation that the figure gives the candidate's cost, by the fit; 0 where the
                                  fit is not beyond chance.
    p_value : float or None       F test of the figure given all others, after Holm's correction over all figures.
    break_even : tuple of float   Values at which the choice changes; empty for a category.
    changing : tuple of str       Categories that change the choice.
    why : str                     The reason in plain words.
    """

    candidate: str
    figure: str
    label: str
    unit: str
    value_usd: float | None
    standard_error_usd: float | None
    spread_usd: float | None
    p_value: float | None
    break_even: tuple[float, ...]
    changing: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class _Fit:
    """One figure's fit: the costs of the candidates it moves, and the cheapest of the rest, which it does not."""

    figure: OpenFigure
    basis: Basis
    rows: tuple[int, ...]             # candidates of the advertisement, among those one chooses among
    rival: int                        # cheapest of the others, -1 where there is none
    rival_usd: float                  # its mean; infinite where there is none
    costs: Floats        # (rows, n) of those, what the other figures and the weather did taken out [usd]
    design: Floats
    p_value: float

    @property
    def means(self) -> Floats:
        """Mean cost of the candidates moved, then of the rival. [usd]"""
        return np.array([*(exact_mean(row) for row in self.costs), self.rival_usd])

    @property
    def names(self) -> tuple[int, ...]:
        """Candidates in the order of `means`."""
        return (*self.rows, self.rival)


def questions(costs: ArrayLike, figures: Sequence[OpenFigure], names: Sequence[str], generator: np.random.Generator,
              assumptions: Assumptions, groups: Sequence[int] | None = None, among: Sequence[int] | None = None,
              ) -> list[Question]:
    """Rank the uncertain figures by what it is worth to know each of them alone before choosing.

    Parameters
    ----------
    costs : (candidates, n) array        Net cost a year, one column a replication. [usd]
    figures : sequence of Figure         Figures drawn in those replications.
    names : sequence of str              Names of the candidates, in the order of the rows.
    generator : numpy.random.Generator   Stream of the bootstrap.
    assumptions : Assumptions            Group `statistics`.
    groups : sequence of int, optional   Candidates of one advertisement share a number; each its own when left out.
    among : sequence of int, optional    Rows one chooses among; all when left out.

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
    rows = list(range(len(table))) if among is None else sorted(among)
    if len(rows) < 2:
        return [_unasked(f, names, 0.0, f"{f.label} unknown: no other candidate to choose") for f in figures]
    if n < assumptions["statistics.question_replications"]:
        wanted = assumptions["statistics.question_replications"]
        return [_unasked(f, names, None, f"{f.label} unknown: too few replications to tell ({n} of {wanted:g})")
                for f in figures]
    together = list(range(len(table))) if groups is None else list(groups)
    inside = [f for f in figures if f.candidate in rows]
    fits = [_fit(table, i, inside, together, rows) for i in range(len(inside))]
    tested = [i for i, f in enumerate(fits) if f.basis.freedom > 1]
    adjusted = np.ones(len(fits))
    adjusted[tested] = holm([fits[i].p_value for i in tested])
    counts = _fold_counts(n, int(assumptions["statistics.question_resamples"]), generator)
    limit = assumptions["statistics.significance_share"]
    found = [_question(f, float(p), limit, counts, names) for f, p in zip(fits, adjusted, strict=True)]
    found += [_unasked(f, names, 0.0, f"{f.label} unknown: {names[f.candidate]} is not among those one chooses")
              for f in figures if f.candidate not in rows]
    return sorted(found, key=lambda q: (-(q.value_usd or 0.0), 1.0 if q.p_value is None else q.p_value))


def _check(table: Floats, figures: Sequence[OpenFigure], names: Sequence[str]) -> None:
    if table.ndim != 2 or table.shape[0] != len(names):
        msg = f"study.questions: costs have shape {table.shape}; accepted: {len(names)} candidates x replications"
        raise ValidityError(msg)
    finite_row(table)
    for f in figures:
        if finite_row(f.drawn).size != table.shape[1] or not 0 <= f.candidate < table.shape[0]:
            raise ValidityError(f"study.questions: {f.key} of candidate {f.candidate} has {np.size(f.drawn)} values; "
                                f"accepted: {table.shape[1]} values of one of {table.shape[0]} candidates")
        if f.categories and not np.isin(f.drawn, np.arange(len(f.categories))).all():
            msg = f"study.questions: {f.key} has codes beyond its {len(f.categories)} categories; accepted: from 0"
            raise ValidityError(msg)


def _fit(table: Floats, number: int, figures: Sequence[OpenFigure], groups: Sequence[int],
         among: Sequence[int]) -> _Fit:
    """Fit one figure beside all others of its advertisement and the costs of other advertisements' candidates."""
    figure = figures[number]
    group = groups[figure.candidate]
    rows = tuple(i for i in among if groups[i] == group)
    others = [i for i in among if groups[i] != group]
    means = [exact_mean(table[i]) for i in others]
    rival, rival_usd = (others[int(np.argmin(means))], min(means)) if others else (-1, np.inf)
    drawn = np.asarray(figure.drawn, dtype=np.float64)
    basis = group_basis(drawn, len(figure.categories)) if figure.categories else number_basis(drawn)
    design = basis.design(drawn)
    beside = [_straight(f) for i, f in enumerate(figures) if i != number and groups[f.candidate] == group]
    weather = [table[i][:, None] for i, other in enumerate(groups) if other != group]
    taken = _columns(drawn.size, design.shape[1], beside, weather)
    costs = np.stack([_without(table[i], design, taken) for i in rows])
    own = float(np.min([_partial(table[i], design, taken) for i in rows])) * len(rows)
    return _Fit(figure, basis, rows, rival, rival_usd, costs, design, min(own, 1.0))


def _straight(figure: OpenFigure) -> Floats:
    """Return a figure as the others are fitted beside: a straight line, or a column a category."""
    drawn = np.asarray(figure.drawn, dtype=np.float64)
    if figure.categories:
        return np.asarray(drawn[:, None] == np.arange(1, len(figure.categories)), dtype=np.float64)
    return drawn[:, None]


def _columns(n: int, own: int, beside: Sequence[Floats], weather: Sequence[Floats],
             ) -> Floats:
    """Return what is fitted beside a figure, centred: as much of it as leaves two replications a column."""
    out, left = np.zeros((n, 0)), n // 2 - own - 1
    for columns in (*weather, *beside):
        about = columns - columns.mean(axis=0)
        about = about[:, about.std(axis=0) > _SAME * np.maximum(np.abs(columns).max(axis=0), 1.0)]
        if about.shape[1] <= left:
            out, left = np.concatenate([out, about / about.std(axis=0)], axis=1), left - about.shape[1]
    return out


def _without(cost: Floats, design: Floats, taken: Floats) -> Floats:
    """Return costs less what is fitted beside the figure; a fit on the figure alone then finds what the whole found."""
    k = design.shape[1]
    whole = np.concatenate([design, taken], axis=1)
    found = np.linalg.lstsq(whole, cost - cost.mean(), rcond=_SAME)[0]
    return np.asarray(cost - taken @ found[k:])


def _partial(cost: Floats, design: Floats, taken: Floats) -> float:
    """Return the p value of the F test of a figure given what is fitted beside it."""
    about = cost - cost.mean()
    if not np.any(np.abs(about) > _SAME * np.abs(cost).max()):
        return 1.0
    rest, freedom = [], []
    for columns in (np.ones((cost.size, 1)), design):
        whole = np.concatenate([columns, taken], axis=1)
        found, _, rank, _ = np.linalg.lstsq(whole, about, rcond=_SAME)
        rest.append(float(np.sum((about - whole @ found) ** 2)))
        freedom.append(int(rank))
    more, left = freedom[1] - freedom[0], cost.size - freedom[1]
    floor = _SAME**2 * float(about @ about)
    if more < 1 or left < 1 or rest[0] <= floor:
        return 1.0
    if rest[1] <= floor:
        return 0.0
    return f_above(max(rest[0] - rest[1], 0.0) / more / (rest[1] / left), float(more), float(left))


def _question(fit: _Fit, p_value: float, limit: float, counts: tuple[Floats, Floats],
              names: Sequence[str]) -> Question:
    figure, whose = fit.figure, names[fit.figure.candidate]
    if fit.basis.freedom == 1:
        return _unasked(figure, names, 0.0, f"{figure.label}: the same in every replication, nothing to ask")
    folds = _folds(np.asarray(figure.drawn))
    even = (np.ones((1, folds[0].size)), np.ones((1, folds[1].size)))
    values, _ = _values(fit, folds, even)
    error = float(np.std(_values(fit, folds, counts)[0], ddof=1))
    own = _at(fit, np.asarray(figure.drawn, dtype=np.float64))[fit.rows.index(figure.candidate)]
    spread = float(own.std()) if p_value <= limit else 0.0
    break_even, flips, after = _changes(fit)
    before = names[fit.names[int(np.argmin(fit.means))]]
    what, changing = _what_changes(fit, break_even, flips)
    head = _head(fit)
    if p_value > limit or not flips.any() or flips.all():
        why = f"{head}, no effect on the cost beyond chance" if p_value > limit else \
              f"{head}, {before} stays ahead throughout"
        return Question(whose, figure.key, figure.label, figure.unit, 0.0, error, spread, p_value, (), (), why)
    why = f"{head}, choice changes {what} from {before} to {names[after]}"
    return Question(whose, figure.key, figure.label, figure.unit, float(values[0]), error, spread, p_value, break_even,
                    changing, why)


def _folds(drawn: Floats) -> tuple[Indices, Indices]:
    """Return two halves of the replications that cover the figure's range alike."""
    order = np.argsort(drawn, kind="stable")
    return np.sort(order[0::2]), np.sort(order[1::2])


def _fold_counts(n: int, resamples: int, generator: np.random.Generator,
                 ) -> tuple[Floats, Floats]:
    """Return how often each replication is drawn, within each half: a copy must not sit on both sides of the fit.

    Drawn once for all figures, so that a figure's standard error does not depend on which others are asked about.
    """
    sizes = (n - n // 2, n // 2)
    first, second = (generator.multinomial(m, np.full(m, 1.0 / m), size=resamples).astype(np.float64) for m in sizes)
    return first, second


def _values(fit: _Fit, folds: tuple[Indices, Indices],
            counts: tuple[Floats, Floats],
            ) -> tuple[Floats, Indices]:
    """Return the value of knowing under each set of counts, (b,), and whom each replication chooses, (b, n).

    Each half decides by the fit of the other half and is valued by the fit of both: deciding and valuing by the same
    fit would count its luck as knowledge, valuing by single replications would add their scatter.
    """
    b, n, design = counts[0].shape[0], len(fit.design), fit.design
    across = np.full((len(fit.rows) + 1, b, n), fit.rival_usd)
    weights = np.empty((b, n))
    for here, there, own, other in ((*folds, *counts), (*folds[::-1], *counts[::-1])):
        for row, cost in enumerate(fit.costs):
            across[row][:, here] = predicted(design[here], weighted_fits(design[there], cost[there], other))
        weights[:, here] = own
    chosen = _first_least(across)
    informed, means = np.full((b, n), fit.rival_usd), np.full(b, fit.rival_usd)
    for row, cost in enumerate(fit.costs):
        whole = weighted_fits(design, cost, weights)
        informed = np.where(chosen == row, predicted(design, whole), informed)
        means = np.minimum(means, whole[1])
    mean_informed = np.einsum("bn,bn->b", weights, informed) / weights.sum(axis=1)
    return np.maximum(0.0, means - mean_informed), chosen


def _first_least(across: Floats) -> Indices:
    """Return `across.argmin(axis=0)`, without looking from row to row at every place: a tenth of the time."""
    chosen, least = np.zeros(across.shape[1:], dtype=np.int64), across[0]
    for row in range(1, len(across)):
        chosen = np.where(across[row] < least, row, chosen)
        least = np.minimum(least, across[row])
    return chosen


def _at(fit: _Fit, values: Floats) -> Floats:
    """Return the fitted costs of the candidates moved at some values of the figure, (rows, values). [usd]"""
    even, design = np.ones((1, len(fit.design))), fit.basis.design(values)
    return np.stack([predicted(design, weighted_fits(fit.design, cost, even))[0] for cost in fit.costs])


def _changes(fit: _Fit) -> tuple[tuple[float, ...], Bools, int]:
    """Return the break-even values, for points over the drawn range whether the choice changes there, and to whom."""
    drawn = np.asarray(fit.figure.drawn, dtype=np.float64)
    points = np.unique(drawn) if fit.figure.categories else np.linspace(drawn.min(), drawn.max(), _GRID)
    curves = np.concatenate([_at(fit, points), np.full((1, points.size), fit.rival_usd)])
    before = int(np.argmin(fit.means))
    rest = np.delete(curves, before, axis=0)
    gap = curves[before] - rest.min(axis=0)
    flips = np.asarray(gap > 0.0)
    others = np.delete(np.array(fit.names), before)
    at = rest.argmin(axis=0)[flips]
    after = int(others[np.bincount(at).argmax()]) if at.size else before
    if fit.figure.categories:
        return (), flips, after
    turn = np.flatnonzero(flips[1:] != flips[:-1])
    share = gap[turn] / (gap[turn] - gap[turn + 1])  # the cubic is straight enough between neighbouring points
    return tuple(float(v) for v in points[turn] + share * (points[1] - points[0])), flips, after


def _what_changes(fit: _Fit, break_even: tuple[float, ...], flips: Bools,
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


def _number(value: float, figure: OpenFigure) -> str:
    """Return a value as fine as the drawn range deserves, about a fiftieth of it."""
    if figure.unit == "year":
        return f"{value:.0f}"
    decimals = -math.floor(math.log10(float(np.ptp(figure.drawn)) / 50.0))
    return f"{round(value, decimals):,.{max(0, decimals)}f}"


def _with_unit(text: str, figure: OpenFigure) -> str:
    return text if figure.unit in {"", "year"} else f"{text} {figure.unit}"


def _unasked(figure: OpenFigure, names: Sequence[str], value: float | None, why: str) -> Question:
    nothing = None if value is None else 0.0
    return Question(names[figure.candidate], figure.key, figure.label, figure.unit, value, nothing, nothing, None, (),
                    (), why)
