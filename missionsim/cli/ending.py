"""How the program ends: exit codes, one line a fault, and streams that nobody reads or that are full."""

from __future__ import annotations

import errno
import io
import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import click

from missionsim.base.errors import MissionsimError, printable
from missionsim.base.processes import exit_code, heeding_signals

FAULT = 2
"""Something about the input, or about a place to write to."""
OURS = 70
"""A mistake of this program's own; EX_SOFTWARE of sysexits.h."""
NOBODY_READS = 1
"""Whoever read the output has gone, as `head` does; nothing to say."""


def ended(work: Callable[[], Any]) -> int:
    """Do the work of a command and return the exit code; what goes wrong is a line on stderr, or a line a fault."""
    _make_streams_safe()
    try:
        with heeding_signals():
            code = work()
            sys.stdout.flush()
    except SystemExit as error:
        code = error.code
    except BaseException as error:      # nothing may reach the user as a traceback
        code, text = _code_and_text(error)
        say(text)
    with suppress(OSError, ValueError):
        sys.stderr.flush()
    return code if isinstance(code, int) else 0 if code is None else 1


def _code_and_text(error: BaseException) -> tuple[int, str]:
    interrupted = _interruption(error)
    if interrupted is not None:
        told = exit_code(interrupted), "Interrupted."
    elif isinstance(error, click.ClickException):
        text = io.StringIO()
        error.show(file=text)
        told = error.exit_code, text.getvalue().rstrip("\n")
    elif isinstance(error, MissionsimError):
        told = FAULT, str(error)
    elif isinstance(error, MemoryError):
        told = FAULT, "There is not enough memory for this; try fewer simulated years, --keep 1, or --workers 1."
    elif isinstance(error, OSError) and error.filename is None:     # of writing to a stream, not of opening a file
        _drop_stdout()
        told = ((NOBODY_READS, "") if error.errno == errno.EPIPE else
                (FAULT, f"The output cannot be written ({(error.strerror or str(error)).lower()})."))
    else:
        told = OURS, _reported(error)
    return told


def _interruption(error: BaseException) -> KeyboardInterrupt | None:
    """Return the interruption behind an error; click wraps one in an error of its own."""
    if isinstance(error, KeyboardInterrupt):
        return error
    if isinstance(error, click.Abort):
        return error.__cause__ if isinstance(error.__cause__, KeyboardInterrupt) else KeyboardInterrupt()
    return None


def say(text: str) -> None:
    """Write lines to stderr, without anything that commands a terminal; nothing for an empty text."""
    if not text:
        return
    with suppress(OSError, ValueError):
        click.echo("\n".join(printable(line) for line in text.split("\n")), err=True)


def _make_streams_safe() -> None:
    """Give closed streams somewhere to go, and keep letters that a console does not know from ending a command."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115  (for as long as we run)
        elif hasattr(stream, "reconfigure"):
            with suppress(OSError, ValueError):
                stream.reconfigure(errors="backslashreplace")
    if sys.stdin is None:
        sys.stdin = Path(os.devnull).open(encoding="utf-8")  # noqa: SIM115


def _drop_stdout() -> None:
    """Send what is still on its way to stdout nowhere: Python would stumble over it once more when it ends."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _reported(error: BaseException) -> str:
    """Write down what happened and return a line that names the file."""
    what = "".join(traceback.format_exception_only(error)).strip().splitlines()[-1]
    text = (f"missionsim, Python {platform.python_version()}, {platform.platform()}\n{sys.argv[1:]!r}\n\n"
            f"{''.join(traceback.format_exception(error))}")
    for folder in (None, Path.cwd()):
        with suppress(OSError, ValueError):
            handle, name = tempfile.mkstemp(prefix="missionsim-error-", suffix=".txt", dir=folder)
            with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
                file.write(text)
            return f"A mistake in missionsim itself ({what:.200}). Please report it with the file {name}"
    return f"A mistake in missionsim itself ({what:.200}). Please report it with the command you gave."
