"""Figures filled from a class, drawn about the likely aircraft: what they are in each replication, and what they do.

The draws act as factors on the tables of the likely aircraft; its levels, ways and stops stay.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from math import exp
from typing import Any
from zlib import crc32

import numpy as np

from missionsim.aircraft.class_draw import ClassModel
from missionsim.aircraft.class_fill import known_of
from missionsim.aircraft.classes import class_named, figures_of
from missionsim.aircraft.figures import Range
from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generator
from missionsim.base.words import Stream

_Z90 = 1.2815515655446004


@dataclass(frozen=True, slots=True)
class Factors:
    """A drawn aircraft over the likely one: speed and fuel flow in cruise, climb, field lengths, tanks, limits."""

    speed: float = 1.0
    fuel_flow: float = 1.0
    climb: float = 1.0
    takeoff: float = 1.0
    landing: float = 1.0
    tank: float = 1.0
    crosswind: float = 1.0
    ceiling: float = 1.0

    @property
    def none(self) -> bool:
        """Whether it is the likely aircraft itself."""
        return all(getattr(self, part.name) == 1.0 for part in fields(self))


AS_LIKELY = Factors()
"""The likely aircraft itself."""

LABELS: Mapping[str, tuple[str, str]] = {
    "weights.empty_weight_lb": ("empty weight", "lb"), "book.cruise.tas_kt": ("cruising speed of the type", "kt"),
    "book.cruise.fuel_flow_gph": ("fuel flow in cruise", "gal/h"), "book.climb_fpm": ("rate of climb", "ft/min"),
    "book.takeoff.over_50ft_ft": ("take-off distance over 50 ft", "ft"),
    "book.landing.over_50ft_ft": ("landing distance over 50 ft", "ft"), "tanks": ("usable fuel", "gal"),
    "geometry.wing_area_sqft": ("wing area", "sq ft"), "book.vs0_cas_kt": ("stalling speed with flaps", "kt"),
    "book.service_ceiling_ft": ("service ceiling", "ft"), "engine.tbo_h": ("time between overhauls", "h"),
    "limits.demonstrated_crosswind_kt": ("demonstrated crosswind", "kt"),
    "prices.asking_price_usd": ("asking price", "$")}
"""Filled figures that are drawn: in plain words, and their unit."""
ALONE = ("prices.asking_price_usd", "engine.tbo_h", "limits.demonstrated_crosswind_kt")
"""Those drawn from a range of their own; nothing is known of how they go with the others of their class."""
FACTOR = {"book.cruise.tas_kt": "speed", "book.cruise.fuel_flow_gph": "fuel_flow", "book.climb_fpm": "climb",
          "book.takeoff.over_50ft_ft": "takeoff", "book.landing.over_50ft_ft": "landing", "tanks": "tank",
          "limits.demonstrated_crosswind_kt": "crosswind", "book.service_ceiling_ft": "ceiling"}
"""The factor each of them is."""
_SOURCE = {"book.cruise.tas_kt": "cruise_kt", "book.cruise.fuel_flow_gph": "flow_gph", "book.climb_fpm": "climb_fpm",
           "book.takeoff.over_50ft_ft": "takeoff_ft", "book.landing.over_50ft_ft": "landing_ft", "tanks": "fuel_gal",
           "geometry.wing_area_sqft": "wing_sqft", "book.vs0_cas_kt": "vs0_kt", "book.service_ceiling_ft": "ceiling_ft"}
_THROUGH = {"geometry.wing_area_sqft": ("book.cruise.tas_kt", "book.climb_fpm", "book.takeoff.over_50ft_ft"),
            "book.vs0_cas_kt": ("book.landing.over_50ft_ft",)}
"""Figures that act through others drawn with them; where those are known they change nothing."""


def drawn_keys(profile: Profile) -> tuple[str, ...]:
    """Return the filled figures of a profile that are drawn, in a fixed order."""
    return tuple(key for key in LABELS if key in profile.class_guesses and _counts(profile, key))


def _counts(profile: Profile, key: str) -> bool:
    """Tell whether a filled figure can change anything; the ceiling of an unblown engine follows from its climb."""
    if key == "book.service_ceiling_ft":
        return profile.engine.aspiration == "turbo"
    return key not in _THROUGH or any(through in profile.class_guesses for through in _THROUGH[key])


def drawn_limits(profile: Profile) -> bool:
    """Tell whether tables, loads or fields of the likely aircraft are drawn about."""
    return any(key not in ALONE for key in drawn_keys(profile))


def range_of(profile: Profile, key: str, assumptions: Assumptions) -> Range:
    """Return the range that a figure of `ALONE` is drawn from."""
    of = figures_of(class_named(profile.class_words) or "")
    if key == "prices.asking_price_usd":
        likely, spread = profile.prices.asking_price_usd, of["hull_kusd"]
        if "identity.year" in profile.class_guesses:
            return Range(low=likely * spread.low / spread.likely, likely=likely,
                         high=likely * spread.high / spread.likely)
        wide = exp(_Z90 * assumptions["class_guess.price_spread"])
        return Range(low=likely / wide, likely=likely, high=likely * wide)
    spread = of["tbo_h" if key == "engine.tbo_h" else "xwind_kt"]
    return Range(low=spread.low, likely=spread.likely, high=spread.high)


def least_crosswind(profile: Profile, values: Mapping[str, Array], assumptions: Assumptions) -> Array:
    """Return the crosswind that certification asks to be shown at the least, by replication. [kt]"""
    share = assumptions["runway.crosswind_of_stall_share"]
    stall_kt = profile.book.vs0_cas_kt if profile.book is not None and profile.book.vs0_cas_kt else 0.0
    return np.asarray(share * values.get("book.vs0_cas_kt", np.array(stall_kt)))


def class_model(profile: Profile, assumptions: Assumptions) -> ClassModel | None:
    """Return the class that a profile's gaps are drawn from, None where none are drawn jointly."""
    if all(key in ALONE for key in drawn_keys(profile)):
        return None
    return ClassModel(class_named(profile.class_words) or "", known_of(profile.model_dump(), profile.class_guesses),
                      assumptions)


def drawn_values(profile: Profile, model: ClassModel | None, seed: int, replications: Sequence[int],
                 ) -> dict[str, Array]:
    """Return the drawn figures by key, (n,): one sound aircraft of the class a replication, jointly.

    Addressed by the name of the aircraft, so that adding a candidate moves nobody's draws.

    Parameters
    ----------
    profile : Profile                Whose gaps its class fills.
    model : ClassModel or None       As `class_model` gives it.
    seed : int                       Of the study.
    replications : sequence of int   In rising order.
    """
    if model is None:
        return {}
    likely, address = model.likely, crc32(profile.name.encode())
    drawn = model.drawn(*([generator(seed, int(r), stream, address) for r in replications]
                          for stream in (Stream.CLASS_FIGURES, Stream.CLASS_CHOICE)))
    out: dict[str, Array] = {}
    for key in (key for key in drawn_keys(profile) if key not in ALONE):
        if key == "weights.empty_weight_lb":
            out[key] = profile.weights.max_takeoff_lb - (drawn.weight_lb - drawn.empty_lb)
        else:
            out[key] = getattr(drawn, _SOURCE[key]) / float(getattr(likely, _SOURCE[key])) * likely_value(profile, key)
    return out


def likely_value(profile: Profile, key: str) -> float:
    """Return a filled figure of the likely aircraft."""
    if key == "tanks":
        return profile.usable_gal
    section, *rest = key.split(".")
    value: Any = getattr(profile, section)
    for name in rest:
        value = value[0] if name != rest[0] and isinstance(value, tuple) else value
        value = getattr(value, name)
    return float(value)


def factors_of(profile: Profile, values: Mapping[str, Array], count: int) -> list[Factors]:
    """Return the factors of each replication from the drawn figures."""
    shares = {FACTOR[key]: values[key] / likely_value(profile, key) for key in drawn_keys(profile) if key in FACTOR}
    return [Factors(**{name: float(share[i]) for name, share in shares.items()}) for i in range(count)]
