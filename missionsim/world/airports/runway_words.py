"""What the open data's words for runways mean: free-text surfaces and painted names."""

from __future__ import annotations

import re

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
