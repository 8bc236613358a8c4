"""Figures filled from a class, drawn about the likely aircraft: what they are in each replication, and what they do.

The draws act as factors on the tables of the likely aircraft; its levels, ways and stops stay.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from missionsim.aircraft.class_draw import ClassModel
from missionsim.aircraft.class_fill import known_of
from missionsim.aircraft.classes import class_named
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generator
from missionsim.base.words import Stream

Array = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Factors:
    """A drawn aircraft over the likely one: speed and fuel flow in cruise, climb, field lengths, tanks."""

    speed: float = 1.0
    fuel_flow: float = 1.0
    climb: float = 1.0
    takeoff: float = 1.0
    landing: float = 1.0
    tank: float = 1.0

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
    "book.landing.over_50ft_ft": ("landing distance over 50 ft", "ft"), "tanks": ("usable fuel", "gal")}
"""Filled figures that are drawn: in plain words, and their unit."""
FACTOR = {"book.cruise.tas_kt": "speed", "book.cruise.fuel_flow_gph": "fuel_flow", "book.climb_fpm": "climb",
          "book.takeoff.over_50ft_ft": "takeoff", "book.landing.over_50ft_ft": "landing", "tanks": "tank"}
"""The factor each of them is."""
_SOURCE = {"book.cruise.tas_kt": "cruise_kt", "book.cruise.fuel_flow_gph": "flow_gph", "book.climb_fpm": "climb_fpm",
           "book.takeoff.over_50ft_ft": "takeoff_ft", "book.landing.over_50ft_ft": "landing_ft", "tanks": "fuel_gal"}


def drawn_keys(profile: Profile) -> tuple[str, ...]:
    """Return the filled figures of a profile that are drawn, in a fixed order."""
    return tuple(key for key in LABELS if key in profile.class_guesses)


def drawn_values(profile: Profile, assumptions: Assumptions, seed: int, replications: Sequence[int],
                 ) -> dict[str, Array]:
    """Return the drawn figures by key, (n,): one sound aircraft of the class a replication, jointly.

    Addressed by the name of the aircraft, so that adding a candidate moves nobody's draws.
    """
    keys = drawn_keys(profile)
    if not keys:
        return {}
    model = ClassModel(class_named(profile.class_words) or "", known_of(profile.model_dump(), profile.class_guesses),
                       assumptions)
    likely, address = model.likely(), crc32(profile.name.encode())
    drawn = [model.drawn(generator(seed, int(r), Stream.CLASS_FIGURES, address)) for r in replications]
    out = {}
    for key in keys:
        if key == "weights.empty_weight_lb":
            useful = np.array([float(f.weight_lb - f.empty_lb) for f in drawn])
            out[key] = profile.weights.max_takeoff_lb - useful
        else:
            ratio = np.array([float(getattr(f, _SOURCE[key])) for f in drawn]) / float(getattr(likely, _SOURCE[key]))
            out[key] = ratio * likely_value(profile, key)
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
