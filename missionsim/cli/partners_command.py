"""`missionsim partners`: one aircraft, several members."""

from __future__ import annotations

import sys
from dataclasses import replace

import click


@click.command()
@click.argument("study", required=False)
@click.option("--replications", type=click.IntRange(1, 100_000), help="Simulated years; else the study's own number.")
@click.option("--seed", type=click.IntRange(0, 2**63 - 1), help="Another seed than the study's.")
@click.option("--out", type=click.Path(), help="Folder for the results; else reports/ and the study's name.")
@click.option("--workers", type=click.IntRange(1, 256), help="Processes; the results are the same for any number.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout instead of text.")
def command(study: str | None, replications: int | None, seed: int | None, out: str | None, workers: int | None,
            as_json: bool) -> None:
    """Let the members of STUDY share each candidate: who gets it when, who pays what, how many members are too many.

    Without a study, the packaged demo.

    Writes report.html, summary.csv, members.csv and run.json, all or none of them.

    Example: missionsim partners partnership.yaml --replications 200
    """
    from pathlib import Path

    from missionsim.cli.progress import Flying, usual_workers
    from missionsim.report.folder import check_folder, folder_of
    from missionsim.report.partners_page import partners_csv, partners_json, partners_page
    from missionsim.report.shared_page import print_page, write_page
    from missionsim.study.files import demo_folder
    from missionsim.study.loader import load_study
    from missionsim.study.partner_results import partners
    loaded = load_study(Path(study) if study else demo_folder() / "studies" / "partnership.yaml")
    if seed is not None:
        loaded = replace(loaded, seed=seed)
    folder = folder_of(loaded.name, out)
    check_folder(folder)
    count = replications or loaded.replications
    with Flying(len(loaded.candidates), count, folder) as flying:
        found = partners(loaded, count, workers or usual_workers(count), flying.progress)
        flying.writing()
        page = partners_page(found)
        write_page(page, folder, partners_csv(found))
    if as_json:
        click.echo(partners_json(found, str(folder)))
        return
    from rich.console import Console
    print_page(Console(file=sys.stdout, highlight=False), page, str(folder))
