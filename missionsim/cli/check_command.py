"""`missionsim check`: are these files right, and what do they leave open?"""

from __future__ import annotations

from typing import Literal

import click


@click.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option("--home", help="Home airport of a trip list checked by itself.")
@click.option("--rows", type=click.Choice(["trips", "legs"]), help="What one row of such a list is.")
@click.option("--column", "columns", multiple=True, metavar="OURS=HEADING",
              help="A heading of such a list, for example to=Location; give it once for each.")
@click.option("--json", "as_json", is_flag=True, help="Print data for other tools.")
def command(files: tuple[str, ...], home: str | None, rows: Literal["trips", "legs"] | None,
            columns: tuple[str, ...], as_json: bool) -> None:
    """Check aircraft profiles, studies and trip lists.

    Reports every fault of every file at once (exit code 2). Where all are good, shows for each aircraft how well the
    fitted form meets the book figures it was not fitted to, and what the advertisement leaves open.

    Example: missionsim check my_study.yaml aircraft/*.yaml
    """
    from missionsim.study.inputs.check import ListHints, check_files, check_json
    checked = check_files(files, ListHints(home, rows, _headings(columns)))
    if as_json:
        import json
        click.echo(json.dumps(check_json(checked), indent=2, allow_nan=False))
        return
    from missionsim.cli.sheets import print_sheets
    from missionsim.report.check import check_sheets
    for lines, sheets in check_sheets(checked):
        print_sheets(lines, sheets)


def _headings(columns: tuple[str, ...]) -> dict[str, str]:
    pairs = [text.partition("=") for text in columns]
    if any(not ours.strip() or not heading.strip() for ours, _, heading in pairs):
        raise click.UsageError("--column takes our column, an equals sign and the heading, such as to=Location.")
    return {ours.strip(): heading.strip() for ours, _, heading in pairs}
