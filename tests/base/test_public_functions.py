"""What a public function takes: four parameters or more have a section of their own, and there are at most eight."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import missionsim

MUCH, MOST = 4, 8
MODULES = sorted(Path(missionsim.__file__).parent.rglob("*.py"))
ELSEWHERE = re.compile(r"(?:See|as for|as of|as) `(?:\w+\.)?(\w+)`")
"""A docstring may say that a function takes what another one takes, which then tells it."""


def public(tree: ast.Module) -> Iterator[tuple[ast.FunctionDef, int]]:
    """Yield public functions and methods with the number of their parameters, the object itself not counted."""
    for node in tree.body:
        of_class = isinstance(node, ast.ClassDef) and not node.name.startswith("_")
        for part in node.body if of_class else [node]:
            if isinstance(part, ast.FunctionDef) and not part.name.startswith("_"):
                static = "staticmethod" in [ast.unparse(d) for d in part.decorator_list]
                taken = part.args.posonlyargs + part.args.args + part.args.kwonlyargs
                yield part, len(taken) - (of_class and not static)


def is_command(function: ast.FunctionDef) -> bool:
    """Tell whether a function is a command, whose options have names and a help of their own."""
    return any("click.command" in ast.unparse(d) for d in function.decorator_list)


def too_wide(sources: dict[str, str]) -> list[str]:
    """Return the functions that take more than anybody keeps apart; commands aside."""
    return [f"{name}: {function.name}" for name, text in sources.items()
            for function, count in public(ast.parse(text)) if count > MOST and not is_command(function)]


def untold(sources: dict[str, str]) -> list[str]:
    """Return the functions that do not say what they take; commands aside."""
    found = [(name, function, count) for name, text in sources.items() for function, count in public(ast.parse(text))]
    told = {function.name for _, function, _ in found if "Parameters\n---" in (ast.get_docstring(function) or "")}

    def says(function: ast.FunctionDef) -> bool:
        text = ast.get_docstring(function) or ""
        return "Parameters\n---" in text or any(name in told for name in ELSEWHERE.findall(text))

    return [f"{name}: {function.name}" for name, function, count in found
            if count >= MUCH and not says(function) and not is_command(function)]


def test_functions_that_take_much_say_what():
    assert untold({path.name: path.read_text(encoding="utf-8") for path in MODULES}) == []


def test_no_function_takes_more_than_eight():
    assert too_wide({path.name: path.read_text(encoding="utf-8") for path in MODULES}) == []
    wide = "def wide(a, b, c, d, e, f, g, h, *, i): ..."
    text = f"{wide}\n@click.command()\n{wide.replace('wide', 'command')}\ndef just(a, b, c, d, e, f, g, h): ..."
    assert too_wide({"x": text}) == ["x: wide"]


def test_one_that_does_not_say_is_found():
    told = '"""Do.\n\n    Parameters\n    ----------\n    a : int\n    """'
    text = (f"def tells(a, b, c, d):\n    {told}\n"
            'def like(a, b, c, d):\n    """Do; parameters as of `tells`."""\n'
            'def silent(a, b, c, *, d):\n    """Do as `nobody`."""\n'
            'def little(a, b, c):\n    """Do."""\n'
            'class Thing:\n    def method(self, a, b, c, d):\n        """Do."""\n'
            '    def few(self, a, b, c):\n        """Do."""\n'
            '    @staticmethod\n    def free(a, b, c, d):\n        """Do."""\n')
    assert untold({"x": text}) == ["x: silent", "x: method", "x: free"]
