"""What ties routes to the knots of the winds aloft and to their climate: weights, means, scatter, vertical modes.

Worked out once per study, for routes given by their samples, [route, sample].
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.arrays import Floats, Floats32, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.physics.atmosphere import pressure_hpa
from missionsim.world.random_fields.lattice import Lattice, cos_sin
from missionsim.world.winds.climatology import LEVEL_GRID_FT, UpperAir


def samples(lat: ArrayLike, lon: ArrayLike, course: ArrayLike) -> tuple[Floats, ...]:
    """Return samples without gaps and the share each has in its route's mean."""
    la, lo, co = (np.asarray(a, dtype=np.float64) for a in (lat, lon, course))
    if not (la.ndim == 2 and la.shape == lo.shape == co.shape):
        msg = f"RouteAir: samples have shapes {la.shape}, {lo.shape}, {co.shape}; accepted: one shape (routes, samples)"
        raise ValidityError(msg)
    known = ~(np.isnan(la) | np.isnan(lo) | np.isnan(co))
    if la.shape[1] == 0 or not known[:, 0].all():
        raise ValidityError("RouteAir: a route has no sample; accepted: at least one, gaps at the end")
    la, lo, co = (np.where(known, a, a[:, :1]) for a in (la, lo, co))
    return la, lo, co, known / known.sum(axis=1, keepdims=True)


def first_alike(*samples: Floats) -> Ints:
    """Return the first route whose samples, [route, sample] each, are the same to the bit."""
    _, first, own = np.unique(np.concatenate(samples, axis=1), axis=0, return_index=True, return_inverse=True)
    return np.asarray(first[own.ravel()])


def route_weights(lattice: Lattice, lat: Floats, lon: Floats, course: Floats,
                  share: Floats) -> tuple[Ints, Floats32, Floats32, Floats32, Ints]:
    """Return (width, p) knots and weights of headwind on u and v and of temperature, and the number of knots.

    Parameters
    ----------
    lattice : Lattice                         Of the knots.
    lat, lon, course, share : (p, k) arrays   As `samples` gives them.
    """
    routes, samples = lat.shape
    # Ways there and back, and those of several lots of lanes, share their samples.
    spot, own = np.unique(lat.ravel() + 1j * lon.ravel(), return_inverse=True)
    ids, weights = (a[own].reshape(routes, samples, -1) for a in lattice.weights(spot.real, spot.imag))
    cosine, sine = (a[:, :, None] for a in cos_sin(course))
    plain = weights * share[:, :, None]
    parts = (-plain * sine, -plain * cosine, plain)
    unique = [np.unique(row[used > 0.0], return_inverse=True) for row, used in zip(ids, share, strict=True)]
    count = np.array([len(u) for u, _ in unique], dtype=np.int64)
    width = int(count.max(initial=0))
    knots = np.zeros((width, routes), dtype=np.int64)
    out = np.zeros((3, width, routes), dtype=np.float32)
    for r, (own, inverse) in enumerate(unique):
        knots[:, r] = own[0]
        knots[: own.size, r] = own
        for q, part in enumerate(parts):
            used = part[r][share[r] > 0.0]
            out[q, : own.size, r] = np.bincount(inverse.ravel(), weights=used.ravel(), minlength=own.size)
    return knots, out[0], out[1], out[2], count


def _mean_over_samples(values: Floats, share: Floats) -> Floats:
    """Return the mean of (p, k, levels) over a route's samples as (levels, p), summed in fixed order."""
    total = values[:, 0] * share[:, :1]
    for k in range(1, values.shape[1]):
        total = total + values[:, k] * share[:, k: k + 1]
    return total.T


def route_means(upper_air: UpperAir, lat: Floats, lon: Floats,
                cosine: Floats, sine: Floats, share: Floats) -> Floats32:
    """Return base and amplitude of headwind, of crosswind and of temperature, (6, levels, p).

    Parameters
    ----------
    upper_air : UpperAir
    lat, lon, share : (p, k) arrays   As `samples` gives them.
    cosine, sine : (p, k) arrays      Of the course.
    """
    base, amplitude = upper_air.mean_cycle(lat[:, :, None], lon[:, :, None], np.array(LEVEL_GRID_FT, dtype=np.float64))
    c, s = cosine[:, :, None], sine[:, :, None]
    out = []
    for u, v, _ in (base, amplitude):
        out.append((-(u * s + v * c), v * s - u * c))
    columns = [out[0][0], out[1][0], out[0][1], out[1][1], base[2], np.broadcast_to(amplitude[2], base[2].shape)]
    return np.ascontiguousarray([_mean_over_samples(c, share) for c in columns], dtype=np.float32)


def route_scatters(upper_air: UpperAir, lat: Floats, lon: Floats,
                   share: Floats) -> tuple[Floats32, Floats32]:
    """Return what makes up the standard deviations of the wind, (4, levels, p), and of temperature, (2, levels, p).

    Parameters
    ----------
    upper_air : UpperAir
    lat, lon, share : (p, k) arrays   As `samples` gives them.
    """
    levels = np.array(LEVEL_GRID_FT, dtype=np.float64)
    wind = upper_air.scatter_cycle(lat[:, :, None], lon[:, :, None], levels) / math.sqrt(2.0)
    warm = upper_air.temperature_scatter_cycle(lat[:, :, None], lon[:, :, None], levels)
    stacks = ([_mean_over_samples(factor, share) for factor in factors] for factors in (wind, warm))
    scatter, warmth = (np.ascontiguousarray(stack, dtype=np.float32) for stack in stacks)
    return scatter, warmth


def vertical_modes(assumptions: Assumptions) -> tuple[Floats32, Floats32]:
    """Return the shares of independent modes by level: correlation between levels is the product of their rows.

    Between the pressures whose correlations are given, rows are interpolated in log pressure and scaled back to
    unit length; outside they stay as they are, so the air below 850 hPa moves with that level.
    """
    low, high = (float(assumptions[f"winds.correlation_{pair}"]) for pair in ("850_700", "700_500"))
    across = low * high  # first-order in height: what 850 says about 500 it says through 700
    second = (high - low * across) / math.sqrt(1.0 - low * low)
    wind = np.array([[1.0, 0.0, 0.0], [low, math.sqrt(1.0 - low * low), 0.0],
                     [across, second, math.sqrt(1.0 - across * across - second * second)]])
    warm_across = float(assumptions["winds.temperature_correlation_850_500"])
    warm = np.array([[1.0, 0.0], [warm_across, math.sqrt(1.0 - warm_across**2)]])
    x = -np.log(pressure_hpa(np.array(LEVEL_GRID_FT, dtype=np.float64)))
    return _unit_rows(x, (850.0, 700.0, 500.0), wind), _unit_rows(x, (850.0, 500.0), warm)


def _unit_rows(x: NDArray[np.floating], pressures: tuple[float, ...], rows: Floats) -> Floats32:
    knots = [-math.log(p) for p in pressures]
    mixed = np.stack([np.interp(x, knots, column) for column in rows.T], axis=1)
    return np.asarray(mixed / np.linalg.norm(mixed, axis=1, keepdims=True), dtype=np.float32)
