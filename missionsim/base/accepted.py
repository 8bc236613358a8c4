"""What an entry of the assumptions file accepts: range of every number, whole numbers, order, sums."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

_LONGEST = 60
_SUM_TOLERANCE = 1e-6

_ORDERS = {"rising": (lambda a, b: a < b, "numbers of which each is greater than the one before"),
           "never_falling": (lambda a, b: a <= b, "numbers of which none is smaller than the one before"),
           "falling": (lambda a, b: a > b, "numbers of which each is smaller than the one before")}


@dataclass(frozen=True, slots=True)
class Accepted:
    """What values an entry may take.

    Parameters
    ----------
    ranges : list or dict or None   `[low, high]`, both allowed, of every number of the entry; or a list or table of
                                    such pairs in the shape of the value or of the part that repeats. None: no number.
    whole : bool                    Only whole numbers.
    order : str                     `rising`, `never_falling` or `falling`: numbers of each list.
    total : float or None           What the numbers add up to.
    at_most : str                   Key of another entry that no number of this one exceeds.
    """

    ranges: Any = None
    whole: bool = False
    order: str = ""
    total: float | None = None
    at_most: str = ""


@dataclass(frozen=True, slots=True)
class Number:
    """One number of a value, where it stands in it, and the least and greatest accepted."""

    where: str
    value: int | float
    low: float
    high: float


def numbers(value: Any, ranges: Any, where: tuple[str, ...] = ()) -> Iterator[Number]:
    """Yield every number of a value with its range.

    Raises
    ------
    LookupError     A number has no range, or the ranges have another shape than the value.
    """
    if isinstance(value, dict):
        for key, item in value.items():
            yield from numbers(item, ranges.get(key) if isinstance(ranges, Mapping) else ranges, (*where, str(key)))
    elif isinstance(value, list):
        each = not _is_pair(ranges) and not isinstance(ranges, Mapping) and len(ranges or ()) == len(value)
        for i, item in enumerate(value):
            yield from numbers(item, ranges[i] if each and not isinstance(item, list) else ranges,
                               (*where, f"number {i + 1}"))
    elif isinstance(value, int | float) and not isinstance(value, bool):
        if not _is_pair(ranges):
            raise LookupError(f"no range [low, high] for {' '.join(where) or 'the number'}")
        yield Number(", ".join(where), value, *ranges)


def complaints(value: Any, accepted: Accepted, unit: str, packaged: Any) -> list[tuple[str, str]]:
    """Return what is wrong with a value of the right kind, each with what is accepted.

    Parameters
    ----------
    value : object          A number, or a list or table of the same shape as the packaged one.
    accepted : Accepted
    unit : str              For the messages.
    packaged : object       The packaged value: words and true or false inside a table stay as they are in it.
    """
    if isinstance(value, bool | str):
        return []
    found = [*_fixed(value, packaged), *_out_of_range(value, accepted, unit)]
    if not found and accepted.order:
        found += _out_of_order(value, accepted.order)
    if not found and accepted.total is not None:
        total = sum(number.value for number in numbers(value, accepted.ranges))
        if abs(total - accepted.total) > _SUM_TOLERANCE:
            found.append((f"adds up to {total:.6g}", f"numbers that add up to {accepted.total:g}"))
    return found


def shown(value: Any) -> str:
    """Return a value as a message shows it, cut where it is long."""
    try:
        text = repr(value)
    except ValueError:      # Python writes no integer of more than 4,300 digits
        text = "a number of thousands of digits"
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."


def _is_pair(ranges: Any) -> bool:
    return (isinstance(ranges, list) and len(ranges) == 2
            and all(isinstance(r, int | float) and not isinstance(r, bool) for r in ranges))


def _out_of_range(value: Any, accepted: Accepted, unit: str) -> Iterator[tuple[str, str]]:
    for number in numbers(value, accepted.ranges):
        fine = number.low <= number.value <= number.high and (not accepted.whole or number.value == int(number.value))
        if not fine:
            what = f"{number.where} is " if number.where else "is "
            kind = "a whole number" if accepted.whole else "a number"
            yield what + shown(number.value), f"{kind} from {number.low:,g} to {number.high:,g} [{unit}]"


def _fixed(value: Any, packaged: Any, where: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _fixed(item, packaged[key], f"{where}, {key}" if where else str(key))
    elif isinstance(value, bool | str) and value != packaged:
        yield f"{where} is {shown(value)}", f"{packaged!r}; only the numbers of a table can be replaced"


def _out_of_order(value: Any, order: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for item in value.values():
            yield from _out_of_order(item, order)
    elif isinstance(value, list):
        holds, text = _ORDERS[order]
        if not all(holds(a, b) for a, b in pairwise(value)):
            yield f"holds {shown(value)}", text
