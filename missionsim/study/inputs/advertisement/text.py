"""The text of an advertisement while it is read: words already understood are set aside, so nothing is read twice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Literal

from missionsim.study.inputs.advertisement.layout import quoted, readable

How = Literal["said", "converted", "read as", "unclear", "class guess"]
"""Said as a figure; said in another unit; words that stand for a figure or range; words that can mean two things; not
said at all but usual for the class."""

NUMBER = r"\d{1,3}(?:[,'\u2019]\d{3})+(?:\.\d+)?|\d{1,3}\.\d{3}(?!\d|\.\d)|\d+(?:\.\d+)?"
"""A number as sellers write it: 4,650, 4650, 4.650 (thousands: nobody writes thousandths of an hour), 412.6."""

ABOUT = r"(?:(?:approx(?:imately)?\.?|about|around|roughly|est(?:imated|\.)?|ca\.?|circa|only|just|under|over|~|\+/-)\s*){0,3}"

MONTHS = {name: i + 1 for i, name in enumerate(
    ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"))}
_SAME_LENGTH = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2018": "'", "\u2019": "'", "\u201c": '"',
                              "\u201d": '"', "\u2010": "-", "\u2011": "-", "\u2013": "-", "\u2014": "-", "\u2212": "-",
                              "\t": " ", "\u00d7": "x", "\u2032": "'"})
_TAKEN = "\x01"
_CLAUSE = re.compile(r",(?!\d{3}\b)|[;\n!]|\.(?!\d)")


@dataclass(frozen=True, slots=True)
class FoundWords:
    """One thing an advertisement says.

    Parameters
    ----------
    key : str       Key of an aircraft profile (`engine.tbo_h`), or a word of ours for what a profile has no key for.
    value : object  Number in the key's unit, yes or no, word, pair (left, right engine), or range (low, likely, high).
    words : str     The very words of the advertisement.
    start : int     Where they begin, in characters, runs of blanks counted as one.
    how : str       See `How`.
    note : str      What a reader should know about the reading; may be empty.
    """

    key: str
    value: Any
    words: str
    start: int
    how: How = "said"
    note: str = ""


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern, re.IGNORECASE)  # more patterns than the cache of `re` holds


@dataclass
class AdvertisementText:
    """Words still to be read, and what was found so far."""

    original: str
    rest: str = field(init=False)
    found: list[FoundWords] = field(default_factory=list)

    def __post_init__(self) -> None:
        written = re.sub(r"[ \f\v\x01\x02]+", " ", self.original.translate(_SAME_LENGTH))
        self.original, self.rest = quoted(written), readable(written)

    def matches(self, pattern: str) -> Iterator[re.Match[str]]:
        """Yield matches in words not yet understood; those taken meanwhile are passed over."""
        for match in _compiled(pattern).finditer(self.rest):
            if _TAKEN not in self.rest[match.start():match.end()]:
                yield match

    def first(self, pattern: str) -> re.Match[str] | None:
        """Return the first match in words not yet understood, or None."""
        return next(self.matches(pattern), None)

    def take(self, match: re.Match[str], key: str, value: Any, how: How = "said", note: str = "",
             group: int | str = 0) -> None:
        """Keep what a match says, and set its words aside.

        Parameters
        ----------
        match : re.Match     The words found.
        key : str            Dotted key.
        value : any          What it says.
        how : How            How surely it is said.
        note : str           What the reader should know.
        group : int or str   Of the match that holds the words.
        """
        self.take_span(match.start(group), match.end(group), key, value, how, note)

    def take_span(self, start: int, end: int, key: str, value: Any, how: How = "said", note: str = "") -> None:
        """Keep what the words between two places say, and set them aside.

        Parameters
        ----------
        start : int   First character.
        end : int     Behind the last character.
        key : str     Dotted key.
        value : any   What they say.
        how : How     How surely it is said.
        note : str    What the reader should know.
        """
        words = self.original[start:end]
        lead = len(words) - len(words.lstrip(" ,;:.-"))
        self.found.append(FoundWords(key, value, " ".join(words.strip(" ,;:").split()), start + lead, how, note))
        self.rest = self.rest[:start] + _TAKEN * (end - start) + self.rest[end:]

    def has(self, key: str) -> bool:
        """Return whether something was found for a key."""
        return any(f.key == key for f in self.found)

    def get(self, key: str) -> Any:
        """Return the first value found for a key, or None."""
        return next((f.value for f in self.found if f.key == key), None)

    def before(self, place: int, most: int = 28) -> str:
        """Return the words of the same clause before a place, in small letters."""
        return _CLAUSE.split(self.original[max(0, place - most):place])[-1].lower()

    def after(self, place: int, most: int = 28) -> str:
        """Return the words of the same clause after a place, in small letters."""
        return _CLAUSE.split(self.original[place:place + most])[0].lower()

    def sentence_before(self, place: int, most: int = 160) -> str:
        """Return the words of the same sentence before a place, in small letters."""
        return re.split(r"[;\n!?]|\.(?!\d)", self.original[max(0, place - most):place])[-1].lower()

    def unread(self) -> tuple[str, ...]:
        """Return what was not understood, clause by clause, without what says nothing by itself."""
        clauses = re.split(rf",(?!\d{{3}}\b)|[{_TAKEN};!\n()]+|\.(?=\s|$)", self.rest)
        plain = (" ".join(c.split()).strip(" .:-&/+*|#?'\"") for c in clauses)
        return tuple(c for c in plain if re.search(r"[^\W\d_]{3,}|\d{2,}", c) and c.lower() not in _EMPTY)


_EMPTY = frozenset({"for sale", "and", "with", "the", "new", "hours", "hrs", "sale", "has", "also", "very", "but",
                    "only", "asking", "price", "engine", "ask", "props", "tank", "tanks", "from", "since", "usd", "airframe", "prop", "propeller"})


def number(text: str) -> float:
    """Return the value of a text that matches `NUMBER`."""
    if re.fullmatch(r"\d{1,3}\.\d{3}", text):
        text = text.replace(".", "")
    return float(re.sub(r"[,'\u2019]", "", text))


def numbers(text: str) -> tuple[float, ...]:
    """Return all numbers of a text."""
    return tuple(number(m) for m in re.findall(NUMBER, text))


def full_year(two: int, this_year: int) -> int:
    """Return the year two digits stand for: not more than three years ahead."""
    return 2000 + two if 2000 + two <= this_year + 3 else 1900 + two
