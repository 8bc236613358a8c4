"""`missionsim partners`: one aircraft, several members."""

from __future__ import annotations

from typing import Any

import click

from missionsim.cli.shared_command import Job, run, shared_options


@click.command()
@shared_options
def command(**options: Any) -> None:
    """Let the members of STUDY share each candidate: who gets it when, who pays what, how many members are too many.

    Without a study, the packaged demo.

    Writes report.html, summary.csv, members.csv and run.json, all or none of them.

    Example: missionsim partners partnership.yaml --replications 200
    """
    from missionsim.report.partners_page import partners_csv, partners_json, partners_page
    from missionsim.study.shared_use.partner_results import partners
    from missionsim.study.shared_use.partners import prepare_partners
    run(Job("partners", "partnership.yaml", prepare_partners, partners, partners_page, partners_csv, partners_json),
        **options)
