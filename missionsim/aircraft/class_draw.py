"""A whole aircraft of a class, likely or drawn, that agrees with what is known of it and with itself.

Figures are filled in the order power, weight, wing, empty weight, fuel, speed, fuel flow, climb, ceiling, stall and
field lengths, each conditional on the ones before: by the class's own percentiles, and by relations across types whose
medians are moved to those of the class. What no type of a class can be is drawn again.

References
----------
.. [1] Relations, scatter and correlations: fitted to percentiles of an open data set of some 330 piston types.
.. [2] 14 CFR 23.49 (older amendments): singles up to 6,000 lb stall at 61 kt or less with flaps.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from missionsim.aircraft.classes import KINDS, Kind, Spread, figures_of
from missionsim.base.assumptions import Assumptions
from missionsim.physics.units import BoolArray, FloatArray

DEVIATES = ("power", "weight", "wing", "empty", "equipment", "fuel", "speed", "flow", "climb", "ceiling", "stall",
            "takeoff_roll", "takeoff_50", "landing_roll", "landing_ratio", "span")
"""Standard normal deviates that make one aircraft, in the order of their columns."""
TRIES = 40
"""Aircraft drawn for each one that is wanted; more than a fifth of a class is never refused."""
Known = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Figures:
    """Aircraft of a class, arrays of one shape. Power is of all engines together, field lengths at sea level, ISA."""

    power_hp: FloatArray
    weight_lb: FloatArray
    empty_lb: FloatArray
    wing_sqft: FloatArray
    span_ft: FloatArray
    fuel_gal: FloatArray
    cruise_kt: FloatArray
    flow_gph: FloatArray
    climb_fpm: FloatArray
    ceiling_ft: FloatArray
    vs0_kt: FloatArray
    takeoff_roll_ft: FloatArray
    takeoff_ft: FloatArray
    landing_roll_ft: FloatArray
    landing_ft: FloatArray


class ClassModel:
    """The figures of one class, conditional on those of one aircraft that are known."""

    def __init__(self, name: str, known: Known, assumptions: Assumptions) -> None:
        """Prepare a class; `known` is by the names of `Figures`, and `useful_lb`."""
        self.kind: Kind = KINDS[name]
        self.name, self.known, self.a = name, dict(known), assumptions
        self.of = figures_of(name)

    def likely(self) -> Figures:
        """Return the aircraft in the middle of what the class and the known figures leave open; arrays ()."""
        return self._built(np.zeros(len(DEVIATES)))

    def drawn(self, random: np.random.Generator) -> Figures:
        """Return one aircraft; the likely one where no try is sound, which figures that are known can forbid."""
        z = random.standard_normal((TRIES, len(DEVIATES)))
        found = self._built(z)
        sound = np.flatnonzero(self.sound(found))
        return self._built(z[sound[0]] if len(sound) else np.zeros(len(DEVIATES)))

    def _built(self, deviates: FloatArray) -> Figures:
        z = {name: deviates[..., i] for i, name in enumerate(DEVIATES)}
        power, weight, wing, span = self._frame(z)
        empty, fuel = self._empty(z, weight), self._fuel(z, weight)
        cruise, speed_z = self._cruise(z, power, wing)
        flow = self._known("flow_gph", self.of["gph75"].likely * power / self._middle_hp() * np.exp(
            self.a["class_guess.fuel_flow_spread"] * z["flow"]))
        climb = self._climb(z, power, weight, wing, speed_z)
        ceiling = self._ceiling(z, climb)
        return Figures(power, weight, empty, wing, span, fuel, cruise, flow, climb, ceiling,
                       *self._fields(z, power, weight, wing))

    def _known(self, name: str, otherwise: FloatArray) -> FloatArray:
        value = self.known.get(name)
        return np.asarray(otherwise) if value is None else np.full(np.shape(otherwise), float(value))

    def _middle_hp(self) -> float:
        return self.of["hp_each"].likely * self.kind.engines

    def _frame(self, z: Mapping[str, FloatArray]) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        together, each = self.a["class_guess.correlation"], self.of["hp_each"]
        hp_z = z["power"] if "power_hp" not in self.known else np.full(
            np.shape(z["power"]), each.z_of(self.known["power_hp"] / self.kind.engines))
        power = self._known("power_hp", self.kind.engines * each.at(hp_z))
        weight, weight_z = self._along("weight_lb", "mtow_lb", hp_z, together["weight_power"], z["weight"])
        wing, _ = self._along("wing_sqft", "wing_area_ft2", weight_z, together["wing_weight"], z["wing"])
        span, _ = self._along("span_ft", "wing_span_ft", weight_z, together["wing_weight"], z["span"])
        return power, weight, wing, span

    def _along(self, name: str, figure: str, other_z: FloatArray, together: float, z: FloatArray,
               ) -> tuple[FloatArray, FloatArray]:
        """Return a figure that goes with another, and its deviate."""
        spread: Spread = self.of[figure]
        if name in self.known:
            own = np.full(np.shape(z), spread.z_of(self.known[name]))
        else:
            own = together * other_z + np.sqrt(1.0 - together**2) * z
        return self._known(name, spread.at(own)), own

    def _empty(self, z: Mapping[str, FloatArray], weight: FloatArray) -> FloatArray:
        if "useful_lb" in self.known:
            return weight - self.known["useful_lb"]
        median, spread = self.a["class_guess.equipment_lb"]
        return self._known("empty_lb", weight * self.of["empty_share"].at(z["empty"])
                           + median * np.exp(spread * z["equipment"]))

    def _fuel(self, z: Mapping[str, FloatArray], weight: FloatArray) -> FloatArray:
        weight_z = np.vectorize(self.of["mtow_lb"].z_of, otypes=[float])(weight)
        return self._along("fuel_gal", "fuel_usgal", weight_z, self.a["class_guess.correlation"]["fuel_weight"],
                           z["fuel"])[0]

    def _cruise(self, z: Mapping[str, FloatArray], power: FloatArray, wing: FloatArray,
                ) -> tuple[FloatArray, FloatArray]:
        """Return cruising speed at the class's level and 75 % power, and its deviate for the climb to go with."""
        if "cruise_k" in self.of:
            expected = np.cbrt(0.75 * power / wing)
            spread = self.of["cruise_k"]
        else:  # relations to power and wing serve the unblown: the class's own percentiles, a little with power
            expected, spread = (power / self._middle_hp()) ** 0.3, self.of["v75_ktas"]
        if "cruise_kt" in self.known:
            value = np.full(np.shape(power), self.known["cruise_kt"])
            return value, np.vectorize(spread.z_of, otypes=[float])(value / expected)
        return expected * spread.at(z["speed"]), z["speed"]

    def _climb(self, z: Mapping[str, FloatArray], power: FloatArray, weight: FloatArray, wing: FloatArray,
               speed_z: FloatArray) -> FloatArray:
        """Return the rate of climb: excess of power over what the wing loading asks for, moved to the class."""
        c, sd = self.a["class_guess.climb"][self._sort()]

        def rate(hp: FloatArray | float, lb: FloatArray | float, sqft: FloatArray | float) -> FloatArray:
            return np.asarray(0.60 * 33_000.0 * hp / lb - c * np.sqrt(lb / sqft))

        own = self.of["roc_sl_fpm"]
        moved = own.likely - rate(self._middle_hp(), self.of["mtow_lb"].likely, self.of["wing_area_ft2"].likely)
        together = self.a["class_guess.correlation"]["climb_speed"]
        scatter = sd * (together * speed_z + np.sqrt(1.0 - together**2) * z["climb"])
        low, high = own.at(-2.3), own.at(2.3)
        return self._known("climb_fpm", np.clip(rate(power, weight, wing) + moved + scatter, low, high))

    def _ceiling(self, z: Mapping[str, FloatArray], climb: FloatArray) -> FloatArray:
        own = self.of["ceiling_ft"]
        if self.kind.turbo:
            return self._known("ceiling_ft", own.at(z["ceiling"]))
        slope, sd = self.a["class_guess.ceiling"]
        expected = own.likely + slope * np.log(climb / self.of["roc_sl_fpm"].likely) + sd * z["ceiling"]
        return self._known("ceiling_ft", np.clip(expected, own.at(-2.3), own.at(2.3)))

    def _fields(self, z: Mapping[str, FloatArray], power: FloatArray, weight: FloatArray, wing: FloatArray,
                ) -> tuple[FloatArray, ...]:
        sd, together = self.a["class_guess.field_spread"][self._gear()], self.a["class_guess.correlation"]
        of, middle_lb, middle_sqft = self.of, self.of["mtow_lb"].likely, self.of["wing_area_ft2"].likely
        loading = weight / wing * middle_sqft / middle_lb
        stall = of["vs0_kt"].likely * np.sqrt(loading) * np.exp(self.a["class_guess.stall_spread"] * z["stall"])
        if self.kind.engines == 1:
            stall = np.minimum(stall, self.a["class_guess.stall_most_kt"])
        vs0 = self._known("vs0_kt", stall)
        effort = loading * (weight / power) * (self._middle_hp() / middle_lb)
        roll = self._known("takeoff_roll_ft", of["to_roll_ft"].likely * effort * np.exp(sd[0] * z["takeoff_roll"]))
        r = together["roll_over_50"]
        over = of["to_50ft_ft"].likely * effort * np.exp(sd[1] * (r * z["takeoff_roll"]
                                                                   + np.sqrt(1.0 - r**2) * z["takeoff_50"]))
        landing = of["ldg_roll_ft"].likely * (vs0 / of["vs0_kt"].likely) ** 2 * np.exp(sd[2] * z["landing_roll"])
        landing = self._known("landing_roll_ft", landing)
        ratio = of["ldg_50ft_ft"].likely / of["ldg_roll_ft"].likely * np.exp(sd[3] * z["landing_ratio"])
        return (vs0, roll, self._known("takeoff_ft", np.maximum(over, 1.15 * roll)), landing,
                self._known("landing_ft", landing * np.maximum(ratio, 1.3)))

    def _gear(self) -> str:
        return "twin" if self.kind.engines == 2 else self.kind.gear

    def _sort(self) -> str:
        if self.kind.engines == 2 or self.kind.gear == "retractable":
            return self._gear()
        return "fixed" if self.kind.constant_speed else "fixed_pitch"

    def sound(self, f: Figures) -> BoolArray:
        """Tell which aircraft are such as fly: payload, loadings, endurance, stall and climb inside what types have."""
        a, seats = self.a, self.of["seats"].likely
        useful, per_gal = f.weight_lb - f.empty_lb, self.fuel_lb_per_gal
        least_lb = a["class_guess.least_payload_lb"][0 if seats <= 2 else 1 if seats <= 4 else 2]
        hours = f.fuel_gal / (f.flow_gph * 0.79)
        power, wing = f.weight_lb / f.power_hp, f.weight_lb / f.wing_sqft
        twin = self.kind.engines == 2
        ok = useful - per_gal * f.fuel_gal >= least_lb
        ok &= _within(useful / f.weight_lb, a["class_guess.useful_share"])
        ok &= _within(hours, a["class_guess.endurance_h"])
        ok &= _within(power, a["class_guess.power_loading_lb_per_hp"][1 if self.kind.jet_fuel else 0])
        ok &= _within(wing, a["class_guess.wing_loading_lb_per_sqft"][1 if twin else 0])
        ok &= f.climb_fpm >= a["class_guess.least_climb_fpm"]
        return np.asarray(ok & (f.takeoff_ft > f.takeoff_roll_ft) & (f.landing_ft >= 1.3 * f.landing_roll_ft - 1e-9))

    @property
    def fuel_lb_per_gal(self) -> float:
        """Weight of a gallon of the class's fuel. [lb]"""
        return float(self.a["aircraft.jet_fuel_lb_per_gal" if self.kind.jet_fuel else "aircraft.avgas_lb_per_gal"])


def _within(value: FloatArray, limits: tuple[float, float] | list[float]) -> BoolArray:
    return np.asarray((value >= limits[0]) & (value <= limits[1]))
