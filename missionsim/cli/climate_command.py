"""`missionsim climate`: what is assumed of the weather at a place."""

from __future__ import annotations

import click


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("place", metavar="PLACE|LAT,LON")
@click.option("--study", help="Study whose airports, station files and assumptions count.")
@click.option("--json", "as_json", is_flag=True, help="Print data for other tools.")
def command(place: str, study: str | None, as_json: bool) -> None:
    """Show the weather and winds assumed at an airport, in a town or at a position, month by month.

    Example: missionsim climate KGRI

    Example: missionsim climate "Grand Island, NE"

    Example: missionsim climate 40.97,-98.31 --json
    """
    from missionsim.report.climate import climate_json, climate_lines, climate_sheets, climate_view
    view = climate_view(place, study)
    if as_json:
        import json
        click.echo(json.dumps(climate_json(view), indent=2, allow_nan=False))
        return
    from missionsim.cli.sheets import print_sheets
    print_sheets(climate_lines(view), climate_sheets(view))
