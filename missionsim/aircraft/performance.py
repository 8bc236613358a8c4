"""What an aircraft does in the air and on the runway: one interface for both forms of profile.

Arrays in, arrays out, by broadcasting. NaN says 'not in the table' or 'cannot'; the caller makes it a reason.
Levels are pressure altitudes, speeds true, distances through the air, all in still air.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from missionsim.aircraft.figures import likely
from missionsim.aircraft.fitted import FittedPerformance, fitted_from_book
from missionsim.aircraft.handbook import HandbookPerformance, handbook_from_tables
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.profile_sections import Changes
from missionsim.base.assumptions import Assumptions
from missionsim.physics.units import FloatArray, real

HIGHEST_LEVEL_FT = 30_000.0


class Performance(Protocol):
    """What the planner asks of an aircraft."""

    @property
    def taxi_fuel_gal(self) -> float:
        """Fuel from start to lift-off. [gal]."""
        ...

    def cruise(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
               ) -> tuple[FloatArray, FloatArray]:
        """Return true airspeed and fuel flow at normal cruise power, or the best the level allows. [kt, gal/h]."""
        ...

    def climb(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
              weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return time, fuel and distance of a climb at a weight. [h, gal, nm].

        Parameters
        ----------
        from_ft : array           Altitude it begins at. [ft]
        to_ft : array             Altitude it ends at. [ft]
        isa_deviation_c : array   Deviation from standard. [°C]
        weight_lb : array         Weight. [lb]
        """
        ...

    def descent(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
                weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return time, fuel and distance of a descent; arguments as for `climb`. [h, gal, nm]"""
        ...

    def climb_rate_fpm(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                       ) -> FloatArray:
        """Return the rate of climb at climb power and speed; negative above the absolute ceiling. [ft/min]."""
        ...

    def climb_tas_kt(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                     ) -> FloatArray:
        """Return the true airspeed of the climb. [kt]."""
        ...

    def climb_gradient_ft_per_nm(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
                                 weight_lb: npt.ArrayLike) -> FloatArray:
        """Return the climb gradient in still air. [ft/nm]."""
        ...

    def takeoff_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return ground roll and distance over 50 ft on a level, dry, hard runway; no margin. [ft].

        Parameters
        ----------
        pressure_altitude_ft : array   Of the field. [ft]
        temperature_c : array          Of the air at the field. [°C]
        weight_lb : array              Weight. [lb]
        headwind_kt : array            Along the runway, against. [kt]
        """
        ...

    def landing_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return ground roll and distance over 50 ft on a level, dry, hard runway; no margin. [ft]

        Arguments as for `takeoff_ft`.
        """
        ...

    def ceiling_ft(self, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike) -> FloatArray:
        """Return the level at which the climb falls to 100 ft/min, or the limit of the manual if lower. [ft]."""
        ...


@dataclass(frozen=True, slots=True)
class AsFlown:
    """A form of performance as this aircraft is flown: its mixture, its modifications, its true speed.

    Parameters
    ----------
    base : FittedPerformance or HandbookPerformance   What the books say.
    changes : Changes          Sum of the modifications.
    speed_share : float        True airspeed over the book's: wear, dents, and the lean side of peak.
    fuel_share : float         Fuel flow over the book's in cruise.
    max_level_ft : float       Highest level of the flight manual. [ft]
    ceiling_fpm : float        Rate of climb that defines the ceiling. [ft/min]
    cruise_speed_spread_share : float   Standard deviation of single aircraft of a type about their book speed.
    climb_factor, climb_fuel_factor : float   Of a drawn aircraft of a class over the likely one.
    """

    base: FittedPerformance | HandbookPerformance
    changes: Changes
    speed_share: float
    fuel_share: float
    max_level_ft: float
    ceiling_fpm: float
    cruise_speed_spread_share: float
    climb_factor: float = 1.0
    climb_fuel_factor: float = 1.0

    def scaled(self, speed: float, fuel_flow: float, climb: float, takeoff: float, landing: float) -> AsFlown:
        """Return an aircraft like this one whose figures are these shares of its.

        Parameters
        ----------
        speed : float              Share of the speed.
        fuel_flow : float          Share of the fuel flow.
        climb : float              Share of the rate of climb.
        takeoff, landing : float   Share of the distance.
        """
        changes = self.changes.model_copy(update={"takeoff_share": self.changes.takeoff_share * takeoff,
                                                  "landing_share": self.changes.landing_share * landing})
        return replace(self, changes=changes, speed_share=self.speed_share * speed,
                       fuel_share=self.fuel_share * fuel_flow, climb_factor=self.climb_factor * climb,
                       climb_fuel_factor=self.climb_fuel_factor * fuel_flow)

    @property
    def taxi_fuel_gal(self) -> float:
        """Fuel from start to lift-off. [gal]."""
        return self.base.taxi_fuel_gal

    def with_power(self, power_share: float) -> AsFlown:
        """Return the same aircraft cruised at another share of rated power."""
        return replace(self, base=self.base.with_power(power_share))

    def cruise(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
               ) -> tuple[FloatArray, FloatArray]:
        """See `Performance.cruise`."""
        tas_kt, fuel_flow_gph = self.base.cruise(level_ft, isa_deviation_c, weight_lb)
        return tas_kt * self.speed_share + self.changes.cruise_kt, fuel_flow_gph * self.fuel_share

    def climb(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
              weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """See `Performance.climb`. A change of the rate of climb shortens or stretches all three in proportion."""
        time_h, fuel_gal, distance_nm = self.base.climb(from_ft, to_ft, isa_deviation_c, weight_lb)
        share = self._climb_share(from_ft, to_ft, time_h) / self.climb_factor
        return time_h * share, fuel_gal * share * self.climb_fuel_factor, distance_nm * share

    def _climb_share(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, time_h: FloatArray) -> FloatArray:
        if self.changes.climb_fpm == 0.0:
            return np.ones(())
        climbed_ft = np.maximum(real(to_ft) - real(from_ft), 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            mean_fpm = climbed_ft / (time_h * 60.0)
            share = mean_fpm / (mean_fpm + self.changes.climb_fpm)
        return np.where(climbed_ft > 0.0, np.where(share > 0.0, share, np.nan), 1.0)

    def descent(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
                weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """See `Performance.descent`; arguments as for `climb`."""
        time_h, fuel_gal, distance_nm = self.base.descent(from_ft, to_ft, isa_deviation_c, weight_lb)
        return time_h, fuel_gal * self.fuel_share, distance_nm * self.speed_share + self.changes.cruise_kt * time_h

    def climb_rate_fpm(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                       ) -> FloatArray:
        """See `Performance.climb_rate_fpm`."""
        rate_fpm = self.base.climb_rate_fpm(level_ft, isa_deviation_c, weight_lb) + self.changes.climb_fpm
        return rate_fpm * self.climb_factor

    def climb_tas_kt(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                     ) -> FloatArray:
        """See `Performance.climb_tas_kt`."""
        return self.base.climb_tas_kt(level_ft, isa_deviation_c, weight_lb)

    def climb_gradient_ft_per_nm(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
                                 weight_lb: npt.ArrayLike) -> FloatArray:
        """See `Performance.climb_gradient_ft_per_nm`."""
        rate_fpm = self.climb_rate_fpm(level_ft, isa_deviation_c, weight_lb)
        return rate_fpm * 60.0 / self.climb_tas_kt(level_ft, isa_deviation_c, weight_lb)

    def takeoff_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """See `Performance.takeoff_ft`."""
        roll_ft, over_ft = self.base.takeoff_ft(pressure_altitude_ft, temperature_c, weight_lb, headwind_kt)
        return roll_ft * self.changes.takeoff_share, over_ft * self.changes.takeoff_share

    def landing_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """See `Performance.landing_ft`; arguments as for `takeoff_ft`."""
        roll_ft, over_ft = self.base.landing_ft(pressure_altitude_ft, temperature_c, weight_lb, headwind_kt)
        return roll_ft * self.changes.landing_share, over_ft * self.changes.landing_share

    def ceiling_ft(self, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike) -> FloatArray:
        """See `Performance.ceiling_ft`. NaN where the aircraft does not climb even at sea level."""
        deviation, weight = np.broadcast_arrays(real(isa_deviation_c), real(weight_lb))
        low, high = np.zeros(deviation.shape), np.full(deviation.shape, self.max_level_ft)
        climbs = self.climb_rate_fpm(low, deviation, weight) >= self.ceiling_fpm
        tops = self.climb_rate_fpm(high, deviation, weight) >= self.ceiling_fpm
        for _ in range(24):
            middle = 0.5 * (low + high)
            up = self.climb_rate_fpm(middle, deviation, weight) >= self.ceiling_fpm
            low, high = np.where(up, middle, low), np.where(up, high, middle)
        return np.where(tops, self.max_level_ft, np.where(climbs, low, np.nan))


def performance_of(profile: Profile, assumptions: Assumptions) -> AsFlown:
    """Return the performance of a profile: its tables where it has them, else the fit to its book figures.

    Parameters
    ----------
    profile : Profile           Ranges count at their likely value; unknown figures at the assumption.
    assumptions : Assumptions   Groups `aircraft` and `runway`.

    Raises
    ------
    ValidityError               Book figures that no aircraft can meet together (for example a rate of climb that
                                would need a propeller efficiency above 1).
    """
    base = book_performance(profile, assumptions)
    lean = profile.cruise.mixture == "lean" and not _table_is_lean(profile)
    kind = "turbo" if profile.engine.aspiration == "turbo" else "normal"
    lean_speed, lean_fuel = (assumptions[f"aircraft.lean_{part}_share"][kind] if lean else 1.0
                             for part in ("speed", "fuel"))
    own = likely(profile.state.cruise_speed_of_book_share, assumptions["aircraft.cruise_speed_of_book_share"])
    return AsFlown(base, profile.changes, own * lean_speed, lean_fuel * profile.changes.fuel_share,
                   _highest_ft(profile), assumptions["aircraft.ceiling_climb_fpm"],
                   assumptions["aircraft.cruise_speed_spread_share"])


def _highest_ft(profile: Profile) -> float:
    """Return the highest level of use: the manual's, and for a turbocharged aircraft the book's ceiling.

    An unblown one that is lighter than the book's climbs beyond its service ceiling; a blown one is limited by its
    critical altitude or its certificate.
    """
    highest = profile.limits.max_level_ft or HIGHEST_LEVEL_FT
    turbo = profile.engine.aspiration == "turbo" and profile.book is not None
    ceiling = profile.book.service_ceiling_ft if turbo and profile.book is not None else None
    return highest if ceiling is None else min(highest, ceiling)


def book_performance(profile: Profile, assumptions: Assumptions) -> FittedPerformance | HandbookPerformance:
    """Return the performance of the books alone: new, rich, unmodified."""
    if profile.tables is not None:
        return handbook_from_tables(profile, assumptions)
    return fitted_from_book(profile, assumptions)


def _table_is_lean(profile: Profile) -> bool:
    return profile.tables is not None and profile.tables.cruise.mixture == "lean"
