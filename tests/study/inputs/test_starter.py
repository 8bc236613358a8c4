from __future__ import annotations

import pytest

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study
from missionsim.study.inputs.starter import write_starter


def test_the_starter_is_a_study_that_loads(tmp_path):
    files = write_starter(tmp_path / "mine")
    study = load_study(files[0])
    assert files[0].name == "study.yaml"
    assert len(study.candidates) == 2
    assert len(study.listed) > 50
    assert "../" not in files[0].read_text(encoding="utf-8")
    assert files[0].read_text(encoding="utf-8").count("#") > 10


def test_nothing_is_overwritten_and_nothing_is_written_beside_it(tmp_path):
    (tmp_path / "trips.csv").write_text("mine\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"trips\.csv: is there already and is not overwritten"):
        write_starter(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["trips.csv"]
    assert (tmp_path / "trips.csv").read_text(encoding="utf-8") == "mine\n"


def test_a_file_in_the_place_of_the_folder_is_a_fault(tmp_path):
    (tmp_path / "mine").write_text("x", encoding="utf-8")
    with pytest.raises(InputError, match="cannot be written"):
        write_starter(tmp_path / "mine")


def test_the_demo_folder_is_found_and_holds_what_it_should():
    demo = demo_folder()
    assert (demo / "studies" / "buyer.yaml").is_file()
    assert len(list((demo / "aircraft").glob("*.yaml"))) >= 4
    assert len(list((demo / "trips").glob("*.csv"))) >= 3
