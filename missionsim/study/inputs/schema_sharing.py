"""What a study file may say of shared use: members of a partnership, and flying for others."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from missionsim.study.inputs.schema_parts import (
    ONE_LINE,
    Counts,
    Destination,
    Ident,
    Model,
    Pilot,
    Season,
    Share,
    Slip,
    TripFile,
    Usd,
    Weekday,
    only_file,
)

Days = Annotated[float, Field(ge=0, le=365)]
NoticeDays = Annotated[tuple[Days, Days, Days], Field(strict=False)]


class Member(Model):
    """One of those who share the aircraft. What is left out comes from the study's pilot and the group `sharing`."""

    name: Annotated[str, Field(min_length=1, max_length=60), ONE_LINE]
    trips: Annotated[TripFile | None, BeforeValidator(only_file)] = None
    demand: Annotated[tuple[Destination, ...] | None, Field(strict=False, min_length=1, max_length=100)] = None
    pilot: Pilot | None = None
    to_hangar_min: float = Field(default=0.0, ge=0, le=600)
    notice_days: NoticeDays | None = None
    holds_h: float | None = Field(default=None, ge=0, le=48)
    cancel_share: Share | None = None
    equity_share: Share | None = None
    typical: bool = False

    @model_validator(mode="after")
    def _parts_fit(self) -> Member:
        if (self.trips is None) == (self.demand is None):
            raise ValueError("either `trips` or `demand` for each member")
        if self.notice_days is not None and (list(self.notice_days) != sorted(self.notice_days)):
            raise ValueError("notice_days as [low, likely, high] in rising order")
        return self


class Booking(Model):
    """The group's rules for booking."""

    rule: Literal["first_come", "rotating_week"] = "first_come"
    opens_days: float | None = Field(default=None, ge=0, le=60)
    open_bookings: int | None = Field(default=None, ge=0, le=100)
    held_days: float | None = Field(default=None, ge=0, le=365)
    release_days: float | None = Field(default=None, ge=0, le=60)
    give_way_share: Share | None = None


class Sharing(Model):
    """Who pays what. Dues left out cover the fixed costs; an hourly rate left out covers what an hour costs."""

    by: Literal["dues_and_hours", "hours", "days_held", "equally"] = "dues_and_hours"
    dues_usd_per_month: Usd | None = None
    hourly_usd: float | None = Field(default=None, ge=0, le=5_000)
    hourly: Literal["wet", "dry"] = "wet"
    clock: Literal["flight_hours", "block_hours", "tach_hours"] = "tach_hours"
    fund_usd: Usd = 0.0
    fund_years: int | None = Field(default=None, ge=1, le=30)
    deductible: Literal["all", "flyer"] = "all"

    @model_validator(mode="after")
    def _parts_fit(self) -> Sharing:
        if self.by != "dues_and_hours" and (self.dues_usd_per_month is not None or self.hourly_usd is not None):
            raise ValueError("dues_usd_per_month and hourly_usd with `by: dues_and_hours` alone")
        return self


class Members(Model):
    """A partnership."""

    people: Annotated[tuple[Member, ...], Field(strict=False, min_length=1, max_length=8)]
    booking: Booking = Field(default_factory=Booking)
    sharing: Sharing = Field(default_factory=Sharing)
    sizes: Annotated[tuple[Annotated[int, Field(ge=1, le=8)], ...], Field(strict=False, min_length=1, max_length=8)] = (
        1, 2, 3, 4, 5, 6, 7, 8)
    @model_validator(mode="after")
    def _parts_fit(self) -> Members:
        names = [person.name for person in self.people]
        if len(set(names)) < len(names):
            raise ValueError("members with different names")
        if sum(person.typical for person in self.people) > 1:
            raise ValueError("one member with `typical: true`, whom added members are like")
        given = [p.equity_share for p in self.people if p.equity_share is not None]
        if given and (len(given) < len(names) or abs(sum(given) - 1.0) > 1e-6):
            raise ValueError("equity_share for all members or for none, 1 in all")
        if list(self.sizes) != sorted(set(self.sizes)):
            raise ValueError("sizes in rising order, each once")
        return self


class Request(Model):
    """One kind of flight that others ask for."""

    to: Ident
    from_: Ident | None = Field(default=None, alias="from")
    kind: Literal["wait", "one_way"] | None = None
    """None: the usual one of the operation, `usual_kind`."""
    per_year: float = Field(ge=0, le=2_000)
    season: Annotated[dict[Season, Annotated[float, Field(ge=0, le=100)]] | None, Field(min_length=1)] = None
    weekdays: Annotated[tuple[Weekday, ...], Field(strict=False, min_length=1, max_length=7)] = (
        "mon", "tue", "wed", "thu", "fri", "sat", "sun")
    leave_local_h: float | None = Field(default=None, ge=0, le=23.99)
    return_local_h: float | None = Field(default=None, ge=0, le=23.99)
    nights: Counts = Field(default_factory=lambda: {0: 1.0})
    passengers: Counts = Field(default_factory=lambda: {2: 1.0})
    bags_lb: float | None = Field(default=None, ge=0, le=5_000)
    notice_days: NoticeDays | None = None
    earlier_h: Slip | None = None
    later_h: Slip | None = None
    purpose: Annotated[str, Field(max_length=200)] = ""


class Crew(Model):
    """Who flies for others, and what that costs. Left out: the study's pilot under the rules of the operation."""

    pilot: Pilot | None = None
    second_pilot: bool = False
    usd_per_day: float | None = Field(default=None, ge=0, le=10_000)
    expenses_usd_per_day: float | None = Field(default=None, ge=0, le=2_000)


class Outside(Model):
    """Flying for others."""

    requests: Annotated[tuple[Request, ...], Field(strict=False, min_length=1, max_length=100)]
    crew: Crew = Field(default_factory=Crew)
    rate_usd_per_h: float | None = Field(default=None, ge=0, le=10_000)
    daily_minimum_h: float = Field(default=0.0, ge=0, le=24)
    waiting_usd_per_h: float = Field(default=0.0, ge=0, le=1_000)
    positioning_billed: bool = False
    fuel_surcharge_usd_per_h: float = Field(default=0.0, ge=0, le=1_000)
    fees_passed_on: bool = False
    rate_is: Literal["wet", "dry"] = "wet"
    clock: Literal["block_hours", "meter_hours"] = "block_hours"
    elasticity: float = Field(default=0.0, ge=0, le=10)
    operator_share: Share | None = None
    ticket_tax_share: Share | None = None
    margin_share: Share | None = None
    conformity_usd: Usd | None = None
    owner_notice_days: NoticeDays | None = None
    hours_a_year: Annotated[tuple[Annotated[float, Field(gt=0, le=3_000)], ...],
                            Field(strict=False, min_length=1, max_length=20)] = (
        50.0, 100.0, 150.0, 200.0, 300.0, 400.0)
