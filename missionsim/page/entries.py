"""What somebody types for a figure of a study that is no single one: airports, weights, days, seasons, lists."""

from __future__ import annotations

import re
from typing import Any

from missionsim.page import figures

PLACES = frozenset({"home", "to", "from"})
"""Keys whose values are airports."""
WORDS = frozenset({"study", "question", "name", "purpose", "member", "trips", "rent_aircraft"})
"""Keys whose values are words whatever they look like."""
FILES = frozenset({"rent_aircraft"})
"""Keys whose values name a file of the study's folder."""
WEIGHTS = frozenset({"nights", "adults", "children", "passengers", "season", "fuel_at"})
"""Keys whose values may be several with a weight each: `2: 0.6, 3: 0.4`."""
LISTS = frozenset({"sizes", "hours_a_year", "weekdays", "when_it_does_not_fit"})
"""Keys whose values are lists, of one entry too."""
RANGES = frozenset({"bags_lb", "notice_days"})
"""Keys whose values are low, likely and high: `60 / 200 / 320`."""
SETS = {"none": (), "weekend": ("sat", "sun"), "weekdays": ("mon", "tue", "wed", "thu", "fri"),
        "any day": ("mon", "tue", "wed", "thu", "fri", "sat", "sun")}
"""Words for several entries of a list."""
_BETWEEN = re.compile(r"[\s,;/]+")
_WEIGHT = re.compile(r"([A-Za-z0-9-]+)\s*[:=]\s*([\d.]+)")


def typed(key: str, text: str) -> Any:
    """Return a typed text as plain data for a key; None for an empty field. Whatever does not fit stays text."""
    words = text.strip()
    if not words:
        return None
    if key in WORDS:
        return words
    if key in WEIGHTS:
        return _weights(words)
    if key in LISTS and words.casefold() in SETS:
        return list(SETS[words.casefold()])
    if key in LISTS or (key in RANGES and words.count("/") == 2):
        return [_plain(part) for part in _BETWEEN.split(words) if part]
    return figures.figure(words)


def shown(value: Any) -> str:
    """Return a value of a file as it would be typed."""
    if isinstance(value, list) and not value:
        return "none"
    if isinstance(value, list | tuple) and not any(isinstance(v, dict | list) for v in value):
        numbers = all(isinstance(v, int | float) and not isinstance(v, bool) for v in value)
        return (" / " if numbers and len(value) == 3 else " ").join(figures.shown(v) for v in value)
    if isinstance(value, dict) and value and "low" not in value and not any(isinstance(v, dict | list)
                                                                           for v in value.values()):
        return ", ".join(f"{k}: {figures.shown(v)}" for k, v in value.items())
    return figures.shown(value)


def parts_of(text: str) -> list[str]:
    """Return the airports of a cell: identifiers apart, or one town such as `Omaha, NE`."""
    parts = [part for part in _BETWEEN.split(text.strip()) if part]
    return parts if all(re.fullmatch(r"[A-Za-z]{3,4}|[A-Za-z0-9-]*\d[A-Za-z0-9-]*", p) for p in parts) else [text]


def entry_words(entry: Any) -> str:
    """Return an entry of a list in one line, to tell whether it is still the one that somebody saw."""
    if not isinstance(entry, dict):
        return shown(entry)
    return "; ".join(f"{key} {shown(value)}" for key, value in entry.items())


def _weights(words: str) -> Any:
    """Return `2: 0.6, 3: 0.4` as a table, words alone with the same weight each; anything else as it would be alone."""
    parts = [part.strip() for part in words.split(",")]
    found = [_WEIGHT.fullmatch(part) for part in parts]
    if all(found):
        pairs = [match.groups() for match in found if match]
        return {_plain(name) if name.isdigit() else name: _plain(weight) for name, weight in pairs}
    names = [part for part in _BETWEEN.split(words) if part]
    return {name.casefold(): 1 for name in names} if all(name.isalpha() for name in names) else _plain(words)


def _plain(text: str) -> Any:
    return figures.figure(text)
