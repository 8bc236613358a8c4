"""Identifiers: exact look-up in the sorted list, and what a misspelt one may have meant."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import product
from typing import Any, TypeVar

import numpy as np

from missionsim.base.errors import near_match

T = TypeVar("T")

_LOOK_ALIKE = {"0": "0O", "O": "O0", "o": "O0", "1": "1I", "I": "I1", "l": "LI1", "L": "LI1", "i": "I1", "5": "5S",
               "S": "S5", "8": "8B", "B": "B8", "2": "2Z", "Z": "Z2"}
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"


def row_of_code(code: np.ndarray, word: str) -> int | None:
    """Return the row of an identifier in the sorted list, or None."""
    if not word or not word.isascii() or len(word) > code.dtype.itemsize:
        return None
    row = int(np.searchsorted(code, np.bytes_(word)))
    return row if row < code.size and code[row] == word.encode() else None


def near_own(ident: str, own: Sequence[str]) -> str:
    """Return the user's own identifier that a misspelt one may have meant."""
    return near_match(ident.strip(), own) if own else ""


def near_code(ident: str, arrays: Mapping[str, np.ndarray]) -> str:
    """Return the identifier a misspelt one may have meant.

    Letters that look alike come first, then a missing or needless K or C in front, then one slip of the keyboard, the
    larger airport before the smaller; last a town or an airport of that name. An empty string if nothing fits.
    """
    code = arrays["code"]
    for words in (_look_alikes(ident.strip()), _prefixes(ident.strip().upper()), *_one_slip(ident.strip().upper())):
        rows = [row for row in (row_of_code(code, w) for w in words) if row is not None]
        if rows:
            size = arrays["size"][arrays["code_airport"][rows]]
            return str(code[rows[int(np.argmax(size))]].decode())
    return _by_name(ident, arrays)


def _look_alikes(word: str) -> list[str]:
    choices = [_LOOK_ALIKE.get(c, c.upper()) for c in word[:7]]
    return ["".join(p) for p in product(*choices)] if len(word) <= 7 else []


def _prefixes(word: str) -> list[str]:
    if len(word) == 4 and word[0] in "KCP":
        return [word[1:]]
    return ["K" + word, "C" + word, "P" + word] if len(word) == 3 else []


def _one_slip(word: str) -> list[list[str]]:
    """Return words with neighbours swapped, then one letter changed or too many, then one missing."""
    if not 2 <= len(word) <= 5:
        return []
    n = range(len(word))
    swapped = [word[:i] + word[i + 1] + word[i] + word[i + 2:] for i in n[:-1]]
    changed = [word[:i] + c + word[i + 1:] for i in n for c in _LETTERS]
    shorter = [word[:i] + word[i + 1:] for i in n] if len(word) > 3 else []
    longer = [word[:i] + c + word[i:] for i in range(len(word) + 1) for c in _LETTERS]
    return [swapped, changed + shorter, longer]


def _by_name(text: str, arrays: Mapping[str, np.ndarray]) -> str:
    """Return the largest airport whose town is called so, else whose own name holds the words."""
    words = _plain_town(text)
    if len(words) < 4 or not any(c.isalpha() for c in words):
        return ""
    rows = _rows_by_town(arrays).get(words) or [i for i, name in enumerate(_names(arrays)) if words in name]
    if not rows:
        return ""
    return str(arrays["ident"][rows[int(np.argmax(arrays["size"][rows]))]].decode())


def rows_in_town(town: str, state: str, arrays: Mapping[str, np.ndarray]) -> list[int]:
    """Return the airports of a town, the main public one first: open to everybody, then size, then the longest runway.

    Where the state is given, an airport that bears the town's name and lies in another counts if larger than its own.

    Parameters
    ----------
    town : str          As people write it; case does not matter, `St.` is `Saint` too.
    state : str         Two letters of a state or region (`NE`), or empty for any.
    arrays : mapping    The airport table.
    """
    wanted = _written(town)
    rows = _own_rows(wanted, arrays)
    if state:
        suffix = f"-{state.upper()}".encode()
        names = _names(arrays)
        named = sorted({i for town in wanted for i in _rows_by_first_word(arrays).get(_FIRST_WORD.split(town)[0], ())
                        if _bears(names[i], town)})
        rows, named = ([i for i in some if bytes(arrays["region_names"][arrays["region"][i]]).endswith(suffix)]
                       for some in (rows, named))
        largest = max((int(arrays["size"][i]) for i in rows), default=-1)
        rows += [i for i in named if arrays["size"][i] > largest]
    first = arrays["first_end"]

    def rank(i: int) -> tuple[bool, int, int]:
        ends = arrays["end_length_ft"][first[i]:first[i + 1]]
        return bool(arrays["public"][i]), int(arrays["size"][i]), int(ends.max(initial=0))

    return sorted(rows, key=rank, reverse=True)


def own_rows(town: str, arrays: Mapping[str, np.ndarray]) -> frozenset[int]:
    """Return the airports that lie in towns of this name, in whatever state."""
    return frozenset(_own_rows(_written(town), arrays))


def _written(town: str) -> set[str]:
    return {_plain_town(town), _plain_town(re.sub(r"\bst\.?\s", "saint ", town, flags=re.IGNORECASE))} - {""}


def _own_rows(wanted: Iterable[str], arrays: Mapping[str, np.ndarray]) -> list[int]:
    return sorted({i for town in wanted for i in _rows_by_town(arrays).get(town, ())})


def _bears(name: str, town: str) -> bool:
    """Tell whether an airport is called after a town: nothing but a word for airports, or a second town, follows."""
    return name.startswith(town) and bool(_AFTER_TOWN.match(name, len(town)))


_AFTER_TOWN = re.compile(r"$|[-/]|\s(?:airport|executive|field|international|intl|memorial|muni|municipal|regional)\b")


_FIRST_WORD = re.compile(r"[-/\s]")
"""What ends a first word: nothing that `_bears` another name stands before it."""


def _plain_town(text: str) -> str:
    return " ".join(text.replace(".", " ").split()).casefold()


def rows_matching(text: str, most: int, arrays: Mapping[str, np.ndarray]) -> list[int]:
    """Return airports that what is being typed may mean: an identifier, towns that begin so, names that hold it.

    Parameters
    ----------
    text : str      The beginning of an identifier, a town or a part of a name; case does not matter.
    most : int      How many at most, those open to everybody first within each kind, then the larger.
    """
    town, _, state = text.partition(",")
    if state.strip():
        return rows_in_town(town, state.strip(), arrays)[:most]
    words = _plain_town(town)
    if len(words) < 2:
        return []
    code, owner = arrays["code"], arrays["code_airport"]
    first = np.bytes_(words.upper().encode("ascii", "replace"))
    low = int(np.searchsorted(code, first))
    begun = [int(owner[i]) for i in range(low, min(low + 40 * most, code.size)) if code[i].startswith(first)]
    exact = row_of_code(code, words.upper())
    towns, names = _towns(arrays), _names(arrays)
    kinds = ([] if exact is None else [int(owner[exact])], [i for i, t in enumerate(towns) if t.startswith(words)],
             begun, [i for i, n in enumerate(names) if words in n])
    found: dict[int, None] = {}

    def rank(i: int) -> tuple[bool, int, int]:
        return not arrays["public"][i], -int(arrays["size"][i]), i

    for rows in kinds:
        found |= dict.fromkeys(sorted(set(rows) - set(found), key=rank))
    return list(found)[:most]


def towns_of(rows: Sequence[int], arrays: Mapping[str, np.ndarray]) -> list[str]:
    """Return the towns of some airports, with the state or region."""
    towns = arrays["municipality"].tobytes().decode("utf-8").split("\n") if rows else []
    regions = [bytes(arrays["region_names"][arrays["region"][i]]).decode().rpartition("-")[2] for i in rows]
    return [", ".join(part for part in (towns[i], region) if part) for i, region in zip(rows, regions, strict=True)]


# One table a process; splitting it takes longer than a search, and a list of trips asks for thousands of towns. ------

_KEPT: dict[str, tuple[np.ndarray, Any]] = {}


def _kept(key: str, arrays: Mapping[str, np.ndarray], of: str, make: Callable[[list[str]], T]) -> T:
    """Return what is made of the plain words of a column, made once a table."""
    column = arrays[of]
    if key not in _KEPT or _KEPT[key][0] is not column:
        _KEPT[key] = column, make([_plain_town(text) for text in column.tobytes().decode("utf-8").split("\n")])
    made: T = _KEPT[key][1]
    return made


def _towns(arrays: Mapping[str, np.ndarray]) -> list[str]:
    return _kept("towns", arrays, "municipality", list)


def _names(arrays: Mapping[str, np.ndarray]) -> list[str]:
    return _kept("names", arrays, "name", list)


def _rows_by_town(arrays: Mapping[str, np.ndarray]) -> Mapping[str, list[int]]:
    """Return the rows of each town; where one airport serves several, parted by a slash, those of each of them."""
    return _kept("rows by town", arrays, "municipality",
                 lambda towns: _rows_by([{town, *town.split("/")} for town in towns]))


def _rows_by_first_word(arrays: Mapping[str, np.ndarray]) -> Mapping[str, list[int]]:
    """Return the rows of airports whose names begin with each word."""
    return _kept("rows by first word", arrays, "name",
                 lambda names: _rows_by([{_FIRST_WORD.split(n)[0]} for n in names]))


def _rows_by(words: Iterable[Iterable[str]]) -> Mapping[str, list[int]]:
    rows: dict[str, list[int]] = {}
    for i, several in enumerate(words):
        for word in several:
            rows.setdefault(word, []).append(i)
    return rows
