"""`missionsim compare` from the outside: stdout, stderr, exit codes, files."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys

import pytest

from missionsim.cli.app import main
from missionsim.study.inputs.files import demo_folder

TRIPS = "date,time,to,adults,purpose\n2025-02-11,07:30,KOMA,2,meeting\n2025-06-10,07:00,KHYS,1,parts\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("cli")
    shutil.copytree(demo_folder() / "aircraft", folder / "aircraft")
    (folder / "trips.csv").write_text(TRIPS, encoding="utf-8")
    (folder / "study.yaml").write_text(
        "study: tiny\nhome: KGRI\nyear: 2025\nseed: 5\nreplications: 2\ntrips: trips.csv\n"
        "candidates: [aircraft/retractable_260.yaml, aircraft/fixed_180.yaml]\n", encoding="utf-8")
    return folder


def run(folder, *arguments):
    return subprocess.run([sys.executable, "-c", "from missionsim.cli import main; main()", "compare", *arguments],
                          cwd=folder, capture_output=True, text=True, check=False, timeout=600)


def test_text_goes_to_stdout_progress_to_stderr_and_files_to_reports(folder):
    done = run(folder, "study.yaml")
    assert done.returncode == 0, done.stderr
    assert "of 2 trips; all of them done, a year costs" in " ".join(done.stdout.split())
    assert "simulated years" in done.stderr
    assert "\x1b" not in done.stdout + done.stderr
    names = {p.name for p in (folder / "reports" / "tiny").iterdir()}
    assert names == {"report.html", "summary.csv", "trips.csv", "flights.csv", "shop.csv", "ledger.csv",
                     "years.csv", "drawn.csv", "prices.csv", "refusals.csv", "run.json"}


def test_json_is_alone_on_stdout_and_repeatable(folder):
    first, second = (run(folder, "study.yaml", "--json", "--out", "a", "--replications", "3") for _ in range(2))
    found = json.loads(first.stdout)
    assert (found["study"], found["replications"], found["out"]) == ("tiny", 3, "a")
    assert first.stdout == second.stdout


def test_seed_keep_and_figures(folder):
    done = run(folder, "study.yaml", "--seed", "9", "--keep", "1", "--out", "b", "--figures", "drawn", "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["seed"] == 9
    assert json.loads((folder / "b" / "run.json").read_text())["replications_kept"] == 1
    assert {"outcomes.svg", "cost.svg"} <= {p.name for p in (folder / "drawn").iterdir()}


def test_years_are_flown_until_the_difference_is_known_as_narrowly_as_asked(folder):
    done = run(folder, "study.yaml", "--within", "1e9", "--replications", "200", "--json", "--out", "w")
    plain = run(folder, "study.yaml", "--replications", "30", "--json", "--out", "w")
    found = json.loads(done.stdout)
    assert "through at most 200 simulated years" in done.stderr
    assert "30 simulated years were enough" in done.stderr
    assert found.pop("stopping")["enough"] is True
    assert found == json.loads(plain.stdout)


@pytest.mark.parametrize(("arguments", "words"), [
    (("nowhere.yaml",), "nowhere.yaml"), (("study.yaml", "--keep", "many"), "accepted: a number from 1, or all"),
    (("study.yaml", "--replications", "0"), "0"), (("study.yaml", "--within", "0"), "accepted: dollars above 0"),
    (("study.yaml", "--within", "nan"), "accepted: dollars above 0"), (("study.yaml", "--within", "inf"), "accepted"),
    (("study.yaml", "--within", "much"), "accepted: dollars above 0"),
    ((str(demo_folder() / "studies" / "partnership.yaml"),), "the command `partners`")])
def test_what_a_user_gets_wrong_is_one_line_and_exit_2(folder, arguments, words):
    done = run(folder, *arguments)
    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert "Flying" not in done.stderr
    assert done.stdout == ""


def test_a_folder_with_other_files_is_refused_before_anything_is_flown(folder):
    (folder / "mine").mkdir()
    (folder / "mine" / "letter.txt").write_text("dear")
    done = run(folder, "study.yaml", "--out", "mine", "--replications", "100000")
    assert done.returncode == 2
    assert "letter.txt" in done.stderr
    assert "Flying" not in done.stderr
    assert [p.name for p in (folder / "mine").iterdir()] == ["letter.txt"]


@pytest.mark.parametrize(("figures", "words"), [("d/figures", "cannot go into the folder of results"),
                                                ("trips.csv/figures", "not a directory")])
def test_figures_that_cannot_be_written_are_refused_before_anything_is_flown(folder, figures, words):
    done = run(folder, "study.yaml", "--out", "d", "--figures", figures, "--replications", "100000")
    assert done.returncode == 2
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not (folder / "d").exists()


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
def test_interruption_says_what_was_done_and_leaves_nothing(folder, interrupted):
    interrupted(folder, "study.yaml", "--out", "c", "--workers", "1")
    assert not [p.name for p in folder.iterdir() if p.name.startswith((".c", "c"))]


def test_the_report_can_be_opened(folder, capsys, monkeypatch):
    opened = []
    monkeypatch.setattr("click.launch", opened.append)
    with pytest.raises(SystemExit):
        main(["compare", str(folder / "study.yaml"), "--out", str(folder / "shown"), "--open"])
    assert opened == [(folder / "shown" / "report.html").as_uri()]
    assert opened[0] in capsys.readouterr().out
