"""Every assumption is named where it is read: one that nobody reads would be shown and changed to no effect."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

import missionsim
from missionsim.base.assumptions import packaged_assumptions

PACKAGE = Path(missionsim.__file__).parent


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
