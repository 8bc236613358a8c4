"""The records of one airport and of one runway end, and what the open data's words for runways mean."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

SURFACES = ("paved", "gravel", "grass", "dirt", "snow_ice", "other")

_PAVED = ("ASP", "CON", "PEM", "BIT", "PAVED", "MAC", "TAR", "SEALED", "CHIP", "COM", "COP", "BRI", "PER")
# PER is written for a permanent, hard surface of no stated material; the fields that carry it have jet runways.
_GRAVEL = ("GRAV", "GRV", "GVL", "CRUSH", "ROCK", "STONE", "CALICHE", "CORAL", "CINDER", "SLAG", "SHELL", "TRTD",
           "TREATED", "OIL")
_GRASS = ("TUR", "TOR", "TUE", "GRS", "GRA", "GRE", "SOD")
_DIRT = ("DIRT", "SAN", "CLA", "SOIL", "EARTH", "LAT", "NATURAL", "DUST", "LAKEBED")
_WATER = ("WAT",)
_SNOW = ("SNO", "ICE")
_COMPASS = {name: 22.5 * i for i, name in enumerate(
    ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"])}

APPROACHES = ("none", "vor", "lnav", "lpv", "ils")
"""Kinds of instrument approach, from none to the lowest minima."""

APPROACH_RANK = {name: rank for rank, name in enumerate(APPROACHES)}


@dataclass(frozen=True, slots=True)
class RunwayEnd:
    """One direction of one runway.

    Parameters
    ----------
    ident : str                 Painted name, `17L`; `?` when not known.
    heading_deg : float         True heading of take-off and landing this way. [deg]
    length_ft : float           Full length, for take-off. [ft]
    landing_length_ft : float   Length less a displaced threshold, for landing. [ft]
    width_ft : float or None    Width, None when not known. [ft]
    surface : str               paved, gravel, grass, dirt, snow_ice or other.
    lighted : bool              Lighted at night.
    """

    ident: str
    heading_deg: float
    length_ft: float
    landing_length_ft: float
    width_ft: float | None
    surface: str
    lighted: bool


@dataclass(frozen=True, slots=True)
class Airport:
    """One airport. `assumed` lists the fields that nobody gave: they come from assumptions by runway class.

    Parameters
    ----------
    ident : str                          Identifier to show.
    names : tuple of str                 Every identifier that leads here.
    name : str                           What people call it.
    latitude_deg, longitude_deg : float  Position, west negative. [deg]
    elevation_ft : float                 Above sea level. [ft]
    region : str                         ISO 3166-2, `US-NE`.
    timezone : str                       IANA name.
    declination_deg : float              Magnetic declination, east positive. [deg]
    ends : tuple of RunwayEnd            Open land runways, both directions; may be empty.
    size : int                           0 small, 1 medium, 2 large, as the open data class it.
    public : bool                        Open to everybody, as identifier and name suggest; own airports are.
    has_fuel : bool                      Fuel is sold.
    fuel_price_usd_per_gal : float|None  The user's price, None for the general one.
    landing_fee_usd : float or None      The user's fee, None for the general one.
    approach : str                       Best instrument approach, one of `APPROACHES`.
    approach_ceiling_ft : float or None  The user's minimum ceiling above ground, None for that of the approach. [ft]
    approach_visibility_sm : float|None  The user's minimum visibility, None for that of the approach. [sm]
    minimum_altitude_ft : float or None  The user's minimum en-route altitude to and from here. [ft]
    assumed : tuple of str               Fields above that are assumptions.
    """

    ident: str
    names: tuple[str, ...]
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float
    region: str
    timezone: str
    declination_deg: float
    ends: tuple[RunwayEnd, ...] = ()
    size: int = 0
    public: bool = True
    has_fuel: bool = False
    fuel_price_usd_per_gal: float | None = None
    landing_fee_usd: float | None = None
    approach: str = "none"
    approach_ceiling_ft: float | None = None
    approach_visibility_sm: float | None = None
    minimum_altitude_ft: float | None = None
    assumed: tuple[str, ...] = ()

    def longest_ft(self, surfaces: Sequence[str], lighted: bool = False) -> float:
        """Return the length of the longest runway of the given surfaces in feet, 0 without one."""
        return max((e.length_ft for e in self.ends if e.surface in surfaces and (e.lighted or not lighted)),
                   default=0.0)


def surface_class(text: str) -> str:
    """Return the surface class of a free-text surface; the weakest material named counts, `water` stands apart.

    Seasonal snow on another surface does not count, nor do letters for the surface's condition.
    """
    words = [w for w in re.split(r"[^A-Z]+", text.upper()) if len(w) > 1]
    found = {kind for kind, stems in (("paved", _PAVED), ("gravel", _GRAVEL), ("grass", _GRASS), ("dirt", _DIRT),
                                      ("water", _WATER), ("snow_ice", _SNOW))
             for w in words if w.startswith(stems) and not (kind == "grass" and w.startswith("GRAV"))}
    for kind in ("dirt", "grass", "gravel", "paved", "water", "snow_ice"):
        if kind in found:
            return kind
    return "other"


def heading_from_ident(ident: str, declination_deg: float) -> float:
    """Return the true heading a runway's painted name implies: number times ten plus declination, or compass letters.

    NaN where the name says nothing.
    """
    match = re.fullmatch(r"0?(\d{1,2})[LRCSGTUW]?", ident.strip().upper())
    if match and 1 <= int(match[1]) <= 36:
        return float((10.0 * int(match[1]) + declination_deg) % 360.0)
    letters = re.fullmatch(r"([NESW]{1,3})[LRC]?", ident.strip().upper())
    return _COMPASS.get(letters[1] if letters else "", float("nan"))
