"""What `climate` shows of a place: shares, winds, temperatures, and what it refuses."""

from __future__ import annotations

import json

import numpy as np
import pytest

from missionsim.base.errors import InputError
from missionsim.report.climate import (
    ICING_CAUTION,
    ICING_FT,
    LEVELS_FT,
    climate_json,
    climate_lines,
    climate_sheets,
    climate_view,
)
from missionsim.world.airports.table import AirportTable, UnknownPlace
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.place_climate import NoWeatherStation


@pytest.fixture(scope="module")
def home():
    return climate_view("KGRI")


def test_categories_are_shares_of_all_hours(home):
    assert home.category_share.shape == (12, 4)
    np.testing.assert_allclose(home.category_share.sum(axis=1), 1.0, atol=1e-6)
    assert (home.category_share >= 0.0).all()


def test_the_lowest_weather_is_part_of_the_lowest_category(home):
    assert (home.lowest_share <= home.category_share[:, 3] + 1e-9).all()


def test_shares_are_those_the_year_is_drawn_from(home, assumptions):
    airport = AirportTable.packaged(assumptions).find("KGRI")
    climate = SurfaceClimate.build([airport.latitude_deg], [airport.longitude_deg], [airport.elevation_ft], ["KGRI"],
                                   assumptions)
    below = climate.share_below(1000.0, 3.0)[0].mean(axis=1)
    np.testing.assert_allclose(home.category_share[:, 2:].sum(axis=1), below, atol=1e-6)


# What a pilot in Nebraska would nod at; bands from common practice.
def test_nebraska_through_the_year(home):
    low = home.category_share[:, 2:].sum(axis=1)
    winter, summer = low[[11, 0, 1]].mean(), low[5:8].mean()
    assert winter > 2.0 * summer
    assert home.thunder_share[5:8].min() > 10 * home.thunder_share[[11, 0, 1]].max()
    assert home.icing_share[0].max() > 0.03
    assert home.icing_share[6].max() < 0.005
    assert 2500.0 < home.density_altitude_ft[6] < 5000.0
    assert home.density_altitude_ft[0] < 1000.0
    assert (home.warm_density_altitude_ft > home.density_altitude_ft).all()
    assert 20.0 < home.temperature_c[6] < 28.0
    assert -10.0 < home.temperature_c[0] < 0.0


def test_winds_aloft_blow_from_the_west_and_rise_with_height(home):
    january, july = home.aloft[0], home.aloft[6]
    assert (np.diff(january.wind_kt) > 0.0).all()
    assert ((january.wind_from_deg > 260.0) & (january.wind_from_deg < 330.0)).all()
    assert january.wind_kt[-1] > july.wind_kt[-1]
    assert (np.diff(january.temperature_c) < 0.0).all()
    assert january.level_ft.tolist() == list(LEVELS_FT)


def test_the_data_are_whole_and_clean(home):
    data = json.loads(json.dumps(climate_json(home), allow_nan=False))
    assert len(data["categories"]) == len(data["months"]) == 12
    for entry in data["categories"]:
        assert sum(entry[name] for name in ("vfr", "mvfr", "ifr", "lifr")) == pytest.approx(1.0, abs=1e-3)
    month = data["months"][6]
    assert [level["level_ft"] for level in month["aloft"]] == list(LEVELS_FT)
    assert set(month["aloft"][0]) >= {"wind_from_deg", "wind_kt", "scatter_kt", "temperature_c"}
    assert [level["level_ft"] for level in month["icing_share"]] == list(ICING_FT)
    assert month["surface_temperature_c"] < month["afternoon_temperature_c"]


def test_a_position_takes_the_nearest_airports_elevation_and_knows_no_runway():
    view = climate_view("40.97,-98.31")
    assert view.spot.elevation_ft == pytest.approx(1847.0, abs=100.0)
    assert np.isnan(view.crosswind_share).all()
    assert climate_json(view)["months"][0]["crosswind_share"] is None


def test_levels_below_the_ground_are_marked():
    view = climate_view("KLXV")
    low = [level["below_ground"] for level in climate_json(view)["months"][0]["aloft"]]
    assert low == [level < 9934.0 for level in LEVELS_FT]
    assert any("below the ground" in line for sheet in climate_sheets(view) for line in sheet.below)


def test_two_sheets_of_twelve_months_and_a_headline(home):
    sheets = climate_sheets(home)
    assert [len(sheet.rows) for sheet in sheets] == [12, 12]
    assert all(len(row) == len(sheet.headings) for sheet in sheets for row in sheet.rows)
    assert "KGRI" in climate_lines(home)[0]


@pytest.mark.parametrize("place", ["91,10", "40.97,-200", "1,2,3", ",", "nan,0"])
def test_what_is_no_position_is_refused(place):
    with pytest.raises(InputError, match="is no position"):
        climate_view(place)


def test_an_unknown_airport_has_a_near_match():
    for place in ("KGR1", "a,b"):
        with pytest.raises(UnknownPlace, match="Did you mean"):
            climate_view(place)


def test_a_place_without_a_station_is_refused_and_told_how_to_help():
    with pytest.raises(NoWeatherStation, match="weather_files"):
        climate_view("MMMX")


def test_icing_is_called_a_proxy_wherever_it_stands(home):
    assert "proxy" in ICING_CAUTION
    assert ICING_CAUTION in climate_sheets(home)[0].below
    assert climate_json(home)["icing_caution"] == ICING_CAUTION
