"""The same bytes in one process, in two and on a cluster."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from threading import Timer

import numpy as np
import pytest

from missionsim.base import memory, parallel
from missionsim.base.parallel import Helpers, NoClusterError, WorkersLostError, _begun, _read, _write, begin, in_order
from missionsim.study.compare.compare import flown_tallies
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare

REPLICATIONS = 22   # three chunks, the last one short


LEFT_EARLY = """
import sys
from contextlib import closing
sys.path.insert(0, {folder!r})
from test_parallel import wide
from missionsim.base.parallel import in_order
if __name__ == "__main__":
    for _ in range(3):
        with closing(in_order(wide, 30_000_000, range(8), workers=2)) as found:
            print(len(next(found)), flush=True)
"""


def square(shared, job):
    return shared * job * job


def wide(shared, job):
    return bytes(shared)


@pytest.fixture(scope="module")
def prepared():
    study = load_study()
    few = replace(study.listed, trips=study.listed.trips[:5])
    return prepare(replace(study, listed=few, candidates=study.candidates[:2]))


@pytest.fixture(scope="module")
def alone(prepared):
    return as_bytes(flown_tallies(prepared, REPLICATIONS, workers=1))


@pytest.fixture(scope="module")
def alone_for_long(prepared):
    return as_bytes(flown_tallies(prepared, 10 * REPLICATIONS))


def as_bytes(tallies):
    names = ("table", "categories", "structural", "on_the_day", "delayed", "monthly", "by_trip", "trip_reason",
             "trip_sum")
    return [tuple(np.ascontiguousarray(getattr(t, name)).tobytes() for name in names) for t in tallies]


def test_results_come_in_the_order_of_the_jobs():
    assert list(in_order(square, 2, range(6), workers=2)) == [0, 2, 8, 18, 32, 50]
    assert list(in_order(square, 2, range(3))) == [0, 2, 8]
    assert list(in_order(square, 2, [])) == []


def whose(_, job):
    return os.getpid()


def test_processes_begun_ahead_do_the_work_and_are_used_once():
    begin(2, "json")
    ready = {process.pid for process in _begun[2]._processes.values()}
    assert len(ready) == 2
    assert set(in_order(whose, None, range(6), workers=2)) <= ready
    assert not _begun
    assert not set(in_order(whose, None, range(6), workers=2)) & ready


def test_processes_begun_ahead_that_are_gone_are_replaced():
    begin(2, "json")
    for process in list(_begun[2]._processes.values()):
        os.kill(process.pid, signal.SIGKILL)
    assert list(in_order(square, 2, range(4), workers=2)) == [0, 2, 8, 18]


def test_helpers_do_jobs_in_order_and_beside_and_stay_for_both():
    with Helpers(2, workers=2) as helpers:
        first = helpers.beside(whose, 0)
        assert list(helpers.in_order(square, range(6))) == [0, 2, 8, 18, 32, 50]
        there = {process.pid for process in helpers._executor._processes.values()}
        assert first() in there
        assert set(helpers.in_order(whose, range(6))) <= there
        assert helpers.beside(square, 7)() == 98
    assert len(there - {os.getpid()}) == 2


def test_one_process_is_kept_for_what_is_left_to_do():
    with Helpers(2, workers=2) as helpers:
        assert list(helpers.in_order(square, range(6))) == [0, 2, 8, 18, 32, 50]
        before = set(helpers._executor._processes)
        helpers.keep_one()
        kept = {helpers.beside(whose, 0)() for _ in range(20)}
        for _ in range(500):
            if len(helpers._executor._processes) == 1:
                break
            time.sleep(0.02)
        (left,) = helpers._executor._processes
        assert {left} | kept <= before
        assert helpers.beside(whose, 0)() == left
        assert list(helpers.in_order(square, range(4))) == [0, 2, 8, 18]


def test_without_processes_what_is_done_beside_is_done_here_when_it_is_asked_for():
    with Helpers([1], workers=1) as alone:
        later = alone.beside(joined, [2])
        alone._shared.append(9)
        assert later() == [1, 9, 2]
        alone.keep_one()


def joined(shared, job):
    return shared + job


def dying_elsewhere(shared, job):
    """End any process but the one named."""
    if os.getpid() != shared:
        os.kill(os.getpid(), signal.SIGKILL)
    return job


def test_what_was_lost_beside_is_done_here():
    with Helpers(os.getpid(), workers=2) as helpers:
        assert helpers.beside(dying_elsewhere, 3)() == 3


def failing(_, job):
    raise ValueError(job)


def test_a_fault_beside_is_told_where_its_result_is_asked_for_and_processes_end():
    with Helpers(None, workers=2) as helpers:
        later = helpers.beside(failing, 7)
        pids = list(helpers._executor._processes)
        with pytest.raises(ValueError, match="7"):
            later()
    for pid in pids:
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


BEGUN_IN_VAIN = """
from missionsim.base.parallel import _begun, begin
if __name__ == "__main__":
    begin(2, "missionsim.study.compare.compare")
    print(*(process.pid for process in _begun[2]._processes.values()), flush=True)
    raise SystemExit(2)
"""


def test_processes_begun_in_vain_end_with_whoever_began_them(tmp_path):
    script = tmp_path / "in_vain.py"
    script.write_text(BEGUN_IN_VAIN)
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, timeout=600, check=False)
    assert (done.returncode, done.stderr) == (2, "")
    for pid in done.stdout.split():
        with pytest.raises(ProcessLookupError):
            os.kill(int(pid), 0)


def test_leaving_early_does_not_wait_for_a_result_that_was_cut_off_in_the_middle(tmp_path):
    """Results too wide for a pipe: a process that is ended is nearly always in the middle of one."""
    script = tmp_path / "left_early.py"
    script.write_text(LEFT_EARLY.format(folder=str(Path(__file__).parent)), encoding="utf-8")
    done = subprocess.run([sys.executable, "-W", "ignore", str(script)], capture_output=True, text=True, timeout=300,
                          check=False, env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))})
    assert done.stdout.split() == ["30000000"] * 3, done.stderr


def test_two_processes_write_the_same_bytes_as_one(prepared, alone):
    assert as_bytes(flown_tallies(prepared, REPLICATIONS, workers=2)) == alone


def test_two_runs_write_the_same_bytes(prepared, alone):
    assert as_bytes(flown_tallies(prepared, REPLICATIONS)) == alone


@pytest.mark.slow
def test_a_cluster_writes_the_same_bytes(prepared, alone):
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        assert as_bytes(flown_tallies(prepared, REPLICATIONS, cluster=cluster.scheduler_address)) == alone


@pytest.mark.slow
@pytest.mark.parametrize("after_s", [0.8, 1.2, 3.0])
def test_a_cluster_that_loses_one_of_two_workers_writes_the_same_bytes(prepared, alone_for_long, after_s):
    """Lost while the study is handed over, or while it flies: the same bytes."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        first = next(iter(cluster.workers.values()))
        killed = Timer(after_s, lambda: os.kill(first.process.pid, signal.SIGKILL))
        killed.start()
        flown = flown_tallies(prepared, 10 * REPLICATIONS, cluster=cluster.scheduler_address)
        killed.join()
    assert as_bytes(flown) == alone_for_long


class _Lossy:
    """A cluster of one process that loses a worker so many times after one result."""

    def __init__(self, times):
        self.left, self.asked = times, []

    def __call__(self, task, shared, jobs, address, may_stop):
        from distributed.comm import CommClosedError
        self.asked.append(list(jobs))
        yield task(shared, jobs[0])
        if self.left:
            self.left -= 1
            raise CommClosedError
        yield from (task(shared, job) for job in jobs[1:])


def test_what_a_lost_worker_had_not_done_is_done_again(monkeypatch):
    pytest.importorskip("distributed")
    lossy = _Lossy(2)
    monkeypatch.setattr(parallel, "_from_client", lossy)
    assert list(in_order(square, 2, range(5), cluster="tcp://127.0.0.1:1")) == [0, 2, 8, 18, 32]
    assert lossy.asked == [[0, 1, 2, 3, 4], [1, 2, 3, 4], [2, 3, 4]]


def test_a_cluster_that_loses_workers_again_and_again_is_given_up(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr(parallel, "_from_client", _Lossy(3))
    with pytest.raises(WorkersLostError, match="lost again and again"):
        list(in_order(square, 2, range(5), cluster="tcp://127.0.0.1:1"))


def test_a_cluster_that_does_not_answer_is_one_clear_line(monkeypatch):
    distributed = pytest.importorskip("distributed")

    def refuse(*_, **__):
        raise OSError

    monkeypatch.setattr(distributed, "Client", refuse)
    with pytest.raises(NoClusterError, match=r"no dask scheduler answers at 'tcp://127.0.0.1:1'"):
        list(in_order(square, 2, range(2), cluster="tcp://127.0.0.1:1"))


def test_what_is_handed_over_arrives_whole_and_cannot_be_written_to(tmp_path):
    given = {"numbers": np.arange(7.0), "few": np.array([[True, False]]), "none": np.zeros((0, 3)),
             "every other": np.arange(10)[::2], "words": ("a", 1)}
    _write(given, tmp_path / "shared")
    found = _read(str(tmp_path / "shared"))
    assert list(found) == list(given)
    assert found["words"] == given["words"]
    for name in ("numbers", "few", "none", "every other"):
        np.testing.assert_array_equal(found[name], given[name], strict=True)
    assert found["numbers"].ctypes.data % 64 == 0
    with pytest.raises(ValueError, match="read-only"):
        found["numbers"][0] = 1.0


def test_pages_of_a_long_list_go_back_between_steps_and_those_of_a_short_one_stay(tmp_path, monkeypatch):
    for name, handed_back in (("long", 1), ("short", 2**40)):
        monkeypatch.setattr(parallel, "_HANDED_BACK", handed_back)
        monkeypatch.setattr(memory, "_files", set())
        _write((len, np.arange(9)), tmp_path / name)
        _, values = _read(str(tmp_path / name))
        assert len(memory._files) == (name == "long")
        memory.let_go()
        assert values.tolist() == list(range(9))
