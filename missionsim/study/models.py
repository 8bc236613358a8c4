"""What a study file may say: keys, kinds and plausible bounds."""

from __future__ import annotations

from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

Approach = Literal["ils", "lpv", "lnav", "vor", "none"]
Surface = Literal["paved", "gravel", "grass", "dirt", "snow_ice", "other"]
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
Season = Literal["winter", "spring", "summer", "autumn"]


class Model(BaseModel):
    """Base of all parts: frozen, unknown keys refused, numbers finite, no silent change of kind."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False,
                              arbitrary_types_allowed=False, str_strip_whitespace=True)


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        msg = "an IANA time zone, such as America/Chicago"
        raise ValueError(msg) from None
    return name


Share = Annotated[float, Field(ge=0, le=1)]
Usd = Annotated[float, Field(ge=0, le=10_000_000)]
Slip = Annotated[float, Field(ge=0, le=240)]
Text = Annotated[str, Field(min_length=1, max_length=400)]
Ident = Annotated[str, Field(min_length=2, max_length=8, pattern=r"^[A-Za-z0-9-]+$")]
PathText = Annotated[str, Field(min_length=1, max_length=1000)]
Zone = Annotated[str, AfterValidator(_known_zone)]


def _in_order(values: tuple[float, ...]) -> tuple[float, ...]:
    if list(values) != sorted(values):
        msg = "[low, likely, high] in rising order"
        raise ValueError(msg)
    return values


def _range_from_number(value: Any) -> Any:
    single = isinstance(value, int | float) and not isinstance(value, bool)
    return (value, value, value) if single else value


Pounds = Annotated[float, Field(ge=0, le=10_000)]
Range = Annotated[tuple[Pounds, Pounds, Pounds], Field(strict=False), AfterValidator(_in_order),
                  BeforeValidator(_range_from_number)]
Weight = Annotated[float, Field(ge=0, le=1_000)]


def _certainly(value: Any) -> Any:
    return {value: 1.0} if type(value) is int else value


def _as_tuple(value: Any) -> Any:
    return (value,) if isinstance(value, str) else value


def _yes_no(value: Any) -> Any:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value


def _every_candidate(value: Any) -> Any:
    single = isinstance(value, int | float) and not isinstance(value, bool)
    return {"every": value} if single else value


Hours = Annotated[float, Field(ge=0, le=40_000)]
Counts = Annotated[dict[int, Weight], BeforeValidator(_certainly), Field(min_length=1)]


class Pilot(Model):
    """Who flies, and within which own limits. What is left out comes from the assumptions `pilot.*`."""

    rating: Literal["instrument", "visual"] = "instrument"
    night: bool = True
    instrument_current: bool = True
    total_h: float | None = Field(default=None, ge=40, le=40_000)
    retractable_h: float | None = Field(default=None, ge=0, le=40_000)
    type_h: Annotated[dict[str, Hours] | None, BeforeValidator(_every_candidate)] = None
    age: int | None = Field(default=None, ge=16, le=100)
    weight_lb: float | None = Field(default=None, ge=80, le=400)
    gear_lb: float | None = Field(default=None, ge=0, le=150)
    ceiling_addition_ft: float | None = Field(default=None, ge=0, le=5_000)
    visibility_addition_sm: float | None = Field(default=None, ge=0, le=10)
    visual_ceiling_ft: float | None = Field(default=None, ge=500, le=10_000)
    visual_visibility_sm: float | None = Field(default=None, ge=1, le=20)
    reserve_min: float | None = Field(default=None, ge=0, le=240)
    max_leg_h: float | None = Field(default=None, ge=0.5, le=12)
    max_leg_alone_h: float | None = Field(default=None, ge=0.5, le=12)
    max_duty_h: float | None = Field(default=None, ge=2, le=24)
    max_flight_h_per_day: float | None = Field(default=None, ge=1, le=16)
    runway_margin: float | None = Field(default=None, ge=1, le=4)
    chance_missing_share: Share | None = None
    chance_both_below_share: Share | None = None
    chance_visual_share: Share | None = None

    @model_validator(mode="after")
    def _hours_fit(self) -> Pilot:
        if self.total_h is not None and (self.retractable_h or 0) > self.total_h:
            msg = f"retractable_h ({self.retractable_h:g}) no larger than total_h ({self.total_h:g})"
            raise ValueError(msg)
        return self


class Columns(Model):
    """Headings of the user's table for our columns; those left out keep our own name."""

    trip_id: Text | None = None
    date: Text | None = None
    time: Text | None = None
    from_: Text | None = Field(default=None, alias="from")
    to: Text | None = None
    return_: Text | None = Field(default=None, alias="return")
    return_time: Text | None = None
    nights: Text | None = None
    leaves: Text | None = None
    people: Text | None = None
    adults: Text | None = None
    children: Text | None = None
    bags_lb: Text | None = None
    must_go: Text | None = None
    optional_value_usd: Text | None = None
    earlier_h: Text | None = None
    later_h: Text | None = None
    return_earlier_h: Text | None = None
    return_later_h: Text | None = None
    purpose: Text | None = None
    member: Text | None = None
    fuel_stop: Text | None = None

    def given(self) -> dict[str, str]:
        """Return our column to the user's heading, for those the user named."""
        return {k: v for k, v in self.model_dump(by_alias=True).items() if v is not None}


class TripFile(Model):
    """Where the trips are and how the table is written."""

    file: PathText
    columns: Columns = Field(default_factory=lambda: Columns.model_validate({}))
    rows: Literal["trips", "legs"] = "trips"
    date_format: Literal["auto", "year-month-day", "month/day/year", "day/month/year"] = "auto"
    decimal_comma: bool | None = None
    delimiter: Literal["comma", "semicolon", "tab", "bar"] | None = None


class Destination(Model):
    """One kind of trip that is made several times a year, for studies without a trip list."""

    to: Annotated[tuple[Ident, ...], Field(strict=False, min_length=1, max_length=12),
                  BeforeValidator(_as_tuple)]
    per_year: float = Field(ge=0, le=1_000)
    season: Annotated[dict[Season, Annotated[float, Field(ge=0, le=100)]] | None, Field(min_length=1)] = None
    weekdays: Annotated[tuple[Weekday, ...], Field(strict=False, min_length=1, max_length=7)] = (
        "mon", "tue", "wed", "thu", "fri")
    leave_local_h: float | None = Field(default=None, ge=0, le=23.99)
    return_local_h: float | None = Field(default=None, ge=0, le=23.99)
    nights: Counts = {0: 1.0}
    adults: Counts = {1: 1.0}
    children: Counts = {0: 1.0}
    bags_lb: Range | None = None
    must_go_share: Share = 0.0
    optional_value_usd: Usd | None = None
    earlier_h: Slip | None = None
    later_h: Slip | None = None
    return_earlier_h: Slip | None = None
    return_later_h: Slip | None = None
    purpose: Annotated[str, Field(max_length=200)] = ""
    member: Text | None = None

    @model_validator(mode="after")
    def _weights(self) -> Destination:
        limits = {"nights": (0, 60), "adults": (1, 20), "children": (0, 20)}
        for name, (low, high) in limits.items():
            weights = getattr(self, name)
            if any(not low <= n <= high for n in weights):
                msg = f"{name} from {low} to {high}, each with its weight"
                raise ValueError(msg)
            if sum(weights.values()) <= 0:
                msg = f"{name} with at least one weight above 0"
                raise ValueError(msg)
        if self.season is not None and sum(self.season.values()) <= 0:
            msg = "season with at least one weight above 0"
            raise ValueError(msg)
        return self


class CandidateSpec(Model):
    """One aircraft that takes part, perhaps changed."""

    aircraft: PathText
    name: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    upgrades: Annotated[tuple[Text, ...], Field(strict=False, min_length=0, max_length=40)] = ()
    price_usd: float | None = Field(default=None, ge=1_000, le=10_000_000)
    changes: dict[str, Any] = {}


class Prices(Model):
    """Prices where the user lives; what is left out comes from the assumptions."""

    fuel_usd_per_gal: float | None = Field(default=None, ge=0.5, le=50)
    fuel_at: dict[str, Annotated[float, Field(ge=0.5, le=50)]] = {}
    oil_usd_per_quart: float | None = Field(default=None, ge=1, le=100)
    labor_usd_per_h: float | None = Field(default=None, ge=10, le=500)
    hangar_usd_per_month: float | None = Field(default=None, ge=0, le=10_000)
    tiedown_usd_per_month: float | None = Field(default=None, ge=0, le=5_000)
    insurance_usd_per_year: float | None = Field(default=None, ge=0, le=200_000)
    subscriptions_usd_per_year: float | None = Field(default=None, ge=0, le=50_000)
    training_usd_per_year: float | None = Field(default=None, ge=0, le=50_000)
    property_tax_usd_per_year: float | None = Field(default=None, ge=0, le=200_000)
    miscellaneous_usd_per_year: float | None = Field(default=None, ge=0, le=100_000)
    landing_fee_usd: float | None = Field(default=None, ge=0, le=2_000)
    overnight_parking_usd: float | None = Field(default=None, ge=0, le=2_000)
    hotel_usd_per_night: float | None = Field(default=None, ge=0, le=3_000)
    own_money_share_per_year: float | None = Field(default=None, ge=0, le=0.5)


Displaced = Annotated[float, Field(ge=0, le=10_000)]


class RunwaySpec(Model):
    """One runway of an own or corrected airport, both ends."""

    ends: Annotated[str, Field(pattern=r"^[0-9]{1,2}[LCR]?/[0-9]{1,2}[LCR]?$")]
    length_ft: float = Field(ge=300, le=20_000)
    width_ft: float | None = Field(default=None, ge=10, le=1_000)
    surface: Surface = "paved"
    lighted: bool = False
    heading_deg: float | None = Field(default=None, ge=0, le=360)
    displaced_threshold_ft: Annotated[tuple[Displaced, Displaced] | None, Field(strict=False)] = None


class AirportSpec(Model):
    """What the user knows better about an airport, or a whole airport of the user's own."""

    name: Text | None = None
    latitude_deg: float | None = Field(default=None, ge=-90, le=90)
    longitude_deg: float | None = Field(default=None, ge=-180, le=180)
    elevation_ft: float | None = Field(default=None, ge=-1_500, le=20_000)
    timezone: Zone | None = None
    declination_deg: float | None = Field(default=None, ge=-180, le=180)
    fuel: bool | None = None
    fuel_price_usd_per_gal: float | None = Field(default=None, ge=0.5, le=50)
    landing_fee_usd: float | None = Field(default=None, ge=0, le=2_000)
    approach: Approach | None = None
    approach_ceiling_ft: float | None = Field(default=None, ge=100, le=10_000)
    approach_visibility_sm: float | None = Field(default=None, ge=0.1, le=20)
    runways: Annotated[tuple[RunwaySpec, ...] | None, Field(strict=False, min_length=1, max_length=20)] = None
    minimum_altitude_ft: float | None = Field(default=None, ge=0, le=30_000)

    @model_validator(mode="after")
    def _price_needs_fuel(self) -> AirportSpec:
        if self.fuel is False and self.fuel_price_usd_per_gal is not None:
            msg = "a fuel price only where fuel is not false"
            raise ValueError(msg)
        return self

    def corrections(self) -> dict[str, Any]:
        """Return the fields the user gave, under the names of the airport table."""
        given = self.model_dump(exclude_none=True)
        if "fuel" in given:
            given["has_fuel"] = given.pop("fuel")
        return given

    def lacking_for_new(self) -> list[str]:
        """Return the fields a new airport needs and does not have."""
        needed = ("latitude_deg", "longitude_deg", "elevation_ft", "runways")
        return [name for name in needed if getattr(self, name) is None]


def _only_file(value: Any) -> Any:
    return {"file": value} if isinstance(value, str) else value


def _only_aircraft(value: Any) -> Any:
    if not isinstance(value, list | tuple):
        return value
    return [{"aircraft": item} if isinstance(item, str) else item for item in value]


class StudySpec(Model):
    """All keys of a study file."""

    study: Annotated[str, Field(min_length=1, max_length=200)]
    question: Annotated[str, Field(max_length=2_000)] = ""
    home: Ident
    year: int | None = Field(default=None, ge=1950, le=2100)
    seed: int = Field(1, ge=0, le=2**63 - 1)
    replications: int = Field(20, ge=1, le=100_000)
    years: int = Field(1, ge=1, le=30)
    pilot: Pilot = Field(default_factory=Pilot)
    trips: Annotated[TripFile | None, BeforeValidator(_only_file)] = None
    demand: Annotated[tuple[Destination, ...] | None, Field(strict=False, min_length=1, max_length=500)] = None
    candidates: Annotated[tuple[CandidateSpec, ...], Field(strict=False, min_length=1, max_length=50),
                          BeforeValidator(_only_aircraft)]
    operation: Literal["private"] = "private"
    prices: Prices = Field(default_factory=Prices)
    value_of_time_usd_per_h: float = Field(0.0, ge=0, le=2_000)
    plan_by: Literal["time", "cost"] = "time"
    mixture: Literal["rich", "lean"] | None = None
    extends: PathText | None = None
    oxygen: Annotated[Literal["yes", "no", "as_equipped"], BeforeValidator(_yes_no)] = "as_equipped"
    airports: dict[str, AirportSpec] = {}
    airports_file: PathText | None = None
    runways_file: PathText | None = None
    weather_files: dict[str, PathText] = {}
    assumptions: dict[str, Any] = {}
    members: dict[str, Any] | None = None
    outside: dict[str, Any] | None = None

    @model_validator(mode="after")
    def _parts_fit(self) -> StudySpec:
        if (self.trips is None) == (self.demand is None):
            both = "both" if self.trips is not None else "neither"
            msg = f"either `trips` or `demand`; {both} given"
            raise ValueError(msg)
        if (self.airports_file is None) != (self.runways_file is None):
            msg = "`airports_file` and `runways_file` together; only one given"
            raise ValueError(msg)
        return self
