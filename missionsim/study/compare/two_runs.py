"""A finished comparison as a record to be kept, and two held against each other: what was changed, what that did."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

import missionsim
from missionsim.base.arrays import Array
from missionsim.statistics.comparisons import paired_difference, separate_difference
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.ownership import LEAST_BATCHES, batch_means
from missionsim.study.inputs.load_study import Study
from missionsim.study.inputs.trip_rows import as_rows

Measured = dict[str, float | None]
STUDY = ""
"""Whose the keys of the study itself are, beside those of its candidates."""
NOT_SAID = "not said"
NO_INPUT = frozenset({"candidates", "trips", "replications", "assumptions", "extends"})
"""Keys of a study that are no input by themselves, or are told elsewhere in the record."""
RANGE = frozenset({"low", "likely", "high"})
_AS_SAID = frozenset({"from", "trip_id"})


@dataclass(frozen=True)
class WayYears:
    """One way of having the trips done, by simulated year: dollars a year, trips made of those wanted."""

    kind: str
    name: str
    net_usd: tuple[float, ...]
    made: tuple[float, ...]


@dataclass(frozen=True)
class RunRecord:
    """What a run said and what came of it, as plain data.

    Parameters
    ----------
    study, program : str       Name of the study, version of the program.
    seed, year, years : int    Which years were simulated; years of each ownership.
    replications : int         Simulated years, or ownerships where `years` is above 1.
    said : mapping             Whose (`STUDY` or a candidate's name) to key to value in words.
    guessed : mapping          By candidate the keys that its class filled in.
    trips : mapping            By identifier, in words; empty where demand is generated.
    ways : tuple of WayYears
    sentences : tuple of str   The answer.
    """

    study: str
    program: str
    seed: int
    year: int
    years: int
    replications: int
    said: dict[str, dict[str, str]]
    guessed: dict[str, tuple[str, ...]]
    trips: dict[str, str]
    ways: tuple[WayYears, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Changed:
    """One thing that two runs say differently; a trip's key is its identifier."""

    whose: str
    key: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Effect:
    """What one way of having the trips done costs and makes in two runs; differences are the second minus the first."""

    name: str
    usd: tuple[float, float]
    made: tuple[float, float]
    more_usd: Measured
    more_made: Measured


@dataclass(frozen=True)
class TwoRuns:
    """Two runs held against each other.

    Parameters
    ----------
    changed : tuple of Changed
    followed : int              Figures that are our guesses in both runs and moved with what was changed.
    effects : tuple of Effect   Of what both runs have.
    only : pair of tuples       Names that only the first, only the second run has.
    common : int                Simulated years that both flew; 0 where they are not the same years.
    why_not : str               Why they are not.
    trips_differ : bool
    """

    changed: tuple[Changed, ...]
    followed: int
    effects: tuple[Effect, ...]
    only: tuple[tuple[str, ...], tuple[str, ...]]
    common: int
    why_not: str
    trips_differ: bool


def record_of(comparison: Comparison, sentences: tuple[str, ...]) -> RunRecord:
    """Return the record of a comparison and the sentences of its answer."""
    study = comparison.study
    ways = () if comparison.alternatives is None else tuple(
        WayYears(x.kind, x.name, _cents(x.net_usd), _cents(x.made))
        for x in comparison.alternatives.every if not x.estimate)
    return RunRecord(study.name, missionsim.__version__, study.seed, study.year, study.spec.years,
                     comparison.replications, _said(study),
                     {c.name: tuple(sorted(c.profile.class_guesses)) for c in study.candidates},
                     {} if study.listed is None else
                     {row["trip_id"]: " ".join(f"{k} {v}" for k, v in row.items() if v and k not in _AS_SAID)
                      for row in as_rows(study.listed)}, ways, sentences)


def two_runs(first: RunRecord, second: RunRecord) -> TwoRuns:
    """Return what was changed from the first run to the second, and what that did."""
    changed, followed = _changes(first, second)
    why_not = _not_common(first, second)
    common = 0 if why_not else min(first.replications, second.replications)
    ways = [{(w.kind, w.name): w for w in run.ways} for run in (first, second)]
    effects = tuple(_effect(w, ways[1][key], common, first.years > 1 or second.years > 1)
                    for key, w in ways[0].items() if key in ways[1])
    only = tuple(tuple(w.name for key, w in mine.items() if key not in other)
                 for mine, other in (ways, reversed(ways)))
    return TwoRuns(changed, followed, effects, (only[0], only[1]), common, why_not, first.trips != second.trips)


def _effect(a: WayYears, b: WayYears, common: int, batches: bool) -> Effect:
    before, after = (np.array([w.net_usd, w.made])[:, :common or None] for w in (a, b))
    usd, made = (_difference(after[i], before[i], common > 0, batches) for i in range(2))
    return Effect(a.name, (float(before[0].mean()), float(after[0].mean())),
                  (float(before[1].mean()), float(after[1].mean())), usd, made)


def _difference(after: Array, before: Array, paired: bool, batches: bool) -> Measured:
    """Return after minus before with its interval; none from too few batches of ownerships."""
    if batches:
        after, before = batch_means(after), batch_means(before)
    found = paired_difference(after, before) if paired else separate_difference(after, before)
    few = batches and min(len(after), len(before)) < LEAST_BATCHES
    return found | {"low": None, "high": None} if few else found


def _not_common(a: RunRecord, b: RunRecord) -> str:
    """Return why the simulated years of two runs are not the same ones; an empty text where they are."""
    for name, words in (("program", "versions of the program"), ("seed", "seeds"), ("year", "calendar years"),
                        ("years", "years of owning")):
        if getattr(a, name) != getattr(b, name):
            return f"different {words}, {getattr(a, name)} and {getattr(b, name)}"
    return ""


def _changes(a: RunRecord, b: RunRecord) -> tuple[tuple[Changed, ...], int]:
    found, followed = [], 0
    for whose in dict.fromkeys([*a.said, *b.said]):
        if whose not in a.said or whose not in b.said:
            found.append(Changed(whose, "", *(("takes part" if whose in run.said else "does not take part")
                                              for run in (a, b))))
            continue
        old, new = a.said[whose], b.said[whose]
        for key in dict.fromkeys([*old, *new]):
            if old.get(key, NOT_SAID) == new.get(key, NOT_SAID):
                continue
            if _is_guess(a, whose, key) and _is_guess(b, whose, key):
                followed += 1
            else:
                found.append(Changed(whose, key, *(_by_whom(run, whose, key) for run in (a, b))))
    found += [Changed("trips", ident, a.trips.get(ident, "not among them"), b.trips.get(ident, "not among them"))
              for ident in dict.fromkeys([*a.trips, *b.trips]) if a.trips.get(ident) != b.trips.get(ident)]
    return tuple(found), followed


def _by_whom(run: RunRecord, whose: str, key: str) -> str:
    value = run.said[whose].get(key, NOT_SAID)
    return f"{value} (our guess)" if _is_guess(run, whose, key) else value


def _is_guess(run: RunRecord, whose: str, key: str) -> bool:
    return any(key == guess or key.startswith(f"{guess}.") for guess in run.guessed.get(whose, ()))


def _said(study: Study) -> dict[str, dict[str, str]]:
    own = study.spec.model_dump(mode="json", by_alias=True, exclude=set(NO_INPUT), exclude_none=True)
    figures = {f"assumptions.{entry.key}": _words(entry.value) for entry in study.assumptions}
    found = {STUDY: dict(_flat(own, "")) | figures}
    for c in study.candidates:
        profile = c.profile.model_dump(mode="json", exclude_none=True, exclude={"class_guesses"})
        found[c.name] = dict(_flat(profile, "")) | ({"upgrades": _words(list(c.upgrades))} if c.upgrades else {})
    return found


def _flat(value: Any, path: str) -> Iterator[tuple[str, str]]:
    """Yield keys from the top with their values in words; ranges and plain lists are one value."""
    if isinstance(value, Mapping) and value and not set(value) <= RANGE:
        for key, inner in value.items():
            yield from _flat(inner, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list | tuple) and any(isinstance(v, Mapping) and not set(v) <= RANGE for v in value):
        for i, inner in enumerate(value, 1):
            yield from _flat(inner, f"{path}.{i}")
    else:
        yield path, _words(value)


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.10g}"
    if isinstance(value, Mapping) and value and set(value) <= RANGE:
        return " / ".join(_words(value[k]) for k in ("low", "likely", "high") if k in value)
    if isinstance(value, list | tuple) and all(isinstance(v, str | int | float) for v in value):
        return ", ".join(_words(v) for v in value) or "none"
    return value if isinstance(value, str) else json.dumps(value, sort_keys=True, default=str)


def _cents(values: Array) -> tuple[float, ...]:
    return tuple(float(v) for v in np.round(values, 2))
