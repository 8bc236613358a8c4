"""Profiles for tests: an invented aircraft as a mapping, and the demo aircraft."""

from __future__ import annotations

import copy
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from missionsim.aircraft.profile import Profile

DEMO = Path(__file__).parents[2] / "profiles" / "aircraft"
WHOLE_180 = Path(__file__).parent / "whole_180.yaml"
"""An aircraft without gaps: the advertised one of the demo as its owner knows it."""
NAMES = tuple(sorted(path.stem for path in DEMO.glob("*.yaml")))

PLAIN: dict[str, Any] = {
    "name": "test aircraft",
    "identity": {"year": 1980, "gear": "fixed", "seats": 4},
    "weights": {"max_takeoff_lb": 2500.0, "empty_weight_lb": 1500.0, "empty_arm_in": 40.0},
    "stations": [
        {"name": "front", "kind": "seat", "arm_in": 37.0, "seats": 2},
        {"name": "rear", "kind": "seat", "arm_in": 73.0, "seats": 2},
        {"name": "bags", "kind": "baggage", "arm_in": 95.0, "max_lb": 120.0},
    ],
    "envelope": [
        {"cg_in": 35.0, "weight_lb": 1500.0}, {"cg_in": 35.0, "weight_lb": 2000.0},
        {"cg_in": 40.0, "weight_lb": 2500.0}, {"cg_in": 47.5, "weight_lb": 2500.0},
        {"cg_in": 47.5, "weight_lb": 1500.0},
    ],
    "tanks": [{"name": "wings", "usable_gal": 50.0, "arm_in": 48.0}],
    "book": {
        "cruise": [{"level_ft": 8000.0, "power_share": 0.75, "tas_kt": 122.0, "fuel_flow_gph": 10.0}],
        "climb_fpm": 720.0,
        "takeoff": {"ground_roll_ft": 900.0, "over_50ft_ft": 1650.0},
        "landing": {"ground_roll_ft": 550.0, "over_50ft_ft": 1300.0},
        "vs0_cas_kt": 48.0,
    },
    "engine": {"rated_hp": 180.0, "cylinders": 4},
    "prices": {"asking_price_usd": 90_000.0},
}


def mapping(**changes: Any) -> dict[str, Any]:
    """Return the plain mapping with changes by dotted key, dots written as double underscores; `...` removes."""
    data = copy.deepcopy(PLAIN)
    for key, value in changes.items():
        *sections, name = key.split("__")
        inner: Any = data
        for section in sections:
            inner = inner[int(section)] if isinstance(inner, list) else inner.setdefault(section, {})
        if value is ...:
            del inner[name]
        else:
            inner[name] = value
    return data


def profile(**changes: Any) -> Profile:
    """Return the plain aircraft with changes."""
    return Profile.model_validate(mapping(**changes))


@cache
def demo(name: str) -> Profile:
    """Return a demo aircraft by the name of its file."""
    return Profile.model_validate(yaml.safe_load((DEMO / f"{name}.yaml").read_text(encoding="utf-8")))


def whole(name: str) -> Profile:
    """Return a demo aircraft with every figure known: the advertised one as its owner knows it."""
    if name != "fixed_180":
        return demo(name)
    return Profile.model_validate(yaml.safe_load(WHOLE_180.read_text(encoding="utf-8")))


def tables(**changes: Any) -> dict[str, Any]:
    """Return small handbook tables with whole sections replaced."""
    return {
        "cruise": {"level_ft": [2000.0, 10_000.0], "isa_deviation_c": [-20.0, 20.0], "power_share": [0.65, 0.75],
                   "tas_kt": [[[105.0, 112.0], [110.0, 118.0]], [[112.0, 120.0], [118.0, None]]],
                   "fuel_flow_gph": [[[8.6, 10.0], [8.6, 10.0]], [[8.6, 10.0], [8.6, None]]],
                   "weight_lb": 2500.0, "gain_for_100_lb_less_kt": 0.5},
        "climb": {"level_ft": [0.0, 4000.0, 8000.0], "time_min": [0.0, 6.0, 14.0], "fuel_gal": [0.0, 1.4, 3.0],
                  "distance_nm": [0.0, 8.0, 20.0], "rate_fpm": [720.0, 560.0, 400.0]},
        "takeoff": {"pressure_altitude_ft": [0.0, 4000.0], "temperature_c": [0.0, 20.0, 40.0],
                    "ground_roll_ft": [[850.0, 950.0, 1060.0], [1200.0, 1360.0, 1540.0]],
                    "over_50ft_ft": [[1600.0, 1750.0, 1950.0], [2250.0, 2600.0, None]]},
        "landing": {"pressure_altitude_ft": [0.0, 4000.0], "ground_roll_ft": [550.0, 620.0],
                    "over_50ft_ft": [1300.0, 1420.0], "above_standard_for_tenth_more_c": 33.3},
        **changes,
    }
