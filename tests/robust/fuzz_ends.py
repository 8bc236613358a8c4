"""Each assumption at both ends of what it accepts, flown to the end, and just beyond them, refused by file and line.

Case 2k takes the k-th entry of each quarter of the file at its least, 2k + 1 at its greatest, in one study of what they
are about; where that goes wrong each is flown alone. After the last ones they begin again with other studies.

`options` asks of every option and command what plain comparing does not read, with many entries at one end at a time.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
import shutil
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import yaml
from robust_cases import CARRIER, RETRACTABLE

from missionsim.base.accepted import Number, numbers
from missionsim.base.assumptions import Assumption, packaged_assumptions
from missionsim.base.errors import InputError
from missionsim.cli import main
from missionsim.study.inputs.load_study import load_study
from tests.robust import fuzz_overrides
from tests.robust.possible import impossible

ENTRIES = fuzz_overrides.ENTRIES
AT_ONCE = 4
CASES = 2 * -(-len(ENTRIES) // AT_ONCE)
COMMANDS = {"sharing": "partners", "hire": "rates"}
"""What groups of assumptions are about, beside comparing."""
ASKED = (("compare", "--tipping"), ("compare", "--upgrades"), ("compare", "--grid"), ("partners",), ("rates",))
"""Commands and options that read what plain comparing does not."""
TOGETHER = 48
LONG = ("grid.replications",)
"""Entries that say how many years are flown: ten thousand take hours and tell nothing new."""
OPTION_CASES = 2 * len(ASKED) * -(-len(ENTRIES) // TOGETHER)


def run(seed: int, folder: Path) -> str:
    """Return what is wrong with four entries at one end of their ranges, or an empty text."""
    number, end = divmod(seed % CASES, 2)
    name = ("low", "high")[end]
    entries = ENTRIES[number::CASES // 2]
    wrong = [w for entry in entries if (w := _beyond(entry, name, random.Random(seed), folder))]
    about: dict[str, dict[str, Any]] = {}
    for entry in entries:
        group = entry.key.partition(".")[0]
        about.setdefault(group if group in COMMANDS else "", {})[entry.key] = at_end(entry, name)
    for values in about.values():
        if together := _flown(values, random.Random(seed), folder):
            alone = [w for key, value in values.items() if (w := _flown({key: value}, random.Random(seed), folder))]
            wrong += alone or [together]
    return "\n".join(wrong)


def run_options(seed: int, folder: Path) -> str:
    """Return what is wrong with some entries at one end of their ranges and an option asked for, or an empty text.

    Each option meets every entry at both ends once in `OPTION_CASES` cases, many at a time; where that goes wrong or is
    rightly refused, both halves of them are flown, down to single ones.
    """
    number, asked = divmod(seed % OPTION_CASES, 2 * len(ASKED))
    end, words = ("low", "high")[asked % 2], ASKED[asked // 2]

    def wrong(keys: list[str]) -> str:
        found, refused = _outcome({k: values[k] for k in keys}, random.Random(seed), folder, words)
        if len(keys) == 1 or not (found or refused):
            return found
        half = len(keys) // 2
        return "\n".join(filter(None, (wrong(keys[:half]), wrong(keys[half:])))) or found

    values = {e.key: at_end(e, end) for e in ENTRIES[number::OPTION_CASES // (2 * len(ASKED))] if e.key not in LONG}
    return wrong(list(values))


def at_end(entry: Assumption, end: str) -> Any:
    """Return the value of an entry with every number at an end of its range, as far as their order and sum allow."""
    accepted = entry.accepted

    def made(value: Any, ranges: Any) -> Any:
        if isinstance(value, dict):
            return {k: made(v, ranges.get(k) if isinstance(ranges, dict) else ranges) for k, v in value.items()}
        if isinstance(value, list):
            each = isinstance(ranges[0], list) and not isinstance(value[0], list)
            parts = [made(v, r) for v, r in zip(value, ranges if each else [ranges] * len(value), strict=True)]
            return parts if accepted.order in ("", "never_falling") or isinstance(parts[0], list) else _apart(parts)
        if isinstance(value, bool | str):
            return value
        return ranges[end == "high"]

    def _apart(parts: list[float]) -> list[float]:
        low, high = accepted.ranges if not isinstance(accepted.ranges[0], list) else accepted.ranges[0]
        step = 1 if accepted.whole else 1e-4 * (high - low)
        first = low if end == "low" else high - step * (len(parts) - 1)
        rising = [min(first + step * k, high) for k in range(len(parts))]
        return rising[::-1] if accepted.order == "falling" else rising

    if isinstance(entry.value, bool):
        return end == "high"
    if accepted.total is not None:
        names = list(entry.value)
        chosen = names[0 if end == "low" else -1]
        return {name: accepted.total if name == chosen else 0.0 for name in names}
    return made(entry.value, accepted.ranges)


def beyond(entry: Assumption, end: str, rng: random.Random) -> Any:
    """Return the value of an entry with one of its numbers just beyond an end of its range; None where it has none."""
    found = list(numbers(entry.value, entry.accepted.ranges))
    if not found or isinstance(entry.value, bool):
        return None
    chosen = rng.randrange(len(found))
    return _replaced(entry.value, _outside(found[chosen], end, entry.accepted.whole), [chosen])


def _outside(number: Number, end: str, whole: bool) -> float:
    least = 1.0 if whole else 1e-6 * max(abs(number.low), abs(number.high), 1.0)
    return number.low - least if end == "low" else number.high + least


def _replaced(value: Any, new: float, left: list[int]) -> Any:
    """Return a value with its so-many-th number replaced."""
    if isinstance(value, dict):
        return {k: _replaced(v, new, left) for k, v in value.items()}
    if isinstance(value, list):
        return [_replaced(v, new, left) for v in value]
    if isinstance(value, bool | str):
        return value
    left[0] -= 1
    return new if left[0] == -1 else value


def _beyond(entry: Assumption, end: str, rng: random.Random, folder: Path) -> str:
    value = beyond(entry, end, rng)
    if value is None:
        return ""
    written(folder, {entry.key: value}, rng)
    try:
        load_study(str(folder / "study.yaml"))
    except InputError as refused:
        told = str(refused)
        fine = re.search(r"study\.yaml:\d+", told) and entry.key in told and "accepted" in told
        return "" if fine else f"{entry.key} = {value}: refused without its line: {told}"
    except Exception:
        return f"{entry.key} = {value}: {traceback.format_exc()}"
    return f"{entry.key} = {value}: beyond what is accepted, and taken"


def written(folder: Path, chosen: dict[str, Any], rng: random.Random, words: Sequence[str] = ()) -> list[str]:
    """Write a small study about the assumptions chosen and return the command that flies it, with options if asked."""
    command, *options = words or [COMMANDS.get(next(iter(chosen)).partition(".")[0], "compare")]
    data: dict[str, Any] = {"study": "s", "home": "KGRI", "seed": rng.randrange(100), "replications": 2, "year": 2025,
                            "candidates": [rng.choice((RETRACTABLE, CARRIER))], "assumptions": chosen}
    data |= {"partners": {"members": fuzz_overrides.MEMBERS},
             "rates": {"demand": fuzz_overrides.DEMAND, "outside": fuzz_overrides.OUTSIDE,
                       "operation": "charter_on_certificate"}}.get(command, {"trips": "trips.csv"})
    (folder / "trips.csv").write_text(fuzz_overrides.HEAD + "".join(fuzz_overrides.TRIPS), encoding="utf-8")
    (folder / "study.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    return [command, str(folder / "study.yaml"), *options, "--out", str(folder / "out"), "--workers", "1", "--json"]


def _flown(chosen: dict[str, Any], rng: random.Random, folder: Path) -> str:
    return _outcome(chosen, rng, folder)[0]


def _outcome(chosen: dict[str, Any], rng: random.Random, folder: Path, words: Sequence[str] = ()) -> tuple[str, bool]:
    """Return what is wrong with a study flown, and whether it was rightly refused."""
    chosen = dict(chosen)
    for entry in ENTRIES:
        other = entry.accepted.at_most
        if other and {entry.key, other} & set(chosen):      # the pair moves together
            mine = {k: chosen.get(k, packaged_assumptions()[k]) for k in (entry.key, other)}
            chosen[entry.key], chosen[other] = min(mine.values()), max(mine.values())
    shutil.rmtree(folder / "out", ignore_errors=True)
    command = written(folder, chosen, rng, words)
    asked = f"{' '.join(words) or command[0]} with {chosen}"
    out, said, code = io.StringIO(), io.StringIO(), 0
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(said):
            main(command)
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 0
    except Exception:
        return f"{asked}: {traceback.format_exc()}", False
    if code:
        text = said.getvalue()
        fine = code == 2 and any(words in text for words in fuzz_overrides.NOT_REFUSALS_OF_OURS)
        return ("" if fine else f"{asked}: exit {code}: {text[-1500:]}"), fine
    trips = len(fuzz_overrides.TRIPS) if command[0] == "compare" else None
    wrong = fuzz_overrides.nonsense(folder / "out") or ", ".join(impossible(json.loads(out.getvalue()), trips))
    return (f"{asked}: {wrong}" if wrong else ""), False
