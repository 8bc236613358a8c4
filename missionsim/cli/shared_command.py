"""What `partners` and `rates` have in common: their options, and the way from a study to its page."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from missionsim.report.shared_page import SharedKind

_OPTIONS = (
    click.argument("study", required=False),
    click.option("--replications", type=click.IntRange(1, 100_000),
                 help="Simulated years; else the study's own number."),
    click.option("--seed", type=click.IntRange(0, 2**63 - 1), help="Another seed than the study's."),
    click.option("--out", type=click.Path(), help="Folder for the results; else reports/ and the study's name."),
    click.option("--workers", type=click.IntRange(1, 256),
                 help="Processes; the results are the same for any number."),
    click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout instead of text."),
    click.option("--open", "show", is_flag=True, help="Open the report in the browser when it is written."),
)


def shared_options(function: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options of a study of shared use."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


def run(kind: SharedKind, study: str | None, replications: int | None, seed: int | None, out: str | None,
        workers: int | None, *, as_json: bool, show: bool) -> None:
    """Load, prepare, fly, write and print. Faults of the study come up before anything is said to fly.

    Parameters
    ----------
    kind : SharedKind                    What differs from one command to the other.
    study : str, optional          File of the study; the demo where left out.
    replications : int, optional   The study's own number where left out.
    seed : int, optional           Another than the study's.
    out : str, optional            Folder for the results.
    workers : int, optional        Processes; as many as are free where left out.
    as_json : bool                 Print data instead of text.
    show : bool                    Open the page in the browser.
    """
    from missionsim.base.owned_files import Writer
    from missionsim.cli.progress import Flying, usual_workers
    from missionsim.report.contract import dumps
    from missionsim.report.folder import address_of, check_folder, folder_of
    from missionsim.report.shared_page import print_page, write_page
    from missionsim.study.inputs.files import demo_folder
    from missionsim.study.inputs.load_study import load_study
    loaded = load_study(Path(study) if study else demo_folder() / "studies" / kind.demo)
    loaded = loaded if seed is None else replace(loaded, seed=seed)
    folder = folder_of(loaded.name, out, kind.command, study)
    check_folder(folder, Writer(kind.command, loaded.name))
    count = replications or loaded.replications
    prepared = kind.prepare(loaded)
    with Flying(len(loaded.candidates), count, folder) as flying:
        found = kind.fly(prepared, count, workers or usual_workers(count), flying.progress)
        flying.writing()
        page = kind.page(found)
        write_page(page, folder, kind.csv(found), kind.command)
    if as_json:
        click.echo(dumps(kind.object_of(found, str(folder))))
    else:
        from rich.console import Console
        print_page(Console(file=sys.stdout, highlight=False), page, str(folder))
    if show:
        click.launch(address_of(folder))
