"""`missionsim new`: a first study, from a few questions or as a starter to edit."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from missionsim.study.inputs.advertisement.propose import Proposal
    from missionsim.study.inputs.first_study import Answers, Errand
    from missionsim.world.airports.table import Airport

MOST_AIRCRAFT = 6
MIN_PRICE_USD = 5_000
"""Below this an aircraft file takes no price."""


@click.command()
@click.argument("folder")
@click.option("--questions/--no-questions", "ask", default=None,
              help="Ask for home, pilot, aircraft and trips; left out, ask on a terminal only. Without questions: an "
                   "invented starter to edit.")
@click.option("--home", help="Where the aircraft lives: an airport or a town.")
@click.option("--advertisement", "advertisements", multiple=True, metavar="FILE",
              help="Text of a seller's advertisement; give it once for each aircraft.")
@click.option("--trips", metavar="FILE", help="A logbook, a calendar or a list of trips.")
@click.option("--fly", "lines", multiple=True, metavar="'PLACE TIMES'",
              help="Where and how often a year, such as 'Omaha, NE 12, 2 people'; give it once for each.")
@click.option("--visual", is_flag=True, help="The pilot has no instrument rating.")
@click.option("--json", "as_json", is_flag=True, help="Print the files written as data for other tools.")
def command(folder: str, ask: bool | None, as_json: bool, **given: Any) -> None:
    """Write a study that runs, its aircraft and its trips into FOLDER.

    Asks where the aircraft lives, who flies, which aircraft (advertisements pasted or from files), where one flies and
    how often. With --no-questions, a commented starter with two invented aircraft. Nothing there is overwritten.

    Example: missionsim new my_year
    """
    from missionsim.study.inputs.starter import write_starter
    told = any(given.values())
    if ask is None:
        ask = sys.stdin.isatty() and not as_json
    if ask or told:
        from missionsim.study.inputs.first_study import write_first_study
        answers = _answers(Path(folder).name, ask, given)
        made = write_first_study(folder, answers)
        written, notes = made.files, made.notes
    else:
        written, notes = write_starter(folder), ()
    if as_json:
        import json
        click.echo(json.dumps({"files": [path.as_posix() for path in written], "notes": list(notes)}, indent=2))
        return
    for note in notes:
        click.echo(f"Note: {note}")
    for path in written:
        click.echo(f"written: {path}")
    study = f'"{written[0]}"' if " " in str(written[0]) else written[0]
    click.echo(f"{'Change' if ask or told else 'Edit'} them as you like, then run: missionsim compare {study}")


def _answers(name: str, ask: bool, given: dict[str, Any]) -> Answers:
    from missionsim.base.errors import Fault, InputError
    from missionsim.study.inputs.first_study import Answers, airport_named
    wanted = {"--home": given["home"], "--advertisement": given["advertisements"],
              "--trips (or --fly)": given["trips"] or given["lines"]}
    lacking = ", ".join(option for option, value in wanted.items() if not value)
    if lacking and not ask:
        raise InputError([Fault("missionsim new", "", f"without questions lacks {lacking}", "all of them, or none")])
    home, note = airport_named(given["home"]) if given["home"] else _asked(
        "Where does the aircraft live (airport or town)?", airport_named)
    click.echo(f"  {note or f'{home.ident}, {home.name}'}", err=True)
    rating, night, total_h, weight_lb = _pilot(given["visual"], ask)
    proposals = _aircraft(given["advertisements"], ask)
    trips, errands = (Path(given["trips"]), ()) if given["trips"] else (None, _told_errands(given["lines"], home))
    if trips is None and not errands:
        trips, errands = _asked_trips(home)
    return Answers(name or "my year", home, proposals, "instrument" if rating else "visual", night, total_h, weight_lb,
                   errands, trips)


def _asked(question: str, read: Any, **options: Any) -> Any:
    """Ask until the answer can be read; what is wrong is said in one line."""
    from missionsim.base.errors import InputError
    while True:
        try:
            return read(click.prompt(question, err=True, prompt_suffix=" ", **options))
        except InputError as error:
            click.echo(f"  {error}", err=True)


def _pilot(visual: bool, ask: bool) -> tuple[bool, bool, float | None, float | None]:
    if not ask:
        return not visual, True, None, None
    rating = not visual and click.confirm("Is the pilot instrument rated and current?", err=True)
    night = click.confirm("Do you fly after dark?", err=True)
    total_h = click.prompt("Hours of the pilot in all?", type=click.FloatRange(40, 40_000), err=True, prompt_suffix=" ")
    weight_lb = click.prompt("The pilot's weight as dressed, in pounds?", type=click.FloatRange(80, 400), default=190.0,
                             err=True)
    return rating, night, total_h, weight_lb


def _aircraft(files: tuple[str, ...], ask: bool) -> tuple[Proposal, ...]:
    from missionsim.study.inputs.files import read_text
    from missionsim.study.inputs.first_study import flown_proposal
    found = [flown_proposal(read_text(Path(name), name).text) for name in files]
    for proposal in found:
        _tell(proposal)
    while ask and not files and len(found) < MOST_AIRCRAFT:
        if len(found) >= 2 and not click.confirm("Another aircraft?", err=True):
            break
        found.append(_asked_aircraft(len(found) + 1))
    return tuple(found)


def _asked_aircraft(number: int) -> Proposal:
    from missionsim.base.errors import InputError
    from missionsim.study.inputs.files import is_there, read_text
    from missionsim.study.inputs.first_study import flown_proposal
    click.echo(f"Aircraft {number}: paste its advertisement and end it with an empty line, or name a file with it.",
               err=True)
    while True:
        text = _pasted()
        said_too = ""
        path = Path(text.strip())
        try:
            if "\n" not in text.strip() and len(text) < 200 and is_there(path):
                text = read_text(path, text.strip()).text
            proposal = flown_proposal(text)
        except InputError as error:
            click.echo(f"  {error}", err=True)
            if "words do not say" not in str(error):
                click.echo("  Another advertisement, please:", err=True)
                continue
            said_too = click.prompt("  Seats, gear and power, such as `4 seats, fixed gear, 180 hp`", err=True)
            try:
                proposal = flown_proposal(text, said_too)
            except InputError as second:
                click.echo(f"  {second}\n  Once more, the whole advertisement:", err=True)
                continue
        proposal = _priced(proposal, f"{text}\n{said_too}")
        _tell(proposal)
        return proposal


def _priced(proposal: Proposal, text: str) -> Proposal:
    """Ask for a price that the advertisement does not say: what is usual for a class spreads threefold."""
    from missionsim.study.inputs.first_study import flown_proposal
    if any(f.key == "prices.asking_price_usd" for f in proposal.figures):
        return proposal
    dollars = click.prompt("  It names no price in dollars. What would you pay? (Enter: the usual of its class)",
                           default=0, show_default=False, type=click.IntRange(0, 3_000_000), err=True)
    return flown_proposal(text, f"asking ${dollars:,}") if dollars >= MIN_PRICE_USD else proposal


def _pasted() -> str:
    lines: list[str] = []
    while True:
        line = click.prompt("", default="", show_default=False, prompt_suffix="> ", err=True)
        if not line.strip() and any(lines):
            return "\n".join(lines)
        lines += [line] if line.strip() else []


def _tell(proposal: Proposal) -> None:
    click.echo(f"  {proposal.name} ({proposal.class_words}): {len(proposal.figures)} figures from its words, "
               f"{len(proposal.guesses)} usual for its class, {len(proposal.questions)} questions for the seller",
               err=True)


def _told_errands(lines: tuple[str, ...], home: Airport) -> tuple[Errand, ...]:
    from missionsim.study.inputs.first_study import errand_of
    found = tuple(errand_of(line, home) for line in lines)
    for errand in found:
        _tell_errand(errand)
    return found


def _tell_errand(errand: Errand) -> None:
    """Say what a line was taken for, and which field of a town."""
    click.echo(f"  {errand.places[0]}, {errand.per_year} a year, {errand.people} aboard, {errand.nights} nights"
               + (f"; {errand.note}" if errand.note else ""), err=True)


def _asked_trips(home: Airport) -> tuple[Path | None, tuple[Errand, ...]]:
    from missionsim.base.errors import InputError
    from missionsim.study.inputs.files import is_there
    from missionsim.study.inputs.first_study import errand_of
    click.echo("Where do you fly and how often a year? One line each, such as `Omaha, NE 12, 2 people, 1 night`, or "
               "the name of a logbook, calendar or trip list; an empty line ends.", err=True)
    errands: list[Errand] = []
    while True:
        line = click.prompt("", default="", show_default=False, prompt_suffix="> ", err=True).strip()
        if not line and errands:
            return None, tuple(errands)
        if not line:
            continue
        if Path(line).suffix and is_there(Path(line)) and not errands:
            return Path(line), ()
        try:
            errands.append(errand_of(line, home))
        except InputError as error:
            click.echo(f"  {error}", err=True)
        else:
            _tell_errand(errands[-1])
