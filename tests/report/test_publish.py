"""Results and figures together: all of both, or both as they were."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from robust_cases import results

from missionsim.base.owned_files import OutputError
from missionsim.report import publish as module
from missionsim.report.folder import write_folder
from missionsim.report.placing import check_figures, placed
from missionsim.report.publish import publish

DRAWN = results(a_svg="new a", b_svg="new b", c_svg="new c")


def tree(folder):
    """Return every file below a folder and what it holds; folders are None."""
    return {str(p.relative_to(folder)): None if p.is_dir() else p.read_bytes() for p in sorted(folder.rglob("*"))}


def spoiled_file(folder):
    (folder / "figures").write_text("a file where the folder should be")


def spoiled_target(folder):
    (folder / "figures" / "cost.svg").mkdir(parents=True)
    (folder / "figures" / "cost.svg" / "letter.txt").write_text("mine")


def spoiled_by_a_users_figure(folder):
    (folder / "figures").mkdir()
    (folder / "figures" / "cost.svg").write_text("mine")


def old(comparison):
    return results(comparison.study.name, report_html="old")


@pytest.mark.parametrize(("spoil", "words"), [
    (spoiled_file, "figures cannot be written .*nothing was changed.*--figures"),
    (spoiled_target, r"cost\.svg \(a folder\)"),
    (spoiled_by_a_users_figure, r"cost\.svg \(no run of this program lists it\)")])
def test_figures_that_cannot_be_written_leave_the_earlier_results(comparison, tmp_path, spoil, words):
    write_folder(tmp_path / "out", old(comparison))
    spoil(tmp_path)
    before = tree(tmp_path)
    with pytest.raises(OutputError, match=words):
        publish(comparison, tmp_path / "out", str(tmp_path / "figures"))
    assert tree(tmp_path) == before


def test_results_that_cannot_be_written_leave_the_earlier_figures(comparison, tmp_path, monkeypatch):
    write_folder(tmp_path / "out", old(comparison))
    write_folder(tmp_path / "figures", results(comparison.study.name, outcomes_svg="old figure"))
    before = tree(tmp_path)
    put = []

    def full(partial, here, writer):
        put.extend(p.name for p in (tmp_path / "figures").glob("*.svg"))
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("missionsim.report.folder._swap", full)
    with pytest.raises(OutputError, match="no space left on device"):
        publish(comparison, tmp_path / "out", str(tmp_path / "figures"))
    assert "cost.svg" in put
    assert tree(tmp_path) == before


def test_figures_and_results_are_written_together_and_over_earlier_ones(comparison, tmp_path):
    (tmp_path / "figures").mkdir()
    (tmp_path / "figures" / "notes.txt").write_text("mine")
    for _ in range(2):
        publish(comparison, tmp_path / "out", str(tmp_path / "figures"))
        names = {p.name for p in (tmp_path / "figures").iterdir()}
        assert {"outcomes.svg", "cost.svg", "notes.txt"} <= names
        assert not [n for n in names if n.startswith(".")]
        assert (tmp_path / "figures" / "outcomes.svg").read_text(encoding="utf-8").startswith("<svg")
        assert sorted(p.name for p in tmp_path.iterdir()) == ["figures", "out"]


@pytest.mark.parametrize("where", ["out", "out/figures", "out/../out/x"])
def test_figures_inside_the_results_are_refused(tmp_path, where):
    with pytest.raises(OutputError, match="cannot go into the folder of results"):
        check_figures(tmp_path / where, tmp_path / "out")
    check_figures(tmp_path / "out-figures", tmp_path / "out")
    check_figures(tmp_path, tmp_path / "out")


def test_a_failure_at_any_move_undoes_those_before(tmp_path, monkeypatch):
    folder = tmp_path / "figures"
    write_folder(folder, results(a_svg="old a", c_svg="old c", gone_svg="old figure that is drawn no more"))
    (folder / "notes.txt").write_text("mine")
    before, plain = tree(tmp_path), Path.replace
    for fails in range(len(DRAWN)):
        calls = iter(range(100))

        def breaking(self, target, fails=fails, calls=calls):
            if next(calls) == fails:
                raise OSError(5, "Input/output error")
            return plain(self, target)

        with monkeypatch.context() as patch:
            patch.setattr(Path, "replace", breaking)
            with pytest.raises(OutputError, match="input/output error"), placed(folder, DRAWN):
                pytest.fail("entered")
        assert tree(tmp_path) == before


def test_an_interruption_inside_undoes_all_and_takes_away_what_was_made(tmp_path):
    folder = tmp_path / "new" / "figures"

    def interrupted():
        with placed(folder, DRAWN):
            assert {p.name for p in folder.iterdir()} > set(DRAWN)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert tree(tmp_path) == {}


def test_leftovers_among_figures_are_swept(tmp_path):
    tmp_path = tmp_path / "place"
    left = tmp_path / ".figures.abcdefgh.partial"
    left.mkdir(parents=True)
    (left / "a.svg").write_text("half")
    os.utime(left, (0, 0))
    with placed(tmp_path, DRAWN):
        pass
    assert {k: v.decode() for k, v in tree(tmp_path).items()} == DRAWN


def test_nothing_is_drawn_for_a_place_that_cannot_be(comparison, tmp_path, monkeypatch):
    monkeypatch.setattr(module, "figures", lambda comparison: pytest.fail("drawn"))
    with pytest.raises(OutputError, match="cannot go into"):
        publish(comparison, tmp_path / "out", str(tmp_path / "out" / "figures"))


def test_a_figure_that_is_drawn_no_more_goes_and_one_edited_since_stays(tmp_path):
    with placed(tmp_path, results(a_svg="a", b_svg="b")):
        pass
    with placed(tmp_path, results(a_svg="new")):
        pass
    assert sorted(tree(tmp_path)) == ["a.svg", "run.json"]
    (tmp_path / "a.svg").write_text("touched up by hand")
    before = tree(tmp_path)
    with pytest.raises(OutputError, match=r"a\.svg \(edited since it was written\)"), placed(tmp_path, DRAWN):
        pytest.fail("entered")
    assert tree(tmp_path) == before
