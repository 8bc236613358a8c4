"""`missionsim trips` from the prompt: what it writes can be read back."""

from __future__ import annotations

import json

import pytest

from missionsim.cli.app import main
from missionsim.study.inputs.check import check_files

DEMAND = """study: made up
home: KGRI
year: 2025
seed: 7
demand:
  - {to: KOMA, per_year: 20, adults: 2}
  - {to: [KLBF, KOGA], per_year: 10}
candidates: [aircraft/retractable_260.yaml]
"""


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of a command."""
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    return end.value.code, out, err


@pytest.fixture
def study(tmp_path, capsys):
    assert run(capsys, "new", str(tmp_path))[0] == 0
    (tmp_path / "demand.yaml").write_text(DEMAND, encoding="utf-8")
    return tmp_path


def test_the_demo_list_is_written_and_read_back(capsys, tmp_path):
    code, out, err = run(capsys, "trips")
    assert (code, err) == (0, "")
    again = tmp_path / "again.csv"
    again.write_text(out, encoding="utf-8")
    (found,) = check_files([str(again)])
    assert len(found.table) == 63
    data = json.loads(run(capsys, "trips", "--json")[1])
    assert [list(trip.stops) for trip in found.table] == [trip["stops"] for trip in data["trips"]]


def test_generated_trips_differ_by_year_and_seed_and_not_otherwise(capsys, study):
    file = str(study / "demand.yaml")
    first, same, other, seeded = (run(capsys, "trips", file, *more)[1] for more in (
        (), (), ("--replication", "1"), ("--seed", "8")))
    assert first == same
    assert first != other
    assert first != seeded
    assert 15 < first.count("\n") < 50


def test_out_writes_a_new_file_and_never_over_an_old_one(capsys, study):
    target = study / "out.csv"
    code, out, err = run(capsys, "trips", str(study / "study.yaml"), "--out", str(target))
    assert (code, out) == (0, "")
    assert "63 trips of 2025 written" in err
    before = target.read_bytes()
    code, _, err = run(capsys, "trips", str(study / "demand.yaml"), "--out", str(target))
    assert code == 2
    assert "is not overwritten" in err
    assert target.read_bytes() == before


@pytest.mark.parametrize(("arguments", "said"), [
    (("absent.yaml",), "file not found"), (("--out", "no/such/folder/t.csv"), "cannot be written"),
    (("--replication", "-1"), "--replication")])
def test_faults(capsys, arguments, said):
    code, _, err = run(capsys, "trips", *arguments)
    assert code == 2
    assert said in err
    assert "Traceback" not in err


def test_help_shows_an_example(capsys):
    assert "Example: missionsim trips" in run(capsys, "trips", "--help")[1]
