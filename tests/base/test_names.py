"""One word, one meaning: a class or a kind of array has a name of its own in the whole package."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator, Mapping
from pathlib import Path

import missionsim

TOP = Path(missionsim.__file__).parent
FILE_FORMAT = ("study/inputs/schema", "aircraft/profile_sections", "aircraft/tables", "aircraft/figures")
"""What users write, under the words of the file: a class there is called as its key, as what is made of it may be."""
APART = ("derive/", "page/")
"""Scripts nobody imports; and the page, whose classes hold what it shows of the thing of that name."""


def kinds(tree: ast.Module) -> Iterator[str]:
    """Yield public classes and kinds of values at the top of a module; type variables stand for any kind."""
    for node in tree.body:
        name = node.name if isinstance(node, ast.ClassDef) else ast.unparse(node.targets[0]) \
            if isinstance(node, ast.Assign) and not ast.unparse(node.value).startswith("TypeVar(") else ""
        if name[:1].isupper() and not name.isupper() and name.isidentifier():
            yield name


def meant_twice(sources: Mapping[str, str]) -> dict[str, list[str]]:
    """Return names of which two modules mean different things."""
    where: dict[str, list[str]] = defaultdict(list)
    for module, text in sources.items():
        for name in set(kinds(ast.parse(text))):
            where[name].append(module)
    return {name: modules for name, modules in where.items() if len(modules) > 1}


def test_no_name_has_two_meanings():
    sources = {path.relative_to(TOP).as_posix(): path.read_text(encoding="utf-8") for path in TOP.rglob("*.py")}
    assert meant_twice({module: text for module, text in sources.items()
                        if not module.startswith((*FILE_FORMAT, *APART))}) == {}


def test_a_name_with_two_meanings_is_found():
    first = "class Bar: ...\nRows = list[int]\nT = TypeVar('T')\nMOST = 3\nclass _Own: ...\n"
    assert meant_twice({"a": first, "b": "Rows = dict[str, int]\nT = TypeVar('T')\nMOST = 4\nclass _Own: ..."}) == {
        "Rows": ["a", "b"]}
