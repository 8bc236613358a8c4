"""Faults of the user's input and errors of the program's caller."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

MOST_TOLD = 1_000
"""So many faults are told in full, as many as somebody may read; of what comes after, how many."""
_LONGEST_NAME = 240
_LONGEST_KEY = 100
_LONG_WORD = re.compile(r"[^\s;]{121,}")
_COMMANDING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters but for tabs and line ends, marks and overrides of direction, halves of characters."""


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
        key = self.key if len(self.key) <= _LONGEST_KEY else f"{self.key[:_LONGEST_KEY]}..."
        text = f"{key}: {self.what}" if key else self.what
        if self.accepted:
            text += f"; accepted: {self.accepted}"
        text += "." if not text.endswith(".") else ""
        text += f" Did you mean {self.near!r}?" if self.near else ""
        text = _LONG_WORD.sub(lambda word: f"{word[0][:_LONGEST_KEY]}...", text)
        return printable(f"{place}: {text}")      # one line, whatever a file's name or key holds


class MissionsimError(Exception):
    """Base of all errors this program raises on purpose."""


class ValidityError(MissionsimError, ValueError):
    """A quantity lies outside the range a formula or table is valid for."""


class InputError(MissionsimError, ValueError):
    """The user's input has faults; all of them are carried at once, the first thousand are told.

    Parameters
    ----------
    faults : iterable of Fault
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(told(self.faults)))


def told(faults: Sequence[Fault]) -> list[str]:
    """Return faults in words, a line each: the first `MOST_TOLD`, then how many more there are."""
    more = len(faults) - MOST_TOLD
    lines = [str(f) for f in faults[:MOST_TOLD]]
    if more > 0:
        lines.append(f"{more:,} more {'fault is' if more == 1 else 'faults are'} told once these are mended.")
    return lines


def commanding(text: str) -> str:
    """Return the first character that commands a terminal or turns the direction of reading, as `U+202E`; else ''."""
    found = _COMMANDING.search(text)
    return f"U+{ord(found[0]):04X}" if found else ""


def without_commands(text: str) -> str:
    """Return a text with a blank for each character that `commanding` finds."""
    return _COMMANDING.sub(" ", text)


def printable(text: str) -> str:
    """Return a text as one line without anything that commands a terminal or turns the direction of reading."""
    return "".join(c if c.isprintable() else "?" for c in text)


def told_apart(value: float, low: float, high: float, decimals: int) -> tuple[str, str]:
    """Return a number that is refused, and `low to high`, so that who reads them sees the one outside the other.

    Parameters
    ----------
    value, low, high : float   The number lies below `low` or above `high`.
    decimals : int             Enough where they lie apart; more are written where rounding would hide what is wrong.
    """
    for places in range(decimals, 18):
        said, least, most = (f"{n:.{places}f}" for n in (value, low, high))
        if not float(least) <= float(said) <= float(most):
            break
    said, least, most = (n.rstrip("0").rstrip(".") if "." in n else n for n in (said, least, most))
    return said, f"{least} to {most}"


def near_match(word: str, known: Sequence[str]) -> str:
    """Return the known word closest to a misspelt one, or an empty string. Case is ignored."""
    lower = {k.lower(): k for k in known}
    hit = difflib.get_close_matches(word.lower(), list(lower), n=1, cutoff=0.6)
    return lower[hit[0]] if hit else ""


class NearMatches:
    """Near matches of words that are faults of one reading, of no more than are told.

    One takes from a tenth of a millisecond to several: a file of 50,000 strange keys would take a minute for matches
    nobody sees.
    """

    def __init__(self) -> None:
        self._left = MOST_TOLD

    def of(self, word: str, known: Sequence[str]) -> str:
        """Return the near match of the next word, an empty string where none is near or `MOST_TOLD` have been asked."""
        self._left -= 1
        return near_match(word, known) if self._left >= 0 else ""
