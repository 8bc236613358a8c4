"""No process and no folder stays behind, however a run with workers ends; a lost worker costs time, not results."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from robust_cases import (
    RETRACTABLE,
    SHARED_MEMORY,
    in_shared_memory,
    left_in_shared_memory,
    of_session,
    write_study,
)

from missionsim.base import parallel
from missionsim.base.parallel import WorkersLostError, in_order
from missionsim.base.processes import Ended, exit_code, heeding_signals

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are looked up in /proc")

PATIENCE_S = 120.0
"""A machine under load takes its time; nothing is measured."""


def until(true, what: str) -> None:
    end = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end, what
        time.sleep(0.1)


def workers_of(process: subprocess.Popen) -> list[int]:
    """Return the processes that fly: children that have loaded the file they share."""
    def flies(pid: int) -> bool:
        try:
            return "loky.backend.popen_loky" in Path(f"/proc/{pid}/cmdline").read_text()
        except OSError:
            return False
    return [p for p in of_session(process.pid) if p != process.pid and flies(p)]


@pytest.fixture
def shared_memory_before():
    """Give the names there before what is asked for after it begins."""
    return in_shared_memory()


@pytest.fixture
def flying(tmp_path):
    """Start a long comparison with two workers in a session of its own; give it once both are there."""
    write_study(tmp_path, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE])
    (tmp_path / "tmp").mkdir()
    words = ["compare", "study.yaml", "--out", "out", "--replications", "90000", "--workers", "2"]
    # A run in the background may inherit ignored interrupts and hang-ups; a person at a terminal never does.
    code = ("import signal\nfrom missionsim.cli import main\nif __name__ == '__main__':\n"
            "    signal.signal(signal.SIGINT, signal.default_int_handler)\n"
            f"    signal.signal(signal.SIGHUP, signal.SIG_DFL)\n    main({words!r})")
    (tmp_path / "run.py").write_text(code)
    with subprocess.Popen([sys.executable, "run.py"], cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                          text=True, start_new_session=True, env=os.environ | dict.fromkeys(
                              ("TMPDIR", "JOBLIB_TEMP_FOLDER"), str(tmp_path / "tmp"))) as process:
        try:
            assert "Flying" in process.stderr.readline()
            until(lambda: len(workers_of(process)) == 2, "no workers")
            until(lambda: list((tmp_path / "tmp").rglob("shared")), "nothing handed to the workers, who begin before")
            yield process
        finally:
            for pid in of_session(process.pid):
                os.kill(pid, signal.SIGKILL)


@pytest.mark.slow
@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGHUP, 129), (signal.SIGINT, 130)])
def test_a_signal_ends_everything_as_an_interruption_does(shared_memory_before, flying, tmp_path, number, code):
    flying.send_signal(number)
    _, said = flying.communicate(timeout=PATIENCE_S)
    assert flying.returncode == code
    assert "Interrupted after" in said
    assert "Traceback" not in said
    until(lambda: of_session(flying.pid) == [], "processes stay behind")
    assert list((tmp_path / "tmp").iterdir()) == []
    assert not (tmp_path / "out").exists()
    assert left_in_shared_memory(flying.pid, shared_memory_before) == []


@pytest.mark.skipif(not SHARED_MEMORY.is_dir(), reason="no folder of shared memory")
def test_what_a_process_leaves_in_shared_memory_is_told_from_what_others_do(shared_memory_before):
    pid = os.getpid()
    names = (f"left-{pid}-a1", f"left_{pid}_b2", f"left-{pid}7-of-another", f"left-0a{pid}b-digits-of-a-key",
             f"joblib_memmapping_folder_{pid}_of_another_machine")
    try:
        for name in names:
            (SHARED_MEMORY / name).touch()
        assert left_in_shared_memory(pid, shared_memory_before) == sorted(names[:2])
        assert left_in_shared_memory(pid, shared_memory_before | {names[0]}) == [names[1]]
    finally:
        for name in names:
            (SHARED_MEMORY / name).unlink(missing_ok=True)


@pytest.mark.slow
def test_workers_end_with_a_killed_parent_and_the_next_run_clears_up(flying, tmp_path):
    flying.kill()
    flying.wait(timeout=PATIENCE_S)
    until(lambda: of_session(flying.pid) == [], "workers stay behind")
    (left,) = (tmp_path / "tmp").iterdir()
    os.utime(left, (0, 0))  # as one that is not only just made
    next_run = ("import sys, tempfile\nfrom pathlib import Path\nfrom missionsim.base.parallel import in_order\n"
                "if __name__ == '__main__':\n    print(list(in_order(max, 1, range(4), workers=2)))")
    (tmp_path / "next.py").write_text(next_run)
    done = subprocess.run([sys.executable, "next.py"], cwd=tmp_path, capture_output=True, text=True, check=True,
                          env=os.environ | {"TMPDIR": str(tmp_path / "tmp")}, timeout=PATIENCE_S)
    assert done.stdout.strip() == "[1, 1, 2, 3]"
    assert list((tmp_path / "tmp").iterdir()) == []


@pytest.mark.slow
def test_a_killed_worker_is_one_line_and_the_work_goes_on(flying):
    os.kill(workers_of(flying)[0], signal.SIGKILL)
    assert flying.stderr.readline() == ("A process was ended by the system, perhaps for lack of memory; "
                                        "going on with 1.\n")
    until(lambda: len(workers_of(flying)) == 1, "nobody flies on")
    os.kill(workers_of(flying)[0], signal.SIGKILL)
    _, said = flying.communicate(timeout=PATIENCE_S)
    assert flying.returncode == 2
    assert said.startswith("the process that flies was ended by the system twice over")
    assert said.count("\n") == 1


def dying_once(shared: str, job: int) -> tuple[int, int]:
    """Kill the process at the fifth job, the first time somebody does it."""
    if job == 5 and not Path(shared).exists():
        Path(shared).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return job, job * job


def dying(shared: str, job: int) -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return job


def test_results_are_the_same_and_in_order_when_a_worker_dies(tmp_path, caplog):
    found = list(in_order(dying_once, str(tmp_path / "died"), range(12), workers=2))
    assert found == [(job, job * job) for job in range(12)]
    assert [r.getMessage() for r in caplog.records] == [
        "A process was ended by the system, perhaps for lack of memory; going on with 1."]


def test_processes_that_always_die_are_one_clear_line():
    with pytest.raises(WorkersLostError, match=r"^the process that flies was ended by the system .* --workers 1$"):
        list(in_order(dying, "", range(4), workers=2))


def test_a_folder_for_temporary_files_without_room_is_one_clear_line(monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(parallel, "_write", full)
    with pytest.raises(WorkersLostError, match=r"cannot be written \(no space left on device\); set TMPDIR to"):
        list(in_order(dying, "", range(4), workers=2))
    assert not list(Path(tempfile.gettempdir()).glob(f".missionsim.{os.getpid()}*"))


def test_signals_become_interruptions_and_go_back_to_what_they_were():
    def ends():
        with heeding_signals():
            os.kill(os.getpid(), signal.SIGTERM)
            time.sleep(PATIENCE_S)

    with pytest.raises(Ended) as ended:
        ends()
    assert exit_code(ended.value) == 128 + signal.SIGTERM
    assert exit_code(KeyboardInterrupt()) == 130
    assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL


def test_a_signal_that_was_to_be_ignored_stays_ignored():
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with heeding_signals():
            os.kill(os.getpid(), signal.SIGHUP)
    finally:
        signal.signal(signal.SIGHUP, before)
