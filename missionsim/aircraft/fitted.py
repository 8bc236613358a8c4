"""Performance fitted to the few book figures of an advertisement.

A parabolic polar meets propeller efficiency times brake power. The first cruise point gives the flat-plate area and
the specific fuel consumption, the book rate of climb gives the propeller efficiency in the climb, the book field
lengths give acceleration and braking. Everything else follows, and `fit_report` says how well.

Not modelled: propeller efficiency varying with speed, cowl flaps, Reynolds number, compressibility, centre of gravity.

References
----------
.. [1] Anderson, Introduction to Flight, chapter on airplane performance: polar, power required, rate of climb.
.. [2] FAA-H-8083-25, performance chapter: take-off and landing distance against weight, density and wind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from missionsim.aircraft.loading import fuel_lb_per_gal
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.profile_sections import Book
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError, told_apart
from missionsim.physics.atmosphere import density_ratio, isa_deviation_c, standard_temperature_c
from missionsim.physics.engine import full_throttle_ratio
from missionsim.physics.units import FloatArray, real

RHO0_SLUG_FT3 = 0.00237689
FPS_PER_KT = 1.6878099
HP_FT_LB_S = 550.0

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_NODES, _WEIGHTS = 0.5 * (_NODES + 1.0), 0.5 * _WEIGHTS


@dataclass(frozen=True, slots=True)
class EngineLaw:
    """Share of rated power at full throttle against density: Gagg and Ferrar, flat to critical altitude if boosted."""

    critical_ratio: float = 1.0

    def full_share(self, sigma: FloatArray) -> FloatArray:
        """Return full-throttle power over rated power; never above 1, which the manual does not allow."""
        return np.minimum(full_throttle_ratio(sigma) / full_throttle_ratio(self.critical_ratio), 1.0)


@dataclass(frozen=True, slots=True)
class FieldModel:
    """Take-off and landing at sea level, standard air, book weights, and what scales them."""

    takeoff_roll_ft: float
    takeoff_air_ft: float
    landing_roll_ft: float
    landing_air_ft: float
    liftoff_kt: float
    touchdown_kt: float
    landing_lb: float                 # weight of the book's landing
    resistance_share: float
    headwind_credit_share: float
    tailwind_debit_share: float
    headwind_credit_max_kt: float

    @property
    def thrust_to_weight(self) -> float:
        """Mean thrust over weight in the book's ground roll: what its acceleration and resistance ask for."""
        return (self.liftoff_kt * FPS_PER_KT) ** 2 / (2.0 * 32.174 * self.takeoff_roll_ft) + self.resistance_share

    def counted_wind_kt(self, headwind_kt: npt.ArrayLike) -> FloatArray:
        """Return the wind that counts: less of a headwind, more of a tailwind."""
        wind = real(headwind_kt)
        ahead = self.headwind_credit_share * np.minimum(wind, self.headwind_credit_max_kt)
        return np.where(wind > 0.0, ahead, self.tailwind_debit_share * wind)


@dataclass(frozen=True, slots=True)
class FittedPerformance:
    """The fitted form; build it with `fitted_from_book`."""

    rated_hp: float
    engine: EngineLaw
    flat_plate_sqft: float
    induced_area_sqft: float          # pi b² e
    cruise_efficiency: float
    climb_efficiency: float
    bsfc_lb_per_hp_h: float
    climb_bsfc_lb_per_hp_h: float
    fuel_lb_per_gal: float
    power_share: float
    climb_cas_kt: float               # at max_takeoff_lb, falls with the root of weight
    max_takeoff_lb: float
    descent_fpm: float
    descent_fuel_share: float
    taxi_fuel_gal: float
    field: FieldModel

    def with_power(self, power_share: float) -> FittedPerformance:
        """Return the same aircraft cruised at another share of rated power."""
        return replace(self, power_share=power_share)

    def cruise(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
               ) -> tuple[FloatArray, FloatArray]:
        """Return true airspeed and fuel flow at cruise power or full throttle; NaN where the power does not carry."""
        sigma = _sigma(level_ft, isa_deviation_c)
        power_hp = np.minimum(self.power_share, self.engine.full_share(sigma)) * self.rated_hp
        tas_kt = self.speed_kt(power_hp * self.cruise_efficiency, sigma, weight_lb)
        flow_gph = power_hp * self.bsfc_lb_per_hp_h / self.fuel_lb_per_gal
        return tas_kt, np.where(np.isnan(tas_kt), np.nan, flow_gph)

    def speed_kt(self, thrust_hp: npt.ArrayLike, sigma: npt.ArrayLike, weight_lb: npt.ArrayLike) -> FloatArray:
        """Return the greater speed at which power required equals thrust power; NaN where there is none."""
        rho = RHO0_SLUG_FT3 * real(sigma)
        a = 0.5 * rho * self.flat_plate_sqft
        b = 2.0 * real(weight_lb) ** 2 / (rho * self.induced_area_sqft)
        power = HP_FT_LB_S * real(thrust_hp)
        v = np.cbrt(power / a)
        # a v^4 - power v + b is convex; from the right of its greater root Newton comes down to it.
        with np.errstate(invalid="ignore", divide="ignore"):
            for _ in range(9):
                slope = 4.0 * a * v**3 - power
                v = v - (a * v**4 - power * v + b) / np.where(slope > 0.0, slope, np.nan)
            miss = np.abs(a * v**4 - power * v + b)
        return np.where(miss < 1e-6 * power * np.abs(v), v, np.nan) / FPS_PER_KT

    def climb_rate_fpm(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                       ) -> FloatArray:
        """Return the rate of climb at full throttle, best-rate speed."""
        return self._rate_fpm(_sigma(level_ft, isa_deviation_c), real(weight_lb))

    def _rate_fpm(self, sigma: FloatArray, weight: FloatArray) -> FloatArray:
        eas_fps = self._climb_eas_kt(weight) * FPS_PER_KT
        drag_lb = self.drag_lb(eas_fps, weight)
        available = HP_FT_LB_S * self.rated_hp * self.climb_efficiency * self.engine.full_share(sigma)
        return 60.0 * (available - drag_lb * eas_fps / np.sqrt(sigma)) / weight

    def drag_lb(self, eas_fps: FloatArray, weight_lb: FloatArray) -> FloatArray:
        """Return drag at an equivalent airspeed in ft/s: flat plate and induced."""
        q = 0.5 * RHO0_SLUG_FT3 * eas_fps**2
        return q * self.flat_plate_sqft + weight_lb**2 / (q * self.induced_area_sqft)

    def _climb_eas_kt(self, weight: FloatArray) -> FloatArray:
        return self.climb_cas_kt * np.sqrt(weight / self.max_takeoff_lb)

    def climb_tas_kt(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                     ) -> FloatArray:
        """Return the true airspeed of the climb."""
        return self._climb_eas_kt(real(weight_lb)) / np.sqrt(_sigma(level_ft, isa_deviation_c))

    def climb(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
              weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return time, fuel, distance at constant weight, by Gauss quadrature; NaN where the climb ends below.

        Arguments as for `Performance.climb`.
        """
        bottom, top, deviation, weight = np.broadcast_arrays(
            real(from_ft), real(to_ft), real(isa_deviation_c), real(weight_lb))
        height = np.maximum(top - bottom, 0.0)
        levels = bottom[..., None] + height[..., None] * _NODES
        sigma, weight = _sigma(levels, deviation[..., None]), weight[..., None]
        rate_fpm = self._rate_fpm(sigma, weight)
        gets_there = (self.climb_rate_fpm(top, deviation, weight[..., 0]) > 0.0) | (height == 0.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            hours = height[..., None] * _WEIGHTS / (60.0 * rate_fpm)
        hours = np.where((gets_there & np.isfinite(hours).all(axis=-1))[..., None], hours, np.nan)
        flow_gph = self.engine.full_share(sigma) * self.rated_hp * self.climb_bsfc_lb_per_hp_h / self.fuel_lb_per_gal
        tas_kt = self._climb_eas_kt(weight) / np.sqrt(sigma)
        return hours.sum(axis=-1), (hours * flow_gph).sum(axis=-1), (hours * tas_kt).sum(axis=-1)

    def descent(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
                weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return time, fuel and distance at a constant rate and the cruising speed of the mean level.

        Arguments as for `Performance.climb`.
        """
        top, bottom = real(from_ft), real(to_ft)
        time_h = np.maximum(top - bottom, 0.0) / (60.0 * self.descent_fpm)
        tas_kt, flow_gph = self.cruise(0.5 * (top + bottom), isa_deviation_c, weight_lb)
        return time_h + 0.0 * tas_kt, time_h * flow_gph * self.descent_fuel_share, time_h * tas_kt

    def takeoff_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return ground roll and distance over 50 ft, scaled from the book.

        Roll grows with the square of lift-off speed over the net acceleration; thrust falls as P^(2/3) sigma^(1/3)
        (momentum theory of a constant-speed propeller at low speed). The air part grows as the gradient falls.

        Arguments as for `Performance.takeoff_ft`.
        """
        field, weight = self.field, real(weight_lb) / self.max_takeoff_lb
        sigma = density_ratio(pressure_altitude_ft, temperature_c, check=False)
        thrust = np.cbrt(self.engine.full_share(sigma) ** 2 * sigma) / weight
        net = np.maximum(field.thrust_to_weight * thrust - field.resistance_share, 0.01)
        net0 = field.thrust_to_weight - field.resistance_share
        liftoff_kt = field.liftoff_kt * np.sqrt(weight / sigma)
        wind = np.maximum(1.0 - field.counted_wind_kt(headwind_kt) / liftoff_kt, 0.1)
        roll_ft = field.takeoff_roll_ft * (weight / sigma) * (net0 / net) * wind**2
        deviation = isa_deviation_c(pressure_altitude_ft, temperature_c, check=False)
        gradient = np.maximum(self._gradient(pressure_altitude_ft, deviation, weight_lb), 0.005)
        return roll_ft, roll_ft + field.takeoff_air_ft * (_book_gradient(self) / gradient) * wind

    def _gradient(self, level_ft: npt.ArrayLike, deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike) -> FloatArray:
        sigma, weight = _sigma(level_ft, deviation_c), real(weight_lb)
        rate_fps = self._rate_fpm(sigma, weight) / 60.0
        return rate_fps / (self._climb_eas_kt(weight) / np.sqrt(sigma) * FPS_PER_KT)

    def landing_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return ground roll and distance over 50 ft, scaled from the book by weight over density.

        Wind counts by the square law in the roll, in proportion to groundspeed in the air part.

        Arguments as for `Performance.takeoff_ft`.
        """
        field = self.field
        sigma = density_ratio(pressure_altitude_ft, temperature_c, check=False)
        scale = real(weight_lb) / field.landing_lb / sigma
        wind = np.maximum(1.0 - field.counted_wind_kt(headwind_kt) / (field.touchdown_kt * np.sqrt(scale)), 0.1)
        roll_ft = field.landing_roll_ft * scale * wind**2
        return roll_ft, roll_ft + field.landing_air_ft * scale * wind


@lru_cache(maxsize=256)
def _book_gradient(performance: FittedPerformance) -> FloatArray:
    """Return the gradient that the book's take-off distance was flown with: full weight, standard air, sea level."""
    return performance._gradient(0.0, 0.0, performance.max_takeoff_lb)


def fitted_from_book(profile: Profile, assumptions: Assumptions) -> FittedPerformance:
    """Return the fit to a profile's book figures.

    Raises
    ------
    ValidityError   The figures cannot belong to one aircraft; the text names the figure and the limits.
    """
    book = profile.book
    if book is None:
        raise ValidityError(f"{profile.name}: no book figures to fit; accepted: a profile with 'book'")
    top, fuel = profile.weights.max_takeoff_lb, fuel_lb_per_gal(profile, assumptions)
    area_sqft, span_ft = wing(profile, assumptions)
    induced = math.pi * span_ft**2 * assumptions["aircraft.span_efficiency"]
    point = book.cruise[0]
    power_hp = point.power_share * profile.total_hp
    efficiency = assumptions["aircraft.cruise_propeller_efficiency"]
    weight = point.weight_lb or top * assumptions["aircraft.book_cruise_weight_share"]
    flat = _flat_plate_sqft(point.tas_kt, point.level_ft, power_hp * efficiency, weight, induced)
    bsfc = point.fuel_flow_gph * fuel / power_hp
    kind = profile.engine.aspiration
    climb_cas = assumptions["aircraft.climb_speed_over_least_power"] * _least_power_kt(flat, induced, top)
    fit = FittedPerformance(
        rated_hp=profile.total_hp, engine=_engine_law(profile), flat_plate_sqft=flat,
        induced_area_sqft=induced, cruise_efficiency=efficiency, climb_efficiency=0.0, bsfc_lb_per_hp_h=bsfc,
        climb_bsfc_lb_per_hp_h=bsfc * assumptions["aircraft.climb_fuel_over_cruise"][kind], fuel_lb_per_gal=fuel,
        power_share=profile.cruise.power_share or assumptions["aircraft.cruise_power_share"],
        climb_cas_kt=climb_cas, max_takeoff_lb=top, descent_fpm=assumptions["aircraft.descent_fpm"],
        descent_fuel_share=assumptions["aircraft.descent_fuel_share"],
        taxi_fuel_gal=taxi_fuel_gal(profile, assumptions), field=_field_model(profile, book, area_sqft, assumptions))
    return replace(fit, climb_efficiency=_climb_efficiency(fit, book.climb_fpm))


def wing(profile: Profile, assumptions: Assumptions) -> tuple[float, float]:
    """Return wing area and span, from assumptions on wing loading and aspect ratio where the profile has none."""
    geometry = profile.geometry
    area = geometry.wing_area_sqft or profile.weights.max_takeoff_lb / assumptions["aircraft.wing_loading_lb_per_sqft"]
    return area, geometry.wing_span_ft or math.sqrt(assumptions["aircraft.aspect_ratio"] * area)


def taxi_fuel_gal(profile: Profile, assumptions: Assumptions) -> float:
    """Return start, taxi and run-up fuel by the size of the engine."""
    size = "small" if profile.engine.cylinders <= 4 else "large"
    return float(profile.engine.count * assumptions["aircraft.taxi_fuel_gal"][size])


def _sigma(level_ft: npt.ArrayLike, deviation_c: npt.ArrayLike) -> FloatArray:
    temperature_c = standard_temperature_c(level_ft, check=False) + real(deviation_c)
    return density_ratio(level_ft, temperature_c, check=False)


def _engine_law(profile: Profile) -> EngineLaw:
    critical = profile.engine.critical_altitude_ft
    return EngineLaw() if critical is None else EngineLaw(float(_sigma(critical, 0.0)))


def _flat_plate_sqft(tas_kt: float, level_ft: float, thrust_hp: float, weight_lb: float, induced: float) -> float:
    v = tas_kt * FPS_PER_KT
    q = 0.5 * RHO0_SLUG_FT3 * float(_sigma(level_ft, 0.0)) * v**2
    flat = (HP_FT_LB_S * thrust_hp / v - weight_lb**2 / (q * induced)) / q
    _within("book.cruise.0: flat-plate area in sq ft", flat, 0.8, 20.0)
    return flat


def _least_power_kt(flat: float, induced: float, weight_lb: float) -> float:
    return float((4.0 * weight_lb**2 / (3.0 * RHO0_SLUG_FT3**2 * flat * induced)) ** 0.25 / FPS_PER_KT)


def _climb_efficiency(fit: FittedPerformance, climb_fpm: float) -> float:
    v = np.asarray(fit.climb_cas_kt * FPS_PER_KT)
    drag_power = float(fit.drag_lb(v, np.asarray(fit.max_takeoff_lb)) * v)
    needed = (climb_fpm / 60.0 * fit.max_takeoff_lb + drag_power) / HP_FT_LB_S / fit.rated_hp
    _within("book.climb_fpm: propeller efficiency in the climb", needed, 0.35, 0.92)
    return needed


def _field_model(profile: Profile, book: Book, area_sqft: float, assumptions: Assumptions) -> FieldModel:
    stall_fps = math.sqrt(2.0 * profile.weights.max_takeoff_lb
                          / (RHO0_SLUG_FT3 * area_sqft * assumptions["aircraft.lift_coefficient_flaps"]))
    stall_kt = book.vs0_cas_kt or stall_fps / FPS_PER_KT
    takeoff, landing = book.takeoff, book.landing
    return FieldModel(
        takeoff.ground_roll_ft, takeoff.over_50ft_ft - takeoff.ground_roll_ft, landing.ground_roll_ft,
        landing.over_50ft_ft - landing.ground_roll_ft, assumptions["aircraft.liftoff_over_stall"] * stall_kt,
        assumptions["aircraft.touchdown_over_stall"] * stall_kt,
        profile.weights.max_landing_lb or profile.weights.max_takeoff_lb,
        assumptions["aircraft.ground_resistance_share"], assumptions["runway.headwind_credit_share"],
        assumptions["runway.tailwind_debit_share"], assumptions["runway.headwind_credit_max_kt"])


def _within(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        said, accepted = told_apart(value, low, high, 2)
        msg = f"{name} would be {said}; accepted: {accepted}. The book figures do not fit one aircraft"
        raise ValidityError(msg)
