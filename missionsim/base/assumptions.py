"""The one assumptions file: every number the user did not give, with unit, meaning and source."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from typing import Any

import yaml

from missionsim.base.accepted import Accepted, complaints, numbers, shown
from missionsim.base.errors import Fault, InputError, NearMatches, near_match

REMOVED = {
    "year.crosswind_share": "runway.crosswind_of_demonstrated_share",
    "year.demonstrated_crosswind_kt": "runway.crosswind_kt",
    "runway.tailwind_limit_kt": "year.max_tailwind_kt",
    "flight.isa_margin_c": "",
    "maintenance.oil_change_interval_days": "maintenance.oil_change_interval_h",
    "maintenance.parts_wait_share": "",
    "maintenance.annual_all_in_ratio": "maintenance.findings_ratio",
    "maintenance.unscheduled_usd_per_h": "maintenance.fault_cost_usd",
    "maintenance.repair_days_home": "maintenance.repair_days",
    "maintenance.repair_days_away": "maintenance.find_mechanic_days",
    "year.wait_for_repair_h": "",
    "weather.icing_forecast_share": "icing.believed_share",
    "engine_life.power_loss_per_h": "",
    "engine_life.power_loss_factor": "",
    "engine_life.early_power_loss_factor": "",
    "engine_life.turbo_usd_per_h": "engine_life.turbo_overhaul_usd",
    "cost.car_limit_nm": "time.choice_usd_per_h",
    "ownership.class_value_usd": "market_value.spread_share",
}
"""Keys of former versions, and what a study overrides now instead; empty where nothing took their place."""


@dataclass(frozen=True, slots=True)
class Assumption:
    """One number (or short list or table) with its unit, meaning, source and accepted range.

    `low` and `high` are the 10 and 90 % points, in the shape of the value or of part of it; None where nobody can
    say. `overridden`: the study gives it; `ranged`: as a range, so that it stays unsure.
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
    ranged: bool = False


@dataclass(frozen=True)
class Assumptions:
    """A frozen set of assumptions, read by dotted key: `assumptions["runway.margin"]`."""

    entries: Mapping[str, Assumption] = field(repr=False)

    def __getitem__(self, key: str) -> Any:
        if key not in self.entries:
            raise KeyError(f"no assumption named {key!r}; nearest is {near_match(key, list(self.entries))!r}")
        return self.entries[key].value

    def __iter__(self) -> Iterator[Assumption]:
        return iter(self.entries.values())

    def entry(self, key: str) -> Assumption:
        """Return value, unit, meaning and source together."""
        return self.entries[key]

    def replaced(self, values: Mapping[str, Any]) -> Assumptions:
        """Return a copy with some values replaced by the user's.

        Parameters
        ----------
        values : mapping      Dotted key to new value, of the same kind as the packaged one; any number of it, but not
                              in a list, may be a range `{low, likely, high}`.

        Raises
        ------
        InputError            Unknown keys, values of the wrong kind or beyond what is accepted, all at once.
        """
        faults = []
        nearest = NearMatches()
        entries = dict(self.entries)
        for key, value in values.items():
            wrong, near = self._wrong(key, value, nearest)
            faults += [Fault("study", f"assumptions.{key}", what, accepted, near) for what, accepted in wrong]
            if not wrong:
                entries[key] = overridden(entries[key], value)
        if not faults:
            faults = [Fault("study", f"assumptions.{key}", what, accepted)
                      for key, what, accepted in _crossed(entries, values)]
        if faults:
            raise InputError(faults)
        return Assumptions(entries)

    def supposed(self, values: Mapping[str, Any]) -> Assumptions:
        """Return a copy with some values replaced by a what-if of the program's own, such as a point of a search."""
        return Assumptions({**self.entries, **{key: replace(self.entries[key], value=v) for key, v in values.items()}})

    def _wrong(self, key: str, value: Any, nearest: NearMatches) -> tuple[list[tuple[str, str]], str]:
        old = self.entries.get(key)
        if key in REMOVED:
            successor = REMOVED[key]
            return [("is no longer an assumption", f"{successor} in its place" if successor else "nothing in its place")
                    ], successor
        if old is None:
            return [("unknown assumption", "a key of the assumptions file")], nearest.of(key, list(self.entries))
        points = [_point(value, name) for name in _RANGE]
        if not all(_same_kind(old.value, point) for point in points):
            return [(f"is {shown(value)}", f"{_kind(old.value)} [{old.unit}], such as {shown(old.value)}")], ""
        found = [c for point in (points if _has_range(value) else points[:1])
                 for c in complaints(point, old.accepted, old.unit, old.value)]
        if not found and not all(a <= b <= c for a, b, c in zip(*map(_leaves, points), strict=True)):
            found = [(f"is {shown(value)}", "low, likely and high in this order")]
        return list(dict.fromkeys(found)), ""


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


def overridden(old: Assumption, value: Any) -> Assumption:
    """Return an entry with the user's value.

    A range the user gives stands. Without one the packaged range moves along with the value, in proportion where both
    are above zero: it then tells how single events differ, and no more how little anybody knows.
    """
    likely = _point(value, "likely")
    if _has_range(value):
        low, high = (_point(value, name) for name in ("low", "high"))
        return replace(old, value=likely, source="the study", low=low, high=high, overridden=True, ranged=True)
    low, high = (_moved(limit, old.value, likely, old.accepted.ranges) for limit in (old.low, old.high))
    return replace(old, value=likely, source="the study", low=low, high=high, overridden=True, ranged=False)


_RANGE = ("low", "likely", "high")


def _is_range(value: Any) -> bool:
    return isinstance(value, dict) and set(value) == set(_RANGE)


def _has_range(value: Any) -> bool:
    return _is_range(value) or (isinstance(value, dict) and any(map(_has_range, value.values())))


def _point(value: Any, name: str) -> Any:
    """Return a value with every range in it at one of its points."""
    if _is_range(value):
        return value[name]
    return {key: _point(item, name) for key, item in value.items()} if isinstance(value, dict) else value


def _leaves(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [leaf for key in sorted(value) for leaf in _leaves(value[key])]
    return [value] if isinstance(value, int | float) else []


def _moved(limit: Any, old: Any, value: Any, ranges: Any) -> Any:
    """Return a limit moved with its value, within what is accepted."""
    if isinstance(limit, dict):
        return {key: _moved(item, old[key], value[key], ranges.get(key) if isinstance(ranges, Mapping) else ranges)
                for key, item in limit.items()}
    if isinstance(limit, list):
        rows = bool(limit) and isinstance(limit[0], list)   # ranges of a table's columns hold for each of its rows
        each = ranges if not rows and ranges and all(isinstance(r, list) for r in ranges) else [ranges] * len(limit)
        return [_moved(*four) for four in zip(limit, old, value, each, strict=True)]
    if limit is None or value == old:
        return limit
    least, most = ranges
    # Written so that the limit stays on its side of the value whatever the rounding.
    return min(max(limit / old * value if old > 0 and value > 0 else limit + value - old, least), most)


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
