"""Places too far from any weather station: they cannot be flown to, which is said with file and line."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.world.airports.table import Airport
from missionsim.world.surface.place_climate import OwnStation, has_weather

Unflyable = Callable[[Airport], str]
"""Says why an airport cannot be flown to; an empty text where it can."""
STATION_FILE = "a place in reach of one, or a TMY3 or EPW file for it under `weather_files`"


def beyond_weather(own: Sequence[OwnStation], assumptions: Assumptions) -> Unflyable:
    """Return what tells whether a place has no weather station in reach.

    Parameters
    ----------
    own : sequence of OwnStation   Those the user brought.
    assumptions : Assumptions      `weather.farthest_station_nm`.
    """
    known: dict[str, str] = {}
    limit_nm = assumptions["weather.farthest_station_nm"]

    def unflyable(place: Airport) -> str:
        if place.ident not in known:
            lat, lon = np.array([place.latitude_deg]), np.array([place.longitude_deg])
            near = bool(has_weather(lat, lon, own, assumptions)[0])
            known[place.ident] = "" if near else f"no weather station within {limit_nm:,.0f} nm"
        return known[place.ident]

    return unflyable
