"""Figures as people type them: `$6.00`, `75%`, `195 lb`, `3,900`; the unit is checked against the key's own."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from missionsim.physics.units import LB_PER_KG

NOT_FIGURES = frozenset({"columns", "name", "study", "question", "notes", "purpose", "aircraft", "file", "home", "to"})
"""Keys below which nothing is a figure, whatever its own key is called."""
KEYED_BY_NAME = {"fuel_at": "fuel_usd_per_gal", "type_h": "type_h"}
"""Tables whose keys are names: every value is of the unit of the table."""

_UNITS: dict[str, tuple[str, ...]] = {
    "lb": ("lb", "lbs", "pound", "pounds", "#"), "kt": ("kt", "kts", "knot", "knots", "ktas", "kcas", "kias"),
    "ft": ("ft", "feet", "foot", "'"), "gal": ("gal", "gals", "gallon", "gallons", "usg"),
    "gph": ("gph", "gal/h", "gal/hr", "gallons per hour", "gallons an hour"), "nm": ("nm", "nmi", "nautical miles"),
    "sm": ("sm", "statute miles", "miles", "mi"), "h": ("h", "hr", "hrs", "hour", "hours"),
    "min": ("min", "mins", "minutes"), "in": ("in", "inch", "inches", '"'), "fpm": ("fpm", "ft/min", "feet per minute"),
    "hp": ("hp", "bhp", "h.p."), "rpm": ("rpm",), "deg": ("deg", "degrees"), "c": ("c", "degc"),
    "year": (), "sqft": ("sqft", "sq ft", "ft2", "square feet"),
    "lb_in": ("lb-in", "lb in"), "psi_of_80": ("/80", "psi"),
}
_PER = {"gal": ("gal", "gallon"), "h": ("h", "hr", "hour"), "month": ("mo", "month"), "year": ("yr", "year"),
        "quart": ("qt", "quart"), "night": ("night",), "lb": ("lb", "pound"), "day": ("day",)}
_OTHER = {("kg", "lb"): LB_PER_KG, ("mph", "kt"): 0.868976, ("km/h", "kt"): 0.539957, ("kmh", "kt"): 0.539957,
          ("m", "ft"): 3.28084,
          ("l", "gal"): 0.264172, ("liters", "gal"): 0.264172, ("litres", "gal"): 0.264172, ("l/h", "gph"): 0.264172,
          ("km", "nm"): 0.539957, ("sm", "nm"): 0.868976, ("miles", "nm"): 0.868976, ("mi", "nm"): 0.868976,
          ("h", "min"): 60.0,
          ("hours", "min"): 60.0, ("min", "h"): 1 / 60, ("cm", "in"): 0.393701, ("kw", "hp"): 1.34102,
          ("m/s", "kt"): 1.94384}
"""Units that are not the key's, with what they would be in it; said, never converted silently."""
_FIGURE = re.compile(r"\s*(?P<cur>US\$|\$|USD)?\s*(?P<n>[-+]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d*)?|[-+]?\.\d+)"
                     r"\s*(?P<u>.*?)\s*", re.IGNORECASE)


MOST_CHARACTERS = 100
"""No figure is longer; patterns would take minutes to say so of a long text."""


def plain_figures(data: Any, key: str = "") -> Any:
    """Return data with every figure typed with its own unit, sign or commas as a number.

    Text that is no figure of its key's unit stays as it is, for the model to refuse.

    Parameters
    ----------
    data : object   As YAML gives it.
    key : str       The key it stands under.
    """
    if isinstance(data, Mapping):
        below = {name: _below(key, str(name)) for name in data}
        return {name: value if below[name] in NOT_FIGURES else plain_figures(value, below[name])
                for name, value in data.items()}
    if isinstance(data, list):
        return [plain_figures(value, key) for value in data]
    return _plain(data, key) if isinstance(data, str) else data


def _below(key: str, name: str) -> str:
    """Return the key whose unit a value under `name` has."""
    if key in KEYED_BY_NAME:
        return KEYED_BY_NAME[key]
    return key if name in ("low", "likely", "high") and key else name


def _plain(text: str, key: str) -> Any:
    match = _figure(text)
    unit = unit_of(key)
    if match is None or unit is None:
        return text
    value = float(match["n"].replace(",", ""))
    scale = _scale(unit, bool(match["cur"]), match["u"].lower())
    if scale is None:
        return text
    value = round(value * scale, 10)
    return int(value) if value.is_integer() and "." not in match["n"] and scale == 1 else value


def _figure(text: str) -> re.Match[str] | None:
    return _FIGURE.fullmatch(text) if len(text) <= MOST_CHARACTERS else None


def unit_of(key: str) -> str | None:
    """Return the unit that a key's name ends in (`usd_per_gal`, `share`, `lb`), or None."""
    name = key.rsplit(".", maxsplit=1)[-1]
    money = re.search(r"(?:^|_)usd(?:_per_([a-z]+))?$", name)
    if money:
        return f"usd_per_{money[1]}" if money[1] else "usd"
    if name.endswith("_share") or name == "share" or name.endswith("_share_per_year"):
        return "share"
    fitting = [unit for unit in _UNITS if name.endswith(f"_{unit}")]
    return max(fitting, key=len, default=None)


def _scale(unit: str, dollars: bool, said: str) -> float | None:
    """Return by what a typed figure is multiplied; None where what is typed behind it is not its unit."""
    if unit == "share":
        return None if dollars else {"": 1.0, "%": 0.01, "percent": 0.01}.get(said)
    if unit.startswith("usd"):
        thousands = re.match(r"k\b", said)
        rest = said[1:].strip() if thousands else said
        rest = re.sub(r"^(?:usd|dollars?|\$)\s*", "", rest)
        per = re.fullmatch(r"(?:/|per|an?|each)\s*([a-z]+)", rest)
        wanted = _PER.get(unit.removeprefix("usd_per_"), ()) if unit != "usd" else ()
        fits = not rest or (per is not None and per[1].removesuffix("s") in wanted)
        return (1000.0 if thousands else 1.0) if fits else None
    return 1.0 if not dollars and (not said or said in _UNITS[unit]) else None


def unit_hint(key: str, text: str) -> str:
    """Return what a figure with another unit is in the key's own, or which unit is wanted; empty for other texts."""
    match = _figure(text)
    unit = unit_of(key)
    if match is None or unit is None:
        return ""
    factor = _OTHER.get((match["u"].lower(), unit))
    if factor is not None:
        return f"{text.strip()} is {float(match['n'].replace(',', '')) * factor:.4g} {unit}"
    return "a share from 0 to 1, or a percentage" if unit == "share" else f"in {unit.replace('_', ' ')}"
