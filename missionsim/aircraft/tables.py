"""Handbook tables as a profile gives them: axes and nested lists of numbers, blanks where the book has none."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError, ValidationError

Cell = float | None
Grid = list[Any]
Ascending = Annotated[list[float], Field(min_length=1, max_length=60)]


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    def axes(self) -> tuple[tuple[str, list[float]], ...]:
        """Return the axes that the table has, in the order of nesting."""
        named = ((name, getattr(self, name)) for name in self.axis_names())
        return tuple((name, values) for name, values in named if values is not None)

    @classmethod
    def axis_names(cls) -> tuple[str, ...]:
        """Return the names of all axes a table of this kind may have, outermost first."""
        raise NotImplementedError

    @classmethod
    def bounds(cls) -> dict[str, tuple[float, float]]:
        """Return the quantities of the table with the least and greatest plausible number."""
        raise NotImplementedError

    @model_validator(mode="after")
    def _grids_fit_axes(self) -> _Table:
        errors = [e for name, values in self.axes() for e in _axis_errors(name, values)]
        shape = tuple(len(values) for _, values in self.axes())
        for name, limits in self.bounds().items():
            grid = getattr(self, name)
            if grid is not None:
                errors += _grid_errors(name, grid, shape, limits, [n for n, _ in self.axes()])
        if errors:
            raise ValidationError.from_exception_data(type(self).__name__, errors)
        return self

    def array(self, name: str) -> np.ndarray:
        """Return one quantity as an array over the axes, NaN where the book is blank."""
        return np.array(getattr(self, name), dtype=float)


class CruiseTable(_Table):
    """Cruise by level, temperature and power, at one weight. [level][temperature][power]."""

    level_ft: Ascending
    isa_deviation_c: Ascending
    power_share: Ascending
    tas_kt: Grid
    fuel_flow_gph: Grid
    weight_lb: Annotated[float, Field(ge=800, le=12_500)]
    gain_for_100_lb_less_kt: Annotated[float, Field(ge=0, le=3)] = 0.0
    mixture: Literal["rich", "lean"] = "rich"

    @classmethod
    def axis_names(cls) -> tuple[str, ...]:  # noqa: D102
        return ("level_ft", "isa_deviation_c", "power_share")

    @classmethod
    def bounds(cls) -> dict[str, tuple[float, float]]:  # noqa: D102
        return {"tas_kt": (40, 350), "fuel_flow_gph": (2, 60)}


class ClimbTable(_Table):
    """Time, fuel and distance from sea level in the standard atmosphere, and rate of climb. [weight][level]."""

    weight_lb: Ascending | None = None
    level_ft: Ascending
    time_min: Grid
    fuel_gal: Grid
    distance_nm: Grid | None = None
    rate_fpm: Grid | None = None
    speed_cas_kt: Annotated[float, Field(ge=45, le=160)] | None = None
    above_standard_for_tenth_more_c: Annotated[float, Field(gt=0, le=50)] = 10.0
    max_above_standard_c: Annotated[float, Field(gt=0, le=50)] = 30.0

    @classmethod
    def axis_names(cls) -> tuple[str, ...]:  # noqa: D102
        return ("weight_lb", "level_ft")

    @classmethod
    def bounds(cls) -> dict[str, tuple[float, float]]:  # noqa: D102
        return {"time_min": (0, 120), "fuel_gal": (0, 80), "distance_nm": (0, 300), "rate_fpm": (0, 4_000)}


class FieldTable(_Table):
    """Take-off or landing distances. [weight][pressure altitude][temperature]; axes not printed are left out."""

    weight_lb: Ascending | None = None
    pressure_altitude_ft: Ascending
    temperature_c: Ascending | None = None
    ground_roll_ft: Grid
    over_50ft_ft: Grid
    headwind_for_tenth_less_kt: Annotated[float, Field(gt=0, le=30)] = 9.0
    tailwind_for_tenth_more_kt: Annotated[float, Field(gt=0, le=10)] = 2.0
    tailwind_max_kt: Annotated[float, Field(ge=0, le=15)] = 10.0
    above_standard_for_tenth_more_c: Annotated[float, Field(gt=0, le=60)] | None = None
    max_above_standard_c: Annotated[float, Field(gt=0, le=50)] = 40.0

    @classmethod
    def axis_names(cls) -> tuple[str, ...]:  # noqa: D102
        return ("weight_lb", "pressure_altitude_ft", "temperature_c")

    @classmethod
    def bounds(cls) -> dict[str, tuple[float, float]]:  # noqa: D102
        return {"ground_roll_ft": (50, 15_000), "over_50ft_ft": (100, 20_000)}


class Tables(BaseModel):
    """The handbook form of a profile: four tables."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    cruise: CruiseTable
    climb: ClimbTable
    takeoff: FieldTable
    landing: FieldTable


def _axis_errors(name: str, values: list[float]) -> list[InitErrorDetails]:
    if all(a < b for a, b in pairwise(values)):
        return []
    return [_error((name,), values, "is not ascending; accepted: numbers that rise from left to right")]


def _grid_errors(name: str, grid: Any, shape: tuple[int, ...], limits: tuple[float, float], axes: list[str],
                 ) -> list[InitErrorDetails]:
    wanted = " x ".join(f"{n} {axis}" for n, axis in zip(shape, axes, strict=True))
    try:
        array = np.array(grid, dtype=float)
    except (TypeError, ValueError):
        return [_error((name,), "...", f"is not a full grid of numbers; accepted: {wanted}")]
    if array.shape != shape:
        got = " x ".join(map(str, array.shape))
        return [_error((name,), "...", f"has {got} numbers; accepted: {wanted}")]
    wrong = np.argwhere((array < limits[0]) | (array > limits[1]))
    if not np.isfinite(array).any():
        return [_error((name,), "...", "is blank; accepted: at least one number")]
    return [_error((name, *map(int, at)), float(array[tuple(at)]),
                   f"is {array[tuple(at)]:g}; accepted: a number from {limits[0]:g} to {limits[1]:g}")
            for at in wrong]


def _error(loc: tuple[Any, ...], value: Any, text: str) -> InitErrorDetails:
    return InitErrorDetails(type=PydanticCustomError("table", "{text}", {"text": text}), loc=loc, input=value)
