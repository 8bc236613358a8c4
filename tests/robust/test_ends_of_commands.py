"""A command that is ended before it flies, and a folder in the user's home."""

from __future__ import annotations

import json

import pytest
from robust_cases import RETRACTABLE, write_study

from missionsim.study.prepare import study as preparation


@pytest.mark.parametrize("command", ["compare", "partners", "rates"])
def test_an_interruption_before_flying_is_130_and_writes_nothing(told, tmp_path, monkeypatch, command):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("missionsim.study.inputs.load_study.load_study", interrupted)
    said = told(command, "--out", str(tmp_path / "out"))
    assert said.code == 130
    assert "Traceback" not in said.err
    assert not (tmp_path / "out").exists()


def test_an_interruption_while_preparing_is_130(told, tmp_path, monkeypatch):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    write_study(tmp_path, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE])
    monkeypatch.setattr(preparation, "prepare", interrupted)
    said = told("compare", str(tmp_path / "study.yaml"), "--out", str(tmp_path / "out"))
    assert said.code == 130
    assert "Traceback" not in said.err
    assert not (tmp_path / "out").exists()


def test_a_folder_in_the_home_is_found_by_its_tilde(told, empty, monkeypatch):
    write_study(empty, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE], replications=2)
    monkeypatch.setenv("HOME", str(empty / "house"))
    (empty / "house").mkdir()
    assert told("compare", "study.yaml", "--out", "~/found", "--workers", "1").code == 0
    assert json.loads((empty / "house" / "found" / "run.json").read_text())["command"] == "compare"
    assert not (empty / "~").exists()
