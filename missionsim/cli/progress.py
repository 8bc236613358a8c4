"""Progress of long work on stderr, and a plain word when it is interrupted."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import TracebackType

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

from missionsim.base.processes import exit_code

WORTHWHILE = 100
"""Simulated years from which a second process pays for its start."""


def usual_workers(replications: int) -> int:
    """Return how many processes to use when the user did not say."""
    return max(1, min(os.cpu_count() or 1, replications // 50)) if replications >= WORTHWHILE else 1


class Flying:
    """Shows how far a study is: a bar with the time left on a terminal, a line or two elsewhere.

    Parameters
    ----------
    candidates, replications : int
    out : Path       Where results go, for the word on interruption.
    at_most : bool   Whether fewer replications may be enough.
    """

    def __init__(self, candidates: int, replications: int, out: Path, at_most: bool = False) -> None:
        self.console = Console(stderr=True, highlight=False)
        self.candidates, self.replications, self.out, self.at_most = candidates, replications, out, at_most
        self.done = 0
        self.bar = Progress(TextColumn("{task.description}"), BarColumn(),
                            TextColumn("{task.completed:.0f} of {task.total:.0f} years"), TimeRemainingColumn(),
                            console=self.console, transient=True, disable=not self.console.is_terminal)
        self.task = self.bar.add_task("Flying", total=replications)

    def __enter__(self) -> Flying:
        if self.console.is_terminal:
            self.bar.start()
        else:
            many = "" if self.candidates == 1 else "s"
            years = "" if self.replications == 1 else "s"
            most = "at most " if self.at_most else ""
            print(f"Flying {self.candidates} candidate{many} through {most}{self.replications} simulated year{years} "
                  "...", file=sys.stderr, flush=True)
        return self

    def progress(self, done: int, wanted: int) -> None:
        """Take note of replications done."""
        self.done = done
        self.bar.update(self.task, completed=done, total=wanted)

    def writing(self) -> None:
        """Say that the report is being made."""
        self.bar.update(self.task, description="Writing the report")

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None,
                 ) -> None:
        if self.console.is_terminal:
            self.bar.stop()
        if error is not None and isinstance(error, KeyboardInterrupt):
            kept = f"; the earlier results in {self.out} stay as they were" if self.out.exists() else ""
            print(f"Interrupted after {self.done} of {self.replications} simulated years. Nothing was written{kept}.",
                  file=sys.stderr)
            sys.exit(exit_code(error))
