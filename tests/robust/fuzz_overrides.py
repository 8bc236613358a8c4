"""Studies whose assumptions are overridden at random within what is accepted: flown to the end, with finite results."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import random
import shutil
import traceback
from pathlib import Path
from typing import Any

import yaml
from robust_cases import CARRIER, RETRACTABLE, TURBO, check_files

from missionsim.base.accepted import Accepted
from missionsim.base.assumptions import Assumption, packaged_assumptions
from missionsim.cli import main

ENTRIES = list(packaged_assumptions())
HEAD = "date,time,to,return,return_time,adults,bags_lb\n"
TRIPS = ("2025-01-14,,KOMA,,,2,20\n", "2025-04-08,,KDSM,2025-04-10,,2,40\n", "2025-08-19,,KAPA,2025-08-22,,3,60\n")
DEMAND = [{"to": "KOMA", "per_year": 3, "adults": 2}, {"to": "KRAP", "per_year": 1, "nights": 2, "must_go_share": 0.5}]
MEMBERS = {"sizes": [1, 2, 3], "sharing": {"fund_usd": 5000},
           "people": [{"name": "one", "demand": DEMAND},
                      {"name": "two", "pilot": {"rating": "visual"}, "demand": [{"to": "KDSM", "per_year": 3}]}]}
OUTSIDE = {"rate_usd_per_h": 600, "hours_a_year": [50, 100],
           "requests": [{"to": "KOMA", "kind": "wait", "per_year": 6}, {"to": "KDEN", "per_year": 4}]}
CREDITED = {"fuel", "value_lost", "capital", "resale", "loan"}
"""Categories in which a year may get something back; a yield below the rise of prices makes capital one."""
NOT_REFUSALS_OF_OURS = ("no weather station", "no cover", "cannot be flown", "comes home",
                        "do not fit this aircraft", "A single cost comes to", "cannot belong to one aircraft")


def number(rng: random.Random, low: float, high: float, whole: bool, style: str) -> float:
    """Return a number between two: one end, the middle of the range or anything."""
    value = {"low": low, "high": high}.get(style)
    if value is None:
        value = rng.choice((low, high)) if style == "ends" else rng.uniform(low, high)
    return round(value) if whole else float(value) if isinstance(low, float) else value


def override(rng: random.Random, entry: Assumption, style: str) -> Any:
    """Return a value within what an entry accepts."""
    accepted = entry.accepted

    def made(value: Any, ranges: Any) -> Any:
        if isinstance(value, dict):
            return {k: made(v, ranges.get(k) if isinstance(ranges, dict) else ranges) for k, v in value.items()}
        if isinstance(value, list):
            pairs = ranges if isinstance(ranges[0], list) and not isinstance(value[0], list) else [ranges] * len(value)
            parts = [made(v, r) for v, r in zip(value, pairs, strict=True)]
            return _ordered(rng, parts, ranges, accepted) if accepted.order else parts
        if isinstance(value, bool | str):
            return value
        return number(rng, *ranges, accepted.whole, style)

    if isinstance(entry.value, bool):
        return rng.choice((True, False))
    value = made(entry.value, accepted.ranges)
    return _shares(rng, value) if accepted.total is not None else value


def _ordered(rng: random.Random, parts: list[float], ranges: list[float], accepted: Accepted) -> list[float]:
    if accepted.order != "never_falling" and len(set(parts)) < len(parts):
        parts = list(rng.sample(range(round(ranges[0]), round(ranges[1]) + 1), len(parts))) if accepted.whole else \
            [rng.uniform(*ranges) for _ in parts]
    return sorted(parts, reverse=accepted.order == "falling")


def _shares(rng: random.Random, value: dict[str, float]) -> dict[str, float]:
    names = list(value)
    cuts = sorted(rng.choice((0.0, 1.0, rng.random())) for _ in names[1:])
    return dict(zip(names, (b - a for a, b in zip([0.0, *cuts], [*cuts, 1.0], strict=True)), strict=True))


def assumptions(rng: random.Random) -> dict[str, Any]:
    """Return overrides of one entry, of some or of nearly all, that pass each other nowhere they must not."""
    count = rng.choice((1, 1, 3, 10, 60, len(ENTRIES)))
    style = rng.choice(("anything", "anything", "ends", "low", "high"))
    chosen = {e.key: override(rng, e, style) for e in rng.sample(ENTRIES, count)}
    for entry in ENTRIES:
        other = entry.accepted.at_most
        if other and {entry.key, other} & set(chosen):
            pair = [chosen.get(k, packaged_assumptions()[k]) for k in (entry.key, other)]
            chosen[entry.key], chosen[other] = min(pair), max(pair)
    return chosen


def study(rng: random.Random, folder: Path, chosen: dict[str, Any]) -> list[str]:
    """Write a small study with those assumptions and return the command that flies it."""
    second = rng.choice((CARRIER, {"aircraft": CARRIER, "upgrades": ["speed_kit"]}, TURBO))
    candidates = [RETRACTABLE, second]
    data: dict[str, Any] = {"study": "s", "home": "KGRI", "seed": rng.randrange(100), "replications": 2, "year": 2025,
                            "candidates": candidates, "assumptions": chosen}
    command = rng.choice(("compare", "compare", "compare", "years", "demand", "partners", "rates", "upgrades"))
    (folder / "trips.csv").write_text(HEAD + "".join(TRIPS[:rng.choice((2, 2, 2, 3))]), encoding="utf-8")
    data |= {"partners": {"members": MEMBERS}, "demand": {"demand": DEMAND},
             "rates": {"demand": DEMAND, "outside": OUTSIDE, "operation": "charter_on_certificate"},
             }.get(command, {"trips": "trips.csv"})
    if command == "years":
        data["years"] = 3
    if command == "upgrades":
        data["candidates"] = [RETRACTABLE]
    (folder / "study.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    words = {"partners": ["partners"], "rates": ["rates"], "upgrades": ["compare", "--tipping", "--workers", "1"]}
    return [*words.get(command, ["compare"]), str(folder / "study.yaml"), "--out", str(folder / "out")]


def run(seed: int, folder: Path) -> str:
    """Fly one such study; return what went wrong, or an empty text."""
    rng = random.Random(seed)
    chosen = assumptions(rng)
    command = study(rng, folder, chosen)
    said = io.StringIO()
    code: Any = 0
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            main(command)
    except SystemExit as ended:
        code = ended.code or 0
    except Exception:
        return f"{command[0]}: {traceback.format_exc()}"
    if code != 0:
        text = said.getvalue()
        fine = code == 2 and any(words in text for words in NOT_REFUSALS_OF_OURS)
        return "" if fine else f"{command[0]}: exit {code}: {text[-1500:]}"
    return nonsense(folder / "out")


def nonsense(out: Path) -> str:
    """Return what no result may hold, or an empty text."""
    try:
        check_files(out)
    except (AssertionError, ValueError) as error:
        return f"results: {error}"
    found = json.loads((out / "run.json").read_text(encoding="utf-8"))
    for candidate in found.get("candidates", []):
        for name, measure in candidate.get("measures", {}).items():
            if name.endswith("_share") and measure.get("mean") is not None and not 0.0 <= measure["mean"] <= 1.0:
                return f"{name} is {measure['mean']}"
    ledger = out / "ledger.csv"
    if ledger.exists():
        sums: dict[tuple[str, str], float] = {}
        for row in csv.DictReader(ledger.read_text(encoding="utf-8").splitlines()):
            key = (row["candidate"], row["category"])
            sums[key] = sums.get(key, 0.0) + float(row["amount_usd"])
        below = {key: usd for key, usd in sums.items() if usd < -0.01 and key[1] not in CREDITED}
        if below:
            return f"a cost is below zero: {below}"
    return ""


def shrunk(seed: int, folder: Path) -> dict[str, Any]:
    """Return the fewest overrides of a failing case that still fail."""
    rng = random.Random(seed)
    chosen = assumptions(rng)
    for key in list(chosen):
        fewer = {k: v for k, v in chosen.items() if k != key}
        if _fails(seed, folder, fewer):
            chosen = fewer
    return chosen


def _fails(seed: int, folder: Path, chosen: dict[str, Any]) -> bool:
    rng = random.Random(seed)
    assumptions(rng)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    command = study(rng, folder, chosen)
    try:
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            main(command)
    except SystemExit as ended:
        return bool(ended.code)
    except Exception:
        return True
    return bool(nonsense(folder / "out"))
