"""What somebody types into a field as a figure of a file: number, range, yes and no, unknown, or words."""

from __future__ import annotations

import re
from typing import Any

UNITS = re.compile(r"\s*(?:usd|dollars?|kts?|knots|ft|feet|nm|lbs?|pounds|gal|gallons|gph|fpm|hp|hours?|hrs?|h|years?)"
                   r"\s*$", re.IGNORECASE)
MOST_CHARACTERS = 200
"""A longer text is words, no figure."""
_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")
_GROUPED = re.compile(r"[-+]?\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_BETWEEN = re.compile(r"\s*(?:\.\.\.?|\bto\b|[\u2013\u2014])\s*", re.IGNORECASE)


def figure(text: str) -> Any:
    """Return a typed text as plain data: None for an empty field.

    `1,840 lb` is a number, `1830 to 1885` and `1830 / 1850 / 1885` are ranges, `yes` and `no` truth values,
    `unknown` and `?` say that nobody told. Anything else stays text, for the study's own rules to judge.
    """
    words = text.strip()
    if not words or len(words) > MOST_CHARACTERS:
        return words or None
    if words.casefold() in {"unknown", "?", "not known", "not said"}:
        return "unknown"
    if words.casefold() in {"yes", "true", "no", "false"}:
        return words.casefold() in {"yes", "true"}
    ends = [_number(part) for part in re.split(r"\s*/\s*", words)] if words.count("/") == 2 \
        else [_number(part) for part in _BETWEEN.split(words)]
    if len(ends) == 3 and None not in ends:
        return {"low": ends[0], "likely": ends[1], "high": ends[2]}
    if len(ends) == 2 and None not in ends:
        return {"low": ends[0], "high": ends[1]}
    alone = _number(words)
    return words if alone is None else alone


def shown(value: Any) -> str:
    """Return a figure of a file as it would be typed."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict) and {"low", "high"} <= set(value):
        middle = f" / {shown(value['likely'])} / " if "likely" in value else " to "
        return f"{shown(value['low'])}{middle}{shown(value['high'])}"
    if isinstance(value, int | float):
        return f"{value:.10g}"
    return str(value)


def _number(text: str) -> float | int | None:
    bare = UNITS.sub("", text.strip().removeprefix("$").strip())
    if _GROUPED.fullmatch(bare):
        bare = bare.replace(",", "")
    if not _NUMBER.fullmatch(bare):
        return None
    value = float(bare)
    return int(value) if value.is_integer() and "." not in bare else value
