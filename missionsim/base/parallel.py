"""Do alike jobs one after the other, in several processes or on a cluster; the results come in the order of the jobs.

What all jobs share is handed over once: to processes as a file each reads when its first job comes, to a cluster by
scattering it. Nothing a job does depends on where it is done.
"""

from __future__ import annotations

import pickle
import warnings
from collections.abc import Callable, Generator, Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, TypeVar

from joblib import Parallel, delayed, parallel_config
from joblib.externals.loky import get_reusable_executor

from missionsim.base.errors import MissionsimError

S = TypeVar("S")
J = TypeVar("J")
R = TypeVar("R")


class NoClusterError(MissionsimError):
    """A cluster that cannot be reached, or whose packages are not installed."""


def in_order(task: Callable[[S, J], R], shared: S, jobs: Sequence[J], workers: int = 1, cluster: str | None = None,
             may_stop: bool = False) -> Generator[R, None, None]:
    """Yield `task(shared, job)` of every job, in order; closed early, processes stop and their work is lost.

    Parameters
    ----------
    task : callable      A function of a module.
    shared : object      Handed over once; picklable.
    jobs : sequence      Small.
    workers : int        Processes on this machine.
    cluster : str        Address of the scheduler of a dask cluster, where the package is installed too; wins.
    may_stop : bool      Whoever asks may close early: a cluster is given one job a thread at a time, not all at once.

    Raises
    ------
    NoClusterError       If the cluster does not answer or the extra `dask` is not installed.
    """
    if cluster is not None:
        yield from _on_cluster(task, shared, jobs, cluster, may_stop)
    elif workers <= 1 or len(jobs) <= 1:
        for job in jobs:
            yield task(shared, job)
    else:
        yield from _in_processes(task, shared, jobs, min(workers, len(jobs)))


def _in_processes(task: Callable[[S, J], R], shared: S, jobs: Sequence[J], workers: int) -> Iterator[R]:
    # A worker that has grown is replaced between two jobs; that is housekeeping, no fault. Where warnings are errors it
    # would kill the thread that reads results, and everybody would wait for ever.
    warnings.filterwarnings("ignore", message="A worker stopped while some jobs", category=UserWarning)
    with TemporaryDirectory(prefix="missionsim-") as folder:
        file = Path(folder) / "shared"
        with file.open("wb") as stream:
            pickle.dump((task, shared), stream, protocol=pickle.HIGHEST_PROTOCOL)
        results = Parallel(n_jobs=workers, return_as="generator", inner_max_num_threads=1)(
            delayed(_from_file)(str(file), job) for job in jobs)
        try:
            for result in results:  # noqa: UP028  (closed early, that would close `results` with a warning)
                yield result
        finally:    # the report needs the room
            with warnings.catch_warnings(action="ignore"):
                results.close()
            get_reusable_executor().shutdown(wait=True)


@lru_cache(maxsize=1)
def _read(file: str) -> tuple[Callable[[Any, Any], Any], Any]:
    with Path(file).open("rb") as stream:
        loaded: tuple[Callable[[Any, Any], Any], Any] = pickle.load(stream)
    return loaded


def _from_file(file: str, job: Any) -> Any:
    task, shared = _read(file)
    return task(shared, job)


def _on_cluster(task: Callable[[S, J], R], shared: S, jobs: Sequence[J], address: str,
                may_stop: bool) -> Iterator[R]:
    try:
        from distributed import Client  # noqa: PLC0415  (an extra that most never need)
    except ImportError:
        msg = "a cluster needs the extra `dask`: pip install 'missionsim[dask]'"
        raise NoClusterError(msg) from None
    try:
        client = Client(address, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        msg = f"no dask scheduler answers at {address!r}; accepted: an address such as tcp://127.0.0.1:8786"
        raise NoClusterError(msg) from error
    with client, parallel_config(backend="dask", client=client, scatter=[shared], wait_for_workers_timeout=30):
        at_once = max(1, sum(client.nthreads().values())) if may_stop else max(1, len(jobs))
        for first in range(0, len(jobs), at_once):
            yield from Parallel(return_as="list")(delayed(task)(shared, job) for job in jobs[first:first + at_once])
