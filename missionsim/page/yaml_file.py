"""YAML files as people wrote them: one value changes, comments and order stay."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.error import YAMLError

from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.files import TextFile
from missionsim.study.inputs.yaml_lines import parse_yaml

MOST_COLUMNS = 120
_INDENTED_LIST = re.compile(r"^(\s*)[\w.-]+:[ \t]*(?:#.*)?\n(?:\s*#.*\n)*\1  - ", re.MULTILINE)


def _yaml() -> YAML:
    made = YAML(typ="rt")
    made.preserve_quotes = True
    made.width = MOST_COLUMNS
    return made


def parsed(text: str, name: str) -> CommentedMap:
    """Return a YAML text as a table that remembers its comments.

    Raises
    ------
    InputError   It is no YAML, no table of keys, or holds what a study or an aircraft cannot.
    """
    if all(line.strip()[:1] in ("", "#") for line in text.splitlines()):
        return CommentedMap()
    parse_yaml(TextFile(Path(name), name, text, ""))    # what nothing else would read is not kept either
    try:
        data = _yaml().load(text)
    except YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        raise InputError([Fault(name, "", f"is no readable YAML: {getattr(error, 'problem', None) or 'see its line'}",
                                "", "", None if mark is None else mark.line + 1)]) from None
    if not isinstance(data, CommentedMap):
        raise InputError([Fault(name, "", "is no table of keys", "lines such as `home: KGRI`")])
    return data


def written(data: CommentedMap, like: str = "") -> str:
    """Return a table as YAML text, its lists indented as in the text it was read from."""
    made, text = _yaml(), io.StringIO()
    if _INDENTED_LIST.search(like):
        made.indent(mapping=2, sequence=4, offset=2)
    made.dump(data, text)
    return text.getvalue()


def value_at(data: Any, path: Sequence[str]) -> Any:
    """Return the value at a key path, None where there is none; figures count the entries of a list from 0."""
    for part in path:
        if isinstance(data, list):
            if not part.isdigit() or int(part) >= len(data):
                return None
            data = data[int(part)]
        elif isinstance(data, dict) and part in data:
            data = data[part]
        else:
            return None
    return data


def with_value(text: str, name: str, path: Sequence[str], value: Any) -> str:
    """Return a YAML text with one value set, or its key taken out where the value is None.

    Parameters
    ----------
    text : str
    name : str                The file, for faults.
    path : sequence of str    Keys from the top; figures count the entries of a list, one past its end adds one.
    value : object            Plain data.

    Raises
    ------
    InputError                It is no YAML, or has no such entry.
    """
    data = parsed(text, name)
    *sections, key = path
    inner: Any = data
    for section in sections:
        if isinstance(inner, list):
            inner = inner[_entry(section, len(inner) - 1, name)]
            continue
        if not isinstance(inner, dict):
            _entry(section, -1, name)
        if not isinstance(inner.get(section), dict | list):
            if value is None:
                return text
            inner[section] = CommentedMap()
        inner = inner[section]
    if isinstance(inner, list):
        number = _entry(key, len(inner), name)
        inner[number:number + 1] = [] if value is None else [value]
    elif not isinstance(inner, dict):
        _entry(key, -1, name)
    elif value is None:
        inner.pop(key, None)
    else:
        inner[key] = value
    return written(data, text)


def _entry(part: str, last: int, name: str) -> int:
    """Return the number of an entry of a list; one that is not there is refused."""
    if not part.isdecimal() or int(part) > last:
        raise InputError([Fault(name, part, "is no entry that is there", "one of the list as it is now")])
    return int(part)
