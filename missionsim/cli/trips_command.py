"""`missionsim trips`: the trips of a study, written out."""

from __future__ import annotations

import click


@click.command()
@click.argument("study", required=False)
@click.option("--replication", type=click.IntRange(0, 99_999), default=0, show_default=True,
              help="Which simulated year, where trips are generated.")
@click.option("--seed", type=click.IntRange(0, 2**63 - 1), help="Another seed than the study's.")
@click.option("--out", help="Write into this new file instead of the terminal.")
@click.option("--json", "as_json", is_flag=True, help="Print data for other tools.")
def command(study: str | None, replication: int, seed: int | None, out: str | None, as_json: bool) -> None:
    """Write the trips of STUDY as CSV: its list as it was read, or one generated year.

    The table can be edited and used as a trip list. Without a study, the packaged demo.

    Example: missionsim trips my_study.yaml --out trips.csv
    """
    from missionsim.study.inputs.write_trips import trips_csv, trips_json, trips_of, write_trips
    loaded, table = trips_of(study, replication, seed)
    if out is not None:
        path = write_trips(table, out)
        click.echo(f"{len(table)} trips of {table.year} written to {path}", err=True)
    if as_json:
        import json
        click.echo(json.dumps(trips_json(loaded, table, replication), indent=2, allow_nan=False))
    elif out is None:
        click.echo(trips_csv(table), nl=False)
    for note in (*table.notes, *(f"line {u.line}: {u.from_place} to {u.to_place} left out, {u.why}"
                                 for u in table.unstitched)):
        click.echo(note, err=True)
