"""A whole aircraft of a class, likely or drawn, that agrees with what is known of it and with itself.

Figures are filled in the order power, weight, wing, empty weight, speed, fuel flow, fuel, climb, ceiling, stall and
field lengths, each conditional on the ones before: by the class's own percentiles, and by relations across types whose
medians are moved to those of the class. A figure that is known speaks back to those before it: a draw is kept by how
well it agrees with what is known (rejection). What no type of a class can be is drawn again.

References
----------
.. [1] Relations, scatter and correlations: fitted to percentiles of an open data set of some 330 piston types.
.. [2] 14 CFR 23.49 (older amendments): singles up to 6,000 lb stall at 61 kt or less with flaps.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from math import log

import numpy as np

from missionsim.aircraft.classes import KINDS, Kind, Spread, figures_of
from missionsim.base.arrays import Bools
from missionsim.base.assumptions import Assumptions
from missionsim.physics.units import FloatArray

DEVIATES = ("power", "weight", "wing", "empty", "equipment", "fuel", "speed", "flow", "climb", "ceiling", "stall",
            "takeoff_roll", "takeoff_50", "landing_roll", "landing_ratio", "span")
"""Standard normal deviates that make one aircraft, in the order of their columns."""
TRIES = 40
"""Aircraft drawn for each one that is wanted; more than a fifth of a class is never refused."""
LOOKED_AT = 2_000
"""Aircraft by which the likely one is found where known figures speak back to those before them."""
ECONOMY = 0.79
"""Fuel flow at 65 % power, lean, over that at 75 % and best power."""
BOOSTED = "boosted"
"""Among what is known, beside names of `Figures` and `useful_lb`: the aircraft has a turbocharger."""
HIGHEST_CEILING_FT = 30_000.0
"""No profile takes more."""
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

    @cached_property
    def likely(self) -> Figures:
        """The aircraft in the middle of what the class and the known figures leave open; arrays ()."""
        return self._built(self._middle)[0]

    def drawn(self, randoms: Iterable[np.random.Generator], choices: Iterable[np.random.Generator]) -> Figures:
        """Return an aircraft for each pair of generators, arrays (n,), in hardly longer than one of them takes.

        The likely one where no try is sound, which figures that are known can forbid.

        Parameters
        ----------
        randoms : generators    For the tries.
        choices : generators    For which of them agree with what is known.
        """
        z = np.stack([random.standard_normal((TRIES, len(DEVIATES))) for random in randoms])
        found, agrees = self._built(z)
        kept = np.array([_kept(*one) for one in zip(self.sound(found), agrees, choices, strict=True)], dtype=np.int64)
        chosen = self._built(z[np.arange(len(kept)), kept])[0]
        return Figures(*(np.where(kept >= 0, getattr(chosen, f.name), getattr(self.likely, f.name))
                         for f in fields(Figures)))

    @cached_property
    def _middle(self) -> FloatArray:
        """Deviates of the likely aircraft: zero, or their mean among those that agree with what is known."""
        z = np.random.default_rng(LOOKED_AT).standard_normal((LOOKED_AT, len(DEVIATES)))
        z = np.concatenate([z, -z])
        found, agrees = self._built(z)
        weight = np.where(self.sound(found), np.exp(agrees - agrees.max()), 0.0)
        if np.ptp(agrees) < 1e-9 or not weight.any():
            return np.zeros(len(DEVIATES))
        return np.asarray(weight @ z / weight.sum())

    def _built(self, deviates: FloatArray) -> tuple[Figures, FloatArray]:
        """Return aircraft, and by how much less than the best they agree with what is known (a logarithm)."""
        z = {name: deviates[..., i] for i, name in enumerate(DEVIATES)}
        self._agrees = np.zeros(np.shape(deviates)[:-1])
        power, weight, wing, span = self._frame(z)
        empty = self._empty(z, weight)
        cruise, speed_z = self._cruise(z, power, wing)
        flow = self._about("flow_gph", np.log(self.of["gph75"].likely * power / self._middle_hp()),
                           self.a["class_guess.fuel_flow_spread"], z["flow"])
        fuel = self._fuel(z, weight, flow, cruise)
        climb = self._climb(z, power, weight, wing, speed_z)
        ceiling = self._ceiling(z, climb)
        figures = Figures(power, weight, empty, wing, span, fuel, cruise, flow, climb, ceiling,
                          *self._fields(z, power, weight, wing))
        return figures, self._agrees

    def _about(self, name: str, middle: FloatArray, spread: float, z: FloatArray) -> FloatArray:
        """Return a figure log-normal about a middle, a logarithm; a known one speaks back to those before it."""
        if name not in self.known:
            return np.asarray(np.exp(middle + spread * z))
        self._speak((log(self.known[name]) - middle) / spread)
        return self._known(name, middle)

    def _speak(self, deviate: FloatArray) -> None:
        """Count how far a known figure lies from where a draw puts it, in standard deviations."""
        self._agrees = self._agrees - 0.5 * np.square(deviate)

    def _known(self, name: str, otherwise: FloatArray) -> FloatArray:
        value = self.known.get(name)
        return np.asarray(otherwise) if value is None else np.full(np.shape(otherwise), float(value))

    def _middle_hp(self) -> float:
        return self.of["hp_each"].likely * self.kind.engines

    def _frame(self, z: Mapping[str, FloatArray]) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        together, each = self.a["class_guess.correlation"], self.of["hp_each"]
        hp_z = z["power"] if "power_hp" not in self.known else np.full(
            np.shape(z["power"]), float(each.deviates(self.known["power_hp"] / self.kind.engines)))
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
            own = np.full(np.shape(z), float(spread.deviates(self.known[name])))
            self._speak((own - together * other_z) / np.sqrt(1.0 - together**2))
        else:
            own = together * other_z + np.sqrt(1.0 - together**2) * z
        return self._known(name, spread.at(own)), own

    def _empty(self, z: Mapping[str, FloatArray], weight: FloatArray) -> FloatArray:
        median, spread = self.a["class_guess.equipment_lb"]
        equipment, share = median * np.exp(spread * z["equipment"]), self.of["empty_share"]
        if not {"useful_lb", "empty_lb"} & set(self.known):
            return np.asarray(weight * share.at(z["empty"]) + equipment)
        empty = weight - self.known["useful_lb"] if "useful_lb" in self.known else self._known("empty_lb", weight)
        bare = np.maximum((empty - equipment) / weight, 0.05)
        self._speak(share.deviates(bare))
        return np.asarray(empty)

    def _fuel(self, z: Mapping[str, FloatArray], weight: FloatArray, flow: FloatArray, cruise: FloatArray,
              ) -> FloatArray:
        """Return the tanks; where a range is advertised they hold what it takes, at economy cruise."""
        weight_z = self.of["mtow_lb"].deviates(weight)
        fuel = self._along("fuel_gal", "fuel_usgal", weight_z, self.a["class_guess.correlation"]["fuel_weight"],
                           z["fuel"])[0]
        if "range_nm" not in self.known or "fuel_gal" in self.known:
            return fuel
        least, most = self.a["class_guess.range_of_tanks_share"]
        gal = self.known["range_nm"] / cruise * ECONOMY * flow
        return np.asarray(np.clip(fuel, gal / most, gal / least))

    def _cruise(self, z: Mapping[str, FloatArray], power: FloatArray, wing: FloatArray,
                ) -> tuple[FloatArray, FloatArray]:
        """Return cruising speed at the class's level and 75 % power, and its deviate for the climb to go with."""
        if "cruise_k" in self.of:
            expected = np.cbrt(0.75 * power / wing)
            spread = self.of["cruise_k"]
        else:  # relations to power and wing serve the unblown: the class's own percentiles, a little with power
            expected, spread = _raised(power / self._middle_hp(), 0.3), self.of["v75_ktas"]
        if "cruise_kt" in self.known:
            value = np.full(np.shape(power), self.known["cruise_kt"])
            deviate = spread.deviates(value / expected)
            self._speak(deviate)
            return value, deviate
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
        middle, left = rate(power, weight, wing) + moved + sd * together * speed_z, sd * np.sqrt(1.0 - together**2)
        if "climb_fpm" in self.known:
            self._speak((self.known["climb_fpm"] - middle) / left)
        return self._known("climb_fpm", np.clip(middle + left * z["climb"], own.at(-2.3), own.at(2.3)))

    def _ceiling(self, z: Mapping[str, FloatArray], climb: FloatArray) -> FloatArray:
        own = self.of["ceiling_ft"]
        if self.kind.turbo:
            return self._known("ceiling_ft", own.at(z["ceiling"]))
        if BOOSTED in self.known:      # its engine has power where those of the class have lost theirs
            of = "twin" if self.kind.engines == 2 else "single"
            low, likely, high = self.a["class_guess.boosted_ceiling_share"][of]
            ceiling = own.at(z["ceiling"]) * Spread(low, likely, high, "", weak=False).at(z["ceiling"])
            return self._known("ceiling_ft", np.minimum(ceiling, HIGHEST_CEILING_FT))
        slope, sd = self.a["class_guess.ceiling"]
        expected = own.likely + slope * np.log(climb / self.of["roc_sl_fpm"].likely)
        if "ceiling_ft" in self.known:
            self._speak((self.known["ceiling_ft"] - expected) / sd)
        return self._known("ceiling_ft", np.clip(expected + sd * z["ceiling"], own.at(-2.3), own.at(2.3)))

    def _fields(self, z: Mapping[str, FloatArray], power: FloatArray, weight: FloatArray, wing: FloatArray,
                ) -> tuple[FloatArray, ...]:
        a = self.a
        sd, together = a["class_guess.field_spread"][self._gear()], a["class_guess.correlation"]
        of, middle_lb, middle_sqft = self.of, self.of["mtow_lb"].likely, self.of["wing_area_ft2"].likely
        loading = weight / wing * middle_sqft / middle_lb
        vs0 = self._about("vs0_kt", np.log(of["vs0_kt"].likely * np.sqrt(loading)), a["class_guess.stall_spread"],
                          z["stall"])
        if self.kind.engines == 1 and "vs0_kt" not in self.known:
            vs0 = np.minimum(vs0, a["class_guess.stall_most_kt"])
        effort = loading * (weight / power) * (self._middle_hp() / middle_lb)
        middle = np.log(of["to_roll_ft"].likely * effort)
        roll = self._about("takeoff_roll_ft", middle, sd[0], z["takeoff_roll"])
        r, rolled = together["roll_over_50"], (np.log(roll) - middle) / sd[0]
        over = self._about("takeoff_ft", np.log(of["to_50ft_ft"].likely * effort) + sd[1] * r * rolled,
                           sd[1] * np.sqrt(1.0 - r**2), z["takeoff_50"])
        landing = self._about("landing_roll_ft", np.log(of["ldg_roll_ft"].likely * _raised(
            vs0 / of["vs0_kt"].likely, 2.0)), sd[2], z["landing_roll"])
        ratio = of["ldg_50ft_ft"].likely / of["ldg_roll_ft"].likely
        landing_ft = self._about("landing_ft", np.log(landing * ratio), sd[3], z["landing_ratio"])
        return (vs0, roll, self._known("takeoff_ft", np.maximum(over, 1.15 * roll)), landing,
                self._known("landing_ft", np.maximum(landing_ft, 1.3 * landing)))

    def _gear(self) -> str:
        return "twin" if self.kind.engines == 2 else self.kind.gear

    def _sort(self) -> str:
        if self.kind.engines == 2 or self.kind.gear == "retractable":
            return self._gear()
        return "fixed" if self.kind.constant_speed else "fixed_pitch"

    def sound(self, f: Figures) -> Bools:
        """Tell which aircraft are such as fly: payload, loadings, endurance, stall and climb inside what types have."""
        a, seats = self.a, self.of["seats"].likely
        useful, per_gal = f.weight_lb - f.empty_lb, self.fuel_lb_per_gal
        least_lb = a["class_guess.least_payload_lb"][0 if seats <= 2 else 1 if seats <= 4 else 2]
        hours = f.fuel_gal / (f.flow_gph * ECONOMY)
        power, wing = f.weight_lb / f.power_hp, f.weight_lb / f.wing_sqft
        twin = self.kind.engines == 2
        ok = useful - per_gal * f.fuel_gal >= least_lb
        ok &= _within(useful / f.weight_lb, a["class_guess.useful_share"])
        ok &= _within(hours, a["class_guess.endurance_h"])
        ok &= _within(power, a["class_guess.power_loading_lb_per_hp"][1 if self.kind.jet_fuel else 0])
        ok &= _within(wing, a["class_guess.wing_loading_lb_per_sqft"][1 if twin else 0])
        ok &= f.climb_fpm >= a["class_guess.least_climb_fpm"]
        if "range_nm" in self.known:
            least, most = a["class_guess.range_of_tanks_share"]
            ok &= _within(self.known["range_nm"] / (hours * f.cruise_kt), (least - 1e-9, most + 1e-9))
        return np.asarray(ok & (f.takeoff_ft > f.takeoff_roll_ft) & (f.landing_ft >= 1.3 * f.landing_roll_ft - 1e-9))

    @property
    def fuel_lb_per_gal(self) -> float:
        """Weight of a gallon of the class's fuel. [lb]"""
        return float(self.a["aircraft.jet_fuel_lb_per_gal" if self.kind.jet_fuel else "aircraft.avgas_lb_per_gal"])


def _kept(sound: Bools, agrees: FloatArray, choice: np.random.Generator) -> int:
    """Return the first sound try that is kept by how well it agrees with what is known; -1 where none is sound."""
    some = np.flatnonzero(sound)
    if not len(some):
        return -1
    return int(some[choice.random(TRIES)[some] <= np.exp(agrees[some] - agrees[some].max())][0])


def _raised(base: FloatArray, exponent: float) -> FloatArray:
    """Return powers; of chosen aircraft, arrays of one dimension, each alone: in long arrays the last bit differs."""
    if np.ndim(base) != 1:
        return np.asarray(base**exponent)
    return np.array([value**exponent for value in base.tolist()])


def _within(value: FloatArray, limits: tuple[float, float] | list[float]) -> Bools:
    return np.asarray((value >= limits[0]) & (value <= limits[1]))
