"""What the page does with finished years: keep them by name, hold two against each other, hand them out as files."""

from __future__ import annotations

from datetime import date
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from missionsim.base.errors import Fault
from missionsim.page.asked import json_of, text_of
from missionsim.page.exports import study_archive, workbook, written_results
from missionsim.page.files import ChangedOutsideError
from missionsim.page.flying import RESULTS, results_of
from missionsim.page.job import Job
from missionsim.page.kept_runs import KeptRuns
from missionsim.page.shared_file import HIRE, PARTNERS
from missionsim.page.study_file import RefusedError
from missionsim.page.study_folder import StudyFolder
from missionsim.page.templates import templates
from missionsim.report.first_screen import DOTS
from missionsim.report.two_runs import told
from missionsim.study.compare.two_runs import RunRecord

NOW, NOW_NAME = "now", "what was flown last"


class Results:
    """The finished years of one study folder."""

    def __init__(self, study: StudyFolder, job: Job) -> None:
        self.study, self.job = study, job

    @property
    def kept(self) -> KeptRuns:
        """The kept runs."""
        return KeptRuns(self.study.folder)

    def routes(self) -> list[Route]:
        """Return what is answered where."""
        return [Route("/kept", self.listed), Route("/keep", self.keep, methods=["POST"]),
                Route("/forget", self.forget, methods=["POST"]), Route("/two-runs", self.two_runs),
                Route("/sheet", self.sheet), Route("/tables.xlsx", self.tables),
                Route("/study.zip", self.archive),
                *(Route(f"/{results_of(kind)}/{{name}}", self.result) for kind in ("", PARTNERS, HIRE))]

    async def listed(self, request: Request) -> Response:
        """Return the list of kept runs, to be put in place of the old one."""
        return _html("kept.html.j2", kept=self.kept.every())

    async def keep(self, request: Request) -> Response:
        """Keep the years flown last, if they are still those that whoever asks has in front of them."""
        given = await json_of(request)
        state = self.job.state
        if state.screen is None:
            raise RefusedError([Fault("", "", "nothing has been flown yet")])
        if given.get("shown") != state.shown:
            raise ChangedOutsideError("further years were flown meanwhile; look at them first")
        return JSONResponse({"key": self.kept.keep(text_of(given, "name"), self._records(NOW)).key})

    async def forget(self, request: Request) -> Response:
        """Take a kept run away."""
        self.kept.forget(text_of(await json_of(request), "run"))
        return JSONResponse({})

    async def two_runs(self, request: Request) -> Response:
        """Show what was changed from one run to another, and what that did."""
        keys = [request.query_params.get(name, "")[:200] for name in ("first", "second")]
        names = {run.key: run.name for run in self.kept.every()} | {NOW: NOW_NAME}
        try:
            first, second = (self._records(key) for key in keys)
        except RefusedError as error:
            return _html("two_runs.html.j2", **self._frame([str(f) for f in error.faults]), told=[])
        return _html("two_runs.html.j2", **self._frame([]),
                     told=[told((names[keys[0]], names[keys[1]]), a, b) for a, b in zip(first, second, strict=False)])

    async def sheet(self, request: Request) -> Response:
        """Show the one sheet that is printed for others."""
        state = self.job.state
        if state.screen is None:
            return _html("sheet.html.j2", **self._frame(["nothing has been flown yet"]), sheet=None)
        shown = state.owned if state.owned is not None and state.owned.enough else state.screen
        old = state.flown != self.study.revision
        return _html("sheet.html.j2", **self._frame([]), sheet=shown.sheet, old=old, dots=DOTS,
                     today=date.today().isoformat())

    async def result(self, request: Request) -> Response:
        """Hand out one file of the written results."""
        name, place = request.path_params["name"], request.url.path.split("/")[1]
        if name not in written_results(self.study.folder / place):
            raise HTTPException(404)
        return FileResponse(self.study.folder / place / name, filename=name)

    async def tables(self, request: Request) -> Response:
        """Hand out the tables of the written results as a workbook."""
        made = await run_in_threadpool(workbook, self.study.folder / RESULTS)
        return _attached(made, "tables.xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")

    async def archive(self, request: Request) -> Response:
        """Hand out the study and all files it names."""
        return _attached(study_archive(self.study.file.path), "study.zip", "application/zip")

    def _records(self, key: str) -> tuple[RunRecord, ...]:
        if key != NOW:
            return self.kept.records(key)
        state = self.job.state
        if state.screen is None:
            raise RefusedError([Fault("", "", "nothing has been flown yet")])
        return (state.screen.record,) if state.owned is None else (state.screen.record, state.owned.record)

    def _frame(self, faults: list[str]) -> dict[str, Any]:
        return {"title": self.study.title, "part": "", "needs": [], "faults": faults,
                "folder": str(self.study.folder.resolve())}


def _attached(data: bytes, name: str, kind: str) -> Response:
    return Response(data, media_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def _html(template: str, **context: Any) -> Response:
    return HTMLResponse(templates().get_template(template).render(**context))
