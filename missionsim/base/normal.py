"""The standard normal distribution on arrays, with numpy alone."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.errors import ValidityError

# Hart (1968), rational approximation 5666: numerator and denominator, highest power first.
_HART_TOP = (3.52624965998911e-02, 0.700383064443688, 6.37396220353165, 33.912866078383, 112.079291497871,
             221.213596169931, 220.206867912376)
_HART_BOTTOM = (8.83883476483184e-02, 1.75566716318264, 16.064177579207, 86.7807322029461, 296.564248779674,
                637.333633378831, 793.826512519948, 440.413735824752)
_HART_LIMIT = 7.07106781186547

# Wichura (1988), algorithm AS 241, routine PPND16: highest power first.
_CENTRE = ((2509.0809287301226727, 33430.575583588128105, 67265.770927008700853, 45921.953931549871457,
            13731.693765509461125, 1971.5909503065514427, 133.14166789178437745, 3.387132872796366608),
           (5226.495278852545925, 28729.085735721942674, 39307.89580009271061, 21213.794301586595867,
            5394.1960214247511077, 687.1870074920579083, 42.313330701600911252, 1.0))
_SHOULDER = ((7.7454501427834140764e-4, 0.0227238449892691845833, 0.24178072517745061177, 1.27045825245236838258,
              3.64784832476320460504, 5.7694972214606914055, 4.6303378461565452959, 1.42343711074968357734),
             (1.05075007164441684324e-9, 5.475938084995344946e-4, 0.0151986665636164571966, 0.14810397642748007459,
              0.68976733498510000455, 1.6763848301838038494, 2.05319162663775882187, 1.0))
_TAIL = ((2.01033439929228813265e-7, 2.71155556874348757815e-5, 0.0012426609473880784386, 0.026532189526576123093,
          0.29656057182850489123, 1.7848265399172913358, 5.4637849111641143699, 6.6579046435011037772),
         (2.04426310338993978564e-15, 1.4215117583164458887e-7, 1.8463183175100546818e-5, 7.868691311456132591e-4,
          0.0148753612908506148525, 0.13692988092273580531, 0.59983220655588793769, 1.0))


def normal_cdf(x: ArrayLike) -> Floats:
    """Return the chance that a standard normal variable lies below `x`, to 1e-15 (1e-8 of it in the tail).

    Parameters
    ----------
    x : float or array     Any real value, infinities included; NaN gives NaN.

    Returns
    -------
    numpy.ndarray          0 to 1, of the shape of `x`.

    References
    ----------
    .. [1] J. F. Hart et al., Computer Approximations, Wiley, 1968, approximation 5666.
    """
    x = np.asarray(x, dtype=np.float64)
    a = np.minimum(np.abs(x), 40.0)
    ratio = _polynomial(_HART_TOP, a) / _polynomial(_HART_BOTTOM, a)
    far = a >= _HART_LIMIT
    if far.any():
        fraction = a + 0.65
        for k in (4.0, 3.0, 2.0, 1.0):
            fraction = a + k / fraction
        ratio = np.where(far, 1.0 / (fraction * np.sqrt(2.0 * np.pi)), ratio)
    tail = np.where(np.isposinf(np.abs(x)), 0.0, np.exp(-0.5 * a * a) * ratio)
    return np.asarray(np.where(x > 0.0, 1.0 - tail, tail), dtype=np.float64)


def normal_quantile(p: ArrayLike) -> Floats:
    """Return the standard normal quantile of a probability; relative error about 1e-15.

    Parameters
    ----------
    p : float or array     Probability, 0 to 1 (the ends give infinities); NaN gives NaN.

    Returns
    -------
    numpy.ndarray          Quantile, of the shape of `p`.

    Raises
    ------
    ValidityError          If a probability lies outside 0 to 1.

    References
    ----------
    .. [1] M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988), 477-484, routine PPND16.
    """
    p = np.asarray(p, dtype=np.float64)
    wrong = (p < 0.0) | (p > 1.0)
    if wrong.any():
        raise ValidityError(f"base.normal: probability is {p[wrong].flat[0]:g}; accepted: 0 to 1")
    q = p - 0.5
    with np.errstate(divide="ignore"):
        r = np.sqrt(-np.log(np.where(q < 0.0, p, 1.0 - p)))
    centre = q * _ratio(_CENTRE, 0.180625 - q * q)
    outer = _ratio(_SHOULDER, r - 1.6)
    if (r > 5.0).any():     # hardly ever: of one probability in ten to the eleventh
        outer = np.where(r <= 5.0, outer, _ratio(_TAIL, np.minimum(r, 40.0) - 5.0))
    outer = np.where(np.isfinite(r), outer, r)  # keeps infinities and NaN
    return np.asarray(np.where(np.abs(q) <= 0.425, centre, np.where(q < 0.0, -outer, outer)), dtype=np.float64)


def skewed_quantile(p: ArrayLike, low: ArrayLike, likely: ArrayLike, high: ArrayLike) -> Floats:
    """Return the quantile of a quantity known by a low, a likely and a high value.

    Log-normal in two halves joined at the median: the likely value is the 50 % point, low and high are the 10 % and
    90 % points. Money and repair times are skewed, and the two halves are seldom equally wide.

    Parameters
    ----------
    p : float or array                    Probability, 0 to 1; kept inside 1e-6 of the ends.
    low, likely, high : float or array    The 10 %, 50 % and 90 % points, above zero and in this order; a low and a
                                          likely value of zero are a quantity that is not there.

    Returns
    -------
    numpy.ndarray                         Broadcast shape, in the unit of the three values.

    Raises
    ------
    ValidityError                         If the three values are not above zero and in order.
    """
    return skewed_at(skewed_deviate(p), low, likely, high)


def skewed_deviate(p: ArrayLike) -> Floats:
    """Return the standard normal deviate at which `skewed_quantile` takes a probability."""
    return normal_quantile(np.clip(p, 1e-6, 1.0 - 1e-6))


def skewed_at(z: ArrayLike, low: ArrayLike, likely: ArrayLike, high: ArrayLike) -> Floats:
    """Return the quantity of `skewed_quantile` at standard normal deviates.

    Parameters
    ----------
    z : float or array                    Deviates.
    low, likely, high : float or array    As of `skewed_quantile`.
    """
    down, up, likely = _half_widths(low, likely, high)
    z = np.asarray(z, dtype=np.float64)
    return np.asarray(likely * np.exp(z * np.where(z < 0.0, down, up)), dtype=np.float64)


def skewed_mean(low: ArrayLike, likely: ArrayLike, high: ArrayLike) -> Floats:
    """Return the mean of the quantity of `skewed_quantile`, in closed form."""
    down, up, likely = _half_widths(low, likely, high)
    lower = np.exp(0.5 * down * down) * normal_cdf(-down)
    upper = np.exp(0.5 * up * up) * normal_cdf(up)
    return np.asarray(likely * (lower + upper), dtype=np.float64)


_Z90 = 1.2815515655446004


def _half_widths(low: ArrayLike, likely: ArrayLike, high: ArrayLike) -> tuple[Floats, Floats, Floats]:
    if isinstance(low, int | float) and isinstance(likely, int | float) and isinstance(high, int | float):
        return _known_half_widths(low, likely, high)
    return _worked_out_half_widths(low, likely, high)


@lru_cache(maxsize=1024)
def _known_half_widths(low: float, likely: float, high: float) -> tuple[Floats, Floats, Floats]:
    """Return those of a price, which the years of a study ask for again and again; 40 us a time."""
    return _worked_out_half_widths(low, likely, high)


def _worked_out_half_widths(low: ArrayLike, likely: ArrayLike, high: ArrayLike) -> tuple[Floats, Floats, Floats]:
    low, likely, high = (np.asarray(v, dtype=np.float64) for v in (low, likely, high))
    nothing = (likely == 0.0) & (low == 0.0)
    if np.any((low <= 0.0) & ~nothing) or np.any(low > likely) or np.any(likely > high):
        msg = f"base.normal: low, likely, high are {low}, {likely}, {high}; accepted: above zero and in this order"
        raise ValidityError(msg)
    low, middle, high = (np.where(nothing, 1.0, v) for v in (low, likely, high))
    return np.log(middle / low) / _Z90, np.log(high / middle) / _Z90, likely


def _polynomial(coefficients: tuple[float, ...], x: Floats) -> Floats:
    value = np.full_like(x, coefficients[0])
    for c in coefficients[1:]:
        value *= x
        value += c
    return value


def _ratio(pair: tuple[tuple[float, ...], tuple[float, ...]], x: Floats) -> Floats:
    x = np.where(np.isfinite(x), x, 0.0)
    return _polynomial(pair[0], x) / _polynomial(pair[1], x)
