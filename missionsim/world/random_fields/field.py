"""Gaussian random fields over places and hours, in parts that fade at different rates and are known ahead.

Every part has unit variance times its share, an e-folding time, and a time it is known ahead: fronts and lows are
seen coming, the local part is not. Hence the mean and the spread of the field, given what is known when a
forecast is issued, are exact, and so is every chance computed from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Array, Floats, Floats32, Ints
from missionsim.base.streams import StreamSet, generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.autoregression import fill_rows
from missionsim.world.random_fields.field_reading import FieldReading, Pairs, PartAsked, days_of, summed
from missionsim.world.random_fields.hours import HOURS, START_H
from missionsim.world.random_fields.knots import Knots, place_sum
from missionsim.world.random_fields.parts import Part, by_day, known_until
from missionsim.world.random_fields.windows import DAYS, DrawnSeries, Windows, seats_of

_SIDE_BY_SIDE = 4096  # pairs of which all parts are read together, to the same bits
_FEW_SHARE = 0.1  # of a year at all airports: fewer pairs are computed one by one, to the same bits
_SEASON_NODES_DAY = np.array([-77.0, 14.0, 105.0, 196.0, 288.0, 379.0, 470.0])  # middles of quarters


@dataclass(frozen=True)
class Stack:
    """The series that places are sums of, those of all parts one below the other as in `FieldReading.windows`.

    `index`, `weight` [k, place]: which series, and how much each counts; `part` [k]: which part each belongs to.
    """

    index: Ints
    weight: Floats32
    part: Ints

    @cached_property
    def cuts(self) -> list[tuple[int, int]]:
        """First row and the one after the last of every part."""
        return list(pairwise(np.searchsorted(self.part, np.arange(self.part[-1] + 2)).tolist()))


@dataclass(frozen=True)
class SlowEffect:
    """What makes whole years and seasons good or bad, known to everyone.

    `year_share`, `season_share`: of the variance; the season's in mid January and in mid July. `knots`: of its lattice.
    """

    year_share: float
    season_share: tuple[float, float]
    knots: Knots

    @cached_property
    def spread_by_day(self) -> Floats:
        """Standard deviation of the season's effect by day."""
        return np.sqrt(by_day(*self.season_share))


def place_address(lat: Floats, lon: Floats) -> Ints:
    """Return the address of each place's own streams, [p, 2]: its position to 0.0001 degree, nothing else."""
    return np.array([(round((a + 90.0) * 1e4), round((o + 360.0) * 1e4))
                     for a, o in zip(lat.tolist(), lon.tolist(), strict=True)], dtype=np.int64).reshape(-1, 2)


@dataclass(frozen=True)
class FieldPlan:
    """What of a field can be prepared once per study.

    Parameters
    ----------
    parts : tuple of Part
    knots : tuple            Of each part; None for the local one.
    airports : (d,) int      Places whose whole year is kept; the others are computed where asked.
    address : (p, 2) int     Of each place, for its local part.
    stream, local_stream : Stream
    slow : SlowEffect or None
    """

    parts: tuple[Part, ...]
    knots: tuple[Knots | None, ...]
    airports: Ints
    address: Ints
    stream: Stream
    local_stream: Stream
    slow: SlowEffect | None = None

    @classmethod
    def build(cls, lat: Floats, lon: Floats, airports: Ints,
              parts: Sequence[Part], stream: Stream, local_stream: Stream,
              slow: SlowEffect | None = None) -> FieldPlan:
        """Return the plan for places.

        Parameters
        ----------
        lat : (place,) array          Latitude. [deg]
        lon : (place,) array          Longitude. [deg]
        airports : (n,) int array     Rows of places that keep their whole year.
        parts : sequence of Part      Scales of the field and their shares.
        stream : Stream               Of the part that all places share.
        local_stream : Stream         Of the part that each place has for itself.
        slow : SlowEffect, optional   What lasts for months, None for nothing of the kind.
        """
        knots = tuple(Knots.of(part.spacing_nm, lat, lon) if part.spacing_nm > 0 else None for part in parts)
        return cls(tuple(parts), knots, airports, place_address(lat, lon), stream, local_stream, slow)

    @cached_property
    def airport_row(self) -> Ints:
        """Row of each place among the airports, -1 for the others."""
        row = np.full(len(self.address), -1, dtype=np.int64)
        row[self.airports] = np.arange(self.airports.size)
        return row

    @property
    def local(self) -> Part:
        """The part that each place has for itself."""
        return next(part for part, knots in zip(self.parts, self.knots, strict=True) if knots is None)

    @cached_property
    def scale_by_day(self) -> Floats32:
        """Standard deviation of each part by day, [parts, days]."""
        return np.stack([np.sqrt(by_day(part.share, part.summer_share)) for part in self.parts]).astype(np.float32)

    def sd(self, valid: ArrayLike, issued: ArrayLike) -> Floats:
        """Return the standard deviation of the field at hour `valid` about its forecast issued at hour `issued`."""
        valid, issued = np.broadcast_arrays(np.asarray(valid, dtype=np.int64), np.asarray(issued))
        lead, day = (valid - issued).astype(np.float64), valid // 24
        variance = np.zeros(lead.shape)
        for part, scale in zip(self.parts, self.scale_by_day.astype(np.float64), strict=True):
            beyond = np.maximum(lead - part.known_h, 0.0)
            variance += scale[day] ** 2 * -np.expm1(-2.0 * beyond / part.e_fold_h)
        return np.sqrt(variance)

    def reading(self, place: Array, valid: Array, issued: Array, near: Pairs | None = None) -> FieldReading:
        """Return what reading the field as known at some hours asks for in every replication; see `FieldYear.mean`.

        Parameters
        ----------
        place : (n,) int array    Row of the place.
        valid : (n,) int array    Hour index looked at.
        issued : (n,) int array   Hour index at which it is looked; with the one looked at it is what happens.
        near : Pairs, optional    Further pairs that are likely to be asked for: they are drawn together with these.
        """
        place, valid = np.asarray(place, dtype=np.int64), np.asarray(valid, dtype=np.int64)
        stack, near = self.stack, near or (np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64))
        until = [np.asarray(known_until(part, valid, issued), dtype=np.int64) for part in self.parts]
        asked = [PartAsked.of(place, hour) for hour in until]
        days = [one.days(None, len(self.address), near) if knots is None else
                one.days(knots.by_rank[0], knots.ids.size, near) for one, knots in zip(asked, self.knots, strict=True)]
        windows, parts = Windows.of(days, [part.phi for part in self.parts]), []
        scale = self.scale_by_day.take(valid // 24, axis=1)
        for number, (one, part, known, (low, high), knots) in enumerate(zip(asked, self.parts, until, stack.cuts,
                                                                            self.knots, strict=True)):
            decay = np.exp((known - valid) / part.e_fold_h).astype(np.float32)
            weight = None if knots is None else stack.weight[low:high]
            parts.append(one.reading(stack.index[low:high], weight, windows, scale[number], decay))
        return FieldReading(tuple(parts), windows, windows.streams(self.series_address), self.seasons,
                            *days_of(place, valid))

    @cached_property
    def series_address(self) -> Ints:
        """Stream and address of the series of all parts, one below the other, [series, 3]."""
        own = [np.insert(self.address, 0, int(self.local_stream), axis=1) if knots is None else
               np.stack(np.broadcast_arrays(int(self.stream), number, knots.ids), axis=1)
               for number, knots in enumerate(self.knots)]
        return np.concatenate(own)

    @property
    def seasons(self) -> StreamSet | None:
        """What the effects of years and seasons are drawn from."""
        return None if self.slow is None else StreamSet(Stream.SEASON_EFFECT, int(self.stream), self.slow.knots.ids)

    @cached_property
    def stack(self) -> Stack:
        """Which series of all parts every place is the sum of."""
        first, index, weight, part = 0, [], [], []
        own = np.arange(len(self.address))[None]
        for number, knots in enumerate(self.knots):
            ids, share = (own, np.ones(own.shape, dtype=np.float32)) if knots is None else knots.by_rank
            index.append(first + ids)
            weight.append(share)
            part.append(np.full(len(ids), number))
            first += own.size if knots is None else knots.ids.size
        return Stack(np.concatenate(index), np.concatenate(weight), np.concatenate(part))

    @cached_property
    def nothing(self) -> FieldReading:
        """What is read where nobody knows beforehand what will be asked for."""
        nowhere = np.zeros(0, dtype=np.int64)
        return self.reading(nowhere, nowhere, nowhere)

    def draw(self, seed: int, replication: int, reading: FieldReading | None = None) -> FieldYear:
        """Return the field of one replication; `reading`: what will be asked for, where that is known."""
        return FieldYear(self, seed, replication, reading or self.nothing)


@dataclass
class FieldYear:
    """A field in one replication. Indices: place p, hour i = hour_index(t_h).

    `reading`: what is read of it in every replication; whatever else is asked for is drawn then.
    """

    plan: FieldPlan
    seed: int
    replication: int
    reading: FieldReading

    @cached_property
    def _series(self) -> DrawnSeries:
        """The series of each part's knots, and of places, as far as they are asked for."""
        seats = seats_of(self.seed, self.replication, address=self.plan.series_address)
        return DrawnSeries(self.reading.windows, seats, self.reading.streams.randoms(self.seed, self.replication))

    @cached_property
    def read(self) -> Floats32:
        """The field where it is read in every replication, [n]."""
        reading = self.reading
        total = np.zeros(len(reading.slow), dtype=np.float32)
        for part in reading.parts:
            total += part.read(self._series.values)
        if self.plan.slow is not None:
            total += self._slow_at(reading.place, reading.day).take(reading.slow)
        return total

    @cached_property
    def parts(self) -> tuple[Floats32, ...]:
        """Each part at the airports, of unit variance, [d, HOURS]."""
        out, plan = [], self.plan
        for number, (part, knots) in enumerate(zip(plan.parts, plan.knots, strict=True)):
            if knots is None:
                series = np.empty((plan.airports.size, HOURS), dtype=np.float32)
                randoms = generators(self.seed, self.replication, plan.local_stream, *plan.address[plan.airports].T)
            else:
                series = np.empty((knots.ids.size, HOURS), dtype=np.float32)
                randoms = generators(self.seed, self.replication, plan.stream, number, knots.ids)
            fill_rows(randoms, part.phi, series)
            out.append(series if knots is None else place_sum(series, knots, plan.airports))
        return tuple(out)

    @cached_property
    def _seasons(self) -> Floats32:
        """What makes the year and each season good or bad at every place, of unit variance, [p, 1 + nodes]."""
        assert self.plan.slow is not None
        assert self.reading.seasons is not None
        knots = self.plan.slow.knots
        nodes = np.empty((knots.ids.size, 1 + _SEASON_NODES_DAY.size), dtype=np.float32)
        for row, random in zip(nodes, self.reading.seasons.randoms(self.seed, self.replication), strict=True):
            random.standard_normal(out=row, dtype=np.float32)
        return place_sum(nodes, knots, np.arange(len(self.plan.address)))

    def _slow_at(self, place: Ints, day: Ints) -> Floats32:
        """Return the year-and-season effect at pairs of place and day; arrays of one shape."""
        effect, places = self.plan.slow, self._seasons
        assert effect is not None
        before, cosine, sine = _season_of_day()
        node = places.shape[1] * place + 1 + before.take(day)
        # Cosine and sine weights keep the variance the same on every day.
        season = places.reshape(-1).take(node) * cosine.take(day) + places.reshape(-1).take(node + 1) * sine.take(day)
        season *= effect.spread_by_day.take(day)
        return np.asarray(np.sqrt(effect.year_share) * places[:, 0].take(place) + season, dtype=np.float32)

    @cached_property
    def values(self) -> Floats32:
        """The field at the airports, [d, HOURS]."""
        total = np.zeros((self.plan.airports.size, HOURS), dtype=np.float32)
        for part, scale in zip(self.parts, self.plan.scale_by_day, strict=True):
            total += part * np.repeat(scale, 24)
        if self.plan.slow is not None:
            airports, days = np.broadcast_arrays(self.plan.airports[:, None], np.arange(DAYS))
            total.reshape(total.shape[0], -1, 24)[:] += self._slow_at(airports, days)[:, :, None]
        return total

    def value(self, place: Array, hour: Array) -> Floats32:
        """Return the field at pairs of place and hour, [n]."""
        place, hour = np.broadcast_arrays(np.asarray(place, dtype=np.int64), np.asarray(hour, dtype=np.int64))
        return self._sum(place, hour)

    def hours(self, place: Ints, hour: Ints, count: int) -> Floats32:
        """Return `value` at pairs of place and hour, and at the hours that follow on the same day, [count, n].

        Parameters
        ----------
        place : (n,) int array   Row of the place.
        hour : (n,) int array    Hour index, the first of so many.
        count : int
        """
        plan, stack, day = self.plan, self.plan.stack, hour // 24
        values = self._series.hours(stack.index.take(place, axis=1), hour, count)
        values *= stack.weight.take(place, axis=1)[:, None]
        total, scale = np.zeros((count, len(place)), dtype=np.float32), plan.scale_by_day.take(day, axis=1)
        for own, (low, high) in zip(scale, stack.cuts, strict=True):
            # Rows of many numbers are added one after the other, in the order of `summed`.
            total += own * np.add.reduce(values[low:high], axis=0)
        if plan.slow is not None:
            total += self._slow_at(place, day)
        return total

    def mean(self, place: Array, valid: Array, issued: Array) -> Floats32:
        """Return the mean of the field at hour `valid`, given all that is known at hour `issued`, [n].

        Parameters
        ----------
        place : int array    Row of the place.
        valid : int array    Hour index looked at.
        issued : int array   Hour index at which the forecast is issued.
        """
        plan = self.plan
        place, valid, issued = np.broadcast_arrays(np.asarray(place, dtype=np.int64), valid, issued)
        until = np.stack([known_until(part, valid, issued) for part in plan.parts]).astype(np.int64)
        e_fold_h = np.array([part.e_fold_h for part in plan.parts]).reshape(-1, *(1,) * valid.ndim)
        return self._sum(place, np.asarray(valid, dtype=np.int64), until,
                         np.exp((until - valid) / e_fold_h).astype(np.float32))

    def _sum(self, place: Ints, hour: Ints, until: Ints | None = None, decay: Floats32 | None = None) -> Floats32:
        """Return sums over parts, each as known `until` an hour and faded by `decay`, [part, ...]."""
        total, day = np.zeros(place.shape, dtype=np.float32), hour // 24
        scale = self.plan.scale_by_day.take(day, axis=1)
        for number, value in enumerate(self._values(place, hour, until)):
            total += scale[number] * (value if decay is None else decay[number] * value)
        if self.plan.slow is not None:
            total += self._slow_at(place, day)
        return total

    def _values(self, place: Ints, hour: Ints, until: Ints | None) -> Iterator[Floats32]:
        """Yield each part, of unit variance, at pairs of place and hour."""
        if place.size > _SIDE_BY_SIDE:
            for number in range(len(self.plan.parts)):
                yield self._part_value(number, place, hour if until is None else until[number])
            return
        stack = self.plan.stack
        values = self._series.read(stack.index.take(place, axis=1), hour if until is None else until[stack.part])
        weight = stack.weight.take(place, axis=1)
        for low, high in stack.cuts:
            yield summed(values[low:high], weight[low:high])

    def _part_value(self, number: int, place: Ints, hour: Ints) -> Floats32:
        row = self.plan.airport_row[place]
        at_airports = bool((row >= 0).all())
        few = place.size < _FEW_SHARE * self.plan.airports.size * HOURS
        if few and not (at_airports and "parts" in self.__dict__):
            return self._gathered(number, place, hour)
        if at_airports:
            return np.take(self.parts[number].reshape(-1), row * HOURS + hour)
        out = np.empty(place.shape, dtype=np.float32)
        kept = row >= 0
        out[kept] = self.parts[number][row[kept], hour[kept]]
        out[~kept] = self._gathered(number, place[~kept], hour[~kept])
        return out

    def _gathered(self, number: int, place: Ints, hour: Ints) -> Floats32:
        stack = self.plan.stack
        some = slice(*stack.cuts[number])
        return summed(self._series.read(stack.index[some].take(place, axis=1), hour),
                      stack.weight[some].take(place, axis=1))


@cache
def _season_of_day() -> tuple[Ints, Floats, Floats]:
    """Return the season's node before each day simulated, and what the nodes before and after weigh then."""
    day = np.arange(DAYS) + START_H / 24 + 0.5
    before = np.searchsorted(_SEASON_NODES_DAY, day, side="right") - 1
    width = np.diff(_SEASON_NODES_DAY)[before]
    fraction = 0.5 * np.pi * (day - _SEASON_NODES_DAY[before]) / width
    return before, np.cos(fraction), np.sin(fraction)
