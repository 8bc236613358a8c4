"""Performance, rows and air for tests of flight plans: a fitted aircraft on routes in the plain."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import yaml

from missionsim.aircraft.performance import AsFlown, performance_of
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions
from missionsim.flight.batch import AirOnRoutes, LevelLimits
from missionsim.flight.table import FlightRows, FlightTable, FuelPolicy, build_table

FUEL = FuelPolicy(taxi_gal=1.0, approach_gal=1.5, reserve_h=0.75, lb_per_gal=6.0)
LEVELS_FT = np.array([4000.0, 6000.0, 8000.0, 10_000.0])
DEMO = Path(__file__).parents[2] / "profiles" / "aircraft"


@cache
def profile(name: str = "retractable_260") -> Profile:
    """Return a demo aircraft."""
    return Profile.model_validate(yaml.safe_load((DEMO / f"{name}.yaml").read_text(encoding="utf-8")))


@cache
def performance(name: str = "retractable_260") -> AsFlown:
    """Return its performance."""
    return performance_of(profile(name), packaged_assumptions())


def rows(distance_nm, zero_fuel_lb=2200.0) -> FlightRows:
    """Return flights of some distances between fields at 1,800 ft, four levels each."""
    n = len(distance_nm)
    fields_ft = np.full(n, 1800.0)
    return FlightRows(np.asarray(distance_nm, dtype=float), fields_ft, fields_ft, np.tile(LEVELS_FT, (n, 1)),
                np.full(n, 3500.0), np.zeros(n, dtype=bool), np.full(n, float(zero_fuel_lb)))


def table(distance_nm, name: str = "retractable_260", zero_fuel_lb=2200.0) -> FlightTable:
    """Return their table."""
    return build_table(performance(name), rows(distance_nm, zero_fuel_lb), FUEL, profile(name).max_takeoff_lb)


def limits(count: int) -> LevelLimits:
    """Return limits that leave every level open."""
    every = np.ones((count, len(LEVELS_FT)), dtype=bool)
    return LevelLimits(every, every, np.full(count, 200.0, dtype=np.float32))


def air(head_kt, cross_kt=0.0, deviation_c=0.0, low_kt=None, count: int | None = None) -> AirOnRoutes:
    """Return the same air at all levels, one slot; `head_kt` by row."""
    head = np.broadcast_to(np.asarray(head_kt, dtype=np.float32), (count or np.size(head_kt),))
    shape = (len(head), 1, len(LEVELS_FT))
    whole = np.broadcast_to(head[:, None, None], shape).astype(np.float32)
    return AirOnRoutes(whole.copy(), np.full(shape, cross_kt, np.float32), np.full(shape, deviation_c, np.float32),
                       (head if low_kt is None else np.broadcast_to(np.float32(low_kt), head.shape))[:, None].copy(),
                       np.full((len(head), 1), cross_kt, np.float32))


def only(level: int, count: int) -> LevelLimits:
    """Return limits that leave one level."""
    one = np.zeros((count, len(LEVELS_FT)), dtype=bool)
    one[:, level] = True
    return replace(limits(count), clears_terrain=one)
