"""The weather and winds assumed at a place, month by month, straight from the tables a year is drawn from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions, packaged_assumptions
from missionsim.base.errors import Fault, InputError
from missionsim.physics.atmosphere import density_altitude_ft, level_ft_of_pressure
from missionsim.report.text_table import Sheet
from missionsim.study.inputs.load_study import load_study
from missionsim.study.inputs.places import places_in
from missionsim.world.airports.table import AirportTable
from missionsim.world.ground.terrain import Terrain
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.cloud import icing_share
from missionsim.world.surface.flight_category import CATEGORIES
from missionsim.world.surface.place_climate import OwnStation
from missionsim.world.surface.station_climate import MONTHS
from missionsim.world.surface.summary import (
    afternoon_temperature_c,
    crosswind_share,
    mean_pressure_hpa,
    thunder_by_month,
)
from missionsim.world.winds.climatology import AloftMonth, UpperAir

LEVELS_FT = (3_000.0, 6_000.0, 9_000.0, 12_000.0, 15_000.0, 18_000.0)
ICING_CAUTION = (
    "Caution: icing is a proxy worked out of cloud and temperature; no report of ice stands behind it, and by region "
    "it may be half or twice as frequent. It says nothing of a given day: forecasts, reports and the flight manual do.")
ICING_FT = (6_000.0, 8_000.0, 10_000.0, 12_000.0)
LOWEST = (200.0, 0.5)
"""Ceiling [ft] and visibility [sm] of the lowest common instrument approach."""
NEAR_NM, VALLEY_FT = 5.0, 1000.0
"""A position takes the elevation of an airport so near, unless the ground there is so much higher. [nm], [ft]"""
NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Spot:
    """A place asked about.

    `heading_deg`: true headings of its runways, empty where there is none. `note`: which field of a town was taken.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float
    heading_deg: tuple[float, ...]
    elevation_from: str
    note: str = ""


@dataclass(frozen=True)
class ClimateView:
    """What is assumed at a place; arrays [12] or [12, k], shares of all hours, month 0 is January.

    `category_share` [12, 4] in the order vfr, mvfr, ifr, lifr; `icing_share` [12, level] at `ICING_FT`;
    `crosswind_share` is above `crosswind_kt` on the best of the runways, NaN without runways.
    """

    spot: Spot
    station: str
    station_nm: float
    category_share: Floats
    lowest_share: Floats
    thunder_share: Floats
    icing_share: Floats
    crosswind_share: Floats
    crosswind_kt: float
    temperature_c: Floats
    afternoon_c: Floats
    warm_afternoon_c: Floats
    density_altitude_ft: Floats
    warm_density_altitude_ft: Floats
    aloft: tuple[AloftMonth, ...]


def climate_view(place: str, study: str | None = None) -> ClimateView:
    """Return what is assumed at an airport or at LAT,LON.

    Parameters
    ----------
    place : str              Any identifier, or latitude and longitude in degrees, west negative.
    study : str, optional    Whose airports, station files and assumptions count.

    Raises
    ------
    InputError, UnknownPlace   Not a place.
    NoWeatherStation           No station is near, and the study brings none.
    """
    loaded = None if study is None else load_study(study)
    a = packaged_assumptions() if loaded is None else loaded.assumptions
    airports = AirportTable.packaged(a) if loaded is None else loaded.airports
    own = {} if loaded is None else loaded.own_stations
    spot = _spot(place, airports)
    climate = _climate(spot, a, own)
    upper = UpperAir.packaged(a)
    aloft = tuple(upper.climatology(spot.latitude_deg, spot.longitude_deg, m + 1, LEVELS_FT) for m in range(MONTHS))
    icing = [upper.climatology(spot.latitude_deg, spot.longitude_deg, m + 1, ICING_FT) for m in range(MONTHS)]
    limit_kt = a["runway.crosswind_of_demonstrated_share"] * a["runway.crosswind_kt"]
    afternoon, warm = afternoon_temperature_c(climate)[0], afternoon_temperature_c(climate, 0.9)[0]
    altitude_ft = level_ft_of_pressure(mean_pressure_hpa(climate)[0], check=False)
    across = crosswind_share(climate, 0, spot.heading_deg, limit_kt) if spot.heading_deg else np.full(MONTHS, np.nan)
    return ClimateView(
        spot, climate.station[0], float(climate.station_distance_nm[0]), climate.categories()[0],
        climate.share_below(*LOWEST)[0].mean(axis=1), thunder_by_month(climate)[0],
        icing_share(climate, np.array(ICING_FT), np.stack([m.temperature_c for m in icing])[None],
                    np.stack([m.temperature_scatter_c for m in icing])[None])[0],
        across, limit_kt, climate.stacked("temperature_c")[0].mean(axis=1, dtype=float), afternoon, warm,
        _density_ft(altitude_ft, afternoon), _density_ft(altitude_ft, warm), aloft)


def _density_ft(altitude_ft: ArrayLike, temperature_c: ArrayLike) -> Floats:
    return np.asarray(density_altitude_ft(altitude_ft, temperature_c, check=False), dtype=np.float64)


def _climate(spot: Spot, a: Assumptions, own: Mapping[str, OwnStation]) -> SurfaceClimate:
    return SurfaceClimate.build([spot.latitude_deg], [spot.longitude_deg], [spot.elevation_ft], [spot.name], a, own)


def _spot(place: str, airports: AirportTable) -> Spot:
    if "," not in place or not all(_is_number(part) for part in place.split(",") if part.strip()):
        read = places_in(place, airports.find, airports.in_town)
        airport = read.airports[0] if len(read.airports) == 1 else airports.find(place)
        headings = tuple(end.heading_deg for end in airport.ends[::2])
        return Spot(airport.ident, airport.latitude_deg, airport.longitude_deg, airport.elevation_ft, headings,
                    airport.name, "; ".join(read.notes))
    latitude, longitude = _position(place)
    near = airports.within(latitude, longitude, NEAR_NM)
    ground = float(Terrain.packaged().highest_ft(latitude, longitude))
    beside = airports.airport(int(near[0])) if len(near) else None
    # A valley airport says nothing of the summit beside it.
    if beside is not None and not ground > beside.elevation_ft + VALLEY_FT:
        elevation_ft, source = beside.elevation_ft, f"elevation of {beside.ident}, the nearest airport"
    elif math.isnan(ground):
        elevation_ft, source = 0.0, "ground not known: taken at sea level"
    else:
        elevation_ft, source = ground, "highest ground of the cell"
    return Spot(f"{latitude:g},{longitude:g}", latitude, longitude, elevation_ft, (), source)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _position(place: str) -> tuple[float, float]:
    words = place.split(",")
    try:
        latitude, longitude = (float(word) for word in words)
    except ValueError:
        latitude = longitude = math.nan
    if not (abs(latitude) <= 90.0 and abs(longitude) <= 180.0):
        raise InputError([Fault("place", "", f"{place[:60]!r} is no position", "latitude,longitude in degrees, west "
                                "negative, such as 40.97,-98.31, or an airport identifier")])
    return latitude, longitude


def climate_json(view: ClimateView) -> dict[str, Any]:
    """Return the view as plain data: `categories` and `months` hold January to December."""
    spot = view.spot
    return {
        "place": spot.name, "latitude_deg": round(spot.latitude_deg, 5), "longitude_deg": round(spot.longitude_deg, 5),
        "elevation_ft": round(spot.elevation_ft), "station": view.station,
        "station_distance_nm": round(view.station_nm, 1), "icing_caution": ICING_CAUTION,
        "categories": [{"month": m + 1, **{name: _share(view.category_share[m, k])
                                           for k, name in enumerate(CATEGORIES)}} for m in range(MONTHS)],
        "months": [_month(view, m) for m in range(MONTHS)],
    }


def _month(view: ClimateView, m: int) -> dict[str, Any]:
    across = float(view.crosswind_share[m])
    return {
        "month": m + 1, "below_200_ft_half_sm_share": _share(view.lowest_share[m]),
        "thunder_share": _share(view.thunder_share[m]),
        "icing_share": [{"level_ft": level, "share": _share(view.icing_share[m, k])}
                        for k, level in enumerate(ICING_FT)],
        "crosswind_share": None if math.isnan(across) else _share(across), "crosswind_kt": round(view.crosswind_kt, 1),
        "surface_temperature_c": round(float(view.temperature_c[m]), 1),
        "afternoon_temperature_c": round(float(view.afternoon_c[m]), 1),
        "warm_afternoon_temperature_c": round(float(view.warm_afternoon_c[m]), 1),
        "afternoon_density_altitude_ft": round(float(view.density_altitude_ft[m])),
        "warm_afternoon_density_altitude_ft": round(float(view.warm_density_altitude_ft[m])),
        "aloft": [{"level_ft": level, "wind_from_deg": round(float(air.wind_from_deg[k]), 1),
                   "wind_kt": round(float(air.wind_kt[k]), 1), "scatter_kt": round(float(air.scatter_kt[k]), 1),
                   "temperature_c": round(float(air.temperature_c[k]), 1),
                   "temperature_scatter_c": round(float(air.temperature_scatter_c[k]), 1),
                   "below_ground": level < view.spot.elevation_ft}
                  for air in (view.aloft[m],) for k, level in enumerate(LEVELS_FT)],
    }


def climate_lines(view: ClimateView) -> list[str]:
    """Return what the view is of."""
    spot = view.spot
    return [*([spot.note] if spot.note else []),
            f"{spot.name} ({spot.elevation_from}): {spot.latitude_deg:.3f}, {spot.longitude_deg:.3f}, "
            f"{spot.elevation_ft:,.0f} ft",
            f"Surface weather from {view.station}, {view.station_nm:,.0f} nm away, blended with its neighbours unless "
            "the place is a station"]


def climate_sheets(view: ClimateView) -> list[Sheet]:
    """Return the view as two tables: at the surface, and aloft."""
    rows = []
    for m in range(MONTHS):
        across = float(view.crosswind_share[m])
        rows.append((NAMES[m], *(f"{view.category_share[m, k]:.1%}" for k in range(4)), f"{view.lowest_share[m]:.2%}",
                     f"{view.thunder_share[m]:.1%}", f"{view.icing_share[m].max():.1%}",
                     "-" if math.isnan(across) else f"{across:.1%}", f"{view.temperature_c[m]:.0f}",
                     f"{view.afternoon_c[m]:.0f}", f"{view.density_altitude_ft[m]:,.0f}",
                     f"{view.warm_density_altitude_ft[m]:,.0f}"))
    surface = Sheet(
        "Share of hours, temperature and density altitude",
        ("", "VFR", "MVFR", "IFR", "LIFR", "below 200-½", "thunder", "icing 6-12",
         f"crosswind over {view.crosswind_kt:.0f}", "mean °C", "afternoon °C", "density alt. ft", "warm day ft"),
        tuple(rows),
        ("IFR: ceiling under 1,000 ft or visibility under 3 sm; LIFR: under 500 ft or 1 sm; MVFR: to 3,000 ft or 5 sm.",
         "below 200-½: ceiling under 200 ft or visibility under half a mile. icing 6-12: the worst of the levels 6,000 "
         "to 12,000 ft. warm day: one afternoon in ten is warmer.",
         ICING_CAUTION))
    return [surface, _aloft_sheet(view)]


def _aloft_sheet(view: ClimateView) -> Sheet:
    rows = []
    for m, air in enumerate(view.aloft):
        cells = [f"{air.wind_from_deg[k]:03.0f}/{air.wind_kt[k]:.0f} ±{air.scatter_kt[k]:.0f} "
                 f"{air.temperature_c[k]:+.0f}°" for k in range(len(LEVELS_FT))]
        rows.append((NAMES[m], *cells))
    low = [level for level in LEVELS_FT if level < view.spot.elevation_ft]
    below = ["mean wind from (true) / kt, ± standard vector deviation from day to day, temperature °C"]
    if low:
        below.append(f"{', '.join(f'{level:,.0f}' for level in low)} ft lies below the ground here: free air nearby")
    return Sheet("Winds and temperatures aloft", ("", *(f"{level:,.0f} ft" for level in LEVELS_FT)), tuple(rows),
                 tuple(below))


def _share(value: float) -> float:
    return round(float(value), 5)
