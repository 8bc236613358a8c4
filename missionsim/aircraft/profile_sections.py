"""The sections of an aircraft profile: what each of them may say, validated and frozen."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from missionsim.aircraft.figures import UNKNOWN, Figure, YesNo, between, one_of

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


class AskingPrices(Section):
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
