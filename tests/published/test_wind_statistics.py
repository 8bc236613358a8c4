"""Known results for Gaussian winds, met by the simulated field itself: one wind, one scatter, all over the globe.

Sources: Brooks, Durst, Carruthers, Dewar, Sawyer, Upper Winds over the World (Meteorological Office, Geophysical
Memoirs 85, 1950), circular-normal wind model; Rice distribution (Abramowitz and Stegun, Handbook of Mathematical
Functions, section 26.3 and its moments); groundspeeds: the wind triangle integrated over that model by quadrature.
"""

from __future__ import annotations

from types import MappingProxyType

import numpy as np
import pytest
from wind_triangle import groundspeed_kt

from missionsim.base.assumptions import packaged_assumptions
from missionsim.physics.wind import uv_kt
from missionsim.world.data import table
from missionsim.world.winds.climatology import UpperAir
from missionsim.world.winds.simulated import LEVEL_GRID_FT, RouteAir, WindYear

pytestmark = pytest.mark.published
AT_10000 = list(LEVEL_GRID_FT).index(10000)
YEARS = 30


CASES = {  # wind from, mean kt, standard vector deviation kt, course
    "no mean": (0.0, 0.0, 20.0, 45.0),
    "mean 15": (250.0, 15.0, 20.0, 110.0),
    "airspeed 120, north": (0.0, 0.0, 20.0, 0.0),
    "airspeed 120, south-east": (0.0, 0.0, 20.0, 137.0),
    "airspeed 140, west": (270.0, 15.0, 25.0, 270.0),
    "airspeed 140, east": (270.0, 15.0, 25.0, 90.0),
}
LAT, LON = (a.reshape(-1, 1) for a in np.meshgrid(np.arange(-60.0, 61.0, 24.0), np.arange(-170.0, 180.0, 36.0)))


def uniform_air(wind_from_deg, wind_kt, scatter_kt, course_deg):
    """Return the operator of places with one mean wind and one scatter everywhere and always."""
    assumptions = packaged_assumptions()
    same = {region: [[scatter_kt] * 4] * 3 for region in assumptions["winds.scatter_kt"]}
    assumptions = assumptions.replaced({"winds.scatter_kt": same})
    arrays = dict(table("upper_air"))
    for name, component in zip(("u_kt", "v_kt"), uv_kt(wind_from_deg, wind_kt), strict=True):
        arrays[name] = np.full_like(arrays[name], np.rint(component / float(arrays["resolution"])))
    air = UpperAir(MappingProxyType(arrays), assumptions)
    return RouteAir.build(air, assumptions, LAT, LON, np.full_like(LAT, course_deg), 8760)


@pytest.fixture(scope="module")
def winds():
    """Return for each case unbiased headwinds and crosswinds at 10,000 ft.

    Sampling error of the mean and of the variance is taken out, as both are known (and held to 2 percent by a test
    of their own): what is left to show is the shape.
    """
    operators = {name: uniform_air(*case) for name, case in CASES.items()}
    hours = np.arange(0.0, 8760.0, 24.0)
    route, when = np.tile(np.arange(LAT.size), hours.size), np.repeat(hours, LAT.size)
    drawn = {name: [] for name in CASES}
    for replication in range(YEARS):
        series = WindYear.simulate(operators["no mean"], 6, replication).series  # the same for every case
        for name, operator in operators.items():
            drawn[name].append(WindYear(operator, series).at(route, when)[:2])
    return {name: [unbiased(np.concatenate([d[i][:, AT_10000] for d in drawn[name]]), i, case)
                   for i in (0, 1)] for name, case in CASES.items()}


def unbiased(values, component, case):
    wind_from, wind, scatter, course = case
    mean = wind * (np.cos, np.sin)[component](np.radians(wind_from - course))
    values = values.astype(float)
    assert values.mean() == pytest.approx(mean, abs=0.4)
    assert values.std() == pytest.approx(scatter / np.sqrt(2), rel=0.02)
    return (values - values.mean()) * (scatter / np.sqrt(2) / values.std()) + mean


def test_mean_speed_of_a_wind_without_mean_vector(winds):
    """Mean speed = 0.886227 S, half the root of pi."""
    speed = np.hypot(*winds["no mean"])
    assert speed.mean() == pytest.approx(0.886227 * 20.0, abs=0.05)


def test_speeds_about_a_mean_vector_of_15_kt(winds):
    """Vector mean 15 kt, S 20 kt: mean 22.389, median 21.386, 90th percentile 37.471 kt, P(above 30) 0.2409."""
    speed = np.hypot(*winds["mean 15"])
    assert speed.mean() == pytest.approx(22.389, abs=0.05)
    assert np.median(speed) == pytest.approx(21.386, abs=0.1)
    assert np.quantile(speed, 0.9) == pytest.approx(37.471, abs=0.15)
    assert (speed > 30.0).mean() == pytest.approx(0.2409, abs=0.004)


@pytest.mark.parametrize(("case", "tas", "mean", "harmonic"), [
    ("airspeed 120, north", 120.0, 119.16, 117.41),
    ("airspeed 120, south-east", 120.0, 119.16, 117.41),
    ("airspeed 140, west", 140.0, 123.87, 121.21),
    ("airspeed 140, east", 140.0, 153.87, 151.76),
])
def test_groundspeeds_in_random_winds(winds, case, tas, mean, harmonic):
    """Mean groundspeed, and the harmonic mean that trip time follows, within 0.05 kt."""
    speed, solvable = groundspeed_kt(tas, *winds[case])
    assert solvable.all()
    assert speed.mean() == pytest.approx(mean, abs=0.05)
    assert 1.0 / (1.0 / speed).mean() == pytest.approx(harmonic, abs=0.05)
