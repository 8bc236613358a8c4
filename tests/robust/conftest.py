from __future__ import annotations

import shutil

import pytest
from robust_cases import Told

from missionsim.cli import main
from missionsim.study.inputs.files import demo_folder


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    """Return a copy of the demo's files to spoil."""
    return shutil.copytree(demo_folder(), tmp_path_factory.mktemp("demo") / "demo")


@pytest.fixture
def told(capsys):
    """Return a function that runs a command in this process."""
    def run(*arguments: str) -> Told:
        capsys.readouterr()
        try:
            main(list(arguments))
            code = 0
        except SystemExit as ended:
            code = 0 if ended.code is None else ended.code
        captured = capsys.readouterr()
        return Told(code, captured.out, captured.err)
    return run


@pytest.fixture
def empty(tmp_path, monkeypatch):
    """Stand in an empty folder."""
    place = tmp_path / "here"
    place.mkdir()
    monkeypatch.chdir(place)
    return place
