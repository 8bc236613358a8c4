"""What is covered is said by `check`, and what of a study lies beyond is named."""

from __future__ import annotations

import pytest

from missionsim.base.errors import InputError
from missionsim.report.check import check_sheets
from missionsim.report.scope import SCOPE, beyond
from missionsim.study.inputs.check import check_files
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study


def study_to(tmp_path, place):
    aircraft = sorted((demo_folder() / "aircraft").glob("*.yaml"))[0]
    path = tmp_path / "study.yaml"
    path.write_text(f"study: s\nhome: KGRI\ndemand: [{{to: {place}, per_year: 3}}]\ncandidates: [{aircraft}]\n")
    return path


def test_check_says_what_is_covered(tmp_path):
    lines = check_sheets(check_files([str(study_to(tmp_path, "KOMA"))]))[0][0]
    (said,) = [line for line in lines if line.startswith("Covered:")]
    for subject, _, _ in SCOPE:
        assert f"{subject}:" in said
    assert not any("Beyond" in line for line in lines)


@pytest.mark.parametrize("place", ["CYWG", "PANC"])  # Winnipeg, Anchorage
def test_places_beyond_are_named(tmp_path, place):
    (said,) = beyond(load_study(study_to(tmp_path, place)))
    assert place in said
    assert "weather_files" in said


def test_an_airport_nobody_knows_is_one_fault(tmp_path):
    with pytest.raises(InputError) as caught:
        load_study(study_to(tmp_path, "EGLL"))
    assert len(caught.value.faults) == 1


def test_the_demo_lies_inside():
    assert beyond(load_study()) == ()


def test_notes_are_said_once():
    lines = check_sheets(check_files([str(demo_folder() / "studies" / "buyer.yaml")]))[0][0]
    assert len(lines) == len(set(lines))
