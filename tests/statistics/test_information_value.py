"""The value of a question to the seller: zero cases, power, honest errors, plain words."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, replace

import numpy as np
import pytest

from missionsim.base.errors import ValidityError
from missionsim.base.normal import normal_quantile
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.statistics.information_value import OpenFigure, _at, _first_least, _fit, _folds, _values, questions
from missionsim.statistics.splines import number_basis, weighted_fits

NAMES = ("Alder", "Birch", "Cedar")


def fitted_difference(costs, figure, at):
    """Return the fitted net cost of a figure's candidate minus its cheapest rival at given values of the figure."""
    every = list(range(len(costs)))
    fit = _fit(np.ascontiguousarray(costs), 0, [figure], every, every)
    return _at(fit, np.atleast_1d(np.asarray(at, dtype=float)))[0] - fit.rival_usd


def stream() -> np.random.Generator:
    return generator(11, 0, Stream.BOOTSTRAP)


def stratified(rng: np.random.Generator, n: int) -> np.ndarray:
    return (rng.permutation(n) + rng.random(n)) / n


def hours(drawn: np.ndarray, candidate: int = 0) -> OpenFigure:
    return OpenFigure(candidate, "engine.hours", "engine hours since overhaul", "h", drawn)


def ask(costs, figures, assumptions, names=NAMES):
    return questions(costs, figures, names[: len(costs)], stream(), assumptions)


def overhaul_case(rng: np.random.Generator, n: int = 400, noise: float = 800.0) -> tuple[np.ndarray, OpenFigure]:
    """Alder costs 4 dollars a year for every hour on its engine; even with Birch at 1,150 hours."""
    drawn = 400 + 1_200 * stratified(rng, n)
    weather = rng.normal(0, 3_000, size=n)
    alder = 30_000 + 4 * (drawn - 1_150) + weather + rng.normal(0, noise, size=n)
    return np.stack([alder, 30_000 + weather]), hours(drawn)


def test_break_even_and_plain_words(rng, assumptions):
    costs, figure = overhaul_case(rng)
    (found,) = ask(costs, [figure], assumptions)
    assert found.break_even == pytest.approx((1_150,), abs=60)
    assert found.why.startswith("engine hours since overhaul unknown: between 400 and 1,600 h, choice changes above 1,")
    assert found.why.endswith(" h from Alder to Birch")
    # Uniform on 400 to 1,600: saved above 1,150 is 4 x 450 / 2 dollars on the 450 / 1,200 of the range.
    assert found.value_usd == pytest.approx(4 * 450**2 / 2 / 1_200, abs=4 * found.standard_error_usd)


def test_without_scatter_the_value_is_the_known_one(rng, assumptions):
    costs, figure = overhaul_case(rng, noise=0.0)
    (found,) = ask(costs, [figure], assumptions)
    assert found.value_usd == pytest.approx(4 * 450**2 / 2 / 1_200, rel=0.02)
    # Uniform over 1,200 h at 4 dollars each: the cost it gives has the spread 4 x 1,200 / sqrt(12).
    assert found.spread_usd == pytest.approx(4 * 1_200 / math.sqrt(12), rel=0.02)


def test_one_figure_is_not_credited_with_what_another_did(rng, assumptions):
    """Two figures go together and only the hours cost money: alone, the idle one looks worth asking."""
    costs, figure = overhaul_case(rng, noise=300.0)
    beside = replace(hours(figure.drawn + rng.normal(0.0, 200.0, 400)), key="engine.compression")
    (alone,) = ask(costs, [beside], assumptions)
    assert alone.value_usd > 100.0
    both = {q.figure: q for q in ask(costs, [figure, beside], assumptions)}
    assert (both["engine.compression"].value_usd, both["engine.compression"].spread_usd) == (0.0, 0.0)
    assert both["engine.hours"].value_usd == pytest.approx(4 * 450**2 / 2 / 1_200, rel=0.15)


def test_candidates_of_one_advertisement_are_chosen_among_together(rng, assumptions):
    """Of two candidates of one airframe one gains by the figure what the other loses: knowing it saves 500 E|z|."""
    z = normal_quantile(stratified(rng, 400))
    weather = rng.normal(0.0, 2_000.0, 400)
    costs = np.stack([20_000 + 500 * z, 20_000 - 500 * z, np.full(400, 20_200.0)]) + weather
    (found,) = questions(costs, [OpenFigure(0, "k", "trim", "in", z)], NAMES, stream(), assumptions, groups=(0, 0, 1))
    expected = 500.0 * math.sqrt(2.0 / math.pi)     # E|z| of a standard normal; the third stays behind both
    assert found.value_usd == pytest.approx(expected, rel=0.03)
    assert found.break_even == pytest.approx((0.0,), abs=0.1)


def test_one_chooses_among_those_that_do_the_job(rng, assumptions):
    """The two-seater is cheapest and stands apart: it is neither the rival nor worth a question."""
    costs, figure = overhaul_case(rng)
    with_two_seater = np.concatenate([costs, costs[1:] - 15_000.0])
    found = questions(with_two_seater, [figure, hours(figure.drawn, 2)], NAMES, stream(), assumptions, among=(0, 1))
    (alone,) = ask(costs, [figure], assumptions)
    assert found[0].value_usd == pytest.approx(alone.value_usd, rel=0.1)
    assert found[0].why.endswith("from Alder to Birch")
    assert (found[1].candidate, found[1].value_usd) == ("Cedar", 0.0)
    assert "Cedar is not among those one chooses" in found[1].why


def test_the_rivals_figure_reads_the_other_way(rng, assumptions):
    costs, figure = overhaul_case(rng)
    (found,) = ask(costs[::-1], [replace(figure, candidate=1)], assumptions)
    (straight,) = ask(costs, [figure], assumptions)
    assert found.value_usd == pytest.approx(straight.value_usd)
    assert "from Birch to Alder" in found.why  # names follow the rows


def test_below_and_between(rng, assumptions):
    drawn = -1 + 2 * stratified(rng, 500)
    valley = np.stack([100 * (drawn**2 - 0.25), np.full(500, 20.0)]) + rng.normal(0, 5, size=500)
    (found,) = ask(valley, [OpenFigure(0, "k", "trim", "in", drawn)], assumptions)
    assert len(found.break_even) == 2
    assert "choice changes below -0." in found.why
    assert " and above 0." in found.why
    (other,) = ask(np.stack([-valley[0], valley[1] - 50]), [OpenFigure(0, "k", "trim", "in", drawn)], assumptions)
    assert "choice changes" in other.why
    falling = np.stack([30 - 100 * drawn, np.zeros(500)])
    (third,) = ask(falling, [OpenFigure(0, "k", "trim", "in", drawn)], assumptions)
    assert "choice changes above 0.3" in third.why
    assert "from Birch to Alder" in third.why


def test_between_two_values(rng, assumptions):
    drawn = -1 + 2 * stratified(rng, 500)
    costs = np.stack([100 * drawn**2 - 10, np.zeros(500)])
    (found,) = ask(costs, [OpenFigure(0, "k", "trim", "in", drawn)], assumptions)
    assert "choice changes between -0.3" in found.why
    assert " and 0.3" in found.why


def test_a_category(rng, assumptions):
    codes = np.tile([0.0, 0.0, 0.0, 1.0], 100)
    costs = np.stack([np.where(codes == 1, 900.0, -500.0) + rng.normal(0, 300, size=400), np.zeros(400)])
    figure = OpenFigure(0, "overhaul.by", "who overhauled the engine", "", codes, ("factory", "field", "owner"))
    (found,) = ask(costs, [figure], assumptions)
    # Chosen at -150 on average; a field overhaul, a quarter of the cases, would cost 900 more than the rival.
    assert found.value_usd == pytest.approx(900 / 4, abs=4 * found.standard_error_usd)
    assert found.changing == ("field",)
    assert found.break_even == ()
    assert found.why == "who overhauled the engine unknown, choice changes if it is field from Alder to Birch"
    (same,) = ask(costs, [replace(figure, drawn=np.zeros(400))], assumptions)
    assert same.value_usd == 0
    assert "the same in every replication" in same.why


def test_answers_that_cannot_change_the_choice_are_worth_nothing(rng, assumptions):
    costs, figure = overhaul_case(rng)
    costs[0] -= 10_000
    (found,) = ask(costs, [figure], assumptions)
    assert (found.value_usd, found.break_even) == (0, ())
    assert found.why.endswith("Alder stays ahead throughout")
    assert found.p_value < 0.001


def test_false_alarms_stay_at_the_significance(rng, assumptions):
    # Figures without any effect: Holm holds the chance of one false value among five at 5 %.
    runs, false = 100, 0
    for _ in range(runs):
        costs = rng.normal(0, 1_000, size=(2, 100))
        found = ask(costs, [hours(rng.random(100), i % 2) for i in range(5)], assumptions)
        false += any(q.value_usd > 0 for q in found)
    assert false / runs <= 0.05 + 4 * math.sqrt(0.05 * 0.95 / runs)


def test_power(rng, assumptions):
    # A figure that moves the difference by its own scatter (half of the variance) is found in 200 replications.
    for _ in range(20):
        z = normal_quantile(stratified(rng, 200))
        costs = np.stack([500 * z + rng.normal(0, 500, size=200), np.zeros(200)])
        idle = [hours(rng.random(200), 1) for _ in range(9)]
        found = ask(costs, [*idle, hours(z)], assumptions)
        assert found[0].candidate == "Alder"
        assert found[0].value_usd > 0


def test_most_valuable_first_and_the_same_when_asked_again(rng, assumptions):
    n = 300
    draws = [normal_quantile(stratified(rng, n)) for _ in range(3)]
    costs = np.stack([1_000 * draws[0] + 300 * draws[1] + rng.normal(0, 200, size=n), 500 * draws[2],
                      np.full(n, 400.0)])
    figures = [replace(hours(draws[1]), key="prop"), replace(hours(draws[2], 1), key="other"), hours(draws[0])]
    found = ask(costs, figures, assumptions)
    values = [q.value_usd for q in found]
    assert values == sorted(values, reverse=True)
    assert found[0].figure == "engine.hours"
    (asked_twice,) = [q for q in ask(costs, figures, assumptions) if q.figure == "engine.hours"]
    assert asked_twice == found[0]


def test_too_few_and_no_rival(rng, assumptions):
    costs, figure = overhaul_case(rng, n=99)
    (few,) = ask(costs, [figure], assumptions)
    assert few.value_usd is None
    assert few.why.endswith("too few replications to tell (99 of 100)")
    (single,) = ask(costs[:1], [figure], assumptions)
    assert single.value_usd == 0
    assert "no other candidate" in single.why
    json.dumps([asdict(few), asdict(single)], allow_nan=False)
    assert ask(costs, [], assumptions) == []


def test_a_figure_of_few_values_and_a_calendar_year(rng, assumptions):
    drawn = rng.integers(0, 2, size=200).astype(float)
    costs = np.stack([np.where(drawn > 0, 500.0, -900.0) + rng.normal(0, 50, size=200), np.zeros(200)])
    assert number_basis(drawn).freedom == 2
    (found,) = ask(costs, [OpenFigure(0, "blades", "blades", "", drawn)], assumptions)
    assert found.value_usd == pytest.approx(500 * drawn.mean(), rel=0.05)
    years = 1_998 + 14 * stratified(rng, 200)
    costs = np.stack([200.0 * (2_009 - years), np.zeros(200)]) + 0.0
    (dated,) = ask(costs, [OpenFigure(0, "overhaul.year", "year of overhaul", "year", years)], assumptions)
    assert dated.why == ("year of overhaul unknown: between 1998 and 2012, choice changes above 2009 "
                         "from Birch to Alder")


def test_the_fit_is_told_at_any_value(rng):
    costs, figure = overhaul_case(rng, noise=100.0)
    at = np.array([500.0, 1_150.0, 1_500.0])
    assert fitted_difference(costs, figure, at) == pytest.approx(4 * (at - 1_150), abs=60)


def test_spline_is_straight_beyond_its_knots():
    values = np.linspace(0, 100, 201)
    basis = number_basis(values)
    assert basis.freedom == 3
    outside = basis.design(np.array([92.0, 95.0, 98.0, 3.0, 5.0, 7.0]))
    assert outside[0] - 2 * outside[1] + outside[2] == pytest.approx(np.zeros(3), abs=1e-12)
    assert outside[3] - 2 * outside[4] + outside[5] == pytest.approx(np.zeros(3), abs=1e-12)


def test_shapes_are_checked(rng, assumptions):
    costs, figure = overhaul_case(rng)
    with pytest.raises(ValidityError, match="accepted: 400 values of one of 2 candidates"):
        ask(costs, [replace(figure, drawn=figure.drawn[:-1])], assumptions)
    with pytest.raises(ValidityError, match="codes beyond its 2 categories"):
        ask(costs, [replace(figure, categories=("a", "b"))], assumptions)
    with pytest.raises(ValidityError, match="accepted: 3 candidates"):
        questions(costs, [figure], NAMES, stream(), assumptions)


def test_a_half_decides_by_the_fit_of_the_other_half():
    """Twelve categories of pure chance: what a half chooses by the other's fit is no better than what it leaves."""
    gained = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        drawn = rng.integers(0, 12, 96).astype(float)
        costs = np.stack([rng.normal(0.0, 1_000.0, 96), np.zeros(96)])
        fit = _fit(costs, 0, [OpenFigure(0, "words", "words", "", drawn, tuple("abcdefghijkl"))], (0, 1), (0, 1))
        folds = _folds(drawn)
        chosen = _values(fit, folds, (np.ones((1, folds[0].size)), np.ones((1, folds[1].size))))[1][0] == 0
        gained.append(costs[0, ~chosen].mean() - costs[0, chosen].mean())
    # By its own fit a half would choose years some 800 dollars cheaper than those it leaves.
    assert abs(np.mean(gained)) < 4.0 * 1_000.0 * (4.0 / 96 / 60)**0.5


@pytest.mark.parametrize("columns", [1, 2, 4])
def test_fits_side_by_side_are_those_of_each_alone(rng, columns):
    """Weighted least squares about the mean, by the normal equations of each set of weights."""
    design, y = rng.normal(size=(90, columns)), rng.normal(size=90)
    weights = rng.multinomial(90, np.full(90, 1.0 / 90), size=6).astype(np.float64)
    coefficients, means = weighted_fits(design, y, weights)
    for b, w in enumerate(weights):
        mean = (w @ y) / w.sum()
        by_hand = np.linalg.solve(design.T @ (w[:, None] * design), design.T @ (w * (y - mean)))
        assert coefficients[b] == pytest.approx(by_hand, rel=1e-9)
        assert means[b] == pytest.approx(mean)


def test_the_least_is_the_first_of_equals(rng):
    across = rng.integers(0, 3, (4, 30, 20)).astype(np.float64)
    assert (_first_least(across) == across.argmin(axis=0)).all()
    assert (_first_least(across[:1]) == 0).all()
