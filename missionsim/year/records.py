"""What a simulated year leaves behind: the log of the event loop, and the rows it is turned into.

Costs and reports are passes over the rows.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from missionsim.base.words import Outcome, Purpose, Reason


class FlightRow(NamedTuple):
    """One take-off to one landing. Times are UTC hours since the year began at home's UTC year start."""

    replication: int
    trip: int               # row of the trip table; -1 when no trip caused it
    leg: int                # leg of the trip, from 0; -1 for a ferry flight
    purpose: str            # Purpose
    from_place: int         # row of the study's places
    to_place: int
    depart_h: float         # first movement
    block_h: float
    flight_h: float
    level_ft: float
    tas_kt: float
    groundspeed_kt: float   # distance over flight time at cruise
    headwind_kt: float      # at cruise, positive on the nose
    distance_nm: float
    fuel_burn_gal: float
    fuel_uplift_gal: float  # bought at from_place before this flight
    takeoff_weight_lb: float
    people: int
    is_stop: bool           # ends at a fuel stop, not at a place the trip asked for


class TripRow(NamedTuple):
    """One wanted trip and how it ended."""

    replication: int
    trip: int
    outcome: str            # Outcome
    reason: str             # deciding reason of a refusal, break-off or delay; empty when none
    reasons: int            # bit mask of all reasons met (words.BIT)
    structural: bool        # refused for a reason that holds in any weather
    planned_h: float        # planned first departure
    departed_h: float       # NaN inside when never left; null in every output
    home_h: float           # when the party was home again; NaN when never left
    door_to_door_h: float   # hours of one traveller, both ways; 0 when refused
    nights_forced: int      # nights away beyond the plan
    flights: int
    fuel_stops: int
    diversions: int
    looks: int              # departures looked at and put off
    block_h: float
    flight_h: float
    fuel_gal: float
    people: int
    places_reached: int     # of the places the trip asked for
    came_home_otherwise: bool
    marks: int              # set of words.Mark: moved, adapted, marginal
    turned: int             # flights under visual rules that turned back or landed short
    met_below: int          # of those, flights that met less than the legal minima on the way
    how: int                # words.Adaptation: what was given up for the load, 0 for nothing
    apart: int              # of the people, so many who went by car


class ShopRow(NamedTuple):
    """One visit to the shop, planned or not."""

    replication: int
    kind: str               # Shop
    start_h: float
    end_h: float
    place: int
    flight_hours: float     # flown this year when it began
    cost_rank: float        # uniform 0..1; money turns it into dollars
    deferred: bool          # a fault flown with until a planned visit
    trip: int               # trip it struck; -1 at home


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
    marks: int = 0
    turned: int = 0
    met_below: int = 0
    left_h: float = -1.0    # when the party gave up on the aircraft and left by other means; -1 where it did not
    nights_rested: int = 0  # nights on the way of legs longer than a day's flying
    rested_h: float = 0.0   # hours of these nights on the ground


@dataclass(slots=True)
class YearLog:
    """Everything a year leaves behind, in the order it happened."""

    legs: list[LegFlown] = field(default_factory=list)
    hops: list[HopFlown] = field(default_factory=list)
    ends: list[TripEnd] = field(default_factory=list)
    shop: list[ShopRow] = field(default_factory=list)
