"""Do alike jobs one after the other, in several processes or on a cluster; the results come in the order of the jobs.

What all jobs share is handed over once: to processes as a file each reads when its first job comes, to a cluster by
scattering it. Nothing a job does depends on where it is done.
"""

from __future__ import annotations

import gc
import logging
import mmap
import os
import pickle
import struct
import tempfile
import warnings
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import CancelledError, Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack, contextmanager, suppress
from functools import lru_cache, partial
from importlib import import_module
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar

from joblib import Parallel, delayed, parallel_config
from joblib.externals.loky import ProcessPoolExecutor
from joblib.externals.loky.backend.utils import kill_process_tree

from missionsim.base.errors import MissionsimError
from missionsim.base.leftovers import hidden_folder, sweep
from missionsim.base.memory import hand_back
from missionsim.base.processes import end_with_parent

_SHARED = "shared"
_ALIGNED = 64
"""Arrays begin at multiples of this, as numpy's own do. [bytes]"""
_HANDED_BACK = 2**28
"""Pages of a file of so many bytes go back to the system between steps: that of a long list. [bytes]"""
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


class Helpers:
    """Processes that have one thing in common and do jobs with it: alike ones in order, others beside what goes on.

    With one process or on a cluster what is done beside is done here, once its result is asked for. What is not done
    when they are left by a fault is lost.

    Parameters
    ----------
    shared : object      Handed over once; picklable.
    workers : int        Processes on this machine, started when the first job comes.
    cluster : str        Address of the scheduler of a dask cluster, where the package is installed too; wins.
    """

    def __init__(self, shared: Any, workers: int = 1, cluster: str | None = None) -> None:
        self._shared, self._workers, self._cluster = shared, workers, cluster
        self._file: str | None = None
        self._executor: ProcessPoolExecutor | None = None
        self._waiting: deque[Future[Any]] = deque()
        self._folder = ExitStack()

    def __enter__(self) -> Helpers:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None,
                 ) -> None:
        with self._folder:
            self._end(finished=kind is None)

    def in_order(self, task: Callable[[Any, J], R], jobs: Sequence[J], may_stop: bool = False,
                 ) -> Generator[R, None, None]:
        """Yield `task(shared, job)` of every job, in order, see `in_order`; closed early, what waits is not begun."""
        if self._cluster is not None:
            yield from _on_cluster(task, self._shared, jobs, self._cluster, may_stop)
        elif self._alone or len(jobs) <= 1:
            for job in jobs:
                yield task(self._shared, job)
        else:
            yield from self._in_processes(task, jobs)

    def beside(self, task: Callable[[Any, J], R], job: J) -> Callable[[], R]:
        """Have one job done beside whatever else goes on; call what is returned, once, for its result.

        A process that was lost meanwhile is nothing to worry about: the job is done here instead.
        """
        if self._cluster is not None or self._alone:
            return partial(task, self._shared, job)
        future = self._submit(task, job)
        self._waiting.append(future)

        def result() -> R:
            try:
                found: R = future.result()
            except (BrokenProcessPool, CancelledError):
                found = task(self._shared, job)
            return found
        return result

    @property
    def _alone(self) -> bool:
        return self._workers <= 1 and self._executor is None

    def keep_one(self) -> None:
        """Let all processes but one go: what is left to do beside this one needs no more, and whoever asks the room.

        Called between jobs that are done; of those that wait none is lost.
        """
        if self._executor is not None:
            # What the executor puts there itself when it is made smaller; each process that takes one ends.
            leaving, self._workers, self._executor._max_workers = self._workers - 1, 1, 1
            for _ in range(leaving):
                self._executor._call_queue.put(None)

    def _in_processes(self, task: Callable[[Any, J], R], jobs: Sequence[J]) -> Iterator[R]:
        """Yield results from processes; where one is lost, half as many do again what is not done yet."""
        # A worker that has grown is replaced between two jobs; that is housekeeping, no fault. Where warnings are
        # errors it would kill the thread that reads results, and everybody would wait for ever.
        warnings.filterwarnings("ignore", message="A worker stopped while some jobs", category=UserWarning)
        done = 0
        while done < len(jobs):
            try:
                for result in self._at_work(task, jobs[done:]):
                    done += 1
                    yield result
            except BrokenProcessPool:
                self._end(finished=False)
                if self._workers == 1:
                    msg = ("the process that flies was ended by the system twice over, perhaps for lack of memory; "
                           "nothing was written. Try fewer simulated years, or --workers 1")
                    raise WorkersLostError(msg) from None
                self._workers //= 2
                _log.warning("A process was ended by the system, perhaps for lack of memory; going on with %d.",
                             self._workers)

    def _at_work(self, task: Callable[[Any, J], R], jobs: Sequence[J]) -> Iterator[R]:
        """Yield results in order; twice as many jobs as processes wait at once, so that results do not pile up."""
        waiting: deque[Future[R]] = deque()
        try:
            for job in jobs:
                waiting.append(self._submit(task, job))
                if len(waiting) > 2 * self._workers:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()

    def _submit(self, task: Callable[[Any, J], R], job: J) -> Future[R]:
        with _told_plainly():
            if self._file is None:
                self._file = self._folder.enter_context(_handed_over(self._shared))
            if self._executor is None:
                self._executor = _begun.pop(self._workers, None) or _executor(self._workers)
            future: Future[R] = self._executor.submit(_from_file, task, self._file, job)
        return future

    def _end(self, finished: bool) -> None:
        executor, self._executor = self._executor, None
        if executor is not None:
            if not finished:
                _let_go(executor, self._waiting)
            executor.shutdown(wait=True)


def in_order(task: Callable[[S, J], R], shared: S, jobs: Sequence[J], workers: int | Helpers = 1,
             cluster: str | None = None, may_stop: bool = False) -> Generator[R, None, None]:
    """Yield `task(shared, job)` of every job, in order; closed early, processes stop and their work is lost.

    Parameters
    ----------
    task : callable      A function of a module.
    shared : object      Handed over once; picklable.
    jobs : sequence      Small.
    workers : int        Processes on this machine; or helpers that have what is shared already.
    cluster : str        Address of the scheduler of a dask cluster, where the package is installed too; wins.
    may_stop : bool      Whoever asks may close early: a cluster is given one job a thread at a time, not all at once.

    Raises
    ------
    NoClusterError       If the cluster does not answer or the extra `dask` is not installed.
    WorkersLostError     If processes cannot be started, or end before their work is done when only one is left; or if
                         a cluster loses workers again and again.
    """
    if isinstance(workers, Helpers):
        yield from workers.in_order(task, jobs, may_stop)
        return
    with Helpers(shared, min(workers, len(jobs)), cluster) as helpers:
        yield from helpers.in_order(task, jobs, may_stop)


@contextmanager
def _handed_over(shared: Any) -> Iterator[str]:
    """Yield the name of a file that holds what processes share; those of killed runs go."""
    place = Path(tempfile.gettempdir()) / "missionsim"
    sweep(place, {_SHARED})
    with hidden_folder(place) as folder:
        file = folder / _SHARED
        _write(shared, file)
        yield str(file)


@contextmanager
def _told_plainly() -> Iterator[None]:
    try:
        yield
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


def _read(file: str) -> Any:
    """Return what `_write` wrote; its arrays lie in the file's pages and cannot be written to."""
    with Path(file).open("rb") as stream:
        pages = mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ)
    if len(pages) >= _HANDED_BACK:
        hand_back(pages)
    whole = memoryview(pages)
    (count,) = struct.unpack_from("<Q", whole)
    at, parts = 8 * (1 + count), []
    for length in struct.unpack_from(f"<{count}Q", whole, 8):
        at += -at % _ALIGNED
        parts.append(whole[at:at + length])
        at += length
    return pickle.loads(parts[0], buffers=parts[1:])


@lru_cache(maxsize=1)
def _shared(file: str) -> Any:
    """Return what jobs of a process share.

    After each second a process looks for garbage in circles. What it has begun with stays to its end: looked through
    every time, it took 40 ms of a chunk's 800.
    """
    found = _read(file)
    gc.freeze()
    return found


def forget_shared() -> None:
    """Let go, in a process that does jobs, of what they share: 50 MB that the next job would read again if it came."""
    _shared.cache_clear()


def _from_file(task: Callable[[Any, Any], Any], file: str, job: Any) -> Any:
    return task(_shared(file), job)


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
