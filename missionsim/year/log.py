"""What a simulated year leaves behind before it is turned into columns."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from missionsim.base.words import Outcome, Purpose, Reason
from missionsim.year.records import ShopRow


class LegFlown(NamedTuple):
    """A leg flown as planned; its flights follow from option and slot."""

    leg: int
    option: int
    slot: int
    depart_h: float


class HopFlown(NamedTuple):
    """A flight that no trip planned: a diversion, its continuation, or the aircraft flown home empty."""

    trip: int
    leg: int
    purpose: Purpose
    from_place: int
    to_place: int
    depart_h: float
    flight_h: float
    fuel_gal: float
    distance_nm: float
    people: int


class TripEnd(NamedTuple):
    """How a trip ended, in the loop's own figures."""

    trip: int
    outcome: Outcome
    reason: Reason | None
    reasons: int
    structural: bool
    departed_h: float
    home_h: float
    reached: int
    looks: int
    diversions: int
    otherwise: bool
    nights_forced: int


@dataclass(slots=True)
class YearLog:
    """Everything a year leaves behind, in the order it happened."""

    legs: list[LegFlown] = field(default_factory=list)
    hops: list[HopFlown] = field(default_factory=list)
    ends: list[TripEnd] = field(default_factory=list)
    shop: list[ShopRow] = field(default_factory=list)
