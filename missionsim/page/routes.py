"""What the page answers: three parts of one page, small changes, and how far the flying is."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from datetime import date
from pathlib import Path
from time import monotonic
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from missionsim.base.errors import Fault, InputError, MissionsimError
from missionsim.page.advertised import accepted_text, proposed
from missionsim.page.asked import are_words, body_of, cells_of, json_of, number_of, path_of, seen_of, text_of, texts_of
from missionsim.page.balance import balance_of
from missionsim.page.exports import written_results
from missionsim.page.fields import HABITS, LIMITS, MORE_PRICES, PILOT, PRICES, STUDY, hangar_fields, named, shown_fields
from missionsim.page.files import ChangedOutsideError
from missionsim.page.flying import RESULTS, Order
from missionsim.page.hangar import CardFile, arm_fields, card_lists, profile_faults
from missionsim.page.job import Job
from missionsim.page.kept_runs import KeptRuns
from missionsim.page.known import known_of
from missionsim.page.lists import listed
from missionsim.page.results import Results
from missionsim.page.shared_file import DEMAND
from missionsim.page.shared_part import SharedPart
from missionsim.page.study_file import RefusedError, StudyFile
from missionsim.page.study_folder import StudyFolder
from missionsim.page.table_import import Dropped, dropped, preview, read_table
from missionsim.page.templates import templates
from missionsim.page.trip_table import NAME, SHOWN
from missionsim.page.year_strip import year_strip
from missionsim.report.first_screen import DOTS
from missionsim.report.frame import source
from missionsim.study.inputs.advertisement.propose import read_advertisement
from missionsim.study.inputs.schema import StudySpec
from missionsim.world.airports.towns import field_words

HERE = Path(__file__).parent
ASK_AGAIN_S = 30.0
"""After so long a trip that has not come is asked for again: its process may have ended. [s]"""
FIRST_ANSWER, ALL_YEARS = 20, 100
GROUPS = (("You and home", STUDY, False), ("The pilot", PILOT, False), ("Prices", PRICES, False),
          ("Habits", HABITS, True), ("Further limits of the pilot", LIMITS, True),
          ("Further prices, and how years are counted", MORE_PRICES, True))
PARTS = ("year", "hangar", "verdict")
PARTS_ALIKE = {"parts.css": "text/css", "sliders.js": "text/javascript", "values.js": "text/javascript",
               "grid.js": "text/javascript"}

Handler = Callable[[Request], Awaitable[Response]]


class Page:
    """One study folder and the process that flies it."""

    def __init__(self, study: StudyFolder, job: Job) -> None:
        self.study, self.job = study, job
        self.shared = SharedPart(study, job)
        self.dropped: Dropped | None = None
        self._wished: tuple[tuple[int, int], float] | None = None

    @classmethod
    def opened(cls, path: Path | None) -> Page:
        """Return the page of a study file or folder; None begins a new study here."""
        return cls(StudyFolder.opened(path), Job())

    @property
    def folder(self) -> Path:
        """The study's folder."""
        return self.study.folder

    # Parts -----------------------------------------------------------------------------------------------------------

    async def part(self, request: Request) -> Response:
        """Show one of the three parts."""
        changed = self.study.refreshed()
        name = request.path_params.get("part", "year")
        if name not in PARTS:
            raise HTTPException(404)
        needs, faults = self.study.needs(), self.study.told(self.study.faults())
        if (changed or name == "verdict") and not needs and not faults:    # whoever looks there is about to press Fly
            self.job.prepare(self.study.file.path, self.study.revision)
        context = {"part": name, "title": self.study.title, "needs": needs, "faults": faults,
                   "folder": str(self.folder.resolve())}
        return HTMLResponse(templates().get_template(f"{name}.html.j2").render(**context, **self._of(name)))

    def _of(self, name: str) -> Mapping[str, Any]:
        study = self.study
        if name == "year":
            return {"home": study.file.home_words(),
                    "alone": sum(row.trip is not None and not row.trip.party_said for row in study.rows),
                    "demand": listed(study.file.get, "demand", "Where you go how often", DEMAND),
                    "often": study.file.get(["trips"]) is None and bool(study.file.get(["demand"])),
                    "kept_list": (self.folder / NAME).exists(),
                    "strip": year_strip(study.rows, study.far_nm), "rows": study.rows, "columns": SHOWN,
                    "bad": {k: [str(f) for f in v] for k, v in study.row_faults.items()},
                    "groups": [(title, shown_fields(fields, study.file.get, StudySpec), closed)
                               for title, fields, closed in GROUPS]}
        if name == "hangar":
            drawn = {r.name: r for r in self.job.state.reach}
            year = int(study.file.get(["year"]) or date.today().year)
            assumed, pilot_lb = study.file.assumptions(), study.file.get(["pilot", "weight_lb"])
            pilot_lb = pilot_lb if isinstance(pilot_lb, int | float) else None
            return {"cards": [{"card": card, "groups": hangar_fields(card.data),
                               "arms": arm_fields(card.data), "lists": card_lists(card.data),
                               "lacking": [str(f) for f in profile_faults(card.text, card.file)],
                               "known": known_of(card.text, card.file, year, assumed),
                               "balance": balance_of(card.text, card.file, pilot_lb, assumed),
                               "reach": drawn.get(card.name)} for card in study.hangar.cards]}
        return self._verdict()

    def _verdict(self) -> Mapping[str, Any]:
        state = self.job.state
        return {"state": state, "screen": state.screen, "owned": state.owned, "shown": state.shown, "dots": DOTS,
                "grid": state.grid,
                "old": state.flown != self.study.revision,
                "all_years": ALL_YEARS, "kept": KeptRuns(self.folder).every(),
                "files": written_results(self.folder / RESULTS)}

    async def screen(self, request: Request) -> Response:
        """Return the verdict's inner part alone, to be put in place of the old one."""
        return HTMLResponse(templates().get_template("screen.html.j2").render(**self._verdict()))

    async def state(self, request: Request) -> Response:
        """Tell how far the flying is, and whether the study has changed under the page."""
        s = self.job.state
        return JSONResponse({"phase": s.phase, "done": s.done, "wanted": s.wanted, "faults": s.faults, "shown": s.shown,
                             "years": s.screen.years if s.screen else 0, "stamp": s.stamp,
                             "reach": len(s.reach),
                             "revision": self.study.revision, "old": s.flown != self.study.revision})

    # Changes ---------------------------------------------------------------------------------------------------------

    async def change(self, request: Request) -> Response:
        """Carry out one change; the answer says what was refused and why, or what beside it is still wrong."""
        given = await json_of(request)
        what = request.path_params["what"]
        changes: dict[str, Callable[[], Any]] = {
            "value": lambda: self._file(given).set_value(path_of(given), text_of(given, "text"), seen_of(given)),
            "entry": lambda: self._file(given).add_entry(path_of(given), cells_of(given)),
            "remove-entry": lambda: self._file(given).remove_entry(path_of(given), number_of(given),
                                                                  text_of(given, "was")),
            "year-by": lambda: self.study.list_instead(text_of(given, "text") == "often"),
            "cell": lambda: self.study.set_cell(text_of(given, "row"), text_of(given, "column"), text_of(given, "text"),
                                                seen_of(given)),
            "remove-trip": lambda: self.study.remove_row(text_of(given, "row")),
            "figure": lambda: self.study.hangar.set_figure(text_of(given, "card"), path_of(given),
                                                           text_of(given, "text"), seen_of(given)),
            "aircraft": lambda: self.study.hangar.add(text_of(given, "text")),
            "advertised": lambda: self.study.hangar.add(accepted_text(
                read_advertisement(text_of(given, "text")), text_of(given, "name"), texts_of(given, "accepted"))),
            "remove-aircraft": lambda: self.study.hangar.remove(text_of(given, "card")),
        }
        if what not in changes:
            raise HTTPException(404)
        done = changes[what]()
        self.lay_out()
        still = [_fault(f) for f in done] if isinstance(done, list) else []
        said = self.study.file.read_as(text_of(given, "text")) if given.get("column") == "to" else ""
        return JSONResponse({"revision": self.study.revision, "still": still, "said": said})

    def _file(self, given: Mapping[str, Any]) -> StudyFolder | StudyFile | CardFile:
        """Return the file that a change is of: the study's, that of its partnership or hire, or an aircraft's."""
        kind = str(given.get("card") or "")
        if any(card.key == kind for card in self.study.hangar.cards):
            return CardFile(self.study.hangar, kind)
        return self.study if kind == "" else self.shared.of(kind).file

    async def advertisement(self, request: Request) -> Response:
        """Read pasted words and propose figures, each with the words it came from; nothing is kept yet."""
        given = await json_of(request)
        return JSONResponse(proposed(read_advertisement(text_of(given, "text"))))

    async def airports(self, request: Request) -> Response:
        """Return airports that what is being typed may mean; of several in one cell the last one."""
        text = request.query_params.get("text", "")[:80]
        before, _, last = text.rpartition(" ")
        table = self.study.file.airports()
        found, kept = table.matching(text), ""
        if not found and before:
            found, kept = table.matching(last), before + " "
        return JSONResponse([{"value": kept + a.ident,
                              "label": f"{town}: {a.name}, {field_words(a)}".removeprefix(": ")} for a, town in found])

    async def add_trips(self, request: Request) -> Response:
        """Add rows typed or pasted; those that cannot be read come back with what is wrong."""
        given = await json_of(request)
        rows = given.get("rows")
        if not isinstance(rows, list) or not all(isinstance(r, dict) for r in rows) or len(rows) > 5_000:
            raise HTTPException(400)
        texts = [{str(k): str(v) for k, v in row.items()} for row in rows]
        said = self.study.add_rows(texts)
        self.lay_out()
        refused = [{"cells": cells, "faults": [_fault(f) for f in faults]}
                   for cells, faults in zip(texts, said, strict=True) if faults]
        return JSONResponse({"added": len(said) - len(refused), "refused": refused, "revision": self.study.revision})

    async def drop(self, request: Request) -> Response:
        """Read a dropped file, sent as it is, and show how it would be read; nothing is kept yet."""
        data = await body_of(request)
        context = self.study.context()
        self.dropped = dropped(request.query_params.get("name", "trips.csv")[:200], data, context)
        return JSONResponse(preview(self.dropped, self.dropped.columns, self.dropped.rows, context))

    async def match(self, request: Request) -> Response:
        """Show how the dropped file reads with other columns, or take it into the trips."""
        given = await json_of(request)
        columns, rows = given.get("columns"), given.get("rows")
        if self.dropped is None or not are_words(columns) or rows not in ("trips", "legs"):
            raise HTTPException(400)
        context = self.study.context()
        if not given.get("take"):
            return JSONResponse(preview(self.dropped, columns, rows, context))
        self.study.take(read_table(self.dropped, columns, rows, context))
        self.dropped = None
        self.lay_out()
        return JSONResponse({"revision": self.study.revision})

    def lay_out(self) -> None:
        """Prepare the changed study while nobody waits, if it can be flown."""
        if not self.study.faults() and not self.study.needs():
            self.job.prepare(self.study.file.path, self.study.revision)

    # Flying ----------------------------------------------------------------------------------------------------------

    async def fly(self, request: Request) -> Response:
        """Start flying what the study says now."""
        given = await json_of(request)
        self.study.refreshed()
        if lacking := self.study.needs():
            raise RefusedError([Fault(self.study.file.path.name, "", f"still lacks {', '.join(lacking)}")])
        if faults := self.study.faults():
            raise RefusedError(faults)
        years = ALL_YEARS if given.get("years") == "all" else FIRST_ANSWER
        self.job.fly(self.study.file.path, years, self.study.revision)
        return JSONResponse({})

    async def slide(self, request: Request) -> Response:
        """Tell the flown years costed again as the sliders stand."""
        found = await run_in_threadpool(self.job.at_once, await json_of(request))
        if "faults" in found:
            raise RefusedError([Fault("", "", str(text)) for text in found["faults"]])
        return JSONResponse(dict(found))

    async def cancel(self, request: Request) -> Response:
        """Call the flight off."""
        self.job.cancel()
        return JSONResponse({})

    async def trip(self, request: Request) -> Response:
        """Show one trip over all flown years; 202 until the flying process has told it."""
        number, state = int(request.path_params["number"]), self.job.state
        if state.screen is None or not 0 <= number < len(state.screen.trips):
            raise HTTPException(404)
        if state.trip is None or state.trip.number != number:
            wish, now = (number, state.shown), monotonic()
            if self._wished is None or self._wished[0] != wish or now - self._wished[1] > ASK_AGAIN_S:
                self._wished = (wish, now)      # once, however often the page looks whether it is there
                self.job.ask(Order("trip", str(self.folder), trip=number))
            return Response(status_code=202)
        return HTMLResponse(templates().get_template("trip.html.j2").render(trip=state.trip))

    async def grid(self, request: Request) -> Response:
        """Fly where each way wins, if nothing is being flown."""
        if self.job.state.screen is None:
            raise RefusedError([Fault("", "", "nothing has been flown yet")])
        self.job.grid(str(self.folder))
        return JSONResponse({})

    async def report(self, request: Request) -> Response:
        """Write report and tables into the study's folder."""
        self.job.ask(Order("report", str(self.folder)))
        return JSONResponse({"folder": str(self.folder / RESULTS)})


def application(page: Page) -> Starlette:
    """Return the page as an ASGI application; the guard stands in front of it."""
    routes = [Route("/", page.part), Route("/state", page.state), Route("/screen", page.screen),
              Route("/change/{what}", page.change, methods=["POST"]),
              Route("/drop", page.drop, methods=["POST"]), Route("/match", page.match, methods=["POST"]),
              Route("/advertisement", page.advertisement, methods=["POST"]),
              Route("/airports", page.airports),
              Route("/trips", page.add_trips, methods=["POST"]), Route("/fly", page.fly, methods=["POST"]),
              Route("/trip/{number:int}", page.trip), Route("/slide", page.slide, methods=["POST"]),
              Route("/cancel", page.cancel, methods=["POST"]), Route("/report", page.report, methods=["POST"]),
              Route("/grid", page.grid, methods=["POST"]),
              Route("/favicon.ico", _no_icon), *(Route(f"/{name}", _part) for name in PARTS_ALIKE),
              *page.shared.routes(), *Results(page.study, page.job).routes(),
              Mount("/static", StaticFiles(directory=HERE / "static")),
              Route("/{part}", page.part)]
    handlers = {RefusedError: _refused, ChangedOutsideError: _conflict, MissionsimError: _refused}
    return Starlette(routes=routes, exception_handlers=handlers)


async def _part(request: Request) -> Response:
    """Return style or script of what page and saved report draw alike."""
    name = request.url.path.lstrip("/")
    return Response(source(f"parts/{name}"), media_type=PARTS_ALIKE[name])


async def _no_icon(request: Request) -> Response:
    return Response(status_code=204)


def _fault(fault: Fault) -> dict[str, str]:
    return {"key": fault.key, "label": named(fault.key), "what": fault.what, "accepted": fault.accepted,
            "near": fault.near}


async def _refused(request: Request, error: Exception) -> Response:
    faults = error.faults if isinstance(error, RefusedError | InputError) else (Fault("", "", str(error)),)
    return JSONResponse({"faults": [_fault(f) for f in faults]}, 422)


async def _conflict(request: Request, error: Exception) -> Response:
    return JSONResponse({"conflict": str(error)}, 409)
