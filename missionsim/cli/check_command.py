"""`missionsim check`: are these files right, and what do they leave open?"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import click


@click.command()
@click.argument("files", nargs=-1, metavar="FILE...")
@click.option("--home", help="Home airport of a trip list checked by itself.")
@click.option("--rows", type=click.Choice(["trips", "legs"]), help="What one row of such a list is.")
@click.option("--column", "columns", multiple=True, metavar="OURS=HEADING",
              help="A heading of such a list, for example to=Location; give it once for each.")
@click.option("--advertisement", metavar="FILE", help="Propose an aircraft profile from the text of an "
              "advertisement; - reads what is pasted.")
@click.option("--out", help="Write the proposed profile into this new file.")
@click.option("--json", "as_json", is_flag=True, help="Print data for other tools.")
def command(files: tuple[str, ...], home: str | None, rows: Literal["trips", "legs"] | None,
            columns: tuple[str, ...], advertisement: str | None, out: str | None, as_json: bool) -> None:
    """Check aircraft profiles, studies and trip lists.

    Reports every fault of every file at once (exit code 2). Where all are good, shows for each aircraft how well the
    fitted form meets the book figures it was not fitted to, and what the advertisement leaves open.

    With --advertisement, proposes a profile from free text instead: each figure with the very words it came from, what
    was not understood, and the questions that are left to send to the seller.

    Example: missionsim check my_study.yaml aircraft/*.yaml
    """
    if (advertisement is None) == (not files):
        raise click.UsageError("Missing argument: files to check, or --advertisement with a text, one of the two.")
    if advertisement is not None:
        _advertisement(advertisement, out, as_json)
    elif out is not None:
        raise click.UsageError("--out goes with --advertisement.")
    else:
        _files(files, home, rows, columns, as_json)


def _files(files: tuple[str, ...], home: str | None, rows: Literal["trips", "legs"] | None, columns: tuple[str, ...],
           as_json: bool) -> None:
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


def _advertisement(name: str, out: str | None, as_json: bool) -> None:
    from missionsim.cli.sheets import print_sheets
    from missionsim.report.advertisement import proposal_json, proposal_sheets
    from missionsim.study.inputs.advertisement.propose import read_advertisement
    from missionsim.study.inputs.files import home_expanded, read_pasted, read_text, write_new
    text = read_pasted(sys.stdin.buffer) if name == "-" else read_text(Path(name), name)
    proposal = read_advertisement(text.text)
    if out is not None:
        write_new(home_expanded(out), proposal.profile_text)
    if as_json:
        import json
        click.echo(json.dumps(proposal_json(text.name, proposal), indent=2, allow_nan=False))
        return
    for lines, sheets in proposal_sheets(text.name, proposal):
        print_sheets(lines, sheets)
    click.echo(f"\nwritten: {out}" if out is not None else f"\n{proposal.profile_text}")


def _headings(columns: tuple[str, ...]) -> dict[str, str]:
    pairs = [text.partition("=") for text in columns]
    if any(not ours.strip() or not heading.strip() for ours, _, heading in pairs):
        raise click.UsageError("--column takes our column, an equals sign and the heading, such as to=Location.")
    return {ours.strip(): heading.strip() for ours, _, heading in pairs}
