"""The commands and how they fail: a fault is one line and exit code 2, never a traceback."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

import click

from missionsim.cli.ending import FAULT, ended, say

COMMANDS = {
    "page": "the whole job in a browser on this machine, without editing a file",
    "compare": "fly the candidates of a study through a year of trips and compare them",
    "leg": "plan one leg and say why it goes or does not",
    "check": "check profiles, studies and trip lists; show fits and what is unknown",
    "trips": "write a study's trips as a table",
    "climate": "show the weather and winds assumed at a place",
    "new": "write a commented starter study to edit",
    "partners": "one aircraft, several members: who gets it and who pays what",
    "rates": "hourly cost, and the rate at which outside flying breaks even",
}
"""Each lives in a module `missionsim.cli.<name>_command`, imported only when called."""

CAUTION = ("Planning estimates only. The flight manual, a current weather briefing, the regulations and the pilot in "
           "command decide.")


class _Lazy(click.Group):
    """A group whose commands are imported when asked for, so that --help is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the list above."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command by name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"missionsim.cli.{cmd_name}_command").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the commands and what they do without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=_Lazy, epilog=CAUTION, context_settings={"help_option_names": ["--help", "-h"]})
@click.version_option(package_name="missionsim", message="missionsim %(version)s")
def app() -> None:
    """Fly used-aircraft candidates through a year of your own trips and compare them.

    Example: missionsim compare my_study.yaml
    """


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line; faults of the user's input go to stderr, one line each, with exit code 2."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    if any("\0" in word for word in given):
        say("an argument holds a zero byte; accepted: plain words")
        sys.exit(FAULT)
    sys.exit(ended(lambda: app(args=given, standalone_mode=False)))
