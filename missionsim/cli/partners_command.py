"""`missionsim partners`: one aircraft, several members."""

from __future__ import annotations

from typing import Any

import click

from missionsim.cli.shared_command import run, shared_options


@click.command()
@shared_options
def command(**options: Any) -> None:
    """Let the members of STUDY share each candidate: who gets it when, who pays what, how many members are too many.

    Without a study, the packaged demo.

    Writes report.html, summary.csv, members.csv and run.json, all or none of them.

    Example: missionsim partners partnership.yaml --replications 200
    """
    from missionsim.report.partners_page import KIND
    run(KIND, **options)
