"""`missionsim new` from the prompt."""

from __future__ import annotations

import json

import pytest

from missionsim.cli.app import main
from missionsim.study.inputs.check import check_files


def run(capsys, *arguments):
    """Return exit code, stdout and stderr of a command."""
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    return end.value.code, out, err


def test_a_starter_is_written_and_passes_the_check(capsys, tmp_path):
    code, out, err = run(capsys, "new", str(tmp_path / "mine"))
    assert (code, err) == (0, "")
    assert f"missionsim compare {tmp_path / 'mine' / 'study.yaml'}" in out
    assert len(check_files([str(tmp_path / "mine" / "study.yaml")])) == 1


def test_json_names_the_files(capsys, tmp_path):
    files = json.loads(run(capsys, "new", str(tmp_path / "mine"), "--json")[1])["files"]
    assert files[0].endswith("study.yaml")
    assert len(files) == 4


def test_nothing_is_overwritten(capsys, tmp_path):
    (tmp_path / "study.yaml").write_text("mine", encoding="utf-8")
    code, out, err = run(capsys, "new", str(tmp_path))
    assert (code, out) == (2, "")
    assert "is not overwritten" in err
    assert (tmp_path / "study.yaml").read_text(encoding="utf-8") == "mine"


def test_help_shows_an_example(capsys):
    assert "Example: missionsim new" in run(capsys, "new", "--help")[1]
