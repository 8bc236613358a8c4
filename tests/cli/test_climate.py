"""`missionsim climate` from the prompt."""

from __future__ import annotations

import json

import pytest

from missionsim.cli.app import main
from missionsim.report.climate import climate_view


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of a command."""
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    return end.value.code, out, err


def test_tables_of_twelve_months(capsys):
    code, out, err = run(capsys, "climate", "KGRI")
    assert (code, err) == (0, "")
    assert out.count(" Jul ") == out.count(" Jan ") == 2
    assert "LIFR" in out
    assert "18,000 ft" in out


def test_json_of_a_position(capsys):
    code, out, err = run(capsys, "climate", "40.97,-98.31", "--json")
    assert (code, err) == (0, "")
    data = json.loads(out)
    assert set(data["categories"][0]) == {"month", "vfr", "mvfr", "ifr", "lifr"}
    assert len(data["months"]) == 12


def test_a_southern_latitude_is_no_option(capsys):
    code, _, err = run(capsys, "climate", "-33.9,151.2")
    assert code == 2
    assert "no weather station" in err


@pytest.mark.parametrize(("place", "said"), [("KGRl", "Did you mean"), ("95,10", "is no position"),
                                             ("MMMX", "weather_files")])
def test_faults(capsys, place, said):
    code, out, err = run(capsys, "climate", place)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


def test_help_shows_an_example(capsys):
    assert "Example: missionsim climate" in run(capsys, "climate", "--help")[1]


def test_a_summit_is_not_given_the_elevation_of_the_airport_in_the_valley():
    """Pikes Peak, 14,115 ft on the map, and the airport of Colorado Springs at 6,187."""
    spot = climate_view("38.84,-105.04").spot
    assert spot.elevation_ft > 12_500
    assert "ground" in spot.elevation_from
    assert climate_view("38.806,-104.701").spot.elevation_ft == pytest.approx(6187, abs=60)


def test_a_town_is_taken_as_everywhere_else_and_the_field_is_said(capsys):
    code, out, err = run(capsys, "climate", "Grand Island, NE")
    assert (code, err) == (0, "")
    assert "Grand Island, NE is read as KGRI" in out
    assert climate_view("Grand Island, NE").spot.latitude_deg == climate_view("KGRI").spot.latitude_deg
    assert run(capsys, "climate", "Nowhere at all, NE")[0] == 2
