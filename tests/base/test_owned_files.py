"""Whose files are in a folder: what a run wrote and nobody touched is replaced, anything else stays."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from robust_cases import results

from missionsim.base.owned_files import (
    OutputError,
    Writer,
    refuse_foreign,
    remove_ours,
    with_run,
    write_new_files,
    written_in,
)

WRITER = Writer("compare", "s")
FILES = results(report_html="<p>x</p>", trips_csv="a,b\n")


def written(folder: Path, files: dict[str, str]) -> Path:
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / name).write_bytes(text.encode())
    return folder


def there(folder: Path) -> dict[str, Any]:
    return {p.name: p.read_text() if p.is_file() else None for p in sorted(folder.iterdir())}


def edited_run(**changes: Any) -> str:
    return json.dumps(json.loads(FILES["run.json"]) | changes)


def spoil(folder: Path, how: str) -> None:
    report = folder / "report.html"
    if how == "edited":
        report.write_text("<p>x</p> and a note of mine")
    elif how == "added":
        (folder / "summary.csv").write_text("mine")
    else:
        kept = report.read_text()
        report.unlink()
        if how == "folder":
            report.mkdir()
            (report / "letter.txt").write_text("mine")
        else:
            (folder.parent / "target").write_text(kept)
            report.symlink_to(folder.parent / "target")


def test_files_as_a_run_wrote_them_may_go(tmp_path: Path) -> None:
    out = written(tmp_path / "out", FILES)
    refuse_foreign(out, WRITER)
    remove_ours(out)
    assert not out.exists()


@pytest.mark.parametrize("missing", ["report.html", "trips.csv"])
def test_a_listed_file_that_somebody_removed_is_not_missed(tmp_path: Path, missing: str) -> None:
    out = written(tmp_path / "out", FILES)
    (out / missing).unlink()
    refuse_foreign(out, WRITER)


@pytest.mark.parametrize(("how", "words"), [
    ("edited", r"report\.html \(edited since it was written\)"), ("folder", r"report\.html \(a folder\)"),
    ("link", r"report\.html \(a link\)"), ("added", r"summary\.csv \(no run of this program lists it\)")])
def test_what_was_edited_added_or_put_in_a_files_place_is_refused_by_name_and_stays(tmp_path: Path, how: str,
                                                                                  words: str) -> None:
    out = written(tmp_path / "out", FILES)
    spoil(out, how)
    before = there(out)
    with pytest.raises(OutputError, match=words):
        refuse_foreign(out, WRITER)
    assert there(out) == before
    remove_ours(out)
    kept = {"added": "summary.csv"}.get(how, "report.html")
    assert there(out) == {kept: before[kept]}


@pytest.mark.parametrize("run", [
    "{}", "[]", "{", "[" * 100_000, '{"study": "s"}', '{"program": "missionsim", "command": "compare", "study": "s"}',
    edited_run(seal="0" * 64), edited_run(note="a line of mine"), edited_run(program="another"), "\ud800".join("ab"),
    edited_run(written=[{"file": "report.html"}]), edited_run(written=3), edited_run(study=3)])
def test_a_run_file_that_is_not_ours_or_was_touched_makes_nothing_ours(tmp_path: Path, run: str) -> None:
    out = written(tmp_path / "out", {n: t for n, t in FILES.items() if n != "run.json"})
    (out / "run.json").write_bytes(run.encode("utf-8", "surrogatepass"))
    before = sorted(p.name for p in out.iterdir())
    assert written_in(out) == {}
    with pytest.raises(OutputError, match=r"report\.html \(no run of this program lists it\), run\.json \(no run"):
        refuse_foreign(out, WRITER)
    remove_ours(out)
    assert sorted(p.name for p in out.iterdir()) == before


@pytest.mark.parametrize(("writer", "words"), [
    (Writer("partners", "s"), "holds the results of another command, 'compare', not of 'partners'"),
    (Writer("compare", "t"), "holds the results of another study, 's', not of 't'")])
def test_results_of_another_command_or_study_are_refused(tmp_path: Path, writer: Writer, words: str) -> None:
    with pytest.raises(OutputError, match=words):
        refuse_foreign(written(tmp_path / "out", FILES), writer)


def test_a_run_of_another_version_of_the_contract_counts_by_what_it_lists(tmp_path: Path) -> None:
    for version in (1, 2):
        files = with_run({"command": "compare", "study": "s", "contract_version": version}, {"a.csv": "a"})
        refuse_foreign(written(tmp_path / f"out{version}", files), WRITER)


def test_where_only_some_names_are_wanted_other_files_are_nobodys_business(tmp_path: Path) -> None:
    out = written(tmp_path / "figures", results(cost_svg="<svg/>"))
    (out / "letter.txt").write_text("mine")
    refuse_foreign(out, WRITER, {"cost.svg", "new.svg"})
    (out / "new.svg").write_text("mine")
    with pytest.raises(OutputError, match=r"new\.svg \(no run of this program lists it\)"):
        refuse_foreign(out, WRITER, {"cost.svg", "new.svg"})
    with pytest.raises(OutputError, match=r"letter\.txt"):
        refuse_foreign(out, WRITER)


@given(st.text(), st.text(alphabet=st.characters(codec="utf-8")))
def test_any_text_is_found_again_by_its_hash(tmp_path_factory: pytest.TempPathFactory, study: str, text: str) -> None:
    out = written(tmp_path_factory.mktemp("any") / "out", results(study, report_html=text))
    refuse_foreign(out, Writer("compare", study))


def test_new_files_are_written_all_or_none(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "b").write_text("mine")
    for texts in ({"a": "1", "b": "2"}, {"new/deep/a": "1", "b": "2"}, {"a": "1", "b/c": "2"}):
        with pytest.raises(OSError):  # noqa: PT011  (exists, or no folder: both of the system)
            write_new_files(tmp_path / "there", texts)
        assert there(tmp_path / "there") == {"b": "mine"}
    with pytest.raises(UnicodeEncodeError):
        write_new_files(tmp_path / "other", {"a": "1", "b": "\ud800"})
    assert [p.name for p in tmp_path.iterdir()] == ["there"]
    assert [p.name for p in write_new_files(tmp_path / "other", {"a": "1", "x/b": "2"})] == ["a", "b"]
