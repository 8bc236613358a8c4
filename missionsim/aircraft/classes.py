"""Classes of aircraft in plain words, and what their types usually have: three percentiles of each figure.

The table `data/class_figures.csv` holds percentiles across the types of a class, with the kind of source and a mark
where they rest on little; `derive/class_figures.py` makes it.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from math import log
from typing import Literal

import numpy as np
import numpy.typing as npt

from missionsim.base.errors import near_match
from missionsim.physics.units import FloatArray

CUT_Z = 2.3
"""Nothing is drawn beyond this many standard deviations: a class has no types there."""
_Z90 = 1.2815515655446004


@dataclass(frozen=True, slots=True)
class Spread:
    """The 10, 50 and 90 % points of a figure across the types of a class; `weak` where they rest on little."""

    low: float
    likely: float
    high: float
    source: str
    weak: bool

    def at(self, z: npt.ArrayLike) -> FloatArray:
        """Return the figure at standard normal deviates: log-normal in each half, joined at the median."""
        deviate = np.clip(np.asarray(z, dtype=float), -CUT_Z, CUT_Z)
        below, above = (log(self.likely / self.low) / _Z90, log(self.high / self.likely) / _Z90)
        return np.asarray(self.likely * np.exp(deviate * np.where(deviate < 0.0, below, above)))

    def deviates(self, value: npt.ArrayLike) -> FloatArray:
        """Return the deviates of figures, cut at the ends; 0 where the class has one value only."""
        ratio = np.log(np.asarray(value, dtype=float) / self.likely)
        spread = np.where(ratio < 0.0, log(self.likely / self.low), log(self.high / self.likely)) / _Z90
        one = spread < 1e-9
        return np.asarray(np.where(one, 0.0, np.clip(ratio / np.where(one, 1.0, spread), -CUT_Z, CUT_Z)))


@dataclass(frozen=True, slots=True)
class Kind:
    """What the words of a class decide. `flown`: False where the physics here does not serve it."""

    words: str
    engines: int = 1
    gear: Literal["fixed", "retractable"] = "fixed"
    turbo: bool = False
    pressurised: bool = False
    cylinders: int = 4
    constant_speed: bool = True
    year: int = 1978
    level_ft: float = 8000.0
    jet_fuel: bool = False
    flown: bool = True


KINDS: Mapping[str, Kind] = {
    "lsa2": Kind("two-seat light-sport", constant_speed=False, year=2012),
    "trn2": Kind("two-seat trainer", constant_speed=False),
    "f160": Kind("four-seat fixed gear, 145-165 hp", constant_speed=False),
    "f180": Kind("four-seat fixed gear, 180-200 hp"),
    "h235": Kind("fixed-gear hauler, 200-260 hp", cylinders=6),
    "c310": Kind("composite fixed-gear single, about 300 hp", cylinders=6, year=2007),
    "r200": Kind("four-seat retractable, 180-200 hp", gear="retractable"),
    "r250": Kind("four-seat retractable, 210-260 hp", gear="retractable", cylinders=6),
    "x6f": Kind("six-seat fixed gear", cylinders=6),
    "x6r": Kind("six-seat retractable", gear="retractable", cylinders=6),
    "x6t": Kind("six-seat turbocharged single", gear="retractable", turbo=True, cylinders=6, year=1981,
                level_ft=18_000.0),
    "x6p": Kind("six-seat pressurised single", gear="retractable", turbo=True, pressurised=True, cylinders=6, year=1986,
                level_ft=20_000.0),
    "dsl4": Kind("four-seat diesel", turbo=True, year=2012, level_ft=10_000.0, jet_fuel=True),
    "twl": Kind("light twin", engines=2, gear="retractable"),
    "tmn": Kind("medium twin", engines=2, gear="retractable", cylinders=6),
    "tmt": Kind("medium twin, turbocharged", engines=2, gear="retractable", turbo=True, cylinders=6,
                level_ft=18_000.0),
    "tmp": Kind("medium twin, pressurised", engines=2, gear="retractable", turbo=True, pressurised=True, cylinders=6,
                level_ft=20_000.0),
    "stp": Kind("pressurised single turboprop", gear="retractable", flown=False),
    "stu": Kind("utility single turboprop", flown=False),
}
"""The classes by their short names."""

CLASS_WORDS: Mapping[str, str] = {name: kind.words for name, kind in KINDS.items()}
FLOWN_WORDS = tuple(kind.words for kind in KINDS.values() if kind.flown)
NO_TURBINE = ("is a turboprop: the power of a turbine with level, temperature and speed, its fuel low down and its "
              "upkeep by cycles are not modelled")


def class_named(text: str) -> str | None:
    """Return the short name of a class given in its words, or by its short name; None where none is meant."""
    plain = " ".join(str(text).lower().split())
    return next((name for name, kind in KINDS.items() if plain in (name, kind.words.lower())), None)


def nearest_words(text: str) -> str:
    """Return the class whose words come nearest, or an empty string."""
    return near_match(str(text), list(CLASS_WORDS.values()))


@cache
def figures_of(name: str) -> Mapping[str, Spread]:
    """Return the figures of a class by the table's own keys."""
    text = resources.files("missionsim").joinpath("data", "class_figures.csv").read_text(encoding="utf-8")
    found = {}
    for row in csv.DictReader(text.splitlines()):
        if row["class"] == name and row["low"] and row["high"]:
            low, likely, high = (float(row[key]) for key in ("low", "likely", "high"))
            found[row["figure"]] = Spread(low, likely, high, row["source"], row["weak"] == "yes")
    return found
