"""The map of the places of a study, also where they lie on both sides of the date line."""

from __future__ import annotations

import re

import numpy as np
import pytest
import yaml

from missionsim.report.draw_ground import longitude_words, maps, near_deg, region_labels
from missionsim.report.place_map import MOSTLY, _crowded, place_map
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study

ISLE = {"latitude_deg": 52.71, "longitude_deg": 174.11, "elevation_ft": 95, "timezone": "Asia/Kamchatka",
        "runways": [{"ends": "10/28", "length_ft": 9_990}]}


@pytest.mark.parametrize("home_deg", [-179.9, -176.6, -98.3, 0.0, 98.3, 174.1, 180.0])
def test_longitudes_come_within_half_a_turn_of_home_and_stay_the_same_places(home_deg):
    given = np.arange(-180.0, 180.5, 0.5)
    near = near_deg(given, home_deg)
    assert np.abs(near - home_deg).max() <= 180.0
    turns = (near - given) / 360.0
    np.testing.assert_array_equal(turns, np.round(turns))
    already = np.abs(given - home_deg) < 180.0
    np.testing.assert_array_equal(near[already], given[already])


@pytest.mark.parametrize(("degrees", "words"), [(190.0, "170°W"), (-190.0, "170°E"), (174.0, "174°E"), (-98.0, "98°W"),
                                                (0.0, "0°E"), (362.0, "2°E"), (180.0, "180°"), (-180.0, "180°")])
def test_a_longitude_beyond_the_date_line_reads_as_people_write_it(degrees, words):
    assert longitude_words(degrees) == words


@pytest.mark.parametrize("home", ["PADK", "ISLE"])
def test_a_map_over_the_date_line_is_as_wide_as_the_way(tmp_path, home):
    other = {"PADK": "ISLE", "ISLE": "PADK"}[home]
    (tmp_path / "trips.csv").write_text(f"date,to,return\n2025-06-03,{other},2025-06-05\n")
    turbo = str(demo_folder() / "aircraft" / "boosted_six.yaml")
    (tmp_path / "study.yaml").write_text(yaml.safe_dump({
        "study": "islands", "home": home, "seed": 3, "replications": 1, "airports": {"ISLE": ISLE},
        "trips": "trips.csv", "trips_are": "logbook", "candidates": [turbo]}))
    (figure,) = maps(compare(load_study(tmp_path / "study.yaml")))
    drawn = set(re.findall(r">(\d+°[EW]?)<", figure.svg))
    assert {"176°E", "180°", "178°W"} <= drawn  # of 174 E to 176 W: ten degrees, not three hundred and fifty
    assert not drawn & {"0°E", "90°W", "90°E", "120°W", "120°E"}


def test_a_state_on_both_sides_of_the_date_line_is_named_where_it_is(comparison):
    airports = comparison.study.airports
    for home_deg in (-98.3, 174.1):
        labels = {name: x for name, _, x in region_labels(airports, home_deg)}
        assert -160.0 < (labels["AK"] + 180.0) % 360.0 - 180.0 < -140.0
        assert all(abs(x - home_deg) <= 180.0 for name, x in labels.items() if name in {"AK", "HI", "NE"})


def test_a_place_that_the_words_call_bad_is_named_on_the_map(comparison):
    for layer in place_map(comparison).layers:
        told = re.findall(r"\b(\w+) \(\d+ %\)", layer.words)
        assert {m.label for m in layer.marks} >= set(told)
        assert {m.words.split(":")[0] for m in layer.marks if m.kind == MOSTLY} >= set(told)


@pytest.mark.parametrize(("others", "left"), [
    ({}, False), ({"B": (20.0, 0.0)}, True), ({"B": (20.0, 30.0)}, False), ({"B": (90.0, 0.0)}, False),
    ({"B": (20.0, 0.0), "C": (-20.0, 5.0)}, False), ({"B": (0.0, 0.0)}, False)])
def test_a_name_stands_left_where_only_the_right_is_taken(others, left):
    assert _crowded("A", ["A", *others], {"A": (0.0, 0.0), **others}) is left
