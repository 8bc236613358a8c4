"""Parts of a study file that several other parts use: numbers with bounds, the pilot, trip lists, kinds of trip."""

from __future__ import annotations

from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from missionsim.base.assumptions import Assumptions

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
        raise ValueError("an IANA time zone, such as America/Chicago") from None
    return name


def _one_line(text: str) -> str:
    if "\n" in text or "\t" in text:
        raise ValueError("a name on one line")
    return text


ONE_LINE = AfterValidator(_one_line)
"""For names: they stand in tables, in legends and in folders' names."""
Share = Annotated[float, Field(ge=0, le=1)]
Usd = Annotated[float, Field(ge=0, le=10_000_000)]
Slip = Annotated[float, Field(ge=0, le=240)]
Text = Annotated[str, Field(min_length=1, max_length=400)]
Ident = Annotated[str, Field(min_length=2, max_length=8, pattern=r"^[A-Za-z0-9-]+$")]
PathText = Annotated[str, Field(min_length=1, max_length=1000)]
Zone = Annotated[str, AfterValidator(_known_zone)]


def _in_order(values: tuple[float, ...]) -> tuple[float, ...]:
    if list(values) != sorted(values):
        raise ValueError("[low, likely, high] in rising order")
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


def yes_no(value: Any) -> Any:
    """Return the words that YAML reads as true and false."""
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
    multi_engine_h: float | None = Field(default=None, ge=0, le=40_000)
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
    open_water_nm: float | None = Field(default=None, ge=0, le=1_000)
    chance_missing_share: Share | None = None
    chance_both_below_share: Share | None = None
    chance_visual_share: Share | None = None

    @model_validator(mode="after")
    def _hours_fit(self) -> Pilot:
        if self.total_h is not None and (self.retractable_h or 0) > self.total_h:
            raise ValueError(f"retractable_h ({self.retractable_h:g}) no larger than total_h ({self.total_h:g})")
        return self


class WakingHours(Model):
    """Hours of the day, local clock, before which nobody leaves and after which nobody arrives; 25 is one at night."""

    earliest_departure: float | None = Field(default=None, ge=0, le=24)
    latest_arrival: float | None = Field(default=None, ge=0, le=30)
    passengers_earliest: float | None = Field(default=None, ge=0, le=24)
    passengers_latest: float | None = Field(default=None, ge=0, le=30)

    @model_validator(mode="after")
    def _a_day_is_left(self) -> WakingHours:
        for first, last in ((self.earliest_departure, self.latest_arrival),
                            (self.passengers_earliest, self.passengers_latest)):
            if first is not None and last is not None and last - first < 3.0:
                raise ValueError(f"at least three hours between leaving and arriving; from {first:g} to {last:g} given")
        return self

    def over(self, assumptions: Assumptions) -> Assumptions:
        """Return the assumptions with the hours that were given in place of the usual ones."""
        return assumptions.supposed({f"waking.{name}_local_h": value for name, value in self if value is not None})


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
    passengers: Text | None = None
    adults: Text | None = None
    children: Text | None = None
    adults_least: Text | None = None
    bags_lb: Text | None = None
    must_go: Text | None = None
    must_be_possible: Text | None = None
    substitute_usd: Text | None = None
    substitute_h: Text | None = None
    optional_value_usd: Text | None = None
    earlier_h: Text | None = None
    later_h: Text | None = None
    return_earlier_h: Text | None = None
    return_later_h: Text | None = None
    days_earlier: Text | None = None
    days_later: Text | None = None
    evening_before: Text | None = None
    moved_usd: Text | None = None
    moved_h: Text | None = None
    purpose: Text | None = None
    member: Text | None = None
    fuel_stop: Text | None = None
    hours: Text | None = None

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
                raise ValueError(f"{name} from {low} to {high}, each with its weight")
            if sum(weights.values()) <= 0:
                raise ValueError(f"{name} with at least one weight above 0")
        if self.season is not None and sum(self.season.values()) <= 0:
            raise ValueError("season with at least one weight above 0")
        return self


def only_file(value: Any) -> Any:
    """Return a bare file name as the table it stands for."""
    return {"file": value} if isinstance(value, str) else value
