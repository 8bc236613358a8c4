"""`partners` and `rates` from the command line: clean JSON, whole folders, faults in one line each."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from missionsim.cli.app import app, main

STUDIES = Path(__file__).parents[2] / "profiles" / "studies"
CASES = [("partners", "partnership.yaml", "members: {sizes: [1, 4]}\n",
          {"report.html", "summary.csv", "members.csv", "run.json"}),
         ("rates", "charter.yaml", "", {"report.html", "rates.csv", "run.json"})]


def small(folder, name, more=""):
    file = folder / "study.yaml"
    aircraft = STUDIES.parent / "aircraft" / "retractable_260.yaml"
    file.write_text(f"extends: {STUDIES / name}\ncandidates: [{aircraft}]\n"
                    "assumptions: {sharing.demand_years: 1, hire.demand_years: 1}\n"
                    f"study: <b>ours</b>\n{more}", encoding="utf-8")
    return file


@pytest.mark.parametrize(("command", "name", "fewer", "files"), CASES, ids=["partners", "rates"])
def test_one_run(command, name, fewer, files, tmp_path):
    study, out = small(tmp_path, name, fewer), tmp_path / "out"
    done = CliRunner().invoke(app, [command, str(study), "--replications", "2", "--out", str(out), "--json"])
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert found["replications"] == 2
    assert {p.name for p in out.iterdir()} == files
    page = (out / "report.html").read_text(encoding="utf-8")
    assert not re.search(r"<[^<>]* style=", page)
    assert "unsafe" not in re.search(r"Content-Security-Policy\" content=\"([^\"]+)", page)[1]
    assert "&lt;b&gt;ours&lt;/b&gt;" in page
    assert "<b>ours</b>" not in page
    assert "operating certificate" in page
    assert "does not say that" in page
    assert "<svg" in page
    assert "src=" not in page.replace("data:", "")
    run = json.loads((out / "run.json").read_text(encoding="utf-8"))
    assert "sharing.fund_years" in run["assumptions"]
    again = CliRunner().invoke(app, [command, str(study), "--replications", "2", "--out", str(out)])
    assert again.exit_code == 0
    assert (out / "report.html").read_text(encoding="utf-8") == page
    assert "does not say that" in again.stdout.replace("\n", " ")
    addresses = ("Report and tables", "file://")  # as long as they are
    assert max(len(line) for line in again.stdout.splitlines() if not line.startswith(addresses)) <= 80


SOUTH = ("airports: {SOUT: {latitude_deg: -33.9, longitude_deg: 151.0, elevation_ft: 20, timezone: UTC, "
         "runways: [{ends: 9/27, length_ft: 5000}]}}\n")
UNKNOWN_WEATHER = {
    "partners": f"{SOUTH}members: {{sizes: [1], people: [{{name: a, demand: [{{to: SOUT, per_year: 1}}]}}]}}\n",
    "rates": f"{SOUTH}demand: [{{to: KOMA, per_year: 1}}]\noutside: {{requests: [{{to: SOUT, per_year: 1}}]}}\n"}


def refused(command, study, out, capsys):
    """Return what a command says on stderr when it refuses a study; it must leave nothing else."""
    with pytest.raises(SystemExit) as ended:
        main([command, str(study), "--replications", "2", "--out", str(out)])
    said = capsys.readouterr()
    assert ended.value.code == 2
    assert not said.out
    assert not out.exists()
    return said.err


@pytest.mark.parametrize("command", ["partners", "rates"])
def test_a_study_of_another_kind_is_one_line(command, tmp_path, capsys):
    said = refused(command, STUDIES / "buyer.yaml", tmp_path / "out", capsys)
    assert len(said.splitlines()) == 1
    assert "is missing" in said


@pytest.mark.parametrize(("command", "name"), [(case[0], case[1]) for case in CASES])
def test_a_place_without_weather_is_one_line_too(command, name, tmp_path, capsys):
    said = refused(command, small(tmp_path, name, UNKNOWN_WEATHER[command]), tmp_path / "out", capsys)
    assert len(said.splitlines()) == 1
    assert "to: SOUT: no weather station within" in said


@pytest.mark.parametrize("command", ["partners", "rates"])
def test_help_shows_an_example(command):
    done = CliRunner().invoke(app, [command, "--help"])
    assert done.exit_code == 0
    assert f"missionsim {command} " in done.output
