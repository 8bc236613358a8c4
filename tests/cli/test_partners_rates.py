"""`partners` and `rates` from the command line: clean JSON, whole folders, faults in one line each."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from missionsim.cli.app import app

STUDIES = Path(__file__).parents[2] / "profiles" / "studies"
CASES = [("partners", "partnership.yaml", {"report.html", "summary.csv", "members.csv", "run.json"}),
         ("rates", "charter.yaml", {"report.html", "rates.csv", "run.json"})]


def small(folder, name):
    file = folder / "study.yaml"
    aircraft = STUDIES.parent / "aircraft" / "fast_200_retractable.yaml"
    file.write_text(f"extends: {STUDIES / name}\ncandidates: [{aircraft}]\n"
                    "assumptions: {sharing.demand_years: 1, hire.demand_years: 1}\n"
                    "study: <b>ours</b>\n", encoding="utf-8")
    return file


@pytest.mark.parametrize(("command", "name", "files"), CASES)
def test_one_run(command, name, files, tmp_path):
    study, out = small(tmp_path, name), tmp_path / "out"
    done = CliRunner().invoke(app, [command, str(study), "--replications", "2", "--out", str(out), "--json"])
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert found["replications"] == 2
    assert {p.name for p in out.iterdir()} == files
    page = (out / "report.html").read_text(encoding="utf-8")
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
    assert max(len(line) for line in again.stdout.splitlines() if not line.startswith("Report and tables")) <= 80


@pytest.mark.parametrize("command", ["partners", "rates"])
def test_a_study_of_another_kind_is_one_line(command, tmp_path):
    done = CliRunner().invoke(app, [command, str(STUDIES / "buyer.yaml"), "--out", str(tmp_path / "out")])
    assert done.exit_code != 0
    assert "is missing" in str(done.exception)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", ["partners", "rates"])
def test_help_shows_an_example(command):
    done = CliRunner().invoke(app, [command, "--help"])
    assert done.exit_code == 0
    assert f"missionsim {command} " in done.output
