"""What a class of aircraft usually has, put into a proposed profile where the advertisement is silent, and marked so.

Classes and their 10, 50 and 90 % points: see `missionsim/derive/class_usual.py`. Nothing here overrides the seller.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib import resources

from missionsim.study.inputs.advertisement.text import Found

FLOWN = ("lsa2", "trn2", "f160", "f180", "h235", "c310", "r200", "r250", "x6f", "x6r", "x6t")
"""Classes the program flies: one piston engine that burns avgas, no pressure cabin."""
RETRACTABLE = frozenset({"r200", "r250", "x6r", "x6t"})
BLOWN = {"x6t": (18_000.0, 18_000.0)}
"""Level of the class's cruise figure, and critical altitude, of classes with a turbocharger. [ft]"""
CLIMB_FPM_PER_HP_PER_LB = 0.654 * 33_000.0
"""What one more horsepower a pound adds to the rate of climb at sea level, fitted across piston singles."""
USUAL_LEVEL_FT, USUAL_POWER_SHARE = 8_000.0, 0.75
"""Where the cruise figures of classes without one hold."""
EQUIPMENT_LB = 60.0
"""Decades of equipment take so much of a brochure's useful load, in the middle of aircraft; common practice."""
USUAL_YEAR = 1978
"""The middle of the fleet of light aircraft, from memory; an advertisement nearly always says the year."""
BSFC_LB_PER_HP_H = 0.46
"""Best-power mixture, from engine charts."""
SMALLEST_SIX_HP = 210.0


@cache
def class_figures() -> Mapping[str, Mapping[str, tuple[float, float, float]]]:
    """Return, for each class, its figures as 10, 50 and 90 % points across its types."""
    text = resources.files("missionsim").joinpath("data", "class_usual.csv").read_text(encoding="utf-8")
    found: dict[str, dict[str, tuple[float, float, float]]] = {}
    for row in csv.DictReader(text.splitlines()):
        found.setdefault(row["class_id"], {})[row["figure"]] = (float(row["p10"]), float(row["p50"]), float(row["p90"]))
    return found


def why_not_flown(class_id: str) -> str:
    """Return why a class cannot be flown, empty where it can."""
    if not class_id:
        return "the words do not say what kind of aircraft it is; gear, seats and power decide"
    if class_id in FLOWN:
        return ""
    kind = {"t": "twins", "x": "pressure cabins", "s": "turbines", "d": "diesel engines"}[class_id[0]]
    return f"{kind} are not flown by this program yet; the figures are shown for you to keep"


def usual_figures(class_id: str, said: Mapping[str, Found], class_words: str) -> list[Found]:
    """Return what a profile of a class still needs beside what is said, each figure marked as usual for the class.

    Parameters
    ----------
    class_id : str        One of `FLOWN`.
    said : mapping        Profile key to what the advertisement says.
    class_words : str     The class in plain words, for the notes.
    """
    usual = class_figures()[class_id]
    power = _said(said, "engine.rated_hp", usual["rated_hp"][1])
    more = power / usual["rated_hp"][1]
    level, critical = BLOWN.get(class_id, (USUAL_LEVEL_FT, 0.0))
    low, likely, high = (max(lb - EQUIPMENT_LB, 200.0) for lb in usual["useful_load_lb"])
    share, how = _power_share(said, power)
    top = _said(said, "weights.max_takeoff_lb", usual["max_takeoff_lb"][1])
    values: dict[str, object] = {
        "identity.year": USUAL_YEAR, "identity.gear": "retractable" if class_id in RETRACTABLE else "fixed",
        "identity.seats": int(usual["seats"][1]),
        "weights.max_takeoff_lb": usual["max_takeoff_lb"][1], "weights.useful_load_lb": (low, likely, high),
        "tanks.usable_gal": usual["usable_gal"][1],
        "book.cruise.tas_kt": round(usual["cruise_tas_kt"][1] * more ** 0.3),
        "book.cruise.fuel_flow_gph": round(usual["cruise_fuel_flow_gph"][1] * more, 1),
        "book.cruise.level_ft": level, "book.cruise.power_share": share,
        "book.climb_fpm": round(usual["climb_fpm"][1] + CLIMB_FPM_PER_HP_PER_LB * (power - usual["rated_hp"][1]) / top, -1),
        "book.service_ceiling_ft": usual["service_ceiling_ft"][1],
        "book.takeoff.ground_roll_ft": usual["takeoff_roll_ft"][1], "book.takeoff.over_50ft_ft": usual["takeoff_50ft_ft"][1],
        "book.landing.ground_roll_ft": usual["landing_roll_ft"][1], "book.landing.over_50ft_ft": usual["landing_50ft_ft"][1],
        "book.vs0_cas_kt": usual["vs0_cas_kt"][1],
        "limits.demonstrated_crosswind_kt": usual["demonstrated_crosswind_kt"][1],
        "engine.rated_hp": usual["rated_hp"][1], "engine.cylinders": 6 if power >= SMALLEST_SIX_HP else 4,
        "engine.tbo_h": usual["tbo_h"][1], "geometry.wing_span_ft": usual["wing_span_ft"][1],
        "geometry.wing_area_sqft": usual["wing_area_sqft"][1], "prices.asking_price_usd": usual["hull_usd"][1],
    }
    if critical:
        values |= {"engine.aspiration": "turbo", "engine.critical_altitude_ft": critical}
    elif said.get("engine.aspiration") is not None and said["engine.aspiration"].value == "turbo":
        values["engine.critical_altitude_ft"] = BLOWN["x6t"][1]
    if "weights.empty_weight_lb" in said:
        del values["weights.useful_load_lb"]
    notes = {"book.cruise.power_share": how, "weights.useful_load_lb": f"brochures less {EQUIPMENT_LB:g} lb of equipment"}
    return [Found(key, value, "", -1, "class guess", notes.get(key) or f"usual for a {class_words}")
            for key, value in values.items() if key not in said and not _clashes(key, value, said)]


def _said(said: Mapping[str, Found], key: str, otherwise: float) -> float:
    value = said[key].value if key in said else otherwise
    return float(value) if isinstance(value, int | float) else otherwise


def _power_share(said: Mapping[str, Found], power: float) -> tuple[float, str]:
    """Return the power a claimed fuel flow stands for, else the usual one, and in words which."""
    flow = said.get("book.cruise.fuel_flow_gph")
    if flow is None or not isinstance(flow.value, int | float):
        return USUAL_POWER_SHARE, ""
    share = 6.0 * float(flow.value) / (BSFC_LB_PER_HP_H * power)
    return round(min(max(share, 0.5), USUAL_POWER_SHARE), 2), f"worked out from {flow.value:g} gal/h"


def _clashes(key: str, value: object, said: Mapping[str, Found]) -> bool:
    """Return whether a usual distance over 50 ft would be shorter than a roll the seller gives; then neither is kept."""
    roll = said.get(key.replace("over_50ft_ft", "ground_roll_ft"))
    return key.endswith("over_50ft_ft") and roll is not None and isinstance(value, float) and roll.value >= value
