"""Loading: people on seats, bags on their places, fuel in tanks; weight and centre of gravity for many trips at once.

References
----------
.. [1] FAA-H-8083-1, Weight and Balance Handbook: moments, envelopes, standard weight of fuel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from missionsim.aircraft.figures import UNKNOWN, is_known, likely
from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Bools, Indices
from missionsim.base.assumptions import Assumptions
from missionsim.physics.units import FloatArray, real

EDGE_IN = 1e-6
BAG_ORDERS = (1, -1)
"""Bags fill their places from the front, or from the rear."""
SITS_IN_FRONT = 1e3
"""A single passenger beside the pilot goes before any better centre of gravity. [in]"""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Where people and bags of n trips are put, one row a trip.

    `balance_ok` and `balance_margin_in` hold at zero fuel and at the fuel asked about, whichever is worse; without an
    envelope `balance_checked` is False and they are True and NaN.
    """

    zero_fuel_weight_lb: FloatArray
    zero_fuel_moment_lb_in: FloatArray
    seats_ok: Bools
    bags_ok: Bools
    station_lb: FloatArray            # [trip, station]
    balance_ok: Bools
    balance_margin_in: FloatArray
    balance_checked: bool


def arrange(profile: Profile, people_lb: npt.ArrayLike, bags_lb: npt.ArrayLike, assumptions: Assumptions,
            fuel_gal: npt.ArrayLike | None = None) -> Arrangement:
    """Seat people and stow bags, trying a few orders and keeping the one best inside the envelope.

    The pilot sits in the first row of seats, and so does a single passenger wherever that is inside the envelope, so
    that a front-heavy loading is judged as it is flown. Others fill the rows from the front or from the rear, heavy
    ones first or light ones first; bags fill their places from the front or from the rear; what is left is tied down
    on free seats behind the first row.

    Parameters
    ----------
    people_lb : (n, m) array     Weights, 0 for nobody; column 0 is the pilot. [lb]
    bags_lb : (n,) array         Weight of all bags and goods. [lb]
    fuel_gal : (n,) array        Fuel at take-off; left out, the most that tanks and take-off weight allow. [gal]

    Returns
    -------
    Arrangement                  Too many people or bags are flagged; their weight still counts.
    """
    people = np.atleast_2d(real(people_lb))
    bags = np.broadcast_to(real(bags_lb), people.shape[:1])
    seated, taken = _seatings(profile, people)
    # Arrays [way, trip]: every way of seating with each of stowing; a single place is filled alike from either end.
    orders = BAG_ORDERS if sum(s.kind == "baggage" for s in profile.stations) > 1 else BAG_ORDERS[:1]
    stowed = [_stow(profile, seated, taken, bags, order, assumptions) for order in orders]
    ways = len(seated) * len(orders)
    stations, fits = (np.stack(every, axis=1).reshape(ways, *every[0].shape[1:]) for every in zip(*stowed, strict=True))
    seats = sum(s.seats for s in profile.stations)
    seats_ok = (people > 0.0).sum(axis=1) <= seats
    weight = empty_weight_lb(profile, assumptions) + people.sum(axis=1) + bags
    fuel = max_fuel_gal(profile, weight, assumptions) if fuel_gal is None else np.broadcast_to(
        real(fuel_gal), weight.shape)
    moments = _moment(profile, stations, assumptions)
    margins = _worst_margin(profile, weight, moments, fuel, assumptions)
    # A place over its limit is worse than any centre of gravity.
    score = np.where(fits, 0.0, -1e6) + np.nan_to_num(margins)
    single = (people[:, 1:] > 0.0).sum(axis=1) == 1
    in_front = np.repeat(_in_front(profile, seated), len(orders), axis=0)
    best = np.argmax(score + np.where(single & in_front & (score >= -EDGE_IN), SITS_IN_FRONT, 0.0), axis=0)
    row = np.arange(people.shape[0])
    margin = margins[best, row]
    checked = profile.envelope is not None
    return Arrangement(weight, moments[best, row], seats_ok, fits[best, row], stations[best, row],
                       margin >= -EDGE_IN if checked else np.ones(row.shape, dtype=bool), margin, checked)


def empty_weight_lb(profile: Profile, assumptions: Assumptions) -> float:
    """Return the empty weight with added equipment, from the better known of empty weight and useful load."""
    weights, top = profile.weights, profile.weights.max_takeoff_lb
    added = profile.changes.empty_weight_lb
    for exact in (True, False):
        for figure, is_useful in ((weights.empty_weight_lb, False), (weights.useful_load_lb, True)):
            if figure is not None and figure != UNKNOWN and is_known(figure) is exact:
                number = likely(figure, 0.0)
                return (top - number if is_useful else number) + added
    brochure = weights.brochure_useful_load_lb or 0.0
    return top - (brochure - assumptions["aircraft.useful_load_below_brochure_lb"]) + added


def fuel_lb_per_gal(profile: Profile, assumptions: Assumptions) -> float:
    """Return the weight of a gallon of the engine's fuel. [lb]"""
    return float(assumptions["aircraft.jet_fuel_lb_per_gal" if profile.engine.fuel == "jet_a" else
                             "aircraft.avgas_lb_per_gal"])


def weight_and_cg(profile: Profile, zero_fuel_weight_lb: npt.ArrayLike, zero_fuel_moment_lb_in: npt.ArrayLike,
                  fuel_gal: npt.ArrayLike, assumptions: Assumptions) -> tuple[FloatArray, FloatArray]:
    """Return weight and centre of gravity with fuel; tanks of the lowest order fill first and empty last.

    Parameters
    ----------
    profile : Profile
    zero_fuel_weight_lb : array      Without fuel. [lb]
    zero_fuel_moment_lb_in : array   Without fuel. [lb in]
    fuel_gal : array                 Fuel on board. [gal]
    assumptions : Assumptions

    Returns
    -------
    weight_lb, cg_in : arrays   [lb, in]
    """
    density = fuel_lb_per_gal(profile, assumptions)
    fuel = real(fuel_gal)
    weight = real(zero_fuel_weight_lb) + density * fuel
    moment = real(zero_fuel_moment_lb_in) + density * _fuel_moment_gal_in(profile, fuel)
    return weight, moment / weight


def inside(profile: Profile, weight_lb: npt.ArrayLike, cg_in: npt.ArrayLike) -> tuple[Bools, FloatArray]:
    """Return whether points lie in the envelope, and how far from its fore or aft limit at that weight.

    Parameters
    ----------
    weight_lb, cg_in : arrays that broadcast   [lb, in]

    Returns
    -------
    inside : bool array       False above the top or below the bottom of the envelope; the edge counts as inside.
    margin_in : array         Positive inside; a weight beyond top or bottom counts as that edge, so that the margin
                              speaks of balance alone. NaN without an envelope, and inside is then True. [in]
    """
    weight, cg = np.broadcast_arrays(real(weight_lb), real(cg_in))
    if profile.envelope is None:
        return np.ones(weight.shape, dtype=bool), np.full(weight.shape, np.nan)
    raised = envelope_points(profile)
    margin = envelope_margin_in(raised, weight, cg)
    low, high = raised[:, 1].min(), raised[:, 1].max()
    return (margin >= -EDGE_IN) & (weight >= low - 1e-6) & (weight <= high + 1e-6), margin


def envelope_points(profile: Profile) -> FloatArray:
    """Return the corners (cg_in, weight_lb); an approved increase of take-off weight lifts the top edge straight up."""
    points = np.array([(p.cg_in, p.weight_lb) for p in profile.envelope or ()], dtype=float)
    top = points[:, 1].max()
    points[:, 1] += np.where(points[:, 1] > top - 5.0, profile.changes.max_takeoff_lb, 0.0)
    return points


def envelope_margin_in(points: FloatArray, weight_lb: FloatArray, cg_in: FloatArray) -> FloatArray:
    """Return the distance along the weight line to the nearest limit of a simple polygon, negative outside. [in].

    Works for any simple polygon, concave ones included: an odd number of edges to the right means inside.
    """
    low, high = points[:, 1].min(), points[:, 1].max()
    # Just off the edges, so that a horizontal edge is met by its neighbours.
    level = np.clip(weight_lb, low + 1e-7, high - 1e-7)
    within, nearest = np.zeros(level.shape, dtype=bool), np.full(level.shape, np.inf)
    for (x0, y0), (x1, y1) in zip(points.tolist(), np.roll(points, -1, axis=0).tolist(), strict=True):
        if y0 != y1:
            meets = (y0 > level) != (y1 > level)
            away = x0 + (level - y0) * (x1 - x0) / (y1 - y0) - cg_in
            within ^= meets & (away > 0.0)
            np.minimum(nearest, np.abs(away), out=nearest, where=meets)
    return np.where(within, nearest, -nearest)


def max_fuel_gal(profile: Profile, zero_fuel_weight_lb: npt.ArrayLike, assumptions: Assumptions) -> FloatArray:
    """Return the most fuel that tanks and take-off weight allow; negative where the load alone is too heavy. [gal]."""
    room_lb = profile.max_takeoff_lb - real(zero_fuel_weight_lb)
    return np.minimum(profile.usable_gal, room_lb / fuel_lb_per_gal(profile, assumptions))


def zero_fuel_margin_lb(profile: Profile, zero_fuel_weight_lb: npt.ArrayLike) -> FloatArray:
    """Return what is left to the zero-fuel limit, or to the take-off limit where there is none. [lb]."""
    return (profile.weights.max_zero_fuel_lb or profile.max_takeoff_lb) - real(zero_fuel_weight_lb)


def _seatings(profile: Profile, people: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return station weights and seats taken, [way, trip, station], in four orders.

    Those without a seat crowd the last row.
    """
    rows = [i for i, s in enumerate(profile.stations) for _ in range(s.seats)]
    free = rows[1:] or rows
    guests = people[:, 1:]
    # Nobody (0) sorts last in both orders.
    light = np.sort(np.where(guests > 0.0, guests, np.inf), axis=1)
    orders = np.stack([-np.sort(-guests, axis=1), np.where(np.isfinite(light), light, 0.0)])
    stations, taken = np.zeros((2, len(orders), 2, people.shape[0], len(profile.stations)))
    stations[..., rows[0]], taken[..., rows[0]] = people[:, 0], people[:, 0] > 0.0
    most = int((guests > 0.0).sum(axis=1).max(initial=0))
    for way, seats in enumerate((free, free[::-1])):
        for k in range(most):
            seat = seats[min(k, len(seats) - 1)]
            stations[:, way, :, seat] += orders[..., k]
            taken[:, way, :, seat] += orders[..., k] > 0.0
    shape = 2 * len(orders), *people.shape[:1], len(profile.stations)
    return stations.reshape(shape), taken.reshape(shape)


def _in_front(profile: Profile, seated: FloatArray) -> Bools:
    """Tell whether all of the weight on seats, [..., station], is in the first row."""
    front = next(i for i, s in enumerate(profile.stations) if s.kind == "seat")
    return np.asarray(seated.sum(axis=-1) - seated[..., front] <= 0.0)


def _stow(profile: Profile, seated: FloatArray, taken: FloatArray, bags: FloatArray, order: int,
          assumptions: Assumptions) -> tuple[FloatArray, Bools]:
    """Return station weights with bags, [way, trip, station], and whether every place keeps its limit, [way, trip]."""
    stations, left = seated.copy(), np.broadcast_to(bags, seated.shape[:-1]).astype(float)
    places = sorted((i for i, s in enumerate(profile.stations) if s.kind == "baggage"),
                    key=lambda i: order * (profile.stations[i].arm_in or 0.0))
    for i in places:
        put = np.minimum(left, profile.stations[i].max_lb or 0.0)
        stations[..., i] += put
        left = left - put
    front = next(i for i, s in enumerate(profile.stations) if s.kind == "seat")
    for i, station in enumerate(profile.stations):
        if station.kind == "seat" and i != front:
            room = _room_on_seats_lb(station.seats - taken[..., i], seated[..., i], station.max_lb, assumptions)
            put = np.minimum(left, room)
            stations[..., i] += put
            left = left - put
    seats_hold = np.all([stations[..., i] <= (s.max_lb or np.inf) + 1e-9 for i, s in enumerate(profile.stations)
                         if s.kind == "seat"], axis=0)
    # What found no place is laid on the last one, so that weight and moment stay whole.
    stations[..., places[-1] if places else front] += left
    return stations, seats_hold & (left <= 1e-9)


def _room_on_seats_lb(free: FloatArray, people_lb: FloatArray, limit_lb: float | None, assumptions: Assumptions,
                      ) -> FloatArray:
    """Return what may be tied down on a row's free seats, beside a rider too, and no more than the row's limit."""
    room = assumptions["aircraft.cargo_per_free_seat_lb"] * np.maximum(free, 0.0)
    return room if limit_lb is None else np.clip(limit_lb - people_lb, 0.0, room)


def most_bags_lb(profile: Profile, people: Indices, assumptions: Assumptions) -> FloatArray:
    """Return a weight of bags beyond which no way of stowing them keeps every limit, by how many are aboard. [lb]

    Their places take what they may, and so do the seats behind the first row that are free with that row full.
    """
    front, *behind = (s.seats for s in profile.stations if s.kind == "seat")
    free = np.maximum(sum(behind) - np.maximum(people - front, 0), 0)
    places_lb = sum(s.max_lb or 0.0 for s in profile.stations if s.kind == "baggage")
    return np.asarray(places_lb + assumptions["aircraft.cargo_per_free_seat_lb"] * free, dtype=float)


def _moment(profile: Profile, stations: FloatArray, assumptions: Assumptions) -> FloatArray:
    arms = np.array([s.arm_in or 0.0 for s in profile.stations])
    empty = empty_weight_lb(profile, assumptions)
    return empty * (profile.weights.empty_arm_in or 0.0) + stations @ arms


def _worst_margin(profile: Profile, weight: FloatArray, moment: FloatArray, fuel: FloatArray,
                  assumptions: Assumptions) -> FloatArray:
    """Return the worse of the margins dry and with fuel, [way, trip]; both in one pass. NaN without an envelope."""
    if profile.envelope is None:
        return np.full(moment.shape, np.nan)
    gallons = np.stack([np.zeros(weight.shape), np.maximum(fuel, 0.0)])[:, None]
    dry, fuelled = inside(profile, *weight_and_cg(profile, weight, moment, gallons, assumptions))[1]
    return np.minimum(dry, fuelled)


def _fuel_moment_gal_in(profile: Profile, fuel: FloatArray) -> FloatArray:
    moment, left = np.zeros(fuel.shape), fuel
    for order in sorted({tank.order for tank in profile.tanks}):
        group = [tank for tank in profile.tanks if tank.order == order]
        held = sum(tank.usable_gal for tank in group)
        last = order == max(tank.order for tank in profile.tanks)
        put = left if last else np.minimum(left, held)
        moment = moment + put * sum(tank.usable_gal * (tank.arm_in or 0.0) for tank in group) / held
        left = left - put
    return moment
