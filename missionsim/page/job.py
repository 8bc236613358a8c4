"""Flies the study in a process of its own, so that the page answers meanwhile; keeps what it prepared and flew."""

from __future__ import annotations

import multiprocessing
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from missionsim.page.beside import work_beside
from missionsim.page.flying import Order, work
from missionsim.page.screen import Screen, SharedScreen, TripView
from missionsim.report.html import Section
from missionsim.report.reach import Reach

PATIENCE_S = 2.0
"""How long a flight that is called off may take to notice, before its process is ended. [s]"""


@dataclass(frozen=True)
class State:
    """How far the flying is.

    Parameters
    ----------
    phase : str               In words; empty when nothing is flown.
    done, wanted : int        Simulated years.
    revision : int            Of the study that is flown or was.
    screen : Screen or None   The latest result, of `flown` the revision: of single years.
    shared : mapping          By kind the latest verdict of a partnership or of hire.
    owned : Screen or None    Of the same revision, each year of the ownerships flown: the second step.
    faults : tuple of str     Why it could not be flown.
    trip : TripView or None   The trip last asked for, of the latest result.
    reach : tuple of Reach    What each candidate carries how far, of the study last laid out.
    grid : Section or None    Where each way wins, of the latest result, once it was asked for.
    shown : int               Which of the results so far `screen` is, counted from 1.
    """

    phase: str = ""
    done: int = 0
    wanted: int = 0
    revision: int = -1
    screen: Screen | None = None
    owned: Screen | None = None
    shared: Mapping[str, SharedScreen] = field(default_factory=dict)
    flown: int = -1
    faults: tuple[str, ...] = ()
    trip: TripView | None = None
    grid: Section | None = None
    reach: tuple[Reach, ...] = ()
    shown: int = 0
    stamp: int = field(default=0, compare=False)

    @property
    def busy(self) -> bool:
        """Whether something is being flown."""
        return bool(self.phase)


class Job:
    """The flying process, started once and kept warm: imports and preparation are most of the wait for a first answer.

    Where there is a second processor another process flies beside it.

    State belongs to this process and not to a tab: a page that is loaded again finds the flight where it is.
    """

    def __init__(self) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._lock = threading.Lock()
        self._state = State()
        self._process: BaseProcess | None = None
        self._beside: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._quick: Connection | None = None
        self._asking = threading.Lock()
        self._called_off = self._context.Event()
        self._closing = False

    @property
    def state(self) -> State:
        """How far it is."""
        with self._lock:
            return self._state

    def start(self) -> None:
        """Start the processes, so that their packages are there when the first flight is asked for."""
        if self._process is not None and self._process.is_alive():
            return
        mine, its = self._context.Pipe()
        self._quick, quick = self._context.Pipe()
        self._called_off = self._context.Event()
        beside, there = self._context.Pipe()
        several = multiprocessing.cpu_count() > 1
        self._process = self._context.Process(target=work, daemon=True, name="missionsim flying", args=(
            its, quick, self._called_off, beside if several else None))
        self._process.start()
        if several:
            self._beside = self._context.Process(target=work_beside, args=(there,), daemon=True,
                                                 name="missionsim flying beside")
            self._beside.start()
        for end in (its, quick, beside, there):
            end.close()
        self._pipe = mine
        threading.Thread(target=self._listen, args=(mine,), daemon=True).start()

    def fly(self, study_file: Path, years: int, revision: int) -> None:
        """Fly a study; one that is being flown is called off first."""
        if self.state.busy:
            self.cancel()
        self.start()
        self._called_off.clear()
        self._change(phase="Starting", done=0, wanted=years, revision=revision, faults=())
        self._send(Order("fly", str(study_file), years, revision))

    def share(self, kind: str, study_file: Path, years: int, revision: int) -> None:
        """Fly a partnership or hire; what is being flown is called off first.

        Parameters
        ----------
        kind : str             `partners` or `rates`.
        study_file : Path      With its tables.
        years, revision : int   Years to fly; what the page has counted of changes.
        """
        if self.state.busy:
            self.cancel()
        self.start()
        self._called_off.clear()
        self._change(phase="Starting", done=0, wanted=years, faults=())
        self._send(Order("share", str(study_file), years, revision, kind=kind))

    def prepare(self, study_file: Path, revision: int) -> None:
        """Lay a study out while nobody waits, if nothing is being flown."""
        if not self.state.busy:
            self.start()
            self._called_off.clear()
            self._send(Order("prepare", str(study_file), 0, revision))

    def grid(self, study: str) -> None:
        """Fly the grid of distance by party for the latest result."""
        if not self.state.busy:
            self.start()
            self._called_off.clear()
            self._change(phase="Starting", done=0, faults=())
            self._send(Order("grid", study))

    def ask(self, order: Order) -> None:
        """Ask for something that the last flown years can answer, such as a report written to the study's folder."""
        self.start()
        self._send(order)

    def at_once(self, given: Mapping[str, Any]) -> Mapping[str, Any]:
        """Ask what flown years tell at once, such as their cost under other prices; while others are flown too."""
        with self._asking:
            try:
                if self._quick is not None:
                    self._quick.send(given)
                    if self._quick.poll(PATIENCE_S):
                        answer: Mapping[str, Any] = self._quick.recv()
                        return answer
                    self._quick.close()      # an answer that comes too late would be taken for the next one
            except (EOFError, OSError):
                pass
            self._quick = None
        return {"faults": ["the flying process does not answer; fly again"]}

    def cancel(self) -> None:
        """Call a flight off: it ends by itself soon, or its process is ended."""
        self._called_off.set()
        process = self._process
        if process is not None and self.state.busy:
            waited = threading.Event()
            for _ in range(int(PATIENCE_S / 0.05)):
                if not self.state.busy or not process.is_alive():
                    break
                waited.wait(0.05)
            if self.state.busy:
                self._end(process)
                self.start()
        self._change(phase="")

    def close(self) -> None:
        """End the process."""
        self._closing = True
        if self._process is not None:
            self._end(self._process)

    def _end(self, flying: BaseProcess) -> None:
        for process in (flying, self._beside):
            if process is not None:
                process.terminate()
                process.join(1.0)
                if process.is_alive():
                    process.kill()
                    process.join(1.0)

    def _send(self, order: Order) -> None:
        try:
            if self._pipe is not None:
                self._pipe.send(order)
        except OSError:
            self._change(phase="", faults=("the flying process has ended; fly again",))

    def _listen(self, pipe: Connection) -> None:
        while True:
            try:
                news: dict[str, Any] = pipe.recv()
            except (EOFError, OSError):
                break
            self._change(**news)
        if pipe is self._pipe and self.state.busy and not self._closing:
            self._change(phase="", faults=("the flying process ended by itself; fly again",))

    def _change(self, **news: Any) -> None:
        with self._lock:
            if "screen" in news:
                news = {"trip": None, "grid": None, **news}
            if "shared" in news:
                news["shared"] = {**self._state.shared, **news["shared"]}
            further = not {"screen", "owned", "shared", "grid"}.isdisjoint(news)
            self._state = replace(self._state, **news, stamp=self._state.stamp + 1,
                                  shown=self._state.shown + further)
