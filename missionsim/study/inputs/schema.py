"""What a study file may say: keys, kinds and plausible bounds."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from missionsim.study.inputs.schema_parts import (
    ONE_LINE,
    Approach,
    Columns,
    Destination,
    Ident,
    Model,
    PathText,
    Pilot,
    Surface,
    Text,
    TripFile,
    WakingHours,
    Zone,
    only_file,
    yes_no,
)
from missionsim.study.inputs.schema_sharing import Members, Outside

__all__ = ["AirportSpec", "CandidateSpec", "Columns", "Destination", "Members", "Outside", "Pilot", "Prices",
           "RunwaySpec", "StudySpec", "TripFile"]


class CandidateSpec(Model):
    """One aircraft that takes part, perhaps changed."""

    aircraft: PathText
    name: Annotated[str, Field(min_length=1, max_length=80), ONE_LINE] | None = None
    upgrades: Annotated[tuple[Text, ...], Field(strict=False, min_length=0, max_length=40)] = ()
    price_usd: float | None = Field(default=None, ge=1_000, le=10_000_000)
    changes: dict[str, Any] = Field(default_factory=dict)


class Prices(Model):
    """Prices where the user lives; what is left out comes from the assumptions."""

    fuel_usd_per_gal: float | None = Field(default=None, ge=0.5, le=50)
    fuel_at: dict[str, Annotated[float, Field(ge=0.5, le=50)]] = Field(default_factory=dict)
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
            raise ValueError("a fuel price only where fuel is not false")
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


def _only_aircraft(value: Any) -> Any:
    if not isinstance(value, list | tuple):
        return value
    return [{"aircraft": item} if isinstance(item, str) else item for item in value]


class StudySpec(Model):
    """All keys of a study file."""

    study: Annotated[str, Field(min_length=1, max_length=200), ONE_LINE]
    question: Annotated[str, Field(max_length=2_000)] = ""
    home: Ident
    year: int | None = Field(default=None, ge=1950, le=2100)
    seed: int = Field(1, ge=0, le=2**63 - 1)
    replications: int = Field(100, ge=1, le=100_000)
    years: int = Field(1, ge=1, le=30)
    years_kept: int | None = Field(default=None, ge=1, le=30)
    kept: Literal["hangar", "tie_down"] = "hangar"
    dollars: Literal["today", "nominal"] = "today"
    """Of the cash of each year; what a year costs stands in today's, as renting, cars and airlines do."""
    pilot: Pilot = Field(default_factory=Pilot)
    waking_hours: WakingHours = Field(default_factory=WakingHours)
    trips: Annotated[TripFile | None, BeforeValidator(only_file)] = None
    demand: Annotated[tuple[Destination, ...] | None, Field(strict=False, min_length=1, max_length=500)] = None
    trips_are: Literal["wish_list", "logbook"] | None = None
    local_hours_per_year: float | None = Field(default=None, ge=0, le=500)
    candidates: Annotated[tuple[CandidateSpec, ...], Field(strict=False, min_length=1, max_length=50),
                          BeforeValidator(_only_aircraft)]
    operation: Literal["private", "rental_leaseback", "charter_on_certificate"] = "private"
    prices: Prices = Field(default_factory=Prices)
    value_of_time_usd_per_h: float = Field(0.0, ge=0, le=2_000)
    rent_available: bool = True
    rent_aircraft: PathText | None = None
    least_completed_share: float | None = Field(default=None, gt=0, le=1)
    plan_by: Literal["time", "cost"] = "time"
    when_it_does_not_fit: Annotated[tuple[Literal["leave_gear", "fewer_aboard", "two_runs", "seats_out"], ...],
                                    Field(strict=False)] = ("leave_gear", "fewer_aboard", "two_runs", "seats_out")
    mixture: Literal["rich", "lean"] | None = None
    extends: PathText | None = None
    oxygen: Annotated[Literal["yes", "no", "as_equipped"], BeforeValidator(yes_no)] = "as_equipped"
    airports: dict[str, AirportSpec] = Field(default_factory=dict)
    airports_file: PathText | None = None
    runways_file: PathText | None = None
    weather_files: dict[str, PathText] = Field(default_factory=dict)
    assumptions: dict[str, Any] = Field(default_factory=dict)
    members: Members | None = None
    outside: Outside | None = None

    @model_validator(mode="after")
    def _parts_fit(self) -> StudySpec:
        given = [name for name in ("trips", "demand", "members") if getattr(self, name) is not None]
        if len(given) != 1:
            several = " and ".join(given) if "members" in given else ("both" if given else "neither")
            raise ValueError(f"either `trips` or `demand` (or `members` with their own); {several} given")
        if (self.airports_file is None) != (self.runways_file is None):
            raise ValueError("`airports_file` and `runways_file` together; only one given")
        if self.years > 1 and self.years_kept not in {None, self.years}:
            raise ValueError(f"`years_kept` only where `years` is 1, or the same as it; {self.years_kept} and "
                             f"{self.years} given")
        return self
