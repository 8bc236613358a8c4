"""What `partners` and `rates` have in common: their options, and the way from a study to its page."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import click

if TYPE_CHECKING:
    from missionsim.report.shared_page import SharedPage
    from missionsim.study.inputs.load_study import Study

P = TypeVar("P")
R = TypeVar("R")

_OPTIONS = (
    click.argument("study", required=False),
    click.option("--replications", type=click.IntRange(1, 100_000),
                 help="Simulated years; else the study's own number."),
    click.option("--seed", type=click.IntRange(0, 2**63 - 1), help="Another seed than the study's."),
    click.option("--out", type=click.Path(), help="Folder for the results; else reports/ and the study's name."),
    click.option("--workers", type=click.IntRange(1, 256),
                 help="Processes; the results are the same for any number."),
    click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout instead of text."),
)


def shared_options(function: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options of a study of shared use."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


@dataclass(frozen=True, slots=True)
class Asked:
    """What the user asked for."""

    study: str | None
    replications: int | None
    seed: int | None
    out: str | None
    workers: int | None
    as_json: bool

    def loaded(self, demo: str) -> Study:
        """Return the study, else the packaged one of that name, with the seed asked for."""
        from missionsim.study.inputs.files import demo_folder
        from missionsim.study.inputs.load_study import load_study
        found = load_study(Path(self.study) if self.study else demo_folder() / "studies" / demo)
        return found if self.seed is None else replace(found, seed=self.seed)


@dataclass(frozen=True, slots=True)
class Job(Generic[P, R]):
    """One kind of study of shared use: from the study to what is flown, to its result, to what is told of it.

    `use` goes into the name of the folder, so that a study compared and one shared keep their results apart.
    `fly` takes what is prepared, replications, workers and a callable that hears of replications done and wanted.
    """

    use: str
    demo: str
    prepare: Callable[[Study], P]
    fly: Callable[[P, int, int, Callable[[int, int], None]], R]
    page: Callable[[R], SharedPage]
    csv: Callable[[R], Mapping[str, str]]
    json: Callable[[R, str], str]


def run(job: Job[P, R], **options: Any) -> None:
    """Load, prepare, fly, write and print. Faults of the study come up before anything is said to fly."""
    from missionsim.base.owned_files import Writer
    from missionsim.cli.progress import Flying, usual_workers
    from missionsim.report.folder import check_folder, folder_of
    from missionsim.report.shared_page import print_page, write_page
    asked = Asked(**options)
    study = asked.loaded(job.demo)
    folder = folder_of(study.name, asked.out, job.use, asked.study)
    check_folder(folder, Writer(job.use, study.name))
    count = asked.replications or study.replications
    prepared = job.prepare(study)
    with Flying(len(study.candidates), count, folder) as flying:
        found = job.fly(prepared, count, asked.workers or usual_workers(count), flying.progress)
        flying.writing()
        page = job.page(found)
        write_page(page, folder, job.csv(found), job.use)
    if asked.as_json:
        click.echo(job.json(found, str(folder)))
        return
    from rich.console import Console
    print_page(Console(file=sys.stdout, highlight=False), page, str(folder))
