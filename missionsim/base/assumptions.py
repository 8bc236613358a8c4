"""The one assumptions file: every number the user did not give, with unit, meaning and source."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

import yaml

from missionsim.base.errors import Fault, InputError, near_match


@dataclass(frozen=True, slots=True)
class Assumption:
    """One number (or short list or table) with its unit, meaning and source."""

    key: str
    value: Any
    unit: str
    what: str
    source: str
    low: Any = None
    high: Any = None
    overridden: bool = False


@dataclass(frozen=True)
class Assumptions:
    """A frozen set of assumptions, read by dotted key: `assumptions["runway.margin"]`."""

    entries: Mapping[str, Assumption] = field(repr=False)

    def __getitem__(self, key: str) -> Any:
        if key not in self.entries:
            msg = f"no assumption named {key!r}; nearest is {near_match(key, list(self.entries))!r}"
            raise KeyError(msg)
        return self.entries[key].value

    def __iter__(self) -> Iterator[Assumption]:
        return iter(self.entries.values())

    def entry(self, key: str) -> Assumption:
        """Return value, unit, meaning and source together."""
        return self.entries[key]

    def replaced(self, values: Mapping[str, Any], file: str = "study", lines: Mapping[str, int] | None = None,
                 ) -> Assumptions:
        """Return a copy with some values replaced by the user's.

        Parameters
        ----------
        values : mapping      Dotted key to new value, of the same kind as the packaged one.
        file, lines           Where the user wrote them, for faults.

        Raises
        ------
        InputError            Unknown keys and values of the wrong kind, all at once.
        """
        faults = []
        entries = dict(self.entries)
        for key, value in values.items():
            line = (lines or {}).get(key)
            old = entries.get(key)
            if old is None:
                faults.append(Fault(file, f"assumptions.{key}", "unknown assumption", "a key of the assumptions file",
                                    near_match(key, list(entries)), line))
            elif not _same_kind(old.value, value):
                faults.append(Fault(file, f"assumptions.{key}", f"is {value!r}",
                                    f"{_kind(old.value)} [{old.unit}], such as {old.value!r}", "", line))
            else:
                entries[key] = Assumption(key, value, old.unit, old.what, "the study", old.low, old.high, True)
        if faults:
            raise InputError(faults)
        return Assumptions(entries)


@cache
def packaged_assumptions() -> Assumptions:
    """Return the packaged assumptions, read once."""
    text = resources.files("missionsim").joinpath("assumptions.yaml").read_text(encoding="utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    raw = yaml.load(text, Loader=loader)
    entries = {}
    for group, items in raw.items():
        for name, item in items.items():
            key = f"{group}.{name}"
            entries[key] = Assumption(key, item["value"], item["unit"], item["what"], item["source"],
                                      item.get("low"), item.get("high"))
    return Assumptions(entries)


def _kind(value: Any) -> str:
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, int | float):
        return "a number"
    return {"str": "a word", "list": "a list", "dict": "a table"}.get(type(value).__name__, type(value).__name__)


def _same_kind(old: Any, new: Any) -> bool:
    if isinstance(old, bool) or isinstance(new, bool):
        return isinstance(old, bool) and isinstance(new, bool)
    if isinstance(old, int | float):
        return isinstance(new, int | float) and math.isfinite(new)
    if isinstance(old, list):
        return isinstance(new, list) and len(new) == len(old) and all(map(_same_kind, old, new))
    if isinstance(old, dict):
        return isinstance(new, dict) and set(new) == set(old) and all(_same_kind(old[k], new[k]) for k in old)
    return isinstance(new, type(old))
