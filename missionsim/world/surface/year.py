"""One simulated year of surface weather at a study's places, and what a forecaster would have said of it."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Bools, Floats, Floats32
from missionsim.base.normal import normal_cdf
from missionsim.base.streams import StreamSet
from missionsim.world.random_fields.field import HOURS, FieldYear
from missionsim.world.random_fields.field_reading import FieldReading
from missionsim.world.surface.air import AirPlan, AirYear, SurfaceAir, air_streams
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.cloud import CloudYear
from missionsim.world.surface.place_spans import PlaceSpans
from missionsim.world.surface.station_climate import BLOCKS, MONTHS
from missionsim.world.surface.storms import StormYear

_LEAST_SD = 1e-4


@dataclass(frozen=True, slots=True)
class AskedWeather:
    """What is read of the weather in every replication; each series is drawn for all of it at once.

    `latent`: of the rank of ceiling and visibility, first at so many `hours` of airports, then at so many `points` of
    ways, then what is forecast; `storm`: of the storm field at the points. `air`: what temperature, pressure and wind
    are drawn from at their knots; `streams`: these and all others that every replication draws from.
    """

    hours: int
    points: int
    latent: FieldReading
    storm: FieldReading
    air: StreamSet
    streams: tuple[StreamSet, ...]


@dataclass(frozen=True)
class SurfaceYear:
    """The weather of one replication. Indices: place p (row of the climate), hour i = hour_index(t_h).

    Everything is drawn when first asked for, from streams of its own, so that nothing depends on the order.
    Arrays over [d, hours] hold airports only (`climate.latent_plan.airports`); with no route samples d is p.
    """

    climate: SurfaceClimate
    seed: int
    replication: int
    field: FieldYear
    air: AirYear
    storms: StormYear
    clouds: CloudYear
    asked: AskedWeather | None = None

    @classmethod
    def simulate(cls, climate: SurfaceClimate, seed: int, replication: int, asked: AskedWeather | None = None,
                 ) -> SurfaceYear:
        """Return the weather of a replication.

        Parameters
        ----------
        climate : SurfaceClimate
        seed : int                        Of the study.
        replication : int
        asked : AskedWeather, optional    What will be read, where that is known.
        """
        field = climate.latent_plan.draw(seed, replication, None if asked is None else asked.latent)
        storm = climate.storm_plan.draw(seed, replication, None if asked is None else asked.storm)
        air = AirYear(climate, field, air_streams(climate) if asked is None else asked.air)
        return cls(climate, seed, replication, field, air, StormYear(climate, storm, field),
                   CloudYear(climate, field, seed, replication), asked)

    # -- what happens -----------------------------------------------------------------------------------------------

    @property
    def latent(self) -> Floats32:
        """Rank of ceiling and visibility at the airports, standard normal, low is bad, [d, hours]."""
        return self.field.values

    def looked(self) -> tuple[Floats32, Floats32, Floats32]:
        """Return the latent rank that was known to be asked for: at hours of airports, at points, and as forecast."""
        assert self.asked is not None
        points = self.asked.hours + self.asked.points
        every = self.field.read
        return every[:self.asked.hours], every[self.asked.hours:points], every[points:]

    def latent_at(self, place: ArrayLike, hour: ArrayLike) -> Floats32:
        """Return the latent rank at pairs of place and hour, samples included, [n]."""
        return self.field.value(np.asarray(place), np.asarray(hour))

    def below(self, thresholds: Floats32, place: ArrayLike, hour: ArrayLike) -> Bools:
        """Return whether the weather is below the minima of `climate.thresholds`, [n]."""
        return np.asarray(self.latent_at(place, hour) < self._limit(thresholds, place, hour))

    @cached_property
    def place_spans(self) -> PlaceSpans:
        """The latent rank at single places, for who turns up there unplanned."""
        return PlaceSpans(self.climate, self.field)

    def ceiling_ft(self, place: ArrayLike, hour: ArrayLike) -> Floats32:
        """Return ceilings above the place, `UNLIMITED_FT` for none, [n]."""
        return self.climate.pair_value(self.climate.ceiling_ft, place, hour, self.latent_at(place, hour))

    def visibility_sm(self, place: ArrayLike, hour: ArrayLike) -> Floats32:
        """Return visibilities, 10 standing for 10 or more, [n]."""
        return self.climate.pair_value(self.climate.visibility_sm, place, hour, self.latent_at(place, hour))

    def air_at(self, place: ArrayLike, hour: ArrayLike) -> SurfaceAir:
        """Return the air at pairs of airport and hour, [n]."""
        place, hour = np.broadcast_arrays(np.atleast_1d(np.asarray(place)), np.atleast_1d(np.asarray(hour)))
        return self.air.at(AirPlan.of(self.climate, place.ravel(), hour.ravel()))

    def whole_years(self) -> SurfaceAir:
        """Return the air at every hour of every airport, arrays [d, hours]."""
        air = self.air.at(AirPlan.whole_years(self.climate))
        return SurfaceAir(**{f.name: getattr(air, f.name).reshape(-1, HOURS) for f in fields(SurfaceAir)})

    # -- what is said beforehand --------------------------------------------------------------------------------------

    def forecast_mean(self, place: ArrayLike, valid: ArrayLike, issued: ArrayLike) -> Floats32:
        """Return the mean of the latent rank at hour `valid`, given what is known at hour `issued` (indices), [n]."""
        return self.field.mean(np.asarray(place), np.asarray(valid), np.asarray(issued))

    def forecast_sd(self, valid: ArrayLike, issued: ArrayLike) -> Floats:
        """Return the standard deviation of the latent rank about that mean, [n]; 0 for the hour it is issued in."""
        return self.climate.latent_plan.sd(valid, issued)

    def chance_below(self, thresholds: Floats32, place: ArrayLike, valid: ArrayLike, issued: ArrayLike,
                     ) -> Floats:
        """Return the chance, as known at hour `issued`, of weather below minima at hour `valid`, [n].

        Parameters
        ----------
        thresholds : (place, month, block) array   Normal deviates below which weather stops.
        place : int array                          Row of the place.
        valid : int array                          Hour index looked at.
        issued : int array                         Hour index at which the forecast is issued.
        """
        sd = np.maximum(self.forecast_sd(valid, issued), _LEAST_SD)
        margin = self._limit(thresholds, place, valid) - self.forecast_mean(place, valid, issued)
        return normal_cdf(margin / sd)

    def _limit(self, thresholds: Floats32, place: ArrayLike, hour: ArrayLike) -> Floats32:
        flat = thresholds.reshape(-1, MONTHS * BLOCKS)
        return flat[np.asarray(place), self.climate.cell(place, hour)]
