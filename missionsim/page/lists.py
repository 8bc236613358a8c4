"""Lists of tables in a file as fields: each entry told from another by its words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from missionsim.page.entries import entry_words, shown
from missionsim.page.fields import Field, Shown


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a list as fields, with the words that tell it from another."""

    number: int
    words: str
    cells: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class Listed:
    """A list of tables that grows and shrinks: where it stands, its columns, its entries."""

    path: str
    title: str
    columns: tuple[Field, ...]
    entries: tuple[Entry, ...]


def listed(get: Callable[[Sequence[str]], Any], path: str, title: str, columns: tuple[Field, ...]) -> Listed:
    """Return a list of tables in a file as fields.

    Parameters
    ----------
    get : callable             Reads a key path of the file.
    path : str                 Keys down to the list.
    title : str
    columns : tuple of Field   Fields of each table.
    """
    items = get(path.split(".")) or []
    entries = tuple(Entry(i, entry_words(item), tuple(
        Shown(Field(f"{path}.{i}.{c.path}", c.label, c.hint, c.choices), shown(get([*path.split("."), str(i),
                                                                                       *c.path.split(".")])))
        for c in columns)) for i, item in enumerate(items))
    return Listed(path, title, columns, entries)
