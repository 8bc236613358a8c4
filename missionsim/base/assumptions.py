"""The one assumptions file: every number the user did not give, with unit, meaning and source."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from typing import Any

import yaml

from missionsim.base.accepted import Accepted, complaints, numbers, shown
from missionsim.base.errors import Fault, InputError, near_match

REMOVED = {
    "year.crosswind_share": "runway.crosswind_of_demonstrated_share",
    "year.demonstrated_crosswind_kt": "runway.crosswind_kt",
    "runway.tailwind_limit_kt": "year.max_tailwind_kt",
    "flight.isa_margin_c": "",
    "maintenance.oil_change_interval_days": "maintenance.oil_change_interval_h",
    "maintenance.parts_wait_share": "",
    "maintenance.repair_days_home": "maintenance.repair_days",
    "maintenance.repair_days_away": "maintenance.find_mechanic_days",
    "year.wait_for_repair_h": "",
    "weather.icing_forecast_share": "icing.believed_share",
    "engine_life.power_loss_per_h": "",
    "engine_life.power_loss_factor": "",
    "engine_life.early_power_loss_factor": "",
    "engine_life.turbo_usd_per_h": "engine_life.turbo_overhaul_usd",
    "cost.car_limit_nm": "time.choice_usd_per_h",
}
"""Keys of former versions, and what a study overrides now instead; empty where nothing took their place."""


@dataclass(frozen=True, slots=True)
class Assumption:
    """One number (or short list or table) with its unit, meaning, source and accepted range.

    `low` and `high` are the 10 and 90 % points, in the shape of the value or of part of it; None where nobody can
    say.
    """

    key: str
    value: Any
    unit: str
    what: str
    source: str
    low: Any = None
    high: Any = None
    accepted: Accepted = field(default_factory=Accepted)
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
        InputError            Unknown keys, values of the wrong kind or beyond what is accepted, all at once.
        """
        faults = []
        entries = dict(self.entries)
        for key, value in values.items():
            wrong, near = self._wrong(key, value)
            faults += [Fault(file, f"assumptions.{key}", what, accepted, near, (lines or {}).get(key))
                       for what, accepted in wrong]
            if not wrong:
                entries[key] = _overridden(entries[key], value)
        if not faults:
            faults = [Fault(file, f"assumptions.{key}", what, accepted, "", (lines or {}).get(key))
                      for key, what, accepted in _crossed(entries, values)]
        if faults:
            raise InputError(faults)
        return Assumptions(entries)

    def supposed(self, values: Mapping[str, Any]) -> Assumptions:
        """Return a copy with some values replaced by a what-if of the program's own, such as a point of a search."""
        return Assumptions({**self.entries, **{key: replace(self.entries[key], value=v) for key, v in values.items()}})

    def _wrong(self, key: str, value: Any) -> tuple[list[tuple[str, str]], str]:
        old = self.entries.get(key)
        if key in REMOVED:
            successor = REMOVED[key]
            return [("is no longer an assumption", f"{successor} in its place" if successor else "nothing in its place")
                    ], successor
        if old is None:
            return [("unknown assumption", "a key of the assumptions file")], near_match(key, list(self.entries))
        if not _same_kind(old.value, value):
            return [(f"is {shown(value)}", f"{_kind(old.value)} [{old.unit}], such as {shown(old.value)}")], ""
        return complaints(value, old.accepted, old.unit, old.value), ""


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
            accepted = Accepted(item.get("accepted"), item.get("whole", False), item.get("order", ""), item.get("sum"),
                                item.get("at_most", ""))
            entries[key] = Assumption(key, item["value"], item["unit"], item["what"], item["source"],
                                      item.get("low"), item.get("high"), accepted)
    return Assumptions(entries)


def _overridden(old: Assumption, value: Any) -> Assumption:
    """Return an entry with the user's value; a limit the value has moved past comes along."""
    return replace(old, value=value, source="the study", low=_moved(old.low, value, min),
                   high=_moved(old.high, value, max), overridden=True)


def _moved(limit: Any, value: Any, outer: Callable[[Any, Any], Any]) -> Any:
    if isinstance(limit, dict):
        return {key: _moved(item, value[key], outer) for key, item in limit.items()}
    if isinstance(limit, list):
        return [_moved(*pair, outer) for pair in zip(limit, value, strict=True)]
    return None if limit is None else outer(limit, value)


def _crossed(entries: Mapping[str, Assumption], values: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Yield key, what and accepted of the user's values that pass those of another entry."""
    for key, entry in entries.items():
        other = entry.accepted.at_most
        if not other or not {key, other} & set(values):
            continue
        most, limit = max(n.value for n in numbers(entry.value, entry.accepted.ranges)), entries[other].value
        if most > limit:
            yield ((key, f"is {shown(most)}", f"at most that of {other}, {limit:g} [{entry.unit}]") if key in values
                   else (other, f"is {shown(limit)}", f"at least that of {key}, {most:g} [{entry.unit}]"))


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
        return isinstance(new, int | float)
    if isinstance(old, list):
        return isinstance(new, list) and len(new) == len(old) and all(map(_same_kind, old, new))
    if isinstance(old, dict):
        return isinstance(new, dict) and set(new) == set(old) and all(_same_kind(old[k], new[k]) for k in old)
    return isinstance(new, type(old))
