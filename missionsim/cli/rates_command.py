"""`missionsim rates`: flying for others."""

from __future__ import annotations

from typing import Any

import click

from missionsim.cli.shared_command import run, shared_options


@click.command()
@shared_options
def command(**options: Any) -> None:
    """Fly each candidate of STUDY for its owner and for others: what an hour costs, and what must be charged for it.

    Without a study, the packaged demo.

    Writes report.html, rates.csv and run.json, all or none of them.

    Example: missionsim rates charter.yaml --replications 200
    """
    from missionsim.report.rates_page import KIND
    run(KIND, **options)
