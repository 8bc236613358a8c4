"""Safe YAML with the line of every key, so that a fault can point at its place."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from missionsim.base.errors import Fault, InputError, commanding
from missionsim.study.inputs.files import YAML_BYTES, TextFile, read_text
from missionsim.study.inputs.units import plain_figures

MOST_NODES = 200_000
MOST_DEPTH = 40
"""Limits against documents that explode by aliases or nest without end; honest files stay a hundred times below."""

_MOST_DIGITS = 300
"""Longer whole numbers have no place among floating-point numbers."""

KeyPath = tuple[str | int, ...]

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class YamlDocument:
    """Data of one YAML file and where each part stands.

    Parameters
    ----------
    file : TextFile
    data : object           What `yaml.safe_load` returns, figures typed with their unit as numbers.
    lines : mapping         Key path to line, from 1.
    """

    file: TextFile
    data: Any
    lines: Mapping[KeyPath, int] = field(repr=False)

    @property
    def name(self) -> str:
        """The file as the user named it."""
        return self.file.name

    def line(self, path: KeyPath) -> int | None:
        """Return the line of a key path, or of the nearest part above it that has one."""
        for cut in range(len(path), -1, -1):
            if path[:cut] in self.lines:
                return self.lines[path[:cut]]
        return None

    def fault(self, path: KeyPath, what: str, accepted: str = "", near: str = "") -> Fault:
        """Return a fault at a key path of this file.

        Parameters
        ----------
        path : KeyPath   Keys and numbers down to the value.
        what : str       What is wrong, in words.
        accepted : str   What is accepted instead, in words.
        near : str       Nearest word that is accepted.
        """
        return Fault(self.name, dotted(path), what, accepted, near, self.line(path))


def dotted(path: KeyPath) -> str:
    """Return a key path as people write it: `candidates[2].price_usd` counts from 1."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            text += f".{part}" if text else str(part)
    return text


def read_yaml(path: Path, name: str | None = None) -> YamlDocument:
    """Read one YAML mapping.

    Parameters
    ----------
    path : Path
    name : str, optional     How the user named the file.

    Returns
    -------
    YamlDocument             `data` is a dict with text keys at the top.

    Raises
    ------
    InputError               Not readable, not YAML, keys given twice, not a mapping: each with its line.
    """
    return parse_yaml(read_text(path, name, YAML_BYTES))


def parse_yaml(file: TextFile) -> YamlDocument:
    """Return data and lines of YAML text already read; see `read_yaml`."""
    try:
        _refuse_explosion(file)
        node, data = _load(file.text)
    except InputError:
        raise
    except yaml.YAMLError as error:
        raise InputError([_syntax_fault(file, error)]) from None
    except (ValueError, OverflowError, TypeError, AttributeError, LookupError, RecursionError) as error:
        # The constructor stumbles over some scalars that look like what they are not, such as the date 2025-02-30.
        what = "a value cannot be read" if isinstance(error, LookupError) else f"a value cannot be read ({error})"
        line = _line_of_bad_scalar(file.text)
        raise InputError([Fault(file.name, "", what, "text in quotes, or a value that exists", "", line)]) from None
    lines: dict[KeyPath, int] = {}
    faults: list[Fault] = []
    if node is not None:
        _walk(file, node, (), lines, faults)
    if not isinstance(data, dict) and not faults:
        what = "is empty" if data is None else f"is {_kind(data)}, not a table of keys"
        faults.append(Fault(file.name, "", what, "lines of the form `key: value`"))
    if faults:
        raise InputError(faults)
    return YamlDocument(file, plain_figures(data), lines)


def _load(text: str) -> tuple[yaml.Node | None, Any]:
    loader = _Loader(text)
    try:
        node = loader.get_single_node()
        return node, None if node is None else loader.construct_document(node)
    finally:
        loader.dispose()


def _line_of_bad_scalar(text: str) -> int | None:
    """Return the line of the first scalar that cannot be built."""
    loader = _Loader(text)
    try:
        waiting = [loader.get_single_node()]
        seen: set[int] = set()
        while waiting:
            node = waiting.pop(0)
            if id(node) in seen:
                continue
            seen.add(id(node))
            if isinstance(node, yaml.MappingNode):
                waiting = [part for pair in node.value for part in pair] + waiting
            elif isinstance(node, yaml.SequenceNode):
                waiting = [*node.value, *waiting]
            elif _is_bad(loader, node):
                return int(node.start_mark.line) + 1
    finally:
        loader.dispose()
    return None


def _is_bad(loader: Any, node: yaml.Node) -> bool:
    try:
        loader.construct_object(node)
    except (ValueError, OverflowError, TypeError, AttributeError, LookupError):
        return True
    return False


def _refuse_explosion(file: TextFile) -> None:
    """Count nodes with aliases expanded, on the stream of events, before anything is built."""
    sizes: dict[str, int] = {}
    stack: list[tuple[str | None, int]] = []
    count = 0
    for event in yaml.parse(file.text, Loader=_Loader):
        line = 1 if event.start_mark is None else event.start_mark.line + 1
        if isinstance(event, yaml.AliasEvent):
            if any(anchor == event.anchor for anchor, _ in stack):
                what = f"the alias *{event.anchor} stands inside what it names"
                raise InputError([Fault(file.name, "", what, "", "", line)])
            count += sizes.get(event.anchor or "", 1)
        elif isinstance(event, yaml.CollectionStartEvent):
            count += 1
            stack.append((event.anchor, count))
        elif isinstance(event, yaml.CollectionEndEvent):
            anchor, start = stack.pop()
            if anchor:
                sizes[anchor] = count - start + 1
        elif isinstance(event, yaml.ScalarEvent):
            count += 1
        if count > MOST_NODES or len(stack) > MOST_DEPTH:
            what = "is too large once its aliases are written out" if count > MOST_NODES else "is nested too deeply"
            accepted = f"at most {MOST_NODES:,} values, {MOST_DEPTH} levels deep"
            raise InputError([Fault(file.name, "", what, accepted, "", line)])


def _walk(file: TextFile, node: yaml.Node, path: KeyPath, lines: dict[KeyPath, int], faults: list[Fault]) -> None:
    lines.setdefault(path, node.start_mark.line + 1)
    if isinstance(node, yaml.ScalarNode):
        faults += _scalar_faults(file, node, path)
    if isinstance(node, yaml.SequenceNode):
        for i, item in enumerate(node.value):
            _walk(file, item, (*path, i), lines, faults)
    elif isinstance(node, yaml.MappingNode):
        seen: dict[str, int] = {}
        for key, value in node.value:
            _walk_key(file, key, value, path, (lines, faults, seen))


def _walk_key(file: TextFile, key: yaml.Node, value: yaml.Node, path: KeyPath,
              into: tuple[dict[KeyPath, int], list[Fault], dict[str, int]]) -> None:
    lines, faults, seen = into
    line = key.start_mark.line + 1
    if key.tag == "tag:yaml.org,2002:merge":
        return
    if not isinstance(key, yaml.ScalarNode):
        faults.append(Fault(file.name, dotted(path), "a key is a list or table", "plain words as keys", "", line))
        return
    here = (*path, key.value)
    faults += _scalar_faults(file, key, here)
    if key.value in seen:
        what = f"is given twice, first in line {seen[key.value]}"
        faults.append(Fault(file.name, dotted(here), what, "each key once", "", line))
        return
    seen[key.value] = line
    lines[here] = line
    _walk(file, value, here, lines, faults)


def _scalar_faults(file: TextFile, node: yaml.ScalarNode, path: KeyPath) -> list[Fault]:
    """Return what is wrong with a value by itself: text that would drive a terminal, a number beyond all numbers."""
    line = node.start_mark.line + 1
    if odd := commanding(node.value):
        return [Fault(file.name, dotted(path), f"holds the character {odd}", "plain text", "", line)]
    if node.tag == "tag:yaml.org,2002:int" and len(node.value) > _MOST_DIGITS:
        return [Fault(file.name, dotted(path), f"is a number of {len(node.value)} digits",
                      f"a number of at most {_MOST_DIGITS} digits", "", line)]
    return []


def _syntax_fault(file: TextFile, error: yaml.YAMLError) -> Fault:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    problem = getattr(error, "problem", None) or getattr(error, "reason", None) or "cannot be read"
    context = getattr(error, "context", None)
    text = f"not valid YAML: {problem}" + (f", {context}" if context else "")
    line = None if mark is None else mark.line + 1
    if line is None and isinstance(error, yaml.reader.ReaderError):
        line = file.text.count("\n", 0, error.position) + 1
        text = f"not valid YAML: the character {chr(error.character)!r} is not allowed" \
            if isinstance(error.character, int) else text
    slip, accepted, at = _slip(file.text, line)
    if slip:
        return Fault(file.name, "", slip, accepted, "", at)
    if "\t" in file.text and "cannot start any token" in text:
        text += " (indent with spaces, not tabs)"
    return Fault(file.name, "", " ".join(text.split()), "", "", line)


_LONGEST_SLIP = 1_000
"""So much of a line is looked at for a slip. [characters]"""
_NO_BLANK = re.compile(r"^\s*(?:-\s+)?([A-Za-z_]\w*):([^\s:/\\].*)$")
_COLON_INSIDE = re.compile(r"^\s*(?:-\s+)?([A-Za-z_]\w*):\s+([^\"'\[{#|>&*!%@`].*?:\s.*|[^\"'\[{#|>&*!%@`].*:)\s*$")


def _slip(text: str, line: int | None) -> tuple[str, str, int | None]:
    """Return a common slip at or just above a line of bad YAML: what, what is accepted, and its line; empty if none."""
    rows = text.splitlines()
    for at in (n for n in (line, (line or 0) - 1) if n and 1 <= n <= len(rows)):
        row = rows[at - 1][:_LONGEST_SLIP].split(" #", maxsplit=1)[0].rstrip()
        if (match := _NO_BLANK.match(row)) is not None:
            return "a blank is missing after the colon", f"{match[1]}: {match[2]:.60}", at
        if (match := _COLON_INSIDE.match(row)) is not None:
            said = f'{match[1]}: "{match[2]:.60}", in quotes'
            return f"a colon inside {match[2]!r:.60} looks like another key", said, at
        if "\t" in rows[at - 1][:len(rows[at - 1]) - len(rows[at - 1].lstrip())]:
            return "a line is indented with a tab", "blanks", at
    return "", "", line


def _kind(data: Any) -> str:
    return {"list": "a list", "str": "text"}.get(type(data).__name__, f"a single value ({data!r:.40})")
