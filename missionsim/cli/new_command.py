"""`missionsim new`: a starter study to edit."""

from __future__ import annotations

import click


@click.command()
@click.argument("folder")
@click.option("--json", "as_json", is_flag=True, help="Print the files written as data for other tools.")
def command(folder: str, as_json: bool) -> None:
    """Write a commented study, two aircraft and a trip list into FOLDER, to be edited.

    Nothing that is there already is overwritten.

    Example: missionsim new my_year
    """
    from missionsim.study.inputs.starter import write_starter
    written = write_starter(folder)
    if as_json:
        import json
        click.echo(json.dumps({"files": [path.as_posix() for path in written]}, indent=2))
        return
    for path in written:
        click.echo(f"written: {path}")
    click.echo(f"Edit them, then run: missionsim compare {written[0]}")
