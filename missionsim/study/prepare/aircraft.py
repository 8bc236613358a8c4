"""An aircraft as the year and the planner ask for it: profile, performance and loading behind one face."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from missionsim.aircraft.loading import (
    arrange,
    fuel_lb_per_gal,
    inside,
    max_fuel_gal,
    weight_and_cg,
    zero_fuel_margin_lb,
)
from missionsim.aircraft.performance import AsFlown, performance_of
from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Array, Bools
from missionsim.base.assumptions import Assumptions
from missionsim.decide.candidate_plan import Loads
from missionsim.flight.stops import CoarseFlight
from missionsim.physics.atmosphere import isa_deviation_c
from missionsim.study.unknowns.class_figures import AS_LIKELY, Factors

COARSE_NM = 300.0
"""Distance at which the coarse flight model is taken. [nm]"""


@dataclass(frozen=True, slots=True)
class Equipped:
    """One profile ready to be asked; satisfies `year.candidate.Aircraft`."""

    profile: Profile
    performance: AsFlown
    assumptions: Assumptions
    factors: Factors = AS_LIKELY

    @classmethod
    def of(cls, profile: Profile, assumptions: Assumptions) -> Equipped:
        """Return a profile with its performance."""
        return cls(profile, performance_of(profile, assumptions), assumptions)

    @property
    def max_landing_lb(self) -> float:
        """Landing weight limit. [lb]"""
        return self.profile.max_landing_lb

    def loads(self, people_lb: Array, bags_lb: Array, extra_empty_lb: Array | float = 0.0) -> Loads:
        """Return loads of trips from weights of people [trip, seat] and bags [trip].

        `extra_empty_lb`: what this one weighs empty beyond its profile's likely weight, at the empty arm. The profile's
        removable items are stowed with the bags.
        """
        bags_lb = np.asarray(bags_lb) + self.profile.removable_weight_lb
        found = arrange(self.profile, people_lb, bags_lb, self.assumptions)
        zero_fuel_lb = found.zero_fuel_weight_lb + extra_empty_lb
        moment_lb_in = found.zero_fuel_moment_lb_in + extra_empty_lb * (self.profile.weights.empty_arm_in or 0.0)
        dry_ok = zero_fuel_margin_lb(self.profile, zero_fuel_lb) >= 0.0
        return Loads(zero_fuel_lb, moment_lb_in, found.seats_ok, found.bags_ok & dry_ok)

    def max_fuel_gal(self, zero_fuel_lb: Array) -> Array:
        """Return the usable fuel that weight limits and tanks allow. [gal]"""
        if self.factors.tank == 1.0:
            return max_fuel_gal(self.profile, zero_fuel_lb, self.assumptions)
        room_lb = self.profile.max_takeoff_lb - np.asarray(zero_fuel_lb)
        return np.minimum(self.profile.usable_gal * self.factors.tank,
                          room_lb / fuel_lb_per_gal(self.profile, self.assumptions))

    def as_drawn(self, factors: Factors) -> Equipped:
        """Return the same aircraft with the figures of a drawn one of its class."""
        return replace(self, factors=factors, performance=self.performance.scaled(
            factors.speed, factors.fuel_flow, factors.climb, factors.takeoff, factors.landing))

    def balance_ok(self, zero_fuel_lb: Array, zero_fuel_moment_lb_in: Array, fuel_gal: Array) -> Bools:
        """Tell whether the centre of gravity is between its limits; weight itself is judged apart."""
        if self.profile.envelope is None:
            return np.ones(np.shape(zero_fuel_lb), dtype=bool)
        weight_lb, cg_in = weight_and_cg(self.profile, zero_fuel_lb, zero_fuel_moment_lb_in, fuel_gal, self.assumptions)
        return np.asarray(inside(self.profile, weight_lb, cg_in)[1] >= 0.0)

    def takeoff_ft(self, pressure_altitude_ft: Array, temperature_c: Array, weight_lb: Array, headwind_kt: Array,
                   ) -> Array:
        """Return the distance over 50 ft, no margin; arguments as for `Aircraft.takeoff_ft`. [ft]"""
        return self.performance.takeoff_ft(pressure_altitude_ft, temperature_c, weight_lb, headwind_kt)[1]

    def landing_ft(self, pressure_altitude_ft: Array, temperature_c: Array, weight_lb: Array, headwind_kt: Array,
                   ) -> Array:
        """Return the distance over 50 ft, no margin; arguments as for `takeoff_ft`. [ft]"""
        return self.performance.landing_ft(pressure_altitude_ft, temperature_c, weight_lb, headwind_kt)[1]

    def departure_gradient_ft_per_nm(self, pressure_altitude_ft: Array, temperature_c: Array, weight_lb: Array,
                                     ) -> Array:
        """Return the climb gradient after take-off. [ft/nm]"""
        deviation_c = isa_deviation_c(pressure_altitude_ft, temperature_c, check=False)
        return self.performance.climb_gradient_ft_per_nm(pressure_altitude_ft, deviation_c, weight_lb)

    def coarse(self, level_ft: float) -> CoarseFlight:
        """Return the flight in a few numbers, at a level that suits the aircraft, with a typical load."""
        weight_lb = self.assumptions["flight.typical_weight_share"] * self.profile.max_takeoff_lb
        standard = np.zeros(1)
        tas_kt, flow_gph = (float(x[0]) for x in self.performance.cruise(np.full(1, level_ft), standard, weight_lb))
        climb = [float(x[0]) for x in self.performance.climb(np.zeros(1), level_ft, standard, weight_lb)]
        descent = [float(x[0]) for x in self.performance.descent(np.full(1, level_ft), 0.0, standard, weight_lb)]
        cruise_nm = COARSE_NM - climb[2] - descent[2]
        hours = climb[0] + descent[0] + cruise_nm / tas_kt
        gallons = climb[1] + descent[1] + cruise_nm / tas_kt * flow_gph
        return CoarseFlight(tas_kt, flow_gph, hours - COARSE_NM / tas_kt, gallons - COARSE_NM / tas_kt * flow_gph)

    def highest_level_ft(self, cap_ft: float) -> float:
        """Return the highest level of use: where the climb at nearly full weight fades on a warm day, or a cap."""
        weight_lb = self.assumptions["flight.ceiling_weight_share"] * self.profile.max_takeoff_lb
        ceiling_ft = float(self.performance.ceiling_ft(np.full(1, 10.0), weight_lb)[0])
        return min(ceiling_ft if np.isfinite(ceiling_ft) else 0.0, cap_ft)
