"""Faults of the user's input and errors of the program's caller."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

_LONGEST_NAME = 240


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in one place of the user's input.

    Parameters
    ----------
    file : str          The file as the user named it.
    key : str           Key path (`cruise.table`), column or row the fault sits at; may be empty.
    what : str          What is wrong, with the value.
    accepted : str      What would be accepted; may be empty.
    near : str          A near match to offer; may be empty.
    line : int or None  Line in the file, from 1.
    """

    file: str
    key: str
    what: str
    accepted: str = ""
    near: str = ""
    line: int | None = None

    def __str__(self) -> str:
        name = self.file if len(self.file) <= _LONGEST_NAME else f"{self.file[:_LONGEST_NAME]}..."
        place = name if self.line is None else f"{name}:{self.line}"
        text = f"{place}: {self.key}: {self.what}" if self.key else f"{place}: {self.what}"
        if self.accepted:
            text += f"; accepted: {self.accepted}"
        text += "." if not text.endswith(".") else ""
        text += f" Did you mean {self.near!r}?" if self.near else ""
        return printable(text)      # one line, whatever a file's name or key holds


class MissionsimError(Exception):
    """Base of all errors this program raises on purpose."""


class ValidityError(MissionsimError, ValueError):
    """A quantity lies outside the range a formula or table is valid for."""


class InputError(MissionsimError, ValueError):
    """The user's input has faults; all of them are carried at once.

    Parameters
    ----------
    faults : iterable of Fault
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


def printable(text: str) -> str:
    """Return a text as one line without anything that commands a terminal or turns the direction of reading."""
    return "".join(c if c.isprintable() else "?" for c in text)


def near_match(word: str, known: Sequence[str]) -> str:
    """Return the known word closest to a misspelt one, or an empty string. Case is ignored."""
    lower = {k.lower(): k for k in known}
    hit = difflib.get_close_matches(word.lower(), list(lower), n=1, cutoff=0.6)
    return lower[hit[0]] if hit else ""
