"""The words of the program: reasons, outcomes, purposes of a flight and kinds of shop visit."""

from __future__ import annotations

from enum import IntEnum, IntFlag, StrEnum


class Reason(StrEnum):
    """Why a trip is refused or a flight put off. One list, used everywhere; never a catch-all."""

    SEATS = "seats"
    PAYLOAD = "payload"
    BALANCE = "balance"
    RANGE = "range"
    RUNWAY = "runway"
    SURFACE = "surface"
    CLIMB = "climb"
    TERRAIN = "terrain"
    OXYGEN = "oxygen"
    EQUIPMENT = "equipment"
    CURRENCY = "currency"
    CEILING = "ceiling"
    VISIBILITY = "visibility"
    ICING = "icing"
    THUNDERSTORM = "thunderstorm"
    WIND = "wind"
    TURBULENCE = "turbulence"
    DAYLIGHT = "daylight"
    DUTY = "duty"
    MAINTENANCE = "maintenance"
    BOOKED = "booked"
    OPEN_WATER = "open_water"


REASONS: tuple[Reason, ...] = tuple(Reason)
"""Fixed order; the position of a reason is its bit in a mask."""

BIT: dict[Reason, int] = {reason: 1 << i for i, reason in enumerate(REASONS)}

STRUCTURAL: frozenset[Reason] = frozenset(
    {Reason.SEATS, Reason.PAYLOAD, Reason.BALANCE, Reason.RANGE, Reason.RUNWAY, Reason.SURFACE, Reason.TERRAIN,
     Reason.OXYGEN, Reason.EQUIPMENT, Reason.CLIMB, Reason.OPEN_WATER}
)
"""Reasons that can refuse a trip in any weather. Runway, climb and payload count as structural only when no
hour of the window would do; on a hot afternoon alone they are of the day."""

EXPLAINED: dict[Reason, str] = {
    Reason.SEATS: "more people than usable seats",
    Reason.PAYLOAD: "people, bags and the fuel needed exceed a weight limit, even with stops",
    Reason.BALANCE: "no way to seat people and stow bags puts the centre of gravity inside the envelope",
    Reason.RANGE: "fuel needed exceeds usable tanks, and no fuel stop helps",
    Reason.RUNWAY: "runway needed, with the pilot's margin, exceeds the runway available",
    Reason.SURFACE: "runway surface not accepted for this aircraft",
    Reason.CLIMB: "climb gradient or climb rate too low at the density altitude",
    Reason.TERRAIN: "no usable level clears the terrain by the required margin, bent routes included",
    Reason.OXYGEN: "the level needed is above what is flown without oxygen on board, or with passengers whatever is on "
                   "board: 12,500 ft as a rule, but for half an hour up to 14,000",
    Reason.EQUIPMENT: "the aircraft lacks equipment that the operation needs",
    Reason.CURRENCY: "the pilot is not current or not yet trained for this flight",
    Reason.CEILING: "ceiling below the minimum for departure, route or arrival",
    Reason.VISIBILITY: "visibility below the minimum for departure, route or arrival",
    Reason.ICING: "cloud or precipitation at freezing temperatures that this aircraft may not enter",
    Reason.THUNDERSTORM: "a line of storms or embedded storms over most of the way",
    Reason.WIND: "surface wind, gusts or crosswind beyond the limit on every usable runway",
    Reason.TURBULENCE: "strong wind over mountain ridges",
    Reason.DAYLIGHT: "the flight would run into darkness the pilot does not accept",
    Reason.DUTY: "the pilot's day would be too long",
    Reason.MAINTENANCE: "the aircraft is in the shop or grounded by a fault",
    Reason.BOOKED: "somebody else, or another trip, has the aircraft",
    Reason.OPEN_WATER: "with one engine, farther beyond gliding distance of land at every usable level than the pilot "
                       "accepts",
}


class Outcome(StrEnum):
    """How a trip ended; exactly one of these."""

    COMPLETED = "completed"
    DELAYED = "delayed"
    BROKEN_OFF = "broken_off"
    REFUSED = "refused"


class Mark(IntFlag):
    """How a trip that was made differs from the one that was asked for; several together, none for a trip as asked.

    Outcomes say whether a trip was made; marks say what was given up for it.
    """

    MOVED = 1       # left on another day or the evening before, within what the trip allows
    ADAPTED = 2     # with a stop for the load, with fewer aboard, in two runs, or by other means that the load forced
    MARGINAL = 4    # on an own rule of the pilot met within its tolerance


class Adaptation(IntEnum):
    """What a trip does to make its load fit; gear is left behind with each of the others, where the study says so."""

    GEAR_LEFT = 1       # what can be taken out stays behind
    FEWER_ABOARD = 2    # some adults go by car
    SEATS_OUT = 3       # seats behind are taken out for freight
    TWO_RUNS = 4        # each leg is flown twice, the aircraft coming back for the rest


class Purpose(StrEnum):
    """Why a flight was flown."""

    TRIP = "trip"
    TURNED = "turned"          # begun under visual rules; turned back, or landed short of its destination
    DIVERSION = "diversion"
    CONTINUATION = "continuation"
    FERRY = "ferry"
    LOCAL = "local"            # lands where it began: practice and pleasure


class Shop(StrEnum):
    """Kinds of shop visit."""

    OIL_CHANGE = "oil_change"
    ANNUAL = "annual"
    HUNDRED_HOUR = "hundred_hour"
    FAULT = "fault"
    ENGINE_OVERHAUL = "engine_overhaul"
    PROPELLER_OVERHAUL = "propeller_overhaul"
    UPGRADE = "upgrade"


class Stream(IntEnum):
    """Purposes of random streams. Append, never renumber: a number is part of every result."""

    WINDS_ALOFT = 1
    SURFACE_WEATHER = 2
    SURFACE_LOCAL = 3
    TEMPERATURE = 4
    SEASON_EFFECT = 5
    STORMS = 6
    ICING = 7
    PEOPLE = 8
    FAULTS = 9
    REPAIRS = 10
    STATE = 11
    DEMAND = 12
    UNKNOWNS = 13
    PRICES = 14
    BOOTSTRAP = 15
    MEMBERS = 16
    OUTSIDE_DEMAND = 17
    ENGINE = 18
    DELAYS = 19
    FAULTS_SHOWN = 20
    RENTAL = 21
    PRICE_DRAWS = 22
    MEANS = 23
    CLASS_FIGURES = 24
    CLASS_CHOICE = 27
    WANTED = 25
    ROUTINES = 26
    CLAIMS = 40
    AGEING = 41


ASLEEP = 1 << 31
"""In a mask of reasons: nobody leaves or arrives at that hour. Not a reason, since nothing is in the way."""


def marks_of(mask: int) -> tuple[str, ...]:
    """Return the words of a set of marks, in the fixed order."""
    return tuple(mark.name.lower() for mark in Mark if mask & mark and mark.name)


def reasons_of(mask: int) -> tuple[Reason, ...]:
    """Return the reasons whose bits are set in a mask, in the fixed order."""
    return tuple(reason for reason in REASONS if mask & BIT[reason])
