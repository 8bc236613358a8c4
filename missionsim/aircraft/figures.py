"""A figure of an advertisement: a number, a range, or the word `unknown`."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

UNKNOWN: Literal["unknown"] = "unknown"


class Range(BaseModel):
    """What is known of a figure that is not known exactly; low and high are about the 10th and 90th percentile."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    low: float
    likely: float
    high: float


Figure = float | Range | Literal["unknown"]
YesNoUnknown = bool | Literal["unknown"]


@dataclass(frozen=True, slots=True)
class Parsed:
    """A mark on a field: its value goes through `parse` and nothing else, so that a fault is one fault."""

    parse: Callable[[Any], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self.parse, serialization=core_schema.plain_serializer_function_ser_schema(_dumped))


def between(low: float, high: float) -> Parsed:
    """Return the validator of a figure whose every number lies between two limits."""

    def parse(value: Any) -> Figure:
        if value == UNKNOWN:
            return UNKNOWN
        if isinstance(value, Range):
            value = value.model_dump()
        if isinstance(value, Mapping):
            return _range(value, low, high)
        return _number(value, low, high)

    return Parsed(parse)


def one_of(*words: str) -> Parsed:
    """Return the validator of a figure that is one of some words, or unknown."""
    accepted = (*words, UNKNOWN)

    def parse(value: Any) -> str:
        if value not in accepted:
            raise _wrong(value, ", ".join(accepted))
        return str(value)

    return Parsed(parse)


def _answer(value: Any) -> YesNoUnknown:
    if value == UNKNOWN and isinstance(value, str):
        return UNKNOWN
    if isinstance(value, bool):
        return value
    raise _wrong(value, "true, false or unknown")


YesNo = Annotated[YesNoUnknown, Parsed(_answer)]


def likely(figure: Figure, otherwise: float) -> float:
    """Return the number of a figure, the likely value of a range, or another value where it is unknown."""
    if isinstance(figure, Range):
        return figure.likely
    return otherwise if isinstance(figure, str) else float(figure)


def is_known(figure: Any) -> bool:
    """Return whether a figure is one exact value."""
    return not (isinstance(figure, Range) or figure == UNKNOWN)


def _dumped(value: Any) -> Any:
    return value.model_dump() if isinstance(value, Range) else value


def _range(value: Mapping[str, Any], low: float, high: float) -> Range:
    if set(value) != {"low", "likely", "high"}:
        raise _wrong(dict(value), _accepted(low, high))
    numbers = {key: _number(value[key], low, high) for key in ("low", "likely", "high")}
    if not numbers["low"] <= numbers["likely"] <= numbers["high"]:
        raise _wrong(dict(value), "low no more than likely, likely no more than high")
    return Range(**numbers)


def _number(value: Any, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise _wrong(value, _accepted(low, high))
    if not low <= value <= high:
        raise _wrong(value, _accepted(low, high))
    return float(value)


def _accepted(low: float, high: float) -> str:
    return f"a number from {low:g} to {high:g}, a range (low, likely, high), or unknown"


def _wrong(value: Any, accepted: str) -> PydanticCustomError:
    context = {"value": str(value), "accepted": accepted}
    return PydanticCustomError("figure", "is {value}; accepted: {accepted}", context)


