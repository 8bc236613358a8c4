"""Files of one kind where another was asked for."""

from __future__ import annotations

import pytest

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import demo_folder, read_text
from missionsim.study.inputs.load_aircraft import load_profile
from missionsim.study.inputs.load_study import load_study


@pytest.mark.parametrize("name", ["fixed_180", "retractable_260", "carrier_230", "boosted_six"])
def test_an_aircraft_given_as_a_study_is_one_line(name):
    with pytest.raises(InputError) as refused:
        load_study(demo_folder() / "aircraft" / f"{name}.yaml")
    (fault,) = refused.value.faults
    assert "is the profile of an aircraft, not a study" in str(fault)


@pytest.mark.parametrize("name", ["buyer", "partnership", "charter", "ownership"])
def test_a_study_given_as_an_aircraft_is_one_line(name):
    with pytest.raises(InputError) as refused:
        load_profile(demo_folder() / "studies" / f"{name}.yaml")
    (fault,) = refused.value.faults
    assert "is a study, not the profile of an aircraft" in str(fault)


def test_a_study_with_a_key_of_an_aircraft_astray_is_still_told_key_by_key(tmp_path):
    file = tmp_path / "study.yaml"
    file.write_text("home: KGRI\nyear: 2025\ncandidates: []\ntanks: 3\n", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_study(file)
    assert any("unknown key 'tanks'" in str(fault) for fault in refused.value.faults)
    file.write_text("name: X\ntanks: 3\nhome: KGRI\n", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_profile(file)
    assert any("unknown key 'home'" in str(fault) for fault in refused.value.faults)


def test_a_folder_that_holds_a_study_says_which_file_is_meant(tmp_path):
    (tmp_path / "study.yaml").write_text("home: KGRI\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"is a folder; accepted: a file, such as .*study\.yaml\.$"):
        read_text(tmp_path)
