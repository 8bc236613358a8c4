"""Winds and temperatures aloft along routes through a simulated year.

Around the mean of place, level and day stands a Gaussian anomaly of the wind vector, on a lattice of knots: each
knot has three vertical modes of the eastward and of the northward component and two of temperature, all first-order
autoregressive in time. A route reads the mean of its three to five sample points. What a route sees never depends on
other routes of the study, bit by bit. Wind changes within a route are averaged out; turbulence is not in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.arrays import Floats, Floats32, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.physics.atmosphere import pressure_hpa, standard_temperature_c
from missionsim.world.random_fields.autoregression import fill_rows
from missionsim.world.random_fields.lattice import Lattice, cos_sin, touched
from missionsim.world.winds.climatology import LEVEL_GRID_FT, UpperAir, season

__all__ = ["FIRST_H", "LEVEL_GRID_FT", "STEP_H", "ExpectedAir", "FixedAir", "RouteAir", "RouteWinds", "WindYear"]

STEP_H = 3.0
FIRST_H = -72.0
AFTER_H = 24.0 * 24.0
"""The series runs from three days before the year to 24 days after it. [h]"""

_U, _V, _T, _PARTS = 0, 3, 6, 8  # where the modes of each quantity start among a knot's series, and how many there are

AirColumns = tuple[Floats32, Floats32, Floats32]


class RouteWinds(Protocol):
    """Anything that tells the air on a route at a time."""

    def at(self, route_index: Ints, time_h: ArrayLike) -> AirColumns:
        """Return headwind, crosswind and temperature at `LEVEL_GRID_FT`.

        Parameters
        ----------
        route_index : (n,) int    Route among those the operator was built for.
        time_h : (n,) or number   Time of each. [h]

        Returns
        -------
        headwind_kt : (n, levels) float32      Mean along the route, positive on the nose. [kt]
        crosswind_kt : (n, levels) float32     Positive from the right. [kt]
        temperature_c : (n, levels) float32    [°C]
        """


@dataclass(frozen=True, slots=True)
class RouteAir:
    """What ties the knots' series to routes; built once per study.

    Parameters
    ----------
    mean : (6, levels, p)      Base and amplitude of headwind, of crosswind, of temperature.
    spring : (p,)              What the mean wind of spring has over the plain yearly cosine.
    scatter : (4, levels, p)   Factors of the seasons that make up one wind component's standard deviation. [kt]
    warmth : (2, levels, p)    Base and amplitude of the standard deviation of temperature. [°C]
    wind_modes : (levels, 3)   Share of each vertical mode of the wind; squares sum to one.
    warm_modes : (levels, 2)   The same of temperature.
    knots : (k,)               Knots in use, ascending.
    local : (width, p)         A route's knots, as index among those in use; padded with weight zero.
    head_u, head_v, plain      (width, p) weights of the headwind on the two components, and of temperature.
    count : (p,)               Knots a route really has.
    seasons : (3, steps)       The three of `upper_air.season` at each step.
    phi : float                Correlation from step to step.
    southerly : float          Correlation of temperature with the northward wind at 850 hPa.
    """

    mean: Floats32
    spring: Floats32
    scatter: Floats32
    warmth: Floats32
    wind_modes: Floats32
    warm_modes: Floats32
    knots: Ints
    local: Ints
    head_u: Floats32
    head_v: Floats32
    plain: Floats32
    count: Ints
    seasons: Floats32
    phi: float
    southerly: float

    @property
    def steps(self) -> int:
        """Number of 3-hour steps."""
        return int(self.seasons.shape[1])

    @classmethod
    def build(cls, upper_air: UpperAir, assumptions: Assumptions, sample_lat: ArrayLike, sample_lon: ArrayLike,
              sample_course_deg: ArrayLike, year_length_h: float) -> RouteAir:
        """Return the operator for directed routes.

        Parameters
        ----------
        sample_lat, sample_lon, sample_course_deg : (p, k) arrays   Evenly spread points of each route and the true
                                    course there; a shorter route pads with NaN at the end. [deg]
        year_length_h : float       8,760 or 8,784. [h]

        Raises
        ------
        ValidityError               If the arrays do not match, or a route has no sample.
        """
        lat, lon, course, share = _samples(sample_lat, sample_lon, sample_course_deg)
        lattice = Lattice(float(assumptions["winds.spacing_nm"]))
        rows = _route_weights(lattice, lat, lon, course, share)
        knots, local = touched(rows[0])
        cosine, sine = cos_sin(course)
        n_steps = round((year_length_h + AFTER_H - FIRST_H) / STEP_H) + 1
        days = (FIRST_H + STEP_H * np.arange(n_steps)) / 24.0
        return cls(
            _route_means(upper_air, lat, lon, cosine, sine, share),
            (upper_air.spring_share(lat) * share).sum(axis=1).astype(np.float32),
            *_route_scatters(upper_air, lat, lon, share),
            *_vertical_modes(assumptions),
            knots, local, rows[1], rows[2], rows[3], rows[4],
            np.stack(season(days)).astype(np.float32),
            math.exp(-STEP_H / float(assumptions["winds.time_e_folding_h"])),
            float(assumptions["winds.temperature_southerly_correlation"]),
        )

    def reading(self, route_index: Ints, time_h: ArrayLike) -> AirReading:
        """Return what reading the air at pairs of route and time asks for in every replication."""
        step = np.broadcast_to(self.step_of(time_h), route_index.shape)
        pair, own = np.unique(route_index * self.steps + step, return_inverse=True)
        # By falling number of knots, so that those that have so many more stand together at the front.
        order = np.argsort(-self.count.take(pair // self.steps), kind="stable")
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        route, step = np.divmod(pair[order], self.steps)
        cosine, sine, double = (wave.take(step) for wave in self.seasons)
        scatter, warmth = (np.asarray(part.take(route, axis=2)) for part in (self.scatter, self.warmth))
        count, ranks = self.count.take(route), []
        for k in range(int(count.max(initial=0))):
            used = route[:int((count > k).sum())]
            at = self.local[k].take(used) * self.steps + step[:len(used)]
            ranks.append((at, *(part[k].take(used) for part in (self.head_u, self.head_v, self.plain))))
        return AirReading(np.asarray(place.take(own)), tuple(ranks), *_mean_at(self, route, cosine, sine),
                          scatter[0] + scatter[1] * cosine + scatter[2] * sine + scatter[3] * double,
                          warmth[0] + warmth[1] * cosine)

    def step_of(self, time_h: ArrayLike) -> Ints:
        """Return the step nearest to each time; beyond the ends, the last one."""
        step = np.rint((np.asarray(time_h, dtype=np.float64) - FIRST_H) / STEP_H)
        return np.asarray(np.clip(step, 0, self.steps - 1).astype(np.int64))


@dataclass(frozen=True, slots=True)
class AirReading:
    """What reading the air at pairs of route and time asks for, each pair once.

    `pair` [n]: of each entry asked for, its place among the pairs. `ranks`: by how near a knot is, for the pairs that
    have so many (the first ones): its place in a mode's series, and its weights of the headwind on the two components
    and of temperature. `headwind_kt`, `crosswind_kt`, `temperature_c` (levels, pairs): means; `spread_kt`, `spread_c`
    (levels, pairs): what one unit of the modes adds.
    """

    pair: Ints
    ranks: tuple[tuple[Ints, Floats32, Floats32, Floats32], ...]
    headwind_kt: Floats32
    crosswind_kt: Floats32
    temperature_c: Floats32
    spread_kt: Floats32
    spread_c: Floats32


@dataclass(frozen=True, slots=True)
class WindYear:
    """The air of one replication. Build with `simulate`.

    Parameters
    ----------
    operator : RouteAir
    series : (8, knots, steps) float32   Three modes of u, three of v, two of temperature; unit variance.
    """

    operator: RouteAir
    series: Floats32

    @classmethod
    def simulate(cls, operator: RouteAir, seed: int, replication: int) -> WindYear:
        """Draw the series of the knots in use: the same for a knot whatever the study holds."""
        series = np.empty((_PARTS, operator.knots.size, operator.steps), dtype=np.float32)
        every = np.repeat(np.arange(_PARTS), operator.knots.size), np.tile(operator.knots, _PARTS)
        fill_rows(generators(seed, replication, Stream.WINDS_ALOFT, *every), operator.phi,
                  series.reshape(-1, operator.steps))
        own = np.float32(math.sqrt(1.0 - operator.southerly**2))
        for mode in range(_PARTS - _T):  # southerly air is warm
            series[_T + mode] *= own
            series[_T + mode] += np.float32(operator.southerly) * series[_V + mode]
        return cls(operator, series)

    def at(self, route_index: Ints, time_h: ArrayLike) -> AirColumns:
        """Return the air at the 3-hour step nearest to each time; see `Air.at`."""
        reading = self.operator.reading(route_index, time_h)
        head, cross, warm = (column.take(reading.pair, axis=0) for column in self.read(reading))
        return head, cross, warm

    def read(self, reading: AirReading) -> AirColumns:
        """Return the air at the pairs of a reading, each once; columns as in `Air.at`."""
        op = self.operator
        head, cross, warm = self._modes(reading)
        headwind = reading.headwind_kt + reading.spread_kt * _levels(op.wind_modes, head)
        crosswind = reading.crosswind_kt + reading.spread_kt * _levels(op.wind_modes, cross)
        temperature = reading.temperature_c + reading.spread_c * _levels(op.warm_modes, warm)
        return _as_rows(headwind, crosswind, temperature)

    def _modes(self, reading: AirReading) -> tuple[Floats32, Floats32, Floats32]:
        """Return route-mean headwind and crosswind by wind mode and temperature by its mode, unit scatter a place.

        All modes at once, [mode, pairs]: one by one would be four times as many calls.
        """
        flat, pairs = self.series.reshape(_PARTS, -1), reading.headwind_kt.shape[1]
        head, cross, warm = (np.zeros((modes, pairs), dtype=np.float32) for modes in (_V, _V, _PARTS - _T))
        for at, by_u, by_v, plain in reading.ranks:
            first = slice(len(at))
            every = flat.take(at, axis=1, mode="clip")
            u, v = every[_U:_V], every[_V:_T]
            head[:, first] += by_u * u
            head[:, first] += by_v * v
            cross[:, first] += by_v * u
            cross[:, first] -= by_u * v
            warm[:, first] += plain * every[_T:]
        return head, cross, warm


@dataclass(frozen=True, slots=True)
class ExpectedAir:
    """The mean of the day, without anomaly: for plans by hand and for the still part of tables."""

    operator: RouteAir

    def at(self, route_index: Ints, time_h: ArrayLike) -> AirColumns:
        """Return the mean air; see `Air.at`."""
        step = np.broadcast_to(self.operator.step_of(time_h), route_index.shape)
        cosine, sine, _ = (wave.take(step) for wave in self.operator.seasons)
        return _as_rows(*_mean_at(self.operator, route_index, cosine, sine))


@dataclass(frozen=True, slots=True)
class FixedAir:
    """The same wind and deviation from standard temperature everywhere and always; still air with 0 kt.

    Parameters
    ----------
    head, cross : (p,)    Route-mean components, see `build`. [kt]
    temperature_c         (levels,) [°C]
    """

    head: Floats32
    cross: Floats32
    temperature_c: Floats32

    @classmethod
    def build(cls, sample_course_deg: ArrayLike, wind_from_deg: float = 0.0, wind_kt: float = 0.0,
              temperature_deviation_c: float = 0.0) -> FixedAir:
        """Return the air for routes given by their true courses, (p, k), NaN where a route has fewer samples.

        Parameters
        ----------
        sample_course_deg : (p, k) array   True courses, padded with NaN. [deg]
        wind_from_deg : float              True. [deg]
        wind_kt : float                    [kt]
        temperature_deviation_c : float    From standard. [°C]
        """
        course = np.asarray(sample_course_deg, dtype=np.float64)
        angle = np.radians(wind_from_deg - course)
        standard = np.asarray(standard_temperature_c(np.array(LEVEL_GRID_FT, dtype=np.float64)))
        return cls(np.nanmean(wind_kt * np.cos(angle), axis=1).astype(np.float32),
                   np.nanmean(wind_kt * np.sin(angle), axis=1).astype(np.float32),
                   (standard + temperature_deviation_c).astype(np.float32))

    def at(self, route_index: Ints, time_h: ArrayLike) -> AirColumns:
        """Return the one wind; see `Air.at`. The time does not matter."""
        shape = (route_index.size, len(LEVEL_GRID_FT))
        head, cross = (np.broadcast_to(c.take(route_index)[:, None], shape).copy() for c in (self.head, self.cross))
        return head, cross, np.broadcast_to(self.temperature_c, shape).copy()


def _samples(lat: ArrayLike, lon: ArrayLike, course: ArrayLike) -> tuple[Floats, ...]:
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


def _route_weights(lattice: Lattice, lat: Floats, lon: Floats, course: Floats,
                   share: Floats,
                   ) -> tuple[Ints, Floats32, Floats32, Floats32, Ints]:
    """Return (width, p) knots and weights of headwind on u and v and of temperature, and the number of knots."""
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


def _route_means(upper_air: UpperAir, lat: Floats, lon: Floats,
                 cosine: Floats, sine: Floats, share: Floats) -> Floats32:
    base, amplitude = upper_air.mean_cycle(lat[:, :, None], lon[:, :, None], np.array(LEVEL_GRID_FT, dtype=np.float64))
    c, s = cosine[:, :, None], sine[:, :, None]
    out = []
    for u, v, _ in (base, amplitude):
        out.append((-(u * s + v * c), v * s - u * c))
    columns = [out[0][0], out[1][0], out[0][1], out[1][1], base[2], np.broadcast_to(amplitude[2], base[2].shape)]
    return np.ascontiguousarray([_mean_over_samples(c, share) for c in columns], dtype=np.float32)


def _route_scatters(upper_air: UpperAir, lat: Floats, lon: Floats,
                    share: Floats) -> tuple[Floats32, Floats32]:
    levels = np.array(LEVEL_GRID_FT, dtype=np.float64)
    wind = upper_air.scatter_cycle(lat[:, :, None], lon[:, :, None], levels) / math.sqrt(2.0)
    warm = upper_air.temperature_scatter_cycle(lat[:, :, None], lon[:, :, None], levels)
    stacks = ([_mean_over_samples(factor, share) for factor in factors] for factors in (wind, warm))
    scatter, warmth = (np.ascontiguousarray(stack, dtype=np.float32) for stack in stacks)
    return scatter, warmth


def _vertical_modes(assumptions: Assumptions) -> tuple[Floats32, Floats32]:
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


def _mean_at(op: RouteAir, route: Ints, cosine: Floats32, sine: Floats32,
             ) -> tuple[Floats32, Floats32, Floats32]:
    mean, more = op.mean.take(route, axis=2), np.float32(1.0) + op.spring.take(route) * sine
    head, cross, temperature = (mean[i] + mean[i + 1] * cosine for i in (0, 2, 4))
    head *= more
    cross *= more
    return head, cross, temperature


def _levels(modes: Floats32, series: Floats32) -> Floats32:
    """Return the sum of modes at each level, (levels, n), in fixed order."""
    total = modes[:, 0, None] * series[0]
    for mode in range(1, len(series)):
        total += modes[:, mode, None] * series[mode]
    return np.asarray(total)


def _as_rows(*columns: Floats32) -> AirColumns:
    head, cross, temperature = (np.ascontiguousarray(c.T) for c in columns)
    return head, cross, temperature
