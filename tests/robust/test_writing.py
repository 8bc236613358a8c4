"""Results are whole or as they were: full disks, kills, interruptions, several runs at once, names of studies."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from robust_cases import RETRACTABLE, results, write_study

from missionsim.base import leftovers
from missionsim.base.owned_files import OutputError, Writer, writer_of
from missionsim.report.folder import DEVICES, check_folder, folder_of, write_folder

OLD = results(report_html="old", trips_csv="old")
NEW = results(report_html="new")
WRITER = writer_of(OLD)
POSIX = pytest.mark.skipif(os.name == "nt", reason="signals and limits of another kind")


def there(folder):
    return {p.name: p.read_text() for p in folder.iterdir()}


@given(st.one_of(st.text(min_size=1, max_size=200), st.sampled_from([
    *sorted(DEVICES), "con.txt", "../..", "/etc", "a/../b", "~", ".hidden", "Ünï", "日本" * 100, "👩🏽‍🌾" * 50])))
def test_a_study_name_is_one_short_harmless_folder_under_reports(name):
    folder = folder_of(name)
    assert folder.parent == Path("reports")
    part = folder.name
    assert part not in {"", ".", ".."}
    assert part.isprintable()
    assert not set(part) & set('/\\:*?"<>|')
    assert part[0] not in ".~ "
    assert part[-1] not in ". "
    assert part.split(".")[0].strip().upper() not in DEVICES
    assert len(part.encode()) <= 120  # with what is put around it while it is written it stays below 255


@pytest.mark.parametrize("name", ["../../outside", "CON", "日本語の調査" * 33, "n" * 200, "/etc/passwd", "a\u202eb"])
def test_such_folders_can_be_written(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_folder(folder_of(name), NEW)
    assert [p.name for p in tmp_path.iterdir()] == ["reports"]
    assert len(list((tmp_path / "reports").iterdir())) == 1


def test_two_studies_whose_names_make_one_folder_do_not_replace_each_other(tmp_path, told, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_study(tmp_path, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE], study="a/b")
    assert told("compare", "study.yaml").code == 0
    first = there(tmp_path / "reports" / "a-b")
    assert told("compare", "study.yaml").code == 0  # the same study again
    write_study(tmp_path, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE], study="a-b")
    said = told("compare", "study.yaml").refused()
    assert said == (f"{Path('reports') / 'a-b'}: holds the results of another study, 'a/b', not of 'a-b'; choose "
                    "another folder, or remove that one\n")
    assert there(tmp_path / "reports" / "a-b") == first
    assert told("compare", "study.yaml", "--out", "other").code == 0
    assert "another study" in told("rates", "study.yaml", "--out", "reports/a-b").refused()


def test_results_of_another_study_written_while_one_flies_stay(tmp_path):
    check_folder(tmp_path / "out", Writer("compare", "mine"))
    theirs = results("theirs\n", report_html="long work")
    write_folder(tmp_path / "out", theirs)
    with pytest.raises(OutputError, match=r"results of another study, 'theirs\\n', not of 'mine'; choose another"):
        write_folder(tmp_path / "out", results("mine", report_html="new"))
    assert there(tmp_path / "out") == theirs
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def command(folder, *arguments, before=""):
    code = f"{before}\nfrom missionsim.cli import main\nmain({list(arguments)!r})"
    return subprocess.run([sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=False,
                          timeout=600)


@POSIX
@pytest.mark.slow
def test_a_full_disk_leaves_the_earlier_results_and_says_what_to_do(tmp_path):
    write_study(tmp_path, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE])
    write_folder(tmp_path / "out", OLD)
    full = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, {resource.RLIM_INFINITY}))"
    done = command(tmp_path, "compare", "study.yaml", "--out", "out", before=full)
    assert done.returncode == 2, done.stderr
    assert "nothing was changed there" in done.stderr
    assert "--out" in done.stderr
    assert "Traceback" not in done.stderr
    assert there(tmp_path / "out") == OLD
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out", "study.yaml", "trips.csv"]


KILL = """
import os, signal, sys
from pathlib import Path
from missionsim.report.folder import write_folder
plain, count = Path.{name}, 0
def dying(self, *given):
    global count
    count += 1
    done = plain(self, *given)
    if count == {at}:
        os.kill(os.getpid(), signal.SIGKILL)
    return done
Path.{name} = dying
write_folder(Path("out"), {files!r})
"""


@POSIX
@pytest.mark.parametrize(("name", "at"), [("write_bytes", 1), ("write_bytes", 2), ("rename", 1)])
def test_a_kill_while_writing_leaves_the_earlier_results(tmp_path, name, at):
    write_folder(tmp_path / "out", OLD)
    code = KILL.format(name=name, at=at, files=NEW)
    died = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, check=False, timeout=600)
    assert died.returncode == -signal.SIGKILL
    check_folder(tmp_path / "out", WRITER)  # as the next run does first
    assert there(tmp_path / "out") == OLD
    write_folder(tmp_path / "out", NEW)
    assert there(tmp_path / "out") == NEW


def aged(folder, hours):
    then = time.time() - hours * 3600
    os.utime(folder, (then, then))


def hidden(folder):
    return sorted(p.name for p in folder.iterdir() if p.name.startswith("."))


@POSIX
@pytest.mark.parametrize("name", ["write_bytes", "rename"])
def test_what_a_killed_run_left_is_swept_by_the_next_one(tmp_path, name):
    write_folder(tmp_path / "out", OLD)
    code = KILL.format(name=name, at=2, files=NEW)
    subprocess.run([sys.executable, "-c", code], cwd=tmp_path, check=False, timeout=600)
    (left,) = hidden(tmp_path)
    assert left.endswith({"write_bytes": ".partial", "rename": ".old"}[name])
    aged(tmp_path / left, 0.1)
    write_folder(tmp_path / "out", NEW)
    assert hidden(tmp_path) == []
    assert there(tmp_path / "out") == NEW


@POSIX
def test_what_a_living_run_writes_is_never_swept(tmp_path):
    code = ("import sys\nfrom pathlib import Path\nfrom missionsim.base.leftovers import hidden_folder\n"
            "with hidden_folder(Path('out').absolute()) as folder:\n    (folder / 'run.json').write_text('{}')\n"
            "    print(folder.name, flush=True)\n    sys.stdin.readline()")
    with subprocess.Popen([sys.executable, "-c", code], cwd=tmp_path, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                          text=True) as living:
        name = living.stdout.readline().strip()
        try:
            aged(tmp_path / name, 1000)
            write_folder(tmp_path / "out", NEW)
            assert hidden(tmp_path) == [name]
        finally:
            living.kill()
        living.wait(timeout=600)
    write_folder(tmp_path / "out", NEW)
    assert hidden(tmp_path) == []


def test_only_our_own_old_leftovers_are_swept(tmp_path):
    kept = [".out.abcdefgh.partial", ".out.notes.partial", ".other.abcdefgh.partial", ".out.abcdefgh.backup",
            ".out.12345678.partial"]
    for name in kept:
        (tmp_path / name).mkdir()
        (tmp_path / name / ("letter.txt" if "1234" in name else "run.json")).write_text("{}")
        aged(tmp_path / name, 1000)
    aged(tmp_path / kept[0], 0)  # as one that another run has only just made
    write_folder(tmp_path / "out", NEW)
    assert hidden(tmp_path) == sorted(kept)


@pytest.mark.parametrize(("hours", "stays"), [(1, True), (25, False)])
def test_where_folders_cannot_be_locked_age_decides(tmp_path, monkeypatch, hours, stays):
    monkeypatch.setattr(leftovers, "_locked", lambda folder: None)
    left = tmp_path / ".out.abcdefgh.partial"
    left.mkdir()
    aged(left, hours)
    write_folder(tmp_path / "out", NEW)
    assert left.exists() is stays


def test_runs_that_end_together_do_not_mix(tmp_path):
    failed = []

    def write(who):
        for k in range(25):
            files = results(**dict.fromkeys(("report_html", "trips_csv", "flights_csv"), f"{who} {k}"))
            try:
                write_folder(tmp_path / "out", files)
            except OutputError as error:
                failed.append(str(error))
    threads = [threading.Thread(target=write, args=(who,)) for who in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = there(tmp_path / "out")
    assert len({text for name, text in found.items() if name != "run.json"}) == 1
    assert len(found) == 4
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert failed == []


def test_the_folder_one_stands_in_is_refused(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(OutputError, match="the folder you are in"):
        check_folder(Path(), WRITER)


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="no such file system here")
def test_a_place_nobody_may_write_to_is_refused_when_written():
    with pytest.raises(OutputError, match="nothing was changed"):
        write_folder(Path("/proc/no_such_place"), NEW)


def test_help_is_quick_because_it_imports_nothing_large():
    code = ("import sys\nfrom missionsim.cli import main\ntry:\n    main({!r})\nexcept SystemExit:\n    pass\n"
            "large = ('numpy', 'pandas', 'pydantic', 'matplotlib', 'simpy')\n"
            "print([m for m in large if m in sys.modules], file=sys.stderr)")
    for words in (["--help"], ["compare", "--help"], ["leg", "--help"], ["--version"]):
        done = subprocess.run([sys.executable, "-c", code.format(words)], capture_output=True, text=True, check=True,
                              timeout=600)
        assert done.stderr.strip() == "[]"
        assert done.stdout


@POSIX
@pytest.mark.slow
def test_an_interruption_keeps_earlier_results_and_says_what_was_done(tmp_path, interrupted):
    write_study(tmp_path, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE])
    write_folder(tmp_path / "out", OLD)
    assert "stay as they were" in interrupted(tmp_path, "study.yaml", "--out", "out")
    assert there(tmp_path / "out") == OLD
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out", "study.yaml", "trips.csv"]
