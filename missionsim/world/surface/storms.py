"""Thunderstorms as a field with coverage: isolated cells are a little of an area, a line is most of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Bools, Floats, Floats32, Ints
from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.field import FieldYear
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.series_cache import PlaceRows
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.station_climate import BLOCKS, MONTHS

_SPOT = 7
_NEGLIGIBLE = -3.0  # standard deviations: coverage below 0.14 % counts as none


@dataclass(frozen=True)
class StormYear:
    """Thunderstorm coverage of one replication. Indices: place p, hour i = hour_index(t_h).

    A spot has thunder when it lies under a ceiling and the storm field plus the spot's own scatter falls below the
    place's threshold; coverage is the chance of that over the spots of the area, given the field.
    """

    climate: SurfaceClimate
    storm: FieldYear
    latent: FieldYear

    def coverage(self, place: ArrayLike, hour: ArrayLike) -> Floats:
        """Return the share of the area around a place that has thunderstorms, 0 to 1, [n]."""
        place, hour = np.broadcast_arrays(np.asarray(place), np.asarray(hour))
        return self.coverage_at(StormLimits.of(self.climate, place, hour), self.storm.value(place, hour),
                                self.latent.value(place, hour))

    def coverage_at(self, limits: StormLimits, storm: Floats32, rank: Floats32) -> Floats:
        """Return the same from the storm field and the rank of ceiling and visibility at pairs of place and hour."""
        depth = np.asarray((limits.storm - storm) / self._scatter, dtype=np.float64)
        out, some = np.zeros(depth.shape), depth > _NEGLIGIBLE
        some[some] = rank[some] < limits.cloud[some]
        out[some] = normal_cdf(depth[some])
        return out

    @cached_property
    def coverage_by_hour(self) -> Floats32:
        """Coverage at the airports, [d, HOURS]."""
        airports = self.storm.plan.airports
        depth = self.climate.storm_threshold_by_hour - self.storm.values
        depth *= np.float32(1.0 / self._scatter)
        row, hour = np.divmod(np.flatnonzero(depth > _NEGLIGIBLE), HOURS)
        under = self._cloud(airports[row], hour)
        out = np.zeros(depth.shape, dtype=np.float32)
        out[row[under], hour[under]] = normal_cdf(depth[row[under], hour[under]])
        return out

    def thunder(self, place: ArrayLike, hour: ArrayLike) -> Bools:
        """Return whether the place itself has thunder, [n]."""
        place, hour = np.broadcast_arrays(np.asarray(place), np.asarray(hour))
        return np.asarray(self.coverage(place, hour) > normal_cdf(self._spots.at(place, hour)))

    def thunder_by_hour(self, place: int) -> Bools:
        """Return whether an airport has thunder at every hour, [HOURS]."""
        row = self.storm.plan.airport_row[place]
        return np.asarray(self.coverage_by_hour[row] > normal_cdf(self._spots.of(np.array([place]))[0]))

    def chance_over(self, coverage: ArrayLike, place: ArrayLike, valid: ArrayLike, issued: ArrayLike,
                    ) -> Floats:
        """Return the chance, as known at hour `issued`, that coverage exceeds a value at hour `valid`, [n].

        Parameters
        ----------
        coverage : float or (n,) array   Above 0 and below 1.
        place, valid, issued : (n,) int  Indices.
        """
        place, valid, issued = np.broadcast_arrays(np.asarray(place), np.asarray(valid), np.asarray(issued))
        limit = self._limit(self.climate.storm_threshold, place, valid) - self._scatter * normal_quantile(coverage)
        sd = np.maximum(self.storm.plan.sd(valid, issued), 1e-4)
        storms = normal_cdf((limit - self.storm.mean(place, valid, issued)) / sd)
        cloud_sd = np.maximum(self.latent.plan.sd(valid, issued), 1e-4)
        cloud = self._limit(self.climate.cloud_threshold, place, valid) - self.latent.mean(place, valid, issued)
        return np.asarray(storms * normal_cdf(cloud / cloud_sd))

    @property
    def _scatter(self) -> float:
        return float(np.sqrt(self.climate.assumptions["weather.storm_scatter_share"]))

    def _cloud(self, place: Ints, hour: Ints) -> Bools:
        return np.asarray(self.latent.value(place, hour) < self._limit(self.climate.cloud_threshold, place, hour))

    def _limit(self, thresholds: Floats32, place: Ints, hour: Ints) -> Floats32:
        return _limit(self.climate, thresholds, place, hour)

    @cached_property
    def _spots(self) -> PlaceRows:
        year = self.storm

        def draw(places: Ints) -> Iterator[Floats32]:
            address = year.plan.address[places].T
            for random in generators(year.seed, year.replication, Stream.STORMS, _SPOT, *address):
                yield random.standard_normal(HOURS, dtype=np.float32)

        return PlaceRows(len(year.plan.address), HOURS, draw)


@dataclass(frozen=True, slots=True)
class StormLimits:
    """What the storm field and the rank of ceiling and visibility are held against at pairs of place and hour, [n]."""

    storm: Floats32
    cloud: Floats32

    @classmethod
    def of(cls, climate: SurfaceClimate, place: Ints, hour: Ints) -> StormLimits:
        """Return the limits at pairs of place and hour."""
        return cls(*(_limit(climate, t, place, hour) for t in (climate.storm_threshold, climate.cloud_threshold)))


def _limit(climate: SurfaceClimate, thresholds: Floats32, place: Ints, hour: Ints) -> Floats32:
    return np.asarray(thresholds.reshape(-1, MONTHS * BLOCKS)[place, climate.cell(place, hour)])
