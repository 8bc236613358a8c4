"""The aircraft profile: what a buyer knows of one aircraft, validated and frozen.

Only what decides is needed: weights, stations, tanks, engine, and either a few book figures or the tables of the
flight manual; with a `class` in plain words any of it may be left out. A *listing* figure may be a number, a range or
`unknown`; unknown ones are drawn by the study.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, ValidatorFunctionWrapHandler, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError

from missionsim.aircraft.checks import cross_errors
from missionsim.aircraft.class_fill import class_fault, filled, levelled
from missionsim.aircraft.figures import UNKNOWN, Figure, Range, YesNo, between, is_known, one_of
from missionsim.aircraft.tables import Tables

Surface = Literal["paved", "gravel", "grass", "dirt", "snow_ice", "other"]
Weight = Annotated[float, Field(ge=500, le=12_500)]
Arm = Annotated[float, Field(ge=-100, le=400)]
Level = Annotated[float, Field(ge=0, le=30_000)]
FieldLength = Annotated[float, Field(ge=100, le=6_000)]


class Section(BaseModel):
    """Base of all parts of a profile: frozen, unknown keys refused, NaN and infinity refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Identity(Section):
    """What kind of aircraft it is."""

    kind: str = ""
    year: Annotated[int, Field(ge=1930, le=2035)]
    gear: Literal["fixed", "retractable"]
    seats: Annotated[int, Field(ge=1, le=10)]
    pressurised: bool = False
    maker_supports: YesNo = True


class Weights(Section):
    """Limits and the empty aircraft; empty weight or useful load, whichever the seller gives."""

    max_takeoff_lb: Weight
    max_landing_lb: Weight | None = None
    max_zero_fuel_lb: Weight | None = None
    empty_weight_lb: Annotated[Figure, between(400, 10_000)] | None = None
    empty_arm_in: Arm | None = None
    useful_load_lb: Annotated[Figure, between(150, 6_000)] | None = None
    brochure_useful_load_lb: Annotated[float, Field(ge=150, le=6_000)] | None = None


class Station(Section):
    """A row of seats or a place for bags.

    `freight_lb`: what may be tied down there once the seats, which weigh `seats_weigh_lb`, are taken out; None where
    they stay.
    """

    name: str
    kind: Literal["seat", "baggage"]
    arm_in: Arm | None = None
    seats: Annotated[int, Field(ge=0, le=4)] = 0
    seats_weigh_lb: Annotated[float, Field(ge=0, le=200)] = 0.0
    freight_lb: Annotated[float, Field(gt=0, le=3_000)] | None = None
    max_lb: Annotated[float, Field(gt=0, le=3_000)] | None = None


class EnvelopePoint(Section):
    """A corner of the centre-of-gravity envelope."""

    cg_in: Arm
    weight_lb: Weight


class Tank(Section):
    """A fuel tank or a pair of them; tanks with a lower order are filled first, equal ones together."""

    name: str
    usable_gal: Annotated[float, Field(gt=0, le=250)]
    arm_in: Arm | None = None
    order: Annotated[int, Field(ge=1, le=9)] = 1


class BookCruise(Section):
    """One cruise point of a brochure or an advertisement."""

    level_ft: Level
    power_share: Annotated[float, Field(ge=0.35, le=1.0)]
    tas_kt: Annotated[float, Field(ge=60, le=320)]
    fuel_flow_gph: Annotated[float, Field(ge=3, le=60)]
    weight_lb: Weight | None = None


class BookRange(Section):
    """A range of a brochure: climb and cruise in still standard air, with a reserve at the same power."""

    range_nm: Annotated[float, Field(ge=100, le=3_000)]
    level_ft: Level
    power_share: Annotated[float, Field(ge=0.35, le=1.0)]
    reserve_min: Annotated[float, Field(ge=0, le=120)] = 0.0


class FieldDistance(Section):
    """Ground roll and distance over 50 ft at sea level, standard air, full weight, calm, level hard runway."""

    ground_roll_ft: FieldLength
    over_50ft_ft: FieldLength


class Book(Section):
    """Book figures; the first cruise point, the climb and the field distances are fitted, the rest is checked."""

    cruise: Annotated[tuple[BookCruise, ...], Field(min_length=1, max_length=12)]
    climb_fpm: Annotated[float, Field(ge=200, le=3_500)]
    takeoff: FieldDistance
    landing: FieldDistance
    vs0_cas_kt: Annotated[float, Field(ge=30, le=85)] | None = None
    service_ceiling_ft: Annotated[float, Field(ge=5_000, le=30_000)] | None = None
    range: BookRange | None = None


class Limits(Section):
    """Limits of the flight manual that are not weights."""

    max_level_ft: Annotated[float, Field(ge=8_000, le=30_000)] | None = None
    demonstrated_crosswind_kt: Annotated[float, Field(ge=5, le=35)] | None = None
    cabin_differential_psi: Annotated[float, Field(ge=1.0, le=10.0)] | None = None
    surfaces: tuple[Surface, ...] = ("paved",)


class Cruise(Section):
    """How the owner means to fly it; left out, the assumptions decide."""

    power_share: Annotated[float, Field(ge=0.4, le=1.0)] | None = None
    mixture: Literal["rich", "lean"] = "rich"


class Engine(Section):
    """The engine and what is said of its state."""

    count: Literal[1, 2] = 1
    rated_hp: Annotated[float, Field(ge=50, le=700)]
    fuel: Literal["avgas", "jet_a"] = "avgas"
    rated_rpm: Annotated[float, Field(ge=1_800, le=6_000)] | None = None
    cylinders: Literal[2, 4, 6, 8] = 4
    fuel_injected: bool = True
    aspiration: Literal["normal", "turbo"] = "normal"
    critical_altitude_ft: Annotated[float, Field(ge=3_000, le=28_000)] | None = None
    lean_of_peak: bool = False
    monitor: bool = False
    matched_injectors: bool = False
    tbo_h: Annotated[float, Field(ge=800, le=4_000)] | None = None
    overhaul_usd: Annotated[float, Field(ge=1_000, le=500_000)] | None = None
    hours_since_overhaul_h: Annotated[Figure, between(0, 6_000)] = UNKNOWN
    second_hours_since_overhaul_h: Annotated[Figure, between(0, 6_000)] | None = None
    overhaul_year: Annotated[Figure, between(1930, 2035)] = UNKNOWN
    overhaul_kind: Annotated[str, one_of("field", "shop", "factory")] = UNKNOWN
    compression_psi_of_80: Annotated[Figure, between(0, 80)] = UNKNOWN


class Propeller(Section):
    """The propeller and what is said of its state."""

    blades: Annotated[int, Field(ge=2, le=5)] = 2
    constant_speed: bool = True
    hours_since_overhaul_h: Annotated[Figure, between(0, 8_000)] = UNKNOWN
    overhaul_year: Annotated[Figure, between(1930, 2035)] = UNKNOWN


class Geometry(Section):
    """Wing; left out, span comes from weight by an assumption that the profile check shows."""

    wing_span_ft: Annotated[float, Field(ge=20, le=60)] | None = None
    wing_area_sqft: Annotated[float, Field(ge=60, le=400)] | None = None


class Panel(Section):
    """What the panel lets the pilot do."""

    approach: Literal["none", "vor", "lnav", "ils", "lpv"] = "none"
    ils_receiver: bool = False
    autopilot: Literal["none", "single_axis", "two_axis"] = "none"
    autopilot_works: YesNo = UNKNOWN
    ads_b: bool = False
    weather_on_board: bool = False
    electronic_attitude: bool = False
    ice_protection: Literal["none", "escape", "approved"] = "none"
    ice_fluid_lb: Annotated[float, Field(ge=0, le=200)] = 0.0
    oxygen: Literal["none", "portable", "fixed"] = "none"
    shoulder_belts: bool = False


class Prices(Section):
    """Money that belongs to this aircraft; what is left out comes from the class of aircraft."""

    asking_price_usd: Annotated[float, Field(ge=5_000, le=3_000_000)]
    market_value_usd: Annotated[float, Field(ge=5_000, le=3_000_000)] | None = None
    hull_value_usd: Annotated[float, Field(ge=5_000, le=3_000_000)] | None = None
    annual_flat_usd: Annotated[float, Field(ge=200, le=30_000)] | None = None
    hangar_usd_per_month: Annotated[float, Field(ge=0, le=5_000)] | None = None
    insurance_usd_per_year: Annotated[float, Field(ge=0, le=100_000)] | None = None


class State(Section):
    """What the seller says of the airframe and its upkeep, and often does not say."""

    airframe_hours_h: Annotated[Figure, between(0, 40_000)] = UNKNOWN
    hours_flown_per_year_h: Annotated[Figure, between(0, 1_500)] = UNKNOWN
    hours_since_oil_change_h: Annotated[Figure, between(0, 200)] = UNKNOWN
    hours_since_inspection_h: Annotated[Figure, between(0, 1_500)] = UNKNOWN
    months_since_annual: Annotated[Figure, between(0, 120)] = UNKNOWN
    damage_history: Annotated[str, one_of("none", "old_minor", "recent_major")] = UNKNOWN
    logs_complete: YesNo = UNKNOWN
    hangared: YesNo = UNKNOWN
    coastal: YesNo = UNKNOWN
    tank_sealant_good: YesNo = UNKNOWN
    gear_serviced: YesNo = UNKNOWN
    open_directives_usd: Annotated[Figure, between(0, 100_000)] = UNKNOWN
    cruise_speed_of_book_share: Annotated[Figure, between(0.8, 1.1)] = UNKNOWN


class Changes(Section):
    """Named changes of the figures by modifications; all zero or one for the aircraft as described."""

    names: tuple[str, ...] = ()
    cruise_kt: Annotated[float, Field(ge=-30, le=40)] = 0.0
    climb_fpm: Annotated[float, Field(ge=-500, le=800)] = 0.0
    fuel_share: Annotated[float, Field(ge=0.5, le=1.5)] = 1.0
    takeoff_share: Annotated[float, Field(ge=0.5, le=1.5)] = 1.0
    landing_share: Annotated[float, Field(ge=0.5, le=1.5)] = 1.0
    empty_weight_lb: Annotated[float, Field(ge=-200, le=400)] = 0.0
    max_takeoff_lb: Annotated[float, Field(ge=0, le=600)] = 0.0


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
    prices: Prices
    state: State = State()
    removable_lb: dict[str, Annotated[float, Field(gt=0, le=200)]] = {}
    changes: Changes = Changes()
    notes: str = ""
    class_words: Annotated[str, Field(alias="class")] = ""
    class_guesses: tuple[str, ...] = ()
    origins: dict[str, Literal["claimed", "verified"]] = {}

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

    def resolved(self, values: Mapping[str, Any]) -> Profile:
        """Return a copy with drawn values in place of ranges and unknowns.

        Parameters
        ----------
        values : mapping      Dotted key to value, as `unknowns` names them; others stay as they are.

        Raises
        ------
        ValidationError       A value is out of the figure's plausible range.
        """
        return self.changed({key: value.item() if hasattr(value, "item") else value for key, value in values.items()})

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


__all__ = ["Profile", "Range"]
