"""The layout of an advertisement made plain, character for character: lines, tables, thousands, letters changed about.

Every function returns a text of the same length, so that the seller's own words can still be quoted by place. Not here:
what the words mean.
"""

from __future__ import annotations

import re
from itertools import pairwise

_SHORT_LINE = 45
"""Characters; prose is wrapped at more, a line of a list seldom is as long."""

_LISTED = 4
"""Strokes with blanks about them in a line that part its figures like commas."""

_VALUE_ALONE = re.compile(r"\W*[$\u20ac\u00a3]?\s?\d[\d.,/' ]*\s*[a-z.]{0,7}\W*", re.IGNORECASE)
_LABEL_ALONE = re.compile(r"[^\d:=|]{2,30}")
_LABELLED = re.compile(r"[:=|]|^\s*[-*\u2022]")
_UNIT_OF_LABEL = re.compile(r"\((?:in\s*)?(?P<usable>usable\s*)?(?:lbs?|pounds|hrs?|hours|h|gals?|gallons|us\s*gal|usd|ktas|kts|knots|nm|ft|feet|fpm|gph)"
                            r"(?P<after>\s*usable)?\)(?=\s*[:=|])", re.IGNORECASE)
_HOURS_BY_BLANK = re.compile(r"(?<![\d#] )(?<![\d#.,/$x-])\d{1,2} \d{3}(?=\s*(?:hours?|hrs?|h)\b)", re.IGNORECASE)
_MONEY_BY_BLANK = re.compile(r"(?<![\d.,])\d{1,3}(?: \d{3}){1,2}(?=\s*(?:USD|EUR|GBP|CAD|dollars|euros?|\u20ac|\u00a3|\$(?!\s?\d)))"
                             r"|(?<=[$\u20ac\u00a3])\s?\d{1,3}(?: \d{3}){1,2}\b(?!\s*(?:h\b|hrs|hours|TT|S[A-Z]+))", re.IGNORECASE)

_SPELLED = frozenset({
    "gear", "useful", "load", "annual", "overhaul", "overhauled", "engine", "propeller", "history", "damage", "hangared", "smoh",
    "usable", "cruise", "hours", "total", "time", "price", "asking", "seats", "retractable", "fixed", "knots", "gallons", "autopilot",
    "complete", "airframe", "weight", "gross", "empty", "since", "interior", "payload", "fuel", "hrs", "spoh"})
"""Words whose letters sellers change about; none is another word of the trade with two neighbours exchanged."""
_LONGEST = max(map(len, _SPELLED))


def quoted(text: str) -> str:
    """Return a text in which a line's end is a blank where a sentence goes on; all its words are the seller's."""
    return _with_ends(text).replace("\x02", " ")


def _with_ends(text: str) -> str:
    lines = text.split("\n")
    ends = [_end(a, b) for a, b in pairwise(lines)]
    return "".join(line + end for line, end in zip(lines, [*ends, ""], strict=True))


def _end(line: str, following: str) -> str:
    if not line.strip() or not following.strip():
        return "\n"
    if _LABEL_ALONE.fullmatch(line.strip()) and _VALUE_ALONE.fullmatch(following):
        return "\x02"
    if line.rstrip().endswith((":", "=", "|")):
        return " "
    listed = _LABELLED.search(line) or _LABELLED.search(following)
    return "\n" if listed or len(line.rstrip()) < _SHORT_LINE else " "


def readable(text: str) -> str:
    """Return a text as the patterns read it: lines of a list end as clauses do, labels have colons."""
    text = _with_ends(text).replace("\x02", ":")
    text = re.sub(r"(?<=[\w)]) ?\|(?= ?[$\w])", lambda m: m[0].replace("|", ":"), text)
    text = _UNIT_OF_LABEL.sub(_usable_alone, text)
    for thousands in (_HOURS_BY_BLANK, _MONEY_BY_BLANK):
        text = thousands.sub(lambda m: re.sub(r"(?<=\d) (?=\d)", "'", m[0]), text)
    text = re.sub(r"(?<=[A-Za-z]{2})/(?=\d)", ";", text)    # 3200TT/800SMOH, 108 kts/9 gph
    text = re.sub(r"[A-Za-z]{3,}", lambda m: _spelled(m[0]), text)
    text = "\n".join(line.replace(" / ", " ; ") if line.count(" / ") >= _LISTED else line for line in text.split("\n"))
    return text.replace("\n", ";")


def _usable_alone(match: re.Match[str]) -> str:
    kept = "usable" if match["usable"] or match["after"] else ""
    return kept.rjust(len(match[0])) if kept else " " * len(match[0])


def _spelled(word: str) -> str:
    """Return a word with two neighbouring letters put right where that makes it one of those known."""
    small = word.lower()
    if small in _SPELLED or not 4 <= len(small) <= _LONGEST:
        return word
    for i in range(len(small) - 1):
        if small[i] != small[i + 1]:
            changed = small[:i] + small[i + 1] + small[i] + small[i + 2:]
            if changed in _SPELLED:
                return changed.upper() if word.isupper() else changed
    return word
