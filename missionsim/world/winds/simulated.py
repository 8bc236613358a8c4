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
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats32, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.pcg import Jumps
from missionsim.base.streams import StreamSet
from missionsim.base.words import Stream
from missionsim.physics.atmosphere import standard_temperature_c
from missionsim.world.random_fields.autoregression import SPAN, Stretches, stretches_of, whole_rows
from missionsim.world.random_fields.lattice import Lattice, cos_sin, touched
from missionsim.world.winds.climatology import LEVEL_GRID_FT, UpperAir, season
from missionsim.world.winds.route_ties import (
    first_alike,
    route_means,
    route_scatters,
    route_weights,
    samples,
    vertical_modes,
)

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
    first_alike : (p,)         The first route that has the very samples and courses of each.
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
    first_alike: Ints

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
        lat, lon, course, share = samples(sample_lat, sample_lon, sample_course_deg)
        lattice = Lattice(float(assumptions["winds.spacing_nm"]))
        rows = route_weights(lattice, lat, lon, course, share)
        knots, local = touched(rows[0])
        cosine, sine = cos_sin(course)
        n_steps = round((year_length_h + AFTER_H - FIRST_H) / STEP_H) + 1
        days = (FIRST_H + STEP_H * np.arange(n_steps)) / 24.0
        return cls(
            route_means(upper_air, lat, lon, cosine, sine, share),
            (upper_air.spring_share(lat) * share).sum(axis=1).astype(np.float32),
            *route_scatters(upper_air, lat, lon, share),
            *vertical_modes(assumptions),
            knots, local, rows[1], rows[2], rows[3], rows[4],
            np.stack(season(days)).astype(np.float32),
            math.exp(-STEP_H / float(assumptions["winds.time_e_folding_h"])),
            float(assumptions["winds.temperature_southerly_correlation"]),
            first_alike(lat, lon, course, share),
        )

    def reading(self, route_index: Ints, time_h: ArrayLike, alone: bool = False) -> AirReading:
        """Return what reading the air at pairs of route and time asks for in every replication.

        Parameters
        ----------
        route_index : (n,) int
        time_h : (n,) or number   [h]
        alone : bool              What is asked for is all that is drawn; else it is read from whole years.
        """
        step = np.broadcast_to(self.step_of(time_h), route_index.shape)
        pair, own = np.unique(self.first_alike.take(route_index) * self.steps + step, return_inverse=True)
        # By falling number of knots, so that those that have so many more stand together at the front.
        order = np.argsort(-self.count.take(pair // self.steps), kind="stable")
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        route, step = np.divmod(pair[order], self.steps)
        cosine, sine, double = (wave.take(step) for wave in self.seasons)
        scatter, warmth = (np.asarray(part.take(route, axis=2)) for part in (self.scatter, self.warmth))
        count = self.count.take(route)
        used = [route[:int((count > k).sum())] for k in range(int(count.max(initial=0)))]
        drawn, at = self._places([self.local[k].take(own) for k, own in enumerate(used)], step, alone)
        ranks = ((here, *_turned(self.head_u[k].take(own), self.head_v[k].take(own)), self.plain[k].take(own))
                 for k, (own, here) in enumerate(zip(used, at, strict=True)))
        return AirReading(np.asarray(place.take(own)), drawn, self.streams(drawn), tuple(ranks),
                          *_mean_at(self, route, cosine, sine),
                          scatter[0] + scatter[1] * cosine + scatter[2] * sine + scatter[3] * double,
                          warmth[0] + warmth[1] * cosine)

    def _places(self, knots: list[Ints], step: Ints, alone: bool) -> tuple[Stretches, list[Ints]]:
        """Return what is drawn of all modes, and where the first one of knots stands at the first steps of these."""
        drawn, span = self.drawn, step // SPAN
        if not alone:
            behind = drawn.behind(step)
            return drawn, [drawn.column.take(own) + behind[:len(own)] for own in knots]
        asked = np.zeros((self.knots.size, -(-self.steps // SPAN)), dtype=bool)
        for own in knots:
            asked[own, span[:len(own)]] = True
        nothing = np.zeros(_PARTS * len(asked), dtype=np.int64)
        drawn, column = stretches_of(np.tile(asked, (_PARTS, 1)), [self.phi], nothing)
        behind = step % SPAN * drawn.columns
        return drawn, [column[own, span[:len(own)]] + behind[:len(own)] for own in knots]

    @property
    def drawn(self) -> Stretches:
        """How the whole series of the knots are laid, mode by mode."""
        return whole_rows(_PARTS * self.knots.size, self.steps, self.phi)

    def streams(self, drawn: Stretches) -> StreamSet:
        """Return the streams that modes are drawn from."""
        mode, knot = np.divmod(drawn.row, self.knots.size)
        jumps = Jumps.of(drawn.skipped, after_deviate=True)
        return StreamSet(Stream.WINDS_ALOFT, mode, self.knots[knot], jumps=jumps)

    def step_of(self, time_h: ArrayLike) -> Ints:
        """Return the step nearest to each time; beyond the ends, the last one."""
        step = np.rint((np.asarray(time_h, dtype=np.float64) - FIRST_H) / STEP_H)
        return np.asarray(np.clip(step, 0, self.steps - 1).astype(np.int64))


@dataclass(frozen=True, slots=True)
class AirReading:
    """What reading the air at pairs of route and time asks for, each pair once.

    `pair` [n]: of each entry asked for, its place among the pairs. `drawn`: the modes it is read from, one after the
    other, out of `streams`. `ranks`: by how near a knot is, for the pairs that have so many (the first ones): its place
    in the first mode, its weights of headwind and crosswind on the eastward component and on the northward one, and
    that of temperature. `headwind_kt`, `crosswind_kt`, `temperature_c` (levels, pairs): means; `spread_kt`, `spread_c`
    (levels, pairs): what one unit of the modes adds.
    """

    pair: Ints
    drawn: Stretches
    streams: StreamSet
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
    series : (span step, column) float32   Three modes of u, three of v, two of temperature, one after the other; unit
                                           variance.
    """

    operator: RouteAir
    series: Floats32

    @classmethod
    def simulate(cls, operator: RouteAir, seed: int, replication: int, reading: AirReading | None = None) -> WindYear:
        """Draw the series of the knots in use: the same for a knot whatever the study holds.

        Parameters
        ----------
        operator : RouteAir
        seed, replication : int
        reading : AirReading, optional   What is read: nothing else is drawn. Without one whole years are.
        """
        drawn = operator.drawn if reading is None else reading.drawn
        streams = operator.streams(drawn) if reading is None else reading.streams
        series = drawn.draw(streams.randoms(seed, replication))
        modes, own = series.reshape(SPAN, _PARTS, -1), np.float32(math.sqrt(1.0 - operator.southerly**2))
        modes[:, _T:] *= own    # southerly air is warm
        modes[:, _T:] += np.float32(operator.southerly) * modes[:, _V:_V + _PARTS - _T]
        return cls(operator, series)

    def at(self, route_index: Ints, time_h: ArrayLike) -> AirColumns:
        """Return the air at the 3-hour step nearest to each time; see `Air.at`."""
        reading = self.operator.reading(route_index, time_h)
        head, cross, warm = (column.take(reading.pair, axis=0) for column in self.read(reading))
        return head, cross, warm

    def read(self, reading: AirReading) -> AirColumns:
        """Return the air at the pairs of a reading, each once; columns as in `Air.at`."""
        op = self.operator
        (head, cross), warm = self._modes(reading)
        headwind = reading.headwind_kt + reading.spread_kt * _levels(op.wind_modes, head)
        crosswind = reading.crosswind_kt + reading.spread_kt * _levels(op.wind_modes, cross)
        temperature = reading.temperature_c + reading.spread_c * _levels(op.warm_modes, warm)
        return _as_rows(headwind, crosswind, temperature)

    def _modes(self, reading: AirReading) -> tuple[Floats32, Floats32]:
        """Return route-mean headwind and crosswind by wind mode and temperature by its mode, unit scatter a place.

        All modes at once, [mode, pairs]: one by one would be four times as many calls.
        """
        flat, pairs, after = self.series.reshape(-1), reading.headwind_kt.shape[1], self.series.shape[1] // _PARTS
        wind, warm = (np.zeros((*modes, pairs), dtype=np.float32) for modes in ((2, _V), (_PARTS - _T,)))
        for at, by_u, by_v, plain in reading.ranks:
            first = slice(len(at))
            every = np.empty((_PARTS, len(at)), dtype=np.float32)
            for number, one in enumerate(every):
                flat[number * after:].take(at, out=one, mode="clip")
            wind[..., first] += by_u * every[_U:_V]
            wind[..., first] += by_v * every[_V:_T]
            warm[:, first] += plain * every[_T:]
        return wind, warm


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


def _mean_at(op: RouteAir, route: Ints, cosine: Floats32, sine: Floats32,
             ) -> tuple[Floats32, Floats32, Floats32]:
    mean, more = op.mean.take(route, axis=2), np.float32(1.0) + op.spring.take(route) * sine
    head, cross, temperature = (mean[i] + mean[i + 1] * cosine for i in (0, 2, 4))
    head *= more
    cross *= more
    return head, cross, temperature


def _turned(head_u: Floats32, head_v: Floats32) -> tuple[Floats32, Floats32]:
    """Return what headwind and crosswind have of either component, [2, 1, n] each, from what headwind has of both."""
    return np.stack([head_u, head_v])[:, None], np.stack([head_v, -head_u])[:, None]


def _levels(modes: Floats32, series: Floats32) -> Floats32:
    """Return the sum of modes at each level, (levels, n), in fixed order."""
    total = modes[:, 0, None] * series[0]
    for mode in range(1, len(series)):
        total += modes[:, mode, None] * series[mode]
    return np.asarray(total)


def _as_rows(*columns: Floats32) -> AirColumns:
    head, cross, temperature = (np.ascontiguousarray(c.T) for c in columns)
    return head, cross, temperature
