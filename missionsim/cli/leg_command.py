"""`missionsim leg`: one flight plan and why it is so."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from missionsim.study.single_leg.plan import LegPlan, LegRequest


class Wind(click.ParamType):
    """A wind as FROM/KT, such as 270/25."""

    name = "FROM/KT"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return direction and speed."""
        if not isinstance(value, str):
            return value
        direction, _, speed = value.lower().removesuffix("kt").partition("/")
        try:
            wind = float(direction), float(speed)
        except ValueError:
            wind = (-1.0, -1.0)
        if not (0.0 <= wind[0] <= 360.0 and 0.0 <= wind[1] <= 200.0):
            self.fail(f"{value!r} is no wind; accepted: degrees true 0 to 360 / knots 0 to 200, such as 270/25",
                      param, ctx)
        return wind


class People(click.ParamType):
    """How many people, or the weight of each in pounds."""

    name = "N|LB,LB,..."

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return a number, or a tuple of weights; a lone number above 20 is the pilot's weight."""
        if not isinstance(value, str):
            return value
        try:
            numbers = tuple(float(word) for word in value.replace(",", " ").split())
        except ValueError:
            numbers = ()
        if len(numbers) == 1 and numbers[0].is_integer() and 1 <= numbers[0] <= 20:
            return int(numbers[0])
        if not numbers or len(numbers) > 20 or not all(20.0 <= n <= 500.0 for n in numbers):
            self.fail(f"{value!r}; accepted: 1 to 20 people, or the weight of each, 20 to 500 lb, such as 195,170,85",
                      param, ctx)
        return numbers


class Finite(click.FloatRange):
    """A number within bounds; `nan`, which no bound catches, is refused."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number."""
        if (number := super().convert(value, param, ctx)) != number:
            self.fail(f"{value!r} is no number; accepted: {self.min:g} to {self.max:g}", param, ctx)
        return number


class When(click.ParamType):
    """A local date, with or without a time."""

    name = "DATE[THH:MM]"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return a datetime on the clock of the airport left; a date alone is noon."""
        if not isinstance(value, str):
            return value
        try:
            when = datetime.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is no date; accepted: 2025-07-18 or 2025-07-18T14:00, local time", param, ctx)
        if when.tzinfo is not None or not 1950 <= when.year <= 2100:
            self.fail(f"{value!r}; accepted: local time without a zone, in 1950 to 2100", param, ctx)
        return when if "T" in value.upper() or ":" in value else when.replace(hour=12)


@click.command()
@click.argument("aircraft")
@click.argument("from_place", metavar="FROM")
@click.argument("to_place", metavar="TO")
@click.option("--date", "when", type=When(),
              help="local date and time of departure; left out, a weekday noon in April")
@click.option("--people", type=People(), default="1", show_default=True,
              help="everybody on board, or the weight of each in pounds, the pilot first")
@click.option("--bags-lb", type=Finite(0, 5_000), default=0.0, show_default=True, help="bags and goods")
@click.option("--wind", type=Wind(), help="fix the wind, aloft and at the fields (true, from)")
@click.option("--surface-wind", type=Wind(), help="another wind at the fields; calm unless a wind is given")
@click.option("--temp-dev", type=Finite(-60, 60), help="fix the temperature: degrees C from standard")
@click.option("--still-air", is_flag=True, help="calm, standard temperature")
@click.option("--rules", type=click.Choice(["instrument", "visual"]), help="instead of the pilot's rating")
@click.option("--study", help="study whose pilot, airports, candidates and assumptions count")
@click.option("--json", "as_json", is_flag=True, help="print data for other tools")
def command(**given: Any) -> None:
    """Plan one leg of AIRCRAFT (a profile, or a demo aircraft) and say why it goes or does not.

    Prints levels, fuel, weight and balance and runways, and every reason with its margin. What is not given of the
    air is what the climate of the day and hour leads one to expect. Exit code 0 when the answer is no.

    Example: missionsim leg retractable_260 KGRI KAPA --date 2025-07-18T14:00 --people 3 --bags-lb 60
    """
    from missionsim.study.single_leg.plan import plan_leg
    plan = plan_leg(_request(given))
    if given["as_json"]:
        import json

        from missionsim.report.leg import leg_json
        click.echo(json.dumps(leg_json(plan), indent=2, allow_nan=False))
        return
    _print(plan)


def _request(given: dict[str, Any]) -> LegRequest:
    from missionsim.study.single_leg.air import LegAir
    from missionsim.study.single_leg.plan import USUAL_DAY, LegRequest
    if given["still_air"] and (given["wind"] or given["temp_dev"] is not None):
        raise click.UsageError("--still-air is calm and standard; leave out --wind and --temp-dev, or it.")
    air = LegAir.still() if given["still_air"] else LegAir(given["wind"], given["surface_wind"], given["temp_dev"])
    return LegRequest(given["aircraft"], given["from_place"], given["to_place"], given["when"] or USUAL_DAY,
                      given["people"], given["bags_lb"], air, given["rules"], given["study"])


def _print(plan: LegPlan) -> None:
    from missionsim.cli.sheets import print_sheets
    from missionsim.report.leg import CAUTION, leg_headline, leg_sheets, notes
    print_sheets(leg_headline(plan), leg_sheets(plan), [*notes(plan), CAUTION])
