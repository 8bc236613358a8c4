"""The folder of results: whole or not at all, the same bytes for the same seed, nobody else's files touched."""

from __future__ import annotations

import json
import os
import re

import pytest
from robust_cases import results

from missionsim.base.owned_files import OutputError, writer_of
from missionsim.report import folder
from missionsim.report.folder import FILES, address_of, check_folder, folder_of, write_folder
from missionsim.report.html import report_html
from missionsim.report.run_file import result_files
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.load_study import load_study

OLD = results(report_html="old")
NEW = results(report_html="new")
WRITER = writer_of(OLD)


def test_two_runs_give_the_same_bytes_whatever_the_place(comparison, html, study_file, tmp_path):
    moved = tmp_path / "elsewhere"
    moved.mkdir()
    for name in ("study.yaml", "trips.csv"):
        (moved / name).write_bytes((study_file.parent / name).read_bytes())
    (moved / "aircraft").symlink_to(study_file.parent / "aircraft")
    again = compare(load_study(moved / "study.yaml"), workers=1)
    assert result_files(comparison, "x") == result_files(again, "x")
    from missionsim.report.sections import further_sections
    assert html == report_html(again, None, further_sections(again))


def test_nothing_that_differs_between_machines_is_written(comparison, html, study_file):
    whole = "".join(result_files(comparison, html).values())
    for word in (str(study_file.parent), os.sep + "tmp" + os.sep):
        assert word not in whole
    # A short name of the machine may stand within the letters of an embedded picture, not by itself.
    assert not re.search(rf"(?<![\w+/]){re.escape(os.uname().nodename)}(?![\w+/=])", whole)
    assert not re.search(r"\b20(2[6-9]|[3-9]\d)-\d\d-\d\dT", whole), "a time stamp"


def test_run_tells_what_it_rests_on(comparison, study_file):
    run = json.loads(result_files(comparison, "")["run.json"])
    assert (run["program"], run["seed"], run["replications"], run["replications_kept"]) == ("missionsim", 7, 2, 2)
    assert run["assumptions"]["runway.margin"] == {"value": 1.6, "unit": "x", "source": "the study"} \
        or run["assumptions"]["runway.margin"]["value"] == 1.6
    assert {"study.yaml", "trips.csv", "carrier_230.yaml"} <= {f["file"] for f in run["files"]}
    assert all(re.fullmatch("[0-9a-f]{64}", f["sha256"]) for f in run["files"])
    assert {"numpy", "simpy", "pandas"} <= set(run["packages"])
    assert {s["table"] for s in run["data_sources"]} >= {"airports", "terrain"}


def test_a_new_folder_is_made_with_its_parents(tmp_path):
    write_folder(tmp_path / "a" / "b", OLD)
    assert sorted(p.name for p in (tmp_path / "a" / "b").iterdir()) == ["report.html", "run.json"]
    assert [p.name for p in (tmp_path / "a").iterdir()] == ["b"]


def test_earlier_results_are_replaced_whole(tmp_path):
    write_folder(tmp_path / "out", results(report_html="old", trips_csv="old"))
    write_folder(tmp_path / "out", NEW)
    assert (tmp_path / "out" / "report.html").read_text() == "new"
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == ["report.html", "run.json"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("names", [["notes.txt"], ["run.json", "thesis.doc"], ["report.html"]])
def test_foreign_files_are_refused_and_kept(tmp_path, names):
    out = tmp_path / "out"
    out.mkdir()
    for name in names:
        (out / name).write_text("mine")
    with pytest.raises(OutputError, match="no earlier results"):
        write_folder(out, OLD)
    assert {p.name: p.read_text() for p in out.iterdir()} == dict.fromkeys(names, "mine")


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(OutputError, match="not a folder"):
        check_folder(tmp_path / "out", WRITER)


def test_a_full_disk_leaves_the_earlier_results(tmp_path, monkeypatch):
    write_folder(tmp_path / "out", OLD)

    def full(self, data):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.write_bytes", full)
    with pytest.raises(OutputError, match=r"no space left on device.*nothing was changed"):
        write_folder(tmp_path / "out", NEW)
    assert (tmp_path / "out" / "report.html").read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_interruption_while_writing_leaves_the_earlier_results(tmp_path, monkeypatch):
    write_folder(tmp_path / "out", OLD)

    def interrupted(partial, here, writer):
        raise KeyboardInterrupt

    monkeypatch.setattr(folder, "_swap", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_folder(tmp_path / "out", NEW)
    assert (tmp_path / "out" / "report.html").read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_read_only_place_is_refused(tmp_path):
    (tmp_path / "shut").mkdir(mode=0o500)
    with pytest.raises(OutputError, match="no permission"):
        check_folder(tmp_path / "shut" / "out", WRITER)


@pytest.mark.parametrize(("name", "folder_name"), [
    ("farm dealer", "farm-dealer"), ("a/b\\c", "a-b-c"), ("..", "study"), ("<b>x</b>", "-b-x--b-"),
    ("Büro 1", "Büro-1")])
def test_a_study_name_makes_a_safe_folder_name(name, folder_name):
    assert folder_of(name).parts == ("reports", folder_name)


@pytest.mark.parametrize(("file", "folder_name"), [
    (None, "my-year"), ("study.yaml", "my-year"), ("my_year/study.yaml", "my-year"), ("my_year.yaml", "my-year"),
    ("my_year_2/study.yaml", "my_year_2"), ("copy.yaml", "my-year-copy"), ("a/study.yaml", "my-year-a"),
    ("b/study.yaml", "my-year-b"), ("./b/study.yaml", "my-year-b"), ("a/x.yaml", "my-year-a-x"),
    ("b/a/x.yaml", "my-year-b-a-x")])
def test_copies_with_the_same_name_have_folders_of_their_own(file, folder_name):
    assert folder_of("my year", file=file).parts == ("reports", folder_name)


def test_files_elsewhere_have_folders_of_their_own(tmp_path, monkeypatch):
    here = tmp_path / "a" / "here"
    here.mkdir(parents=True)
    monkeypatch.chdir(here)
    files = ["a/x.yaml", "../a/x.yaml", "../../a/x.yaml", str(tmp_path / "b" / "a" / "x.yaml"), "x.yaml", "b/a/x.yaml"]
    assert len({folder_of("my year", file=file) for file in files}) == len(files)
    assert folder_of("my year", file=str(here / "a" / "x.yaml")) == folder_of("my year", file="./a/x.yaml")


def test_the_address_can_be_clicked(tmp_path):
    assert address_of(tmp_path / "a b").endswith("/a%20b/report.html")
    assert address_of(tmp_path).startswith("file:///")


def test_the_user_folder_wins():
    assert folder_of("x", "there/y").parts == ("there", "y")
    assert folder_of("x", "there/y", "rates").parts == ("there", "y")


def test_one_study_used_in_two_ways_has_two_folders():
    assert folder_of("x", use="rates").parts == ("reports", "x-rates")


def test_every_file_written_is_known(comparison):
    assert set(result_files(comparison, "")) <= FILES
