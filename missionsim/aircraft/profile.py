"""The aircraft profile: what a buyer knows of one aircraft, validated and frozen.

Only what decides is needed: weights, stations, tanks, engine, and either a few book figures or the tables of the
flight manual; with a `class` in plain words any of it may be left out. A *listing* figure may be a number, a range or
`unknown`; unknown ones are drawn by the study.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, ValidationError, ValidatorFunctionWrapHandler, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError

from missionsim.aircraft.checks import cross_errors
from missionsim.aircraft.class_fill import class_fault, filled, levelled
from missionsim.aircraft.figures import UNKNOWN, Range, is_known
from missionsim.aircraft.profile_sections import (
    AskingPrices,
    Book,
    Changes,
    Cruise,
    Engine,
    EnvelopePoint,
    Geometry,
    Identity,
    Limits,
    Panel,
    Propeller,
    Section,
    State,
    Station,
    Tank,
    Weights,
)
from missionsim.aircraft.tables import Tables


class Profile(Section):
    """One aircraft. Either `book` or `tables` (or both: then the tables fly and the book figures are checks)."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    identity: Identity
    weights: Weights
    stations: Annotated[tuple[Station, ...], Field(min_length=1, max_length=12)]
    envelope: tuple[EnvelopePoint, ...] | None = None
    tanks: Annotated[tuple[Tank, ...], Field(min_length=1, max_length=8)]
    book: Book | None = None
    tables: Tables | None = None
    limits: Limits = Limits()
    cruise: Cruise = Cruise()
    engine: Engine
    propeller: Propeller = Propeller()
    geometry: Geometry = Geometry()
    panel: Panel = Panel()
    prices: AskingPrices
    state: State = State()
    removable_lb: dict[str, Annotated[float, Field(gt=0, le=200)]] = Field(default_factory=dict)
    changes: Changes = Changes()
    notes: str = ""
    class_words: Annotated[str, Field(alias="class")] = ""
    class_guesses: tuple[str, ...] = ()
    origins: dict[str, Literal["claimed", "verified"]] = Field(default_factory=dict)

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True)

    @model_validator(mode="wrap")
    @classmethod
    def _whole(cls, data: Any, handler: ValidatorFunctionWrapHandler) -> Profile:
        """Add faults between sections to those inside them, so that all come at once."""
        errors: list[InitErrorDetails] = []
        if isinstance(data, Mapping):
            data, errors = _with_class(data)
            if errors:
                raise ValidationError.from_exception_data(cls.__name__, errors)
            errors = cross_errors(data)
        try:
            profile: Profile = handler(data)
        except ValidationError as found:
            if not errors:
                raise
            inner = ValidationError.from_exception_data(cls.__name__, errors)
            raise _joined(cls.__name__, found, inner) from None
        if errors:
            raise ValidationError.from_exception_data(cls.__name__, errors)
        return profile

    @property
    def form(self) -> Literal["handbook", "fitted"]:
        """Which form of performance the profile leads to."""
        return "handbook" if self.tables is not None else "fitted"

    @property
    def total_hp(self) -> float:
        """Rated power of all engines."""
        return self.engine.count * self.engine.rated_hp

    def origin(self, key: str) -> str:
        """Return where a figure comes from: typed, claimed, verified, range, unknown or class guess."""
        if key in self.class_guesses or any(key.startswith(f"{guess}.") for guess in self.class_guesses):
            return "class guess"
        section, _, name = key.partition(".")
        value = getattr(getattr(self, section, None), name, None)
        if value == UNKNOWN:
            return "unknown"
        return "range" if isinstance(value, Range) else self.origins.get(key, "typed")

    def in_words(self, key: str) -> str:
        """Return a figure by its dotted key as people read it; a list by what its entries are called."""
        value: Any = self
        for name in key.split("."):
            value = value[0] if isinstance(value, tuple) and value and isinstance(value[0], Section) else value
            value = getattr(value, name)
        if isinstance(value, tuple):
            return f"{self.usable_gal:g} gal" if key == "tanks" else ", ".join(str(part.name) for part in value)
        if isinstance(value, Range):
            return f"{value.low:g} to {value.high:g}, likely {value.likely:g}"
        if isinstance(value, bool):
            return "yes" if value else "no"
        return f"{value:,g}" if isinstance(value, float) else str(value).replace("_", " ")

    def origins_of_figures(self) -> dict[str, str]:
        """Return the origin of every figure that stands in the profile or was filled, in its order, by dotted key."""
        said = ("weights", "book", "engine", "propeller", "geometry", "limits", "panel", "prices", "state", "identity")
        keys = [key for section in said if (part := getattr(self, section)) is not None
                for key in _keys(section, part) if part.__class__ is not Changes]
        return {key: self.origin(key) for key in [*keys, "tanks", "stations"]}

    @property
    def usable_gal(self) -> float:
        """Usable fuel of all tanks."""
        return sum(tank.usable_gal for tank in self.tanks)

    @property
    def max_takeoff_lb(self) -> float:
        """Take-off weight limit with approved increases; book figures stay at the limit without them."""
        return self.weights.max_takeoff_lb + self.changes.max_takeoff_lb

    @property
    def removable_weight_lb(self) -> float:
        """What flies along beyond bags and can be left behind, by name in `removable_lb`. [lb]"""
        return float(sum(self.removable_lb.values()))

    @property
    def max_landing_lb(self) -> float:
        """Landing weight limit; the take-off limit where the manual has no lower one."""
        return self.weights.max_landing_lb or self.max_takeoff_lb

    @property
    def can_lean(self) -> bool:
        """Whether the lean side of peak is open to this engine."""
        return self.engine.lean_of_peak

    def unknowns(self) -> list[str]:
        """Return the dotted keys of all listing figures that are ranges or unknown, in the order of the profile."""
        return [f"{section}.{name}" for section in LISTING_SECTIONS for name, value in getattr(self, section)
                if value is not None and not is_known(value) and (section, name) != ("identity", "kind")]  # free text

    def figure(self, key: str) -> Any:
        """Return a figure by its dotted key, for example `engine.hours_since_overhaul_h`."""
        section, _, name = key.partition(".")
        return getattr(getattr(self, section), name)

    def changed(self, values: Mapping[str, Any]) -> Profile:
        """Return a validated copy with values replaced by dotted key: `cruise.mixture`, `panel.approach`, `name`."""
        data = self.model_dump(warnings=False)
        for key, value in values.items():
            *sections, name = key.split(".")
            inner = data
            for section in sections:
                inner = inner[section]
            inner[name] = value
        data["class_guesses"] = tuple(g for g in self.class_guesses if not any(
            g == key or g.startswith(f"{key}.") for key in values))
        if "weights.useful_load_lb" in values and "weights.empty_weight_lb" in self.class_guesses:
            data["weights"]["empty_weight_lb"] = None
        return Profile.model_validate(data)


def _keys(prefix: str, part: Section) -> list[str]:
    """Return the dotted keys of what was given in a section; a list of cruise points by its first."""
    found = []
    for name in part.__class__.model_fields:
        value = getattr(part, name)
        inner = value[0] if isinstance(value, tuple) and value and isinstance(value[0], Section) else value
        if isinstance(inner, Section):
            found += _keys(f"{prefix}.{name}", inner)
        elif name in part.model_fields_set and value is not None:
            found.append(f"{prefix}.{name}")
    return found


def _with_class(data: Mapping[str, Any]) -> tuple[Mapping[str, Any], list[InitErrorDetails]]:
    """Return a profile as read with its gaps filled from its class, and the fault of a class that is none."""
    words = data.get("class")
    if "class_guesses" in data:
        return data, []
    if words is None:
        whole, guesses = levelled(data)
        return {**whole, "class_guesses": guesses} if guesses else data, []
    fault = class_fault(words)
    if fault:
        error = PydanticCustomError("aircraft_class", "{text}", {"text": fault})
        return data, [InitErrorDetails(type=error, loc=("class",), input=words)]
    whole, guesses = filled(data)
    whole, levels = levelled(whole)
    return {**whole, "class_guesses": (*guesses, *levels)}, []


LISTING_SECTIONS = ("identity", "weights", "engine", "propeller", "panel", "state")


def _joined(title: str, *errors: ValidationError) -> ValidationError:
    """Return several validation errors as one, each line with its type, place and text; one fault a place.

    The later error speaks where two meet: a fault between sections says more than a bound of one field.
    """
    places = {e["loc"]: e for error in errors for e in error.errors(include_url=False)}
    lines = [InitErrorDetails(type=PydanticCustomError(e["type"], "{text}", {**e.get("ctx", {}), "text": e["msg"]}),
                              loc=e["loc"], input=e.get("input"))
             for e in places.values()]
    return ValidationError.from_exception_data(title, lines)
