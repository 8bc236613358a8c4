"""The same bytes in one process, in two and on a cluster."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.base.parallel import NoClusterError, in_order
from missionsim.study.compare.compare import flown_tallies
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare

REPLICATIONS = 22   # three chunks, the last one short


def square(shared, job):
    return shared * job * job


@pytest.fixture(scope="module")
def prepared():
    study = load_study()
    few = replace(study.listed, trips=study.listed.trips[:5])
    return prepare(replace(study, listed=few, candidates=study.candidates[:2]))


@pytest.fixture(scope="module")
def alone(prepared):
    return as_bytes(flown_tallies(prepared, REPLICATIONS, workers=1))


def as_bytes(tallies):
    names = ("table", "categories", "structural", "on_the_day", "delayed", "monthly", "by_trip", "trip_reason",
             "trip_sum")
    return [tuple(np.ascontiguousarray(getattr(t, name)).tobytes() for name in names) for t in tallies]


def test_results_come_in_the_order_of_the_jobs():
    assert list(in_order(square, 2, range(6), workers=2)) == [0, 2, 8, 18, 32, 50]
    assert list(in_order(square, 2, range(3))) == [0, 2, 8]
    assert list(in_order(square, 2, [])) == []


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
def test_a_cluster_that_does_not_answer_is_one_clear_line(monkeypatch):
    distributed = pytest.importorskip("distributed")

    def refuse(*_, **__):
        raise OSError

    monkeypatch.setattr(distributed, "Client", refuse)
    with pytest.raises(NoClusterError, match=r"no dask scheduler answers at 'tcp://127.0.0.1:1'"):
        list(in_order(square, 2, range(2), cluster="tcp://127.0.0.1:1"))
