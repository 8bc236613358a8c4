"""Faults of a profile that show only when two of its figures are held against each other.

They look at the raw mapping, so that they are found even where another part of the profile is already wrong.
Limits here are bounds of the plausible, wide enough for any light piston aircraft, not model parameters.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic_core import InitErrorDetails, PydanticCustomError

from missionsim.base.errors import told_apart
from missionsim.physics.atmosphere import density_ratio, standard_temperature_c
from missionsim.physics.engine import full_throttle_ratio

BSFC_BOUNDS = (0.33, 0.75)
"""Brake specific fuel consumption of spark-ignition aircraft engines, lean to full rich. [lb/(hp h)]"""
FUEL_LB_PER_GAL = {"avgas": 6.0, "jet_a": 6.7}
FLAT_PLATE_BOUNDS_SQFT = (1.0, 18.0)
SEA_LEVEL_DENSITY_SLUG = 0.0023769
KT_TO_FPS = 1.687810

Place = tuple[Any, ...]
CrossFault = tuple[Place, Any, str]


def cross_errors(data: Mapping[str, Any]) -> list[InitErrorDetails]:
    """Return every fault between two figures of a raw profile, as pydantic error lines."""
    finders = (_form, _weights, _limits, _stations, _envelope, _engine, _book_cruise, _book_fields, _table_fuel)
    return [InitErrorDetails(type=PydanticCustomError("implausible", "{text}", {"text": text}), loc=loc, input=value)
            for find in finders for loc, value, text in find(data)]


def _form(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    if data.get("book") is None and data.get("tables") is None:
        yield ("book",), None, "is missing, and so is 'tables'; accepted: book figures, handbook tables, or both"


def _weights(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    top = _number(data, "weights", "max_takeoff_lb")
    empty, useful = _likely(data, "weights", "empty_weight_lb"), _likely(data, "weights", "useful_load_lb")
    weights = _mapping(data, "weights")
    if weights.get("empty_weight_lb") is None and weights.get("useful_load_lb") is None:
        yield (("weights", "empty_weight_lb"), None,
               "is missing, and so is 'useful_load_lb'; accepted: one of the two")
    unknown = [k for k in ("empty_weight_lb", "useful_load_lb") if weights.get(k) == "unknown"]
    if unknown and empty is None and useful is None and weights.get("brochure_useful_load_lb") is None:
        yield (("weights", unknown[0]), "unknown",
               "is unknown and there is no 'brochure_useful_load_lb' to start from; accepted: one of them")
    if top is None:
        return
    if empty is not None and not 0.35 * top <= empty <= 0.92 * top:
        yield (("weights", "empty_weight_lb"), empty,
               f"is {empty:.15g} with max_takeoff_lb {top:g}; accepted: "
               f"{told_apart(empty, 0.35 * top, 0.92 * top, 0)[1]}")
    if useful is not None and not 0.08 * top <= useful <= 0.65 * top:
        yield (("weights", "useful_load_lb"), useful,
               f"is {useful:.15g} with max_takeoff_lb {top:g}; accepted: "
               f"{told_apart(useful, 0.08 * top, 0.65 * top, 0)[1]}")
    if empty is not None and useful is not None and abs(empty + useful - top) > 15:
        yield (("weights", "useful_load_lb"), useful,
               f"is {useful:g}, but max_takeoff_lb less empty_weight_lb is {top - empty:g}; accepted: within 15 lb")


def _limits(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    top = _number(data, "weights", "max_takeoff_lb")
    for name in ("max_landing_lb", "max_zero_fuel_lb"):
        limit = _number(data, "weights", name)
        if top is not None and limit is not None and limit > top:
            yield ("weights", name), limit, f"is {limit:g}; accepted: no more than max_takeoff_lb, {top:g}"


def _stations(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    stations = [s for s in _sequence(data, "stations") if isinstance(s, Mapping)]
    for i, station in enumerate(stations):
        seats = station.get("seats", 0)
        if station.get("kind") == "seat" and seats == 0:
            yield ("stations", i, "seats"), seats, "is missing at a row of seats; accepted: 1 to 4"
        if station.get("kind") == "baggage" and seats:
            yield ("stations", i, "seats"), seats, f"is {seats} at a place for bags; accepted: none"
        if station.get("kind") == "baggage" and station.get("max_lb") is None:
            yield ("stations", i, "max_lb"), None, "is missing; accepted: the placarded limit in lb"
    seats = _number(data, "identity", "seats")
    counted = sum(s.get("seats", 0) for s in stations if isinstance(s.get("seats", 0), int))
    if seats is not None and stations and counted != seats:
        yield ("identity", "seats"), seats, f"is {seats:g}, but the stations have {counted}; accepted: agreement"


def _envelope(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    if data.get("envelope") is None:
        return
    corners = [(_number(p, "cg_in"), _number(p, "weight_lb")) for p in _sequence(data, "envelope")]
    points = [(cg, weight) for cg, weight in corners if cg is not None and weight is not None]
    if len(points) < 3:
        yield ("envelope",), len(points), f"has {len(points)} good corners; accepted: at least 3"
        return
    if _crosses_itself(points):
        yield ("envelope",), "...", "crosses itself; accepted: corners in order around the outline"
    top, highest = _number(data, "weights", "max_takeoff_lb"), max(w for _, w in points)
    if top is not None and abs(highest - top) > 5:
        yield (("envelope",), highest,
               f"reaches up to {highest:g} lb; accepted: max_takeoff_lb, {top:g}, within 5 lb")
    if _number(data, "weights", "empty_arm_in") is None:
        yield ("weights", "empty_arm_in"), None, "is missing; accepted: a number, since there is an envelope"
    for part in ("stations", "tanks"):
        for i, place in enumerate(_sequence(data, part)):
            if isinstance(place, Mapping) and place.get("arm_in") is None:
                yield (part, i, "arm_in"), None, "is missing; accepted: a number, since there is an envelope"


def _engine(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    engine = _mapping(data, "engine")
    turbo, critical = engine.get("aspiration") == "turbo", engine.get("critical_altitude_ft")
    if turbo and critical is None:
        yield ("engine", "critical_altitude_ft"), None, "is missing for a turbo engine; accepted: feet"
    if not turbo and critical is not None:
        yield ("engine", "critical_altitude_ft"), critical, "is given for a normal engine; accepted: only with turbo"
    if _mapping(data, "cruise").get("mixture") == "lean" and not engine.get("lean_of_peak", False):
        yield ("cruise", "mixture"), "lean", "is lean, but engine.lean_of_peak is not true; accepted: rich"


def _book_cruise(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    hp = _power(data)
    for i, point in enumerate(_sequence(data, "book", "cruise")):
        loc = ("book", "cruise", i)
        share, level = _number(point, "power_share"), _number(point, "level_ft")
        if hp is None or hp <= 0 or share is None or not 0.3 <= share <= 1.0:
            continue
        yield from _fuel_flow(data, loc, _number(point, "fuel_flow_gph"), share * hp)
        if level is not None and 0 <= level <= 30_000:
            yield from _power_at_level(data, loc, share, level)
            yield from _speed(loc, _number(point, "tas_kt"), share * hp, level)


def _power(data: Mapping[str, Any]) -> float | None:
    hp = _number(data, "engine", "rated_hp")
    return None if hp is None else hp * (2.0 if _get(data, "engine", "count") == 2 else 1.0)


def _fuel_flow(data: Mapping[str, Any], loc: Place, flow: float | None, power_hp: float) -> Iterator[CrossFault]:
    lb_per_gal = FUEL_LB_PER_GAL.get(str(_get(data, "engine", "fuel")), FUEL_LB_PER_GAL["avgas"])
    low, high = (bound * power_hp / lb_per_gal for bound in BSFC_BOUNDS)
    if flow is not None and not low <= flow <= high:
        yield ((*loc, "fuel_flow_gph"), flow,
               f"is {flow:.15g} at {power_hp:.0f} hp; accepted: {told_apart(flow, low, high, 1)[1]} gal/h")


def _power_at_level(data: Mapping[str, Any], loc: Place, share: float, level: float) -> Iterator[CrossFault]:
    if _mapping(data, "engine").get("aspiration", "normal") != "normal":
        return
    available = float(full_throttle_ratio(density_ratio(level, standard_temperature_c(level))))
    if share > available + 0.04:
        yield ((*loc, "power_share"), share,
               f"is {share:g} at {level:,.0f} ft; accepted: up to {available:.2f}, what full throttle gives there")


def _speed(loc: Place, tas: float | None, power_hp: float, level: float) -> Iterator[CrossFault]:
    if tas is None or tas <= 0:
        return
    density = SEA_LEVEL_DENSITY_SLUG * float(density_ratio(level, standard_temperature_c(level)))
    low, high = ((0.85 * power_hp * 550 / (0.5 * density * area)) ** (1 / 3) / KT_TO_FPS
                 for area in reversed(FLAT_PLATE_BOUNDS_SQFT))
    if not low <= tas <= high:
        yield ((*loc, "tas_kt"), tas,
               f"is {tas:.15g} on {power_hp:.0f} hp at {level:,.0f} ft; accepted: "
               f"{told_apart(tas, low, high, 0)[1]} kt")


def _book_fields(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    for name in ("takeoff", "landing"):
        roll = _number(data, "book", name, "ground_roll_ft")
        over = _number(data, "book", name, "over_50ft_ft")
        if roll is not None and over is not None and over <= roll:
            yield (("book", name, "over_50ft_ft"), over,
                   f"is {over:g}; accepted: more than ground_roll_ft, {roll:g}")


def _table_fuel(data: Mapping[str, Any]) -> Iterator[CrossFault]:
    hp = _power(data)
    table = _mapping(data, "tables", "cruise")
    shares = table.get("power_share")
    if hp is None or not isinstance(shares, list):
        return
    for i, level in enumerate(_sequence(table, "fuel_flow_gph")):
        for j, temperature in enumerate(level if isinstance(level, list) else ()):
            cells = zip(shares, temperature, strict=False) if isinstance(temperature, list) else ()
            for k, (share, flow) in enumerate(cells):
                if isinstance(share, int | float) and isinstance(flow, int | float):
                    loc = ("tables", "cruise", "fuel_flow_gph", i, j, k)
                    yield from ((loc, v, text) for _, v, text in _fuel_flow(data, loc, float(flow), share * hp))


def _crosses_itself(points: list[tuple[float, float]]) -> bool:
    edges = list(zip(points, points[1:] + points[:1], strict=True))
    apart = ((a, b) for i, a in enumerate(edges) for b in edges[i + 2:] if not (i == 0 and b is edges[-1]))
    return any(_cross(a, b) for a, b in apart)


def _cross(a: tuple[Any, Any], b: tuple[Any, Any]) -> bool:
    def side(p: Any, q: Any, r: Any) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(*a, b[0]) * side(*a, b[1]) < 0 and side(*b, a[0]) * side(*b, a[1]) < 0


def _get(data: Any, *keys: str) -> Any:
    for key in keys:
        if not isinstance(data, Mapping):
            return None
        data = data.get(key)
    return data


def _mapping(data: Any, *keys: str) -> Mapping[str, Any]:
    found = _get(data, *keys)
    return found if isinstance(found, Mapping) else {}


def _sequence(data: Any, *keys: str) -> list[Any]:
    found = _get(data, *keys)
    return list(found) if isinstance(found, list | tuple) else []


def _number(data: Any, *keys: str) -> float | None:
    found = _get(data, *keys)
    good = isinstance(found, int | float) and not isinstance(found, bool)
    return float(found) if good else None


def _likely(data: Any, *keys: str) -> float | None:
    found = _get(data, *keys)
    return _number(found, "likely") if isinstance(found, Mapping) else _number(data, *keys)
