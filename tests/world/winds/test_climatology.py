from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import ValidityError
from missionsim.physics.atmosphere import level_ft_of_pressure, standard_temperature_c
from missionsim.world.data import table
from missionsim.world.winds.climatology import COLDEST_DAY, DAYS_PER_YEAR, LEVEL_GRID_FT, UpperAir

RAW = Path(__file__).parents[4] / "shared" / "weather" / "upper_air_monthly_means.npz"
KGRI = (40.97, -98.31)
COLDEST, WARMEST = COLDEST_DAY, COLDEST_DAY + DAYS_PER_YEAR / 2


@pytest.fixture(scope="module")
def air():
    return UpperAir.packaged(packaged_assumptions())


@pytest.mark.skipif(not RAW.exists(), reason="raw data not at hand")
@pytest.mark.parametrize(("month", "day"), [(0, COLDEST), (1, WARMEST)])
@pytest.mark.parametrize(("lat", "lon"), [(42.0, -99.0), (27.0, -81.0), (48.0, -123.0), (60.0, 180.0)])
def test_wind_at_a_grid_point_is_that_of_the_raw_data(air, month, day, lat, lon):
    with np.load(RAW) as raw:
        row = raw["latitude_deg"].tolist().index(lat)
        column = raw["longitude_deg"].tolist().index(lon if lon < 180 else -180.0)
        for hpa in (850, 500):
            level = raw["pressure_hpa"].tolist().index(hpa)
            u, v, _ = air.mean(lat, lon, level_ft_of_pressure(float(hpa)), day)
            raw_kt = [raw[name][month, level, row, column] * 3600 / 1852
                      for name in ("eastward_wind_ms", "northward_wind_ms")]
            assert [u, v] == pytest.approx(raw_kt, abs=0.011)


@pytest.mark.skipif(not RAW.exists(), reason="raw data not at hand")
@pytest.mark.parametrize(("month", "day"), [(0, COLDEST), (1, WARMEST)])
@pytest.mark.parametrize(("lat", "lon"), [(42.0, -99.0), (27.0, -81.0), (48.0, -123.0), (33.0, -111.0)])
def test_temperature_profile_has_the_thickness_of_the_raw_data(air, month, day, lat, lon):
    """Hypsometric equation, by quadrature over the profile: thickness = R/g times the integral of T over ln p."""
    pressures = np.exp(np.linspace(math.log(850.0), math.log(500.0), 400))
    kelvin = air.mean(lat, lon, level_ft_of_pressure(pressures), day)[2] + 273.15
    mean_k = ((kelvin[1:] + kelvin[:-1]) / 2).mean()
    thickness_m = 287.05287 / 9.80665 * mean_k * math.log(850 / 500)
    with np.load(RAW) as raw:
        row, column = raw["latitude_deg"].tolist().index(lat), raw["longitude_deg"].tolist().index(lon)
        z = raw["geopotential_m2s2"][month, :, row, column] / 9.80665
        order = raw["pressure_hpa"].tolist()
        assert thickness_m == pytest.approx(z[order.index(500)] - z[order.index(850)], abs=4.0)  # 0.3 degrees


@pytest.mark.skipif(not RAW.exists(), reason="raw data not at hand")
def test_table_is_what_the_build_script_makes():
    from missionsim.derive.upper_air import build

    built, packaged = build(RAW.parent), table("upper_air")
    assert set(built) == set(packaged)
    for key in ("u_kt", "v_kt", "deviation_c"):
        assert np.abs(built[key].astype(int) - packaged[key]).max() <= 1


@settings(max_examples=60, deadline=None)
@given(lat=st.floats(-90, 90), lon=st.floats(-180, 180), level=st.floats(-1000, 38000), day=st.floats(-400, 800))
def test_everything_is_finite_and_plausible_over_the_globe(lat, lon, level, day):
    air = UpperAir.packaged(packaged_assumptions())
    u, v, t = air.mean(lat, lon, level, day)
    assert math.hypot(u, v) < 160
    assert abs(t - standard_temperature_c(level)) < 45
    assert 3 < air.scatter_kt(lat, lon, level, day) < 60
    assert 0.3 < air.temperature_scatter_c(lat, lon, level, day) < 8
    again = air.mean(lat, lon, level, day + DAYS_PER_YEAR)
    assert again == pytest.approx((u, v, t), abs=1e-9)


def test_date_line_and_arrays_and_numbers_agree(air):
    lat, level = np.array([30.0, 52.3]), np.array(LEVEL_GRID_FT)
    east, west = (air.mean(lat[:, None], lon, level, 100.0) for lon in (180.0, -180.0))
    assert np.array(east) == pytest.approx(np.array(west), abs=1e-9)
    single = air.mean(52.3, 180.0, 8000, 100.0)
    assert [e[1, LEVEL_GRID_FT.index(8000)] for e in east] == pytest.approx(single, abs=1e-9)


def test_year_turns_at_mid_january_and_mid_july(air):
    days = np.arange(0.0, 365.0)
    temperature = air.mean(*KGRI, 6000, days)[2]
    assert days[temperature.argmin()] == pytest.approx(COLDEST, abs=1)
    assert days[temperature.argmax()] == pytest.approx(WARMEST, abs=1)


def test_wind_calms_towards_the_ground_with_the_same_direction(air):
    level850 = float(level_ft_of_pressure(850.0))
    at_850, at_sea = (np.array(air.mean(*KGRI, level, COLDEST)[:2]) for level in (level850, 0.0))
    share = packaged_assumptions()["winds.ground_share"]
    assert at_sea == pytest.approx(share * at_850)
    assert air.scatter_kt(*KGRI, 0.0, 50) == pytest.approx(share * air.scatter_kt(*KGRI, level850, 50))


@pytest.mark.parametrize("season", range(4))
@pytest.mark.parametrize("region", ["north_east", "central", "south", "pacific"])
def test_scatter_at_a_regions_centre_is_within_a_tenth_of_its_table(air, region, season):
    """The other regions always count a little: the blend has no edges."""
    assumptions = packaged_assumptions()
    lat, lon = assumptions["winds.scatter_centres_deg"][region]
    day = COLDEST_DAY + season * DAYS_PER_YEAR / 4
    for hpa, row in zip((850.0, 700.0, 500.0), assumptions["winds.scatter_kt"][region], strict=True):
        assert air.scatter_kt(lat, lon, level_ft_of_pressure(hpa), day) == pytest.approx(row[season], rel=0.1)


def test_january_cold_and_july_warm_over_the_plains(air):
    """Round figures that any meteorologist would give for 850, 700, 500 hPa over Nebraska (from memory)."""
    levels = level_ft_of_pressure(np.array([850.0, 700.0, 500.0]))
    assert air.mean(*KGRI, levels, COLDEST)[2] == pytest.approx([-4, -8, -22], abs=3)
    assert air.mean(*KGRI, levels, WARMEST)[2] == pytest.approx([20, 10, -8], abs=3)


def test_climatology_of_a_month_is_the_mean_of_its_middle(air):
    july = air.climatology(*KGRI, 7)
    u, v, t = air.mean(*KGRI, np.array(LEVEL_GRID_FT), 196.5)
    assert july.wind_kt == pytest.approx(np.hypot(u, v))
    assert july.temperature_c == pytest.approx(t)
    january = air.climatology(*KGRI, 1)
    assert (january.wind_kt > july.wind_kt).all()
    assert (january.scatter_kt > july.scatter_kt).all()
    assert 250 < january.wind_from_deg[3] < 320  # westerly


def test_faults_say_what_is_accepted(air):
    with pytest.raises(ValidityError, match="38,000"):
        air.mean(*KGRI, 45_000, 10)
    with pytest.raises(ValidityError, match="-90 to 90"):
        air.mean(91, 0, 5000, 10)
    with pytest.raises(ValidityError, match="1 to 12"):
        air.climatology(*KGRI, 13)


def test_spring_is_stronger_than_autumn_in_the_south_and_weaker_in_the_north(air):
    """Sign of spring minus autumn of the mean wind: Fort Worth, Miami and Oakland +, Seattle, Buffalo and Omaha -.

    Source: ERA-Interim monthly means at 200 hPa.
    """
    lat = np.array([32.8, 25.8, 37.7, 47.5, 42.9, 41.3])
    lon = np.array([-97.0, -80.3, -122.2, -122.3, -78.7, -95.9])
    april, october = (np.hypot(*air.mean(lat, lon, 18_000.0, day)[:2]) for day in (105.0, 288.0))
    assert (np.sign(april - october) == [1, 1, 1, -1, -1, -1]).all()


def test_without_a_share_for_spring_the_year_is_the_plain_cosine(assumptions):
    nothing = {"winds.spring_share": [[lat, 0.0] for lat in (25, 33, 38, 42, 48)]}
    plain = UpperAir.packaged(assumptions.replaced(nothing))
    base, amplitude = plain.mean_cycle(40.0, -98.0, 10_000.0)
    u, v, _ = plain.mean(40.0, -98.0, 10_000.0, 105.0)
    wave = float(np.cos(2 * np.pi * (105.0 - 14.5) / 365.0))
    assert (float(u), float(v)) == (float(base[0] + amplitude[0] * wave), float(base[1] + amplitude[1] * wave))
