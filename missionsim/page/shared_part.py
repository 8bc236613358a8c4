"""The part of the page about partnership and hire: its file, its fields, its flying and its verdict."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from missionsim.base.errors import Fault
from missionsim.page.asked import json_of
from missionsim.page.exports import written_results
from missionsim.page.flying import Order, results_of
from missionsim.page.job import Job
from missionsim.page.shared_file import DEMAND, HIRE, PARTNERS, PERSON, SharedFile
from missionsim.page.study_file import RefusedError
from missionsim.page.study_folder import StudyFolder
from missionsim.page.templates import templates

TITLES = {PARTNERS: "Partnership", HIRE: "Hire"}
FIRST, MORE = 20, 100


class SharedPart:
    """Partnership and hire of one study folder."""

    def __init__(self, study: StudyFolder, job: Job) -> None:
        self.study, self.job = study, job
        self._files: dict[str, SharedFile] = {}

    def routes(self) -> list[Route]:
        """Return what is answered where."""
        kind = "/shared/{kind:str}"
        return [Route(kind, self.part), Route(f"{kind}/screen", self.screen),
                *(Route(f"{kind}/{what}", do, methods=["POST"]) for what, do in self._orders().items())]

    def _orders(self) -> dict[str, Callable[..., Any]]:
        return {"begin": self.begin, "fly": self.fly, "report": self.report}

    def of(self, kind: str) -> SharedFile:
        """Return the file of a kind, read again where another program has changed it."""
        if kind not in TITLES:
            raise HTTPException(404)
        self.study.refreshed()
        found = self._files.get(kind)
        if found is None or (not found.begun and self.study.file.get([found.key]) is not None):
            found = self._files[kind] = SharedFile(self.study, kind)
        if found.file is not self.study.file and found.file.files.changed_outside():
            found.file.read()
        return found

    async def part(self, request: Request) -> Response:
        """Show the partnership or the hire."""
        kind = request.path_params["kind"]
        use = self.of(kind)
        people = use.people() if use.begun and kind == PARTNERS else []
        requests = use.requests() if use.begun and kind == HIRE else None
        needs, faults = self.study.needs() if not use.begun else [], use.faults()
        if requests is not None and not requests.entries:
            needs, faults = ["what others ask for: the first of it below"], [f for f in faults
                                                                              if f.key != "outside.requests"]
        return _html("shared.html.j2", title=self.study.title, part=kind, needs=needs, use=use, people=people,
                     folder=str(self.study.folder.resolve()), faults=self.study.told(faults),
                     groups=use.groups() if use.begun else [], requests=requests, person=PERSON, demand=DEMAND,
                     heading_words=TITLES[kind], **self._screen(kind))

    async def screen(self, request: Request) -> Response:
        """Return the verdict alone, to be put in place of the old one."""
        kind = request.path_params["kind"]
        self.of(kind)
        return _html("shared_screen.html.j2", **self._screen(kind))

    def _screen(self, kind: str) -> dict[str, Any]:
        state, use = self.job.state, self.of(kind)
        found = state.shared.get(kind)
        return {"kind": kind, "state": state, "screen": found, "more": MORE,
                "old": found is not None and found.revision != self._revision(use),
                "files": written_results(self.study.folder / results_of(kind)), "results": results_of(kind)}

    def _revision(self, use: SharedFile) -> int:
        return use.file.files.changes + 1_000_000 * self.study.revision

    async def begin(self, request: Request) -> Response:
        """Write the file of a partnership or of hire."""
        use = self.of(request.path_params["kind"])
        if lacking := self.study.needs():
            raise RefusedError([_lacks(self.study, lacking)])
        use.begin()
        return JSONResponse({})

    async def fly(self, request: Request) -> Response:
        """Start flying what the file says now."""
        given, kind = await json_of(request), request.path_params["kind"]
        use = self.of(kind)
        if faults := use.faults():
            raise RefusedError(faults)
        if not use.begun:
            raise RefusedError([_lacks(self.study, ["its beginning"])])
        self.job.share(kind, use.file.path, MORE if given.get("years") == "all" else FIRST, self._revision(use))
        return JSONResponse({})

    async def report(self, request: Request) -> Response:
        """Write report and tables into the study's folder."""
        kind = request.path_params["kind"]
        self.of(kind)
        self.job.ask(Order("report", str(self.study.folder), kind=kind))
        return JSONResponse({"folder": str(self.study.folder / results_of(kind))})


def _lacks(study: StudyFolder, lacking: list[str]) -> Fault:
    return Fault(study.file.path.name, "", f"still lacks {', '.join(lacking)}")


def _html(template: str, **context: Any) -> Response:
    return HTMLResponse(templates().get_template(template).render(**context))
