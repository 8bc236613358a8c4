"""What the flying process does: prepare, fly in chunks, tell how far it is, keep what may be wanted again."""

from __future__ import annotations

import multiprocessing
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any

from missionsim.base.errors import InputError, MissionsimError, told
from missionsim.base.owned_files import Writer
from missionsim.base.processes import end_with_parent
from missionsim.page.beside import Beside

FIRST_YEARS = 20
"""Simulated years after which there is a first answer; it is refined from there."""
MOST_LAID_OUT = 2
"""Studies kept laid out, the last ones: whoever takes a change back need not wait."""
RESULTS = "results"


@dataclass(frozen=True)
class Order:
    """What is wanted of the flying process.

    `prepare`, `fly`, `grid`, `trip` with its number; `share`, `report` with a kind.
    """

    what: str
    study: str
    years: int = 0
    revision: int = 0
    trip: int = -1
    kind: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)


class CalledOffError(MissionsimError):
    """Whoever asked does not want it any more."""


def work(pipe: Connection, quick: Connection, called_off: Event, beside: Connection | None = None) -> None:
    """Carry out orders until the other end closes; what flown years answer at once is answered while others fly.

    Parameters
    ----------
    pipe : Connection              Orders come in, news go out.
    quick : Connection             Questions that flown years answer at once.
    called_off : Event             Set when whoever asked does not want it any more.
    beside : Connection or None    To a process that flies beside this one.
    """
    if (page := multiprocessing.parent_process()) is not None and page.pid is not None:
        end_with_parent(page.pid)
    kept = Flights(pipe.send, called_off.is_set, pipe.poll, Beside(beside))
    threading.Thread(target=_answer, args=(kept, quick), daemon=True).start()
    _warm()
    while True:
        try:
            order = pipe.recv()
            while order.what == "prepare" and pipe.poll():      # only the latest is of use
                order = pipe.recv()
        except (EOFError, OSError):
            return
        _carry_out(kept, order, pipe)


def _warm() -> None:
    """Import what the first flight needs, while whoever opened the page still reads it."""
    import missionsim.page.screen
    import missionsim.page.slides
    import missionsim.study.compare.kept_flights  # noqa: F401


def _carry_out(kept: Flights, order: Order, pipe: Connection) -> None:
    try:
        kept.carry_out(order)
    except CalledOffError:
        pipe.send({"phase": ""})
    except InputError as error:
        pipe.send({"phase": "", "faults": tuple(told(error.faults))})
    except MissionsimError as error:
        pipe.send({"phase": "", "faults": (str(error),)})


def _answer(kept: Flights, quick: Connection) -> None:
    """Answer what flown years tell at once, one question after the other."""
    with suppress(EOFError, OSError):
        while True:
            given = quick.recv()
            try:
                quick.send(kept.slid(given))
            except MissionsimError as error:
                quick.send({"faults": [str(error)]})


def _a_year_of(study: Any) -> Any:
    """Return a study over several years as one year that stands for them all; another one as it is."""
    if study.spec.years == 1 or study.listed is None:
        return study
    return replace(study, spec=study.spec.model_copy(update={"years": 1, "years_kept": study.spec.years}))


class Flights:
    """The last study prepared, and the years flown so far."""

    def __init__(self, send: Callable[[dict[str, Any]], None], called_off: Callable[[], bool],
                 asked: Callable[[], bool] = lambda: False, beside: Beside | None = None) -> None:
        self._tell, self._called_off, self._asked = send, called_off, asked
        self._beside = beside or Beside()
        self._key: Any = None
        self._prepared: Any = None
        self._laid_out: list[Any] = []
        self._parts: list[Sequence[Any]] = []
        self._kept: Any = None
        self._ownership: Any = None
        self._found: Any = None
        self._slides: Any = None
        self._shared: dict[str, Any] = {}

    def carry_out(self, order: Order) -> None:
        """Do what is wanted and tell about it."""
        if order.what == "report":
            self._report(Path(order.study), order.kind)
        elif order.what == "share":
            self._share(order)
        elif order.what == "trip":
            self._trip(order.trip)
        elif order.what == "grid":
            self._grid()
        elif order.what == "prepare":
            self._prepare(order, silent=True)
            self._fly_ahead()
        else:
            self._prepare(order, silent=False)
            self._fly(order)

    def slid(self, given: Mapping[str, Any]) -> Mapping[str, Any]:
        """Return the flown years costed again as sliders stand."""
        if self._slides is None:
            raise MissionsimError("nothing has been flown yet")
        return dict(self._slides.at(given))

    def _prepare(self, order: Order, silent: bool) -> None:
        from missionsim.study.compare.kept_flights import KeptFlights, same_flights
        from missionsim.study.inputs.load_study import load_study
        from missionsim.study.prepare.study import prepare, repriced
        whole = load_study(order.study)
        key = tuple(sorted(whole.hashes.items()))
        if key == self._key:
            return
        study = _a_year_of(whole)
        self._ownership = None if study is whole else whole
        self._kept = self._kept or KeptFlights()
        before = next((one for one in self._laid_out if same_flights(one, study)), None)
        if before is not None:
            self._prepared = repriced(before, study)
        else:
            if not silent:
                self._tell({"phase": "Laying out routes and weather"})
            self._prepared = prepare(study, rental=True)
        self._laid_out = [self._prepared, *(one for one in self._laid_out if one is not before)][:MOST_LAID_OUT]
        self._key, self._parts = key, []
        from missionsim.report.reach import reaches
        self._tell({"reach": reaches(self._prepared)})

    def _fly_ahead(self) -> None:
        """Fly the years of a first answer while nobody waits, until something else is asked for."""
        from missionsim.study.replicate.one_year import CHUNK
        while len(self._parts) * CHUNK < FIRST_YEARS and not self._asked():
            self._add_chunks(FIRST_YEARS)

    def _add_chunks(self, wanted: int) -> None:
        """Fly the next chunks, as many at a time as there are processes, but not beyond the years wanted."""
        from missionsim.study.compare.compare import CHUNK, chunk_sums
        from missionsim.study.compare.kept_flights import splits
        first = len(self._parts)
        chunks = range(first, min(first + self._beside.at_once, -(-wanted // CHUNK)))
        keep = [max(FIRST_YEARS, (chunk + 1) * CHUNK) for chunk in chunks]
        if splits(self._prepared.study):
            self._kept.fly(self._prepared, chunks, self._beside.each)
            self._parts += [self._kept.tallies(self._prepared, *one) for one in zip(chunks, keep, strict=True)]
        else:
            self._parts += self._beside.each(chunk_sums, self._prepared, [
                (range(chunk * CHUNK, (chunk + 1) * CHUNK), most) for chunk, most in zip(chunks, keep, strict=True)])

    def _fly(self, order: Order) -> None:
        from missionsim.study.compare.compare import CHUNK
        wanted = max(order.years, FIRST_YEARS)
        self._tell({"phase": "Flying", "done": len(self._parts) * CHUNK, "wanted": wanted})
        shown = 0
        while len(self._parts) * CHUNK < wanted:
            self._stop_if_called_off()
            self._add_chunks(wanted)
            done = len(self._parts) * CHUNK
            self._tell({"done": done})
            if done >= FIRST_YEARS and shown == 0 and done < wanted:
                self._show(order, brief=True)
                shown = done
        if wanted == FIRST_YEARS:
            self._show(order, brief=True)
        self._tell({"phase": "Working out what would change it"})
        self._show(order, brief=False)
        if self._ownership is not None:
            self._own(order, wanted)
        self._tell({"phase": ""})

    def _own(self, order: Order, wanted: int) -> None:
        """Fly each year of the ownerships: the second step of a study over several years."""
        from missionsim.study.compare.compare import CHUNK, chunk_sums
        prepared = replace(self._prepared, study=self._ownership)
        self._tell({"phase": f"Flying {self._ownership.spec.years} years of each ownership", "done": 0})
        parts: list[Sequence[Any]] = []
        chunks = [(range(first, first + CHUNK), wanted) for first in range(0, wanted, CHUNK)]
        while len(parts) < len(chunks):
            self._stop_if_called_off()
            next_ = chunks[len(parts):len(parts) + self._beside.at_once]
            parts += self._beside.each(chunk_sums, prepared, next_)
            self._tell({"done": len(parts) * CHUNK})
        from missionsim.page.screen import screen_of
        from missionsim.study.compare.compare import comparison_of
        self._found = comparison_of(prepared, parts)     # what the report tells; the sliders stay with the one year
        self._tell({"owned": screen_of(self._found)})

    def _show(self, order: Order, brief: bool) -> None:
        self._tell_of(order, self._prepared, self._parts, brief)

    def _tell_of(self, order: Order, prepared: Any, parts: Sequence[Sequence[Any]], brief: bool) -> None:
        from missionsim.page.screen import screen_of
        from missionsim.page.slides import Slides
        from missionsim.study.compare.compare import comparison_of
        found = comparison_of(prepared, parts, brief=brief)
        self._found, self._slides = found, Slides(found)
        self._tell({"screen": screen_of(found), "owned": None, "flown": order.revision})

    def _trip(self, number: int) -> None:
        from missionsim.page.screen import trip_view
        from missionsim.report.refusals import with_refusals
        if self._found is None:
            raise MissionsimError("nothing has been flown yet")
        self._found = with_refusals(self._found)
        self._tell({"trip": trip_view(self._found, number)})

    def _grid(self) -> None:
        """Fly the trips of the grid, years of their own: a step that is asked for, since it takes a while."""
        from missionsim.report.grid import grid_section
        from missionsim.study.compare.where_each_wins import with_grid
        if self._found is None:
            raise MissionsimError("nothing has been flown yet")
        self._tell({"phase": "Laying out trips of every distance and party", "done": 0})
        self._found = with_grid(self._found, progress=self._so_far)
        self._tell({"grid": grid_section(self._found), "phase": ""})

    def _share(self, order: Order) -> None:
        """Fly a partnership or hire, and tell its verdict."""
        from missionsim.page.screen import shared_screen
        from missionsim.study.inputs.load_study import load_study
        kind = shared_kind(order.kind)
        self._tell({"phase": "Laying out routes and weather"})
        found = kind.fly(kind.prepare(load_study(order.study)), order.years, 1, self._so_far)
        self._tell({"phase": "Adding up"})
        page = kind.page(found)
        self._shared[order.kind] = (page, kind.csv(found))
        self._tell({"shared": {order.kind: shared_screen(page, order.revision)}, "phase": ""})

    def _so_far(self, done: int, wanted: int) -> None:
        """Tell how far flying is, and end it where it was called off."""
        self._tell({"phase": "Flying", "done": done, "wanted": wanted})
        self._stop_if_called_off()

    def _stop_if_called_off(self) -> None:
        if self._called_off():
            raise CalledOffError

    def _report(self, folder: Path, kind: str = "") -> None:
        if self._found is None if not kind else kind not in self._shared:
            raise MissionsimError("nothing has been flown yet")
        self._tell({"phase": "Writing the report"})
        if kind:
            from missionsim.report.folder import check_folder
            from missionsim.report.shared_page import write_page
            page, tables = self._shared[kind]
            check_folder(folder / results_of(kind), Writer(kind, page.study.name))
            write_page(page, folder / results_of(kind), tables, kind)
        else:
            from missionsim.report.publish import publish
            publish(self._found, folder / RESULTS)
        self._tell({"phase": ""})


def results_of(kind: str = "") -> str:
    """Return the name of the folder of results: of the comparison, or of one kind of shared use."""
    return f"{RESULTS}_{kind}" if kind else RESULTS


def shared_kind(name: str) -> Any:
    """Return how one kind of shared use is flown and told."""
    if name == "partners":
        from missionsim.report.partners_page import KIND
    else:
        from missionsim.report.rates_page import KIND
    return KIND
