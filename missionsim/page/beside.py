"""A second flying process beside the first: it does one job while that one does another, so that both cores fly."""

from __future__ import annotations

import multiprocessing
import pickle
from collections.abc import Callable, Sequence
from contextlib import suppress
from multiprocessing.connection import Connection
from typing import Any, TypeVar

from missionsim.base.errors import MissionsimError
from missionsim.base.processes import end_with_parent

S = TypeVar("S")
J = TypeVar("J")
R = TypeVar("R")


class Beside:
    """Two jobs at a time: the second of each pair is done by the process at the other end of a pipe.

    Where there is none, or it is lost, all are done here: what comes of a job does not depend on where it is done.

    Parameters
    ----------
    pipe : Connection or None
    """

    def __init__(self, pipe: Connection | None = None) -> None:
        self._pipe = pipe
        self._there: Any = None

    @property
    def at_once(self) -> int:
        """How many jobs are done at a time."""
        return 1 if self._pipe is None else 2

    def each(self, task: Callable[[S, J], R], shared: S, jobs: Sequence[J]) -> list[R]:
        """Return `task(shared, job)` of every job, in order.

        Parameters
        ----------
        task : callable    A function of a module.
        shared : object    Picklable; handed over when it is another than the last time.
        jobs : sequence    One, or two to be done at the same time.
        """
        if len(jobs) == 2 and self._pipe is not None:
            with suppress(EOFError, OSError):      # it was ended: all is done here, from now on
                return self._both(self._pipe, task, shared, jobs)
            self._pipe = self._there = None
        return [task(shared, job) for job in jobs]

    def _both(self, pipe: Connection, task: Callable[[S, J], R], shared: S, jobs: Sequence[J]) -> list[R]:
        if shared is not self._there:
            pipe.send_bytes(pickle.dumps(shared, protocol=5))
            self._there = shared
        else:
            pipe.send_bytes(b"")
        pipe.send((task, jobs[1]))
        try:
            first = task(shared, jobs[0])
        finally:        # an answer that nobody takes would be taken for the next one
            found, error = pipe.recv()
        if error is not None:
            raise error
        return [first, found]


def work_beside(pipe: Connection) -> None:
    """Do jobs until the other end closes, or the page is gone."""
    if (page := multiprocessing.parent_process()) is not None and page.pid is not None:
        end_with_parent(page.pid)
    import missionsim.study.compare.kept_flights  # noqa: F401, PLC0415  (what jobs need, while nobody waits)
    shared: Any = None
    with suppress(EOFError, OSError):
        while True:
            if handed := pipe.recv_bytes():
                shared = pickle.loads(handed)
            task, job = pipe.recv()
            pipe.send(_done(task, shared, job))


def _done(task: Callable[[Any, Any], Any], shared: Any, job: Any) -> tuple[Any, MissionsimError | None]:
    try:
        return task(shared, job), None
    except MissionsimError as error:
        return None, error
