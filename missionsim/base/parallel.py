"""Do alike jobs one after the other, in several processes or on a cluster; the results come in the order of the jobs.

What all jobs share is handed over once: to processes as a file each reads when its first job comes, to a cluster by
scattering it. Nothing a job does depends on where it is done.
"""

from __future__ import annotations

import logging
import mmap
import os
import pickle
import struct
import tempfile
import warnings
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar

from joblib import Parallel, delayed, parallel_config
from joblib.externals.loky import ProcessPoolExecutor
from joblib.externals.loky.backend.utils import kill_process_tree

from missionsim.base.errors import MissionsimError
from missionsim.base.leftovers import hidden_folder, sweep
from missionsim.base.processes import end_with_parent

_SHARED = "shared"
_ALIGNED = 64
"""Arrays begin at multiples of this, as numpy's own do. [bytes]"""
_ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS",
                             "NUMEXPR_NUM_THREADS"), "1")
_TRIES = 3
"""So often a cluster is asked before it is given up."""
_begun: dict[int, ProcessPoolExecutor] = {}
"""Processes started ahead, by how many; whoever asks for as many takes them."""
_log = logging.getLogger(__name__)

S = TypeVar("S")
J = TypeVar("J")
R = TypeVar("R")
Progress = Callable[[int, int], None]
"""Told how much is done, and how much is wanted."""


class NoClusterError(MissionsimError):
    """A cluster that cannot be reached, or whose packages are not installed."""


class WorkersLostError(MissionsimError):
    """Processes that the system ends, however few they are, or that cannot be started."""


class _HandingOverError(Exception):
    """What jobs share did not reach all workers of a cluster."""


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
    WorkersLostError     If processes cannot be started, or end before their work is done when only one is left; or if
                         a cluster loses workers again and again.
    """
    if cluster is not None:
        yield from _on_cluster(task, shared, jobs, cluster, may_stop)
    elif workers <= 1 or len(jobs) <= 1:
        for job in jobs:
            yield task(shared, job)
    else:
        yield from _in_processes(task, shared, jobs, min(workers, len(jobs)))


def _in_processes(task: Callable[[S, J], R], shared: S, jobs: Sequence[J], workers: int) -> Iterator[R]:
    """Yield results from processes; where one is lost, half as many do again what is not done yet."""
    # A worker that has grown is replaced between two jobs; that is housekeeping, no fault. Where warnings are errors it
    # would kill the thread that reads results, and everybody would wait for ever.
    warnings.filterwarnings("ignore", message="A worker stopped while some jobs", category=UserWarning)
    done = 0
    with _handed_over((task, shared)) as file:
        while done < len(jobs):
            try:
                for result in _from_executor(file, jobs[done:], workers):
                    done += 1
                    yield result
            except BrokenProcessPool:
                if workers == 1:
                    msg = ("the process that flies was ended by the system twice over, perhaps for lack of memory; "
                           "nothing was written. Try fewer simulated years, or --workers 1")
                    raise WorkersLostError(msg) from None
                workers //= 2
                _log.warning("A process was ended by the system, perhaps for lack of memory; going on with %d.",
                             workers)


@contextmanager
def _handed_over(whole: Any) -> Iterator[str]:
    """Yield the name of a file that holds what processes share; those of killed runs go."""
    try:
        place = Path(tempfile.gettempdir()) / "missionsim"
        sweep(place, {_SHARED})
        with hidden_folder(place) as folder:
            file = folder / _SHARED
            _write(whole, file)
            yield str(file)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        msg = (f"files for several processes cannot be written ({why}); set TMPDIR to a folder with room, or use "
               "--workers 1")
        raise WorkersLostError(msg) from None


def begin(workers: int, module: str) -> None:
    """Start the processes that are going to be asked, and let them import a module while nobody waits for them."""
    if workers > 1 and not _begun:
        with suppress(OSError):     # told when they are asked for
            executor = _executor(workers)
            for _ in range(workers):
                executor.submit(import_module, module)
            _begun[workers] = executor


def _executor(workers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(workers, initializer=end_with_parent, initargs=(os.getpid(),), env=_ONE_THREAD)


def _from_executor(file: str, jobs: Sequence[Any], workers: int) -> Iterator[Any]:
    """Yield results in order; twice as many jobs as processes wait at once, so that results do not pile up."""
    executor = _begun.pop(workers, None) or _executor(workers)
    waiting: deque[Future[Any]] = deque()
    finished = False
    try:
        for job in jobs:
            waiting.append(executor.submit(_from_file, file, job))
            if len(waiting) > 2 * workers:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
        finished = True
    finally:    # the report needs the room
        if not finished:
            _let_go(executor, waiting)
        executor.shutdown(wait=True)


def _let_go(executor: ProcessPoolExecutor, waiting: Iterable[Future[Any]]) -> None:
    """End the processes of work that nobody wants any more.

    The executor's own way, `kill_workers`, forgets its work and then looks it up again when more of it waits; a pool
    whose processes are gone is one it knows how to close. A process may end in the middle of a result: whoever reads it
    would wait for the rest as long as anybody, this process too, still holds the end that writes.
    """
    for future in waiting:
        future.cancel()
    with suppress(OSError):     # of a pool that broke it may be closed already
        executor._result_queue._writer.close()
    for process in list((executor._processes or {}).values()):
        kill_process_tree(process)


def _write(whole: Any, file: Path) -> None:
    """Write an object with its arrays apart, so that processes can share the pages of the file that hold them."""
    arrays: list[pickle.PickleBuffer] = []
    frame = pickle.dumps(whole, protocol=5, buffer_callback=arrays.append)
    parts = [memoryview(frame), *(array.raw() for array in arrays)]
    with file.open("wb") as stream:
        stream.write(struct.pack(f"<{1 + len(parts)}Q", len(parts), *(part.nbytes for part in parts)))
        for part in parts:
            stream.write(bytes(-stream.tell() % _ALIGNED))
            stream.write(part)


@lru_cache(maxsize=1)
def _read(file: str) -> tuple[Callable[[Any, Any], Any], Any]:
    """Return what `_write` wrote; its arrays lie in the file's pages and cannot be written to."""
    with Path(file).open("rb") as stream:
        whole = memoryview(mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ))
    (count,) = struct.unpack_from("<Q", whole)
    at, parts = 8 * (1 + count), []
    for length in struct.unpack_from(f"<{count}Q", whole, 8):
        at += -at % _ALIGNED
        parts.append(whole[at:at + length])
        at += length
    loaded: tuple[Callable[[Any, Any], Any], Any] = pickle.loads(parts[0], buffers=parts[1:])
    return loaded


def _from_file(file: str, job: Any) -> Any:
    task, shared = _read(file)
    return task(shared, job)


def _on_cluster(task: Callable[[S, J], R], shared: S, jobs: Sequence[J], address: str,
                may_stop: bool) -> Iterator[R]:
    """Yield results from a cluster; where a worker is lost, what is not done is done again.

    A cluster itself does a lost worker's jobs again; it does not hand over again what all jobs share.
    """
    try:
        from distributed.client import FutureCancelledError  # noqa: PLC0415  (an extra that most never need)
        from distributed.comm import CommClosedError  # noqa: PLC0415
        from distributed.scheduler import KilledWorker  # noqa: PLC0415
    except ImportError:
        raise NoClusterError("a cluster needs the extra `dask`: pip install 'missionsim[dask]'") from None
    done = 0
    for left in reversed(range(_TRIES)):
        try:
            for result in _from_client(task, shared, jobs[done:], address, may_stop):
                done += 1
                yield result
            return
        except (_HandingOverError, CommClosedError, FutureCancelledError, KilledWorker):
            if not left:
                msg = ("workers of the cluster are lost again and again, perhaps for lack of memory; nothing was "
                       "written. Try --workers instead of --dask")
                raise WorkersLostError(msg) from None
            _log.warning("A worker of the cluster was lost; doing again what it had not done.")


def _from_client(task: Callable[[S, J], R], shared: S, jobs: Sequence[J], address: str, may_stop: bool) -> Iterator[R]:
    from distributed import Client  # noqa: PLC0415  (an extra that most never need)
    try:
        client = Client(address, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        msg = f"no dask scheduler answers at {address!r}; accepted: an address such as tcp://127.0.0.1:8786"
        raise NoClusterError(msg) from error
    with client, _handed_to_cluster(client, shared):
        at_once = max(1, sum(client.nthreads().values())) if may_stop else max(1, len(jobs))
        for first in range(0, len(jobs), at_once):
            yield from Parallel(return_as="list")(delayed(task)(shared, job) for job in jobs[first:first + at_once])


def _handed_to_cluster(client: Any, shared: Any) -> parallel_config:
    """Hand over what jobs share; of a worker lost meanwhile a scheduler complains in many ways, all of them its own."""
    try:
        return parallel_config(backend="dask", client=client, scatter=[shared], wait_for_workers_timeout=30)
    except Exception as error:
        raise _HandingOverError from error
