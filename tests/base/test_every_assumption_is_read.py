"""Every assumption is read by some command: one that nobody reads would be shown and changed to no effect."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

import missionsim
from missionsim.base.assumptions import Assumption, Assumptions, packaged_assumptions
from missionsim.cli.app import app

PACKAGE = Path(missionsim.__file__).parent
STUDIES = PACKAGE.parent / "profiles" / "studies"
AIRCRAFT = STUDIES.parent / "aircraft"
FEW_YEARS = "assumptions: {sharing.demand_years: 1, hire.demand_years: 1, grid.replications: 2}\n"
ONE = f"candidates: [{AIRCRAFT / 'retractable_260.yaml'}]\n"
TWO = f"candidates: [{AIRCRAFT / 'boosted_six.yaml'}, {AIRCRAFT / 'carrier_230.yaml'}]\n"


WHOLE = {"upgrade"}
"""Groups of which every entry is taken, whatever its name."""
BY_NAME = (r"terrain\.(.+)", r"unknown\.(.+)")
"""Groups whose entries are looked up by the name alone."""
ANY = "([a-z0-9_]+)"


def strings() -> Iterator[str]:
    """Return every string of the program as a pattern; what is put in where it runs stands for any name."""
    for file in PACKAGE.rglob("*.py"):
        if "derive" in file.parts:
            continue
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.JoinedStr):
                yield "".join(re.escape(str(part.value)) if isinstance(part, ast.Constant) else ANY
                              for part in node.values)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield re.escape(node.value)


def unread(keys: Iterable[str], patterns: set[str]) -> set[str]:
    """Return keys that the program names neither whole nor by group and by the names put in."""
    plain = {re.sub(r"\\(.)", r"\1", pattern) for pattern in patterns if ANY not in pattern}
    groups = {key.partition(".")[0] for key in keys}
    built = [re.compile(form) for p in (*BY_NAME, *patterns) if p in BY_NAME or (
        ANY in p and any(p.startswith(rf"{group}\.") for group in groups))
        for form in (p, p.replace(ANY, ANY.replace("+", "+?")))]    # two names side by side part in either way
    dotted = {name.replace(".", "_") for name in plain}

    def named(key: str) -> bool:
        found = (pattern.fullmatch(key) for pattern in built)
        return key in plain or key.partition(".")[0] in WHOLE or any(
            match is not None and set(match.groups()) <= plain | dotted for match in found)

    return {key for key in keys if not named(key)}


def test_every_key_is_named_somewhere_in_the_program() -> None:
    assert unread(list(packaged_assumptions().entries), set(strings())) == set()


@pytest.mark.parametrize("key", ["flight.nobody_reads_this", "terrain.nor_this_ft", "unknown.state_of_mind"])
def test_a_key_that_nobody_names_is_found(key: str) -> None:
    assert unread([*packaged_assumptions().entries, key], set(strings())) == {key}


def commands(folder: Path) -> Iterator[list[str]]:
    """Return small runs of every command that reads numbers."""
    def study(name: str, base: str, more: str) -> str:
        file = folder / f"{name}.yaml"
        file.write_text(f"extends: {STUDIES / base}\n{more}", encoding="utf-8")
        return str(file)

    few = ["--replications", "2", "--workers", "1"]
    yield ["compare", study("a", "buyer.yaml", FEW_YEARS), *few, "--upgrades", "--tipping", "--grid", "--out",
           str(folder / "out")]
    yield ["compare", study("b", "buyer.yaml", f"{TWO}pilot: {{rating: visual, night: false}}\n"), *few]
    yield ["compare", study("c", "ownership.yaml", ONE), *few]
    yield ["partners", study("d", "partnership.yaml", f"{ONE}{FEW_YEARS}members: {{sizes: [1, 4]}}\n"), *few]
    yield ["rates", study("e", "charter.yaml", f"{ONE}{FEW_YEARS}"), *few]
    yield ["leg", "retractable_260", "KGRI", "KASE", "--people", "3"]
    yield ["check", str(STUDIES / "buyer.yaml")]
    yield ["climate", "KGRI"]


@pytest.mark.slow
def test_keys_that_are_built_where_they_are_read_are_read_in_some_command(tmp_path: Path,
                                                                          monkeypatch: pytest.MonkeyPatch) -> None:
    read: set[str] = set()
    value, entry = Assumptions.__getitem__, Assumptions.entry

    def told(self: Assumptions, key: str) -> object:
        read.add(key)
        return value(self, key)

    def told_whole(self: Assumptions, key: str) -> Assumption:
        read.add(key)
        return entry(self, key)

    monkeypatch.setattr(Assumptions, "__getitem__", told)
    monkeypatch.setattr(Assumptions, "entry", told_whole)
    for command in commands(tmp_path):
        done = CliRunner().invoke(app, command)
        assert done.exit_code == 0, (command, done.output)
    literal = {re.sub(r"\\(.)", r"\1", pattern) for pattern in strings() if ANY not in pattern}
    left = {key for key in packaged_assumptions().entries if key not in read and key not in literal}
    assert {key for key in left if not key.startswith("terrain.")} == set()    # read by their group, by name
