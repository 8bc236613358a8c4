"""What the flying process does: prepare, fly in chunks, tell how far it is, keep what may be wanted again."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any

from missionsim.base.errors import InputError, MissionsimError
from missionsim.base.processes import end_with_parent

FIRST_YEARS = 20
"""Simulated years after which there is a first answer; it is refined from there."""
RESULTS = "results"


@dataclass(frozen=True)
class Order:
    """What is wanted of the flying process: `prepare`, `fly`, `report`, or `trip` with its number."""

    what: str
    study: str
    years: int = 0
    revision: int = 0
    trip: int = -1


class CalledOffError(MissionsimError):
    """Whoever asked does not want it any more."""


def work(pipe: Connection, called_off: Event) -> None:
    """Carry out orders until the other end closes."""
    if (page := multiprocessing.parent_process()) is not None and page.pid is not None:
        end_with_parent(page.pid)
    kept = Flights(pipe.send, called_off.is_set)
    while True:
        try:
            order = pipe.recv()
            while order.what == "prepare" and pipe.poll():      # only the latest is of use
                order = pipe.recv()
        except (EOFError, OSError):
            return
        _carry_out(kept, order, pipe)


def _carry_out(kept: Flights, order: Order, pipe: Connection) -> None:
    try:
        kept.carry_out(order)
    except CalledOffError:
        pipe.send({"phase": ""})
    except InputError as error:
        pipe.send({"phase": "", "faults": tuple(str(f) for f in error.faults)})
    except MissionsimError as error:
        pipe.send({"phase": "", "faults": (str(error),)})


class Flights:
    """The last study prepared, and its years flown so far."""

    def __init__(self, send: Callable[[dict[str, Any]], None], called_off: Callable[[], bool]) -> None:
        self._tell, self._called_off = send, called_off
        self._key: Any = None
        self._prepared: Any = None
        self._parts: list[Sequence[Any]] = []
        self._found: Any = None

    def carry_out(self, order: Order) -> None:
        """Do what is wanted and tell about it."""
        if order.what == "report":
            self._report(Path(order.study))
            return
        if order.what == "trip":
            self._trip(order.trip)
            return
        silent = order.what == "prepare"
        self._prepare(order, silent)
        if not silent:
            self._fly(order)

    def _prepare(self, order: Order, silent: bool) -> None:
        from missionsim.study.inputs.load_study import load_study
        from missionsim.study.prepare.study import prepare
        study = load_study(order.study)
        key = tuple(sorted(study.hashes.items()))
        if key == self._key:
            return
        if not silent:
            self._tell({"phase": "Laying out routes and weather"})
        self._key, self._found, self._parts = None, None, []
        self._prepared = prepare(study)
        self._key = key

    def _fly(self, order: Order) -> None:
        from missionsim.study.compare.compare import CHUNK, chunk_tallies
        wanted = max(order.years, FIRST_YEARS)
        self._tell({"phase": "Flying", "done": len(self._parts) * CHUNK, "wanted": wanted})
        shown = 0
        while len(self._parts) * CHUNK < wanted:
            if self._called_off():
                raise CalledOffError
            first = len(self._parts) * CHUNK
            self._parts.append(chunk_tallies(self._prepared, range(first, first + CHUNK), first + CHUNK))
            done = len(self._parts) * CHUNK
            self._tell({"done": done})
            if done >= FIRST_YEARS and shown == 0:
                self._show(order)
                shown = done
        if shown != len(self._parts) * CHUNK:
            self._show(order)
        self._tell({"phase": ""})

    def _show(self, order: Order) -> None:
        from missionsim.page.screen import screen_of
        from missionsim.study.compare.compare import comparison_of
        self._found = comparison_of(self._prepared, self._parts)
        self._tell({"screen": screen_of(self._found), "flown": order.revision})

    def _trip(self, number: int) -> None:
        from missionsim.page.screen import trip_view
        if self._found is None:
            raise MissionsimError("nothing has been flown yet")
        self._tell({"trip": trip_view(self._found, number)})

    def _report(self, folder: Path) -> None:
        if self._found is None:
            raise MissionsimError("nothing has been flown yet")
        from missionsim.report.publish import publish
        self._tell({"phase": "Writing the report"})
        publish(self._found, folder / RESULTS)
        self._tell({"phase": ""})
