"""`missionsim compare`: the main job."""

from __future__ import annotations

import click


@click.command()
@click.argument("study", required=False)
@click.option("--replications", type=click.IntRange(1, 100_000), help="simulated years")
def command(study: str | None, replications: int | None) -> None:
    """Fly the candidates of STUDY through a year of trips; without a study, the packaged demo.

    Example: missionsim compare my_study.yaml --replications 100
    """
    from missionsim.study.compare import compare
    from missionsim.study.loader import load_study
    found = compare(load_study(study), replications)
    for result in found.results:
        click.echo(f"{result.name}: net {result.measures['net_cost_usd']['mean']:,.0f} USD, "
                   f"completed {result.measures['completed_share']['mean']:.0%}")
