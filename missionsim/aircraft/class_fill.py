"""Fill what an advertisement does not say from the class of aircraft, and remember what was filled.

The raw mapping of a profile goes in; out comes one with every figure that performance and loading need. Filled figures
are those of the likely aircraft; `study.unknowns.class_figures` draws about them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from missionsim.aircraft.class_draw import BOOSTED, ClassModel, Figures
from missionsim.aircraft.classes import FLOWN_WORDS, KINDS, NO_TURBINE, Kind, class_named, figures_of, nearest_words
from missionsim.base.assumptions import packaged_assumptions

Raw = dict[str, Any]
UNKNOWN = "unknown"
USUAL_FT, HIGHEST_FT = 8000.0, 25_000.0
_FIGURES = {"identity": ("year", "seats", "gear"),
            "weights": ("max_takeoff_lb", "max_landing_lb", "max_zero_fuel_lb", "empty_arm_in",
                        "brochure_useful_load_lb"),
            "engine": ("rated_hp", "rated_rpm", "cylinders", "aspiration", "critical_altitude_ft", "tbo_h", "count",
                       "fuel"),
            "geometry": ("wing_span_ft", "wing_area_sqft"), "limits": ("max_level_ft", "demonstrated_crosswind_kt"),
            "prices": ("asking_price_usd", "hull_value_usd", "annual_flat_usd"),
            "book": ("climb_fpm", "vs0_cas_kt", "service_ceiling_ft", "cruise", "takeoff", "landing", "range")}
"""Figures that `unknown` leaves out where a class fills the gap; those of the listing keep the word and a prior."""


def class_fault(name: Any) -> str:
    """Return what is wrong with the class of a profile, or an empty string."""
    found = class_named(name) if isinstance(name, str) else None
    if found is not None:
        accepted = "; accepted: " + "; ".join(FLOWN_WORDS)
        return "" if KINDS[found].flown else f"{NO_TURBINE}{accepted}"
    near = nearest_words(str(name))
    return f"is {name!r:.60}; accepted: {'; '.join(FLOWN_WORDS)}" + (f". Did you mean {near!r}?" if near else "")


def filled(raw: Mapping[str, Any]) -> tuple[Raw, tuple[str, ...]]:
    """Return the profile with its gaps filled from its class, and the dotted keys of what was filled.

    Parameters
    ----------
    raw : mapping   As read; its `class` is one of `classes.KINDS` that is flown. Not changed.
    """
    data: Raw = {key: dict(value) if isinstance(value, Mapping) else value for key, value in raw.items()}
    _leave_out_unknown(data)
    name = class_named(data["class"]) or ""
    guesses = list(_sayings(data, KINDS[name], name))
    model = ClassModel(name, known_of(data), packaged_assumptions())
    guesses += _figures(data, model.likely, KINDS[name], name)
    return data, tuple(guesses)


def levelled(raw: Mapping[str, Any]) -> tuple[Raw, tuple[str, ...]]:
    """Return a profile whose cruise points and range have a level and a power, and the keys that had none.

    A claim without them is taken for the usual one: 75 % at 8,000 ft, or at the critical altitude of a turbocharger;
    a range at 65 %.
    """
    data: Raw = dict(raw)
    book = data.get("book")
    if not isinstance(book, Mapping):
        return data, ()
    engine = _part(data, "engine")
    guesses: list[str] = []
    critical = _number(engine.get("critical_altitude_ft")) if engine.get("aspiration") == "turbo" else None
    usual = {"level_ft": min(critical or USUAL_FT, HIGHEST_FT), "power_share": 0.75}

    def whole(point: Any, key: str, usual: Mapping[str, float]) -> Any:
        if not isinstance(point, Mapping):
            return point
        point = {k: v for k, v in point.items() if not (k in usual and v in (UNKNOWN, None))}
        guesses.extend(f"{key}.{name}" for name in usual if name not in point)
        return {**usual, **point}

    cruise = book.get("cruise")
    data["book"] = dict(book)
    if isinstance(cruise, list | tuple):
        data["book"]["cruise"] = [whole(p, "book.cruise", usual) for p in cruise]
    if isinstance(book.get("range"), Mapping):
        data["book"]["range"] = whole(book["range"], "book.range", {**usual, "power_share": 0.65})
    return data, tuple(dict.fromkeys(guesses))


def known_of(data: Mapping[str, Any], guessed: tuple[str, ...] = ()) -> dict[str, float]:
    """Return what is known of an aircraft by the names of `class_draw.Figures`, `useful_lb` and `BOOSTED`.

    Parameters
    ----------
    data : mapping           A raw profile or the dump of one.
    guessed : tuple of str   Dotted keys that are no knowledge: they were filled from the class.
    """
    engine = _part(data, "engine")
    points = _part(data, "book").get("cruise") or ()
    first = points[0] if points and isinstance(points[0], Mapping) else {}
    book, weights, wing = _part(data, "book"), _part(data, "weights"), _part(data, "geometry")
    field = {side: _part(book, side) for side in ("takeoff", "landing")}
    count = engine.get("count") if engine.get("count") in (1, 2) else 1
    found = {
        "engine.rated_hp": ("power_hp", _times(engine.get("rated_hp"), count)),
        "weights.max_takeoff_lb": ("weight_lb", weights.get("max_takeoff_lb")),
        "weights.useful_load_lb": ("useful_lb", weights.get("useful_load_lb")),
        "weights.brochure_useful_load_lb": ("useful_lb", weights.get("brochure_useful_load_lb")),
        "weights.empty_weight_lb": ("empty_lb", weights.get("empty_weight_lb")),
        "geometry.wing_area_sqft": ("wing_sqft", wing.get("wing_area_sqft")),
        "geometry.wing_span_ft": ("span_ft", wing.get("wing_span_ft")), "tanks": ("fuel_gal", _usable(data)),
        "book.cruise.tas_kt": ("cruise_kt", first.get("tas_kt")),
        "book.cruise.fuel_flow_gph": ("flow_gph", first.get("fuel_flow_gph")),
        "book.range.range_nm": ("range_nm", _part(book, "range").get("range_nm")),
        "book.climb_fpm": ("climb_fpm", book.get("climb_fpm")),
        "book.service_ceiling_ft": ("ceiling_ft", book.get("service_ceiling_ft")),
        "book.vs0_cas_kt": ("vs0_kt", book.get("vs0_cas_kt")),
        "book.takeoff.ground_roll_ft": ("takeoff_roll_ft", field["takeoff"].get("ground_roll_ft")),
        "book.takeoff.over_50ft_ft": ("takeoff_ft", field["takeoff"].get("over_50ft_ft")),
        "book.landing.ground_roll_ft": ("landing_roll_ft", field["landing"].get("ground_roll_ft")),
        "book.landing.over_50ft_ft": ("landing_ft", field["landing"].get("over_50ft_ft"))}
    known = {}
    for key, (name, value) in found.items():
        number = _number(value)
        if number is not None and number > 0.0 and key not in guessed and name not in known:
            known[name] = number
    if "useful_lb" in known:
        known.pop("empty_lb", None)
    if engine.get("aspiration") == "turbo":
        known[BOOSTED] = 1.0
    return known


def _leave_out_unknown(data: Raw) -> None:
    for section, names in _FIGURES.items():
        part = data.get(section)
        if isinstance(part, dict):
            data[section] = {k: v for k, v in part.items() if not (k in names and v in (UNKNOWN, None))}
    weights = data.setdefault("weights", {})
    if isinstance(weights, dict) and weights.get("brochure_useful_load_lb") is None:
        for name in ("useful_load_lb", "empty_weight_lb"):
            if weights.get(name) == UNKNOWN:
                del weights[name]
    for part in ("tanks", "stations", "envelope", "book", "engine", "geometry", "limits", "prices", "identity"):
        if data.get(part) in (UNKNOWN, None):
            data.pop(part, None)


def _sayings(data: Raw, kind: Kind, name: str) -> Iterator[str]:
    """Fill what the words of a class decide."""
    of = figures_of(name)
    years_newer = int(_number(_part(data, "identity").get("year")) or kind.year) - kind.year
    price = round(1_000.0 * of["hull_kusd"].likely * min(max(1.0 + 0.015 * years_newer, 0.5), 2.5), -3)
    wanted: dict[str, dict[str, Any]] = {
        "identity": {"year": kind.year, "gear": kind.gear, "seats": int(of["seats"].likely),
                     "pressurised": kind.pressurised},
        "engine": {"count": kind.engines, "rated_hp": of["hp_each"].likely, "cylinders": kind.cylinders,
                   "aspiration": "turbo" if kind.turbo else "normal", "tbo_h": of["tbo_h"].likely,
                   "fuel": "jet_a" if kind.jet_fuel else "avgas"},
        "propeller": {"constant_speed": kind.constant_speed},
        "limits": {"demonstrated_crosswind_kt": of["xwind_kt"].likely},
        "prices": {"asking_price_usd": price}}
    for section, figures in wanted.items():
        part = data.setdefault(section, {})
        for key, value in figures.items() if isinstance(part, dict) else ():
            if key not in part:
                part[key] = value
                yield f"{section}.{key}"
    engine = _part(data, "engine")
    if engine.get("count") == 2 and engine.get("hours_since_overhaul_h", UNKNOWN) == UNKNOWN \
            and "second_hours_since_overhaul_h" not in engine:
        data["engine"]["second_hours_since_overhaul_h"] = UNKNOWN
    if engine.get("aspiration") == "turbo" and "critical_altitude_ft" not in engine:
        data["engine"]["critical_altitude_ft"] = kind.level_ft if kind.turbo else 18_000.0
        yield "engine.critical_altitude_ft"
    if "stations" not in data:
        data["stations"] = _stations(data, of["baggage_lb"].likely)
        yield "stations"


def _stations(data: Raw, bags_lb: float) -> list[Raw]:
    seats = int(_number(_part(data, "identity").get("seats")) or 4)
    names = ("front seats", "rear seats") if seats <= 4 else ("front seats", "middle seats", "rear seats", "last seats",
                                                             "bench")
    rows = [{"name": names[i], "kind": "seat", "seats": min(2, seats - 2 * i)} for i in range((seats + 1) // 2)]
    return [*rows, {"name": "baggage", "kind": "baggage", "max_lb": bags_lb}]


def _figures(data: Raw, likely: Figures, kind: Kind, name: str) -> Iterator[str]:
    """Fill the figures of the likely aircraft."""
    weights = data["weights"]
    if isinstance(weights, dict):
        if "max_takeoff_lb" not in weights:
            weights["max_takeoff_lb"] = round(float(likely.weight_lb))
            yield "weights.max_takeoff_lb"
        if weights.get("empty_weight_lb") is None and weights.get("useful_load_lb") is None \
                and weights.get("brochure_useful_load_lb") is None:
            weights["empty_weight_lb"] = round(float(likely.empty_lb))
            yield "weights.empty_weight_lb"
    if "tanks" not in data:
        data["tanks"] = [{"name": "tanks", "usable_gal": round(float(likely.fuel_gal))}]
        yield "tanks"
    geometry = data.setdefault("geometry", {})
    for key, value in (("wing_span_ft", likely.span_ft), ("wing_area_sqft", likely.wing_sqft)):
        if isinstance(geometry, dict) and key not in geometry:
            geometry[key] = round(float(value), 1)
            yield f"geometry.{key}"
    if data.get("tables") is None:
        yield from _book(data, likely, kind)


def _book(data: Raw, likely: Figures, kind: Kind) -> Iterator[str]:
    book = data.setdefault("book", {})
    if not isinstance(book, dict):
        return
    points = book.get("cruise")
    book["cruise"] = [dict(p) if isinstance(p, Mapping) else p for p in points] if isinstance(points, list | tuple) \
        and points else [{}]
    first = book["cruise"][0]
    if isinstance(first, dict):
        yield from _point(data, first, likely, kind)
    for key, value in (("climb_fpm", likely.climb_fpm), ("vs0_cas_kt", likely.vs0_kt),
                       ("service_ceiling_ft", likely.ceiling_ft)):
        if key not in book:
            book[key] = round(float(value))
            yield f"book.{key}"
    for side, roll, over in (("takeoff", likely.takeoff_roll_ft, likely.takeoff_ft),
                             ("landing", likely.landing_roll_ft, likely.landing_ft)):
        known = _part(book, side)
        whole = {"ground_roll_ft": round(float(roll)), "over_50ft_ft": round(float(over))}
        said_roll = _number(known.get("ground_roll_ft"))
        if said_roll is not None:
            whole["over_50ft_ft"] = max(whole["over_50ft_ft"], round(1.3 * said_roll))
        if "over_50ft_ft" in known and "ground_roll_ft" not in known:
            whole["ground_roll_ft"] = round(float(roll) * min(1.0, 0.9 * float(known["over_50ft_ft"]) / float(roll)))
        yield from (f"book.{side}.{key}" for key in whole if key not in known)
        book[side] = {**whole, **known}


def _point(data: Raw, first: Raw, likely: Figures, kind: Kind) -> Iterator[str]:
    """Fill the first cruise point; a speed claimed without level and power is taken with a grain of salt."""
    bare = "tas_kt" in first and not {"level_ft", "power_share"} & set(first)
    turbo = _part(data, "engine").get("aspiration") == "turbo"
    level = kind.level_ft if kind.turbo or not turbo else 15_000.0
    usual = {"level_ft": level, "power_share": _claimed_power(data, first),
             "tas_kt": round(float(likely.cruise_kt), 1), "fuel_flow_gph": round(float(likely.flow_gph), 1)}
    for key, value in usual.items():
        if first.get(key) in (None, UNKNOWN):
            first[key] = value
            yield f"book.cruise.{key}"
    state = data.setdefault("state", {})
    if bare and isinstance(state, dict) and state.get("cruise_speed_of_book_share", UNKNOWN) == UNKNOWN:
        low, middle, high = packaged_assumptions()["class_guess.claimed_cruise_share"]
        state["cruise_speed_of_book_share"] = {"low": low, "likely": middle, "high": high}
        yield "state.cruise_speed_of_book_share"


def _claimed_power(data: Raw, first: Raw) -> float:
    """Return the power a claimed fuel flow stands for, else the usual 75 %."""
    flow, hp = _number(first.get("fuel_flow_gph")), _number(_part(data, "engine").get("rated_hp"))
    if flow is None or not hp:
        return 0.75
    a, jet = packaged_assumptions(), _part(data, "engine").get("fuel") == "jet_a"
    power = hp * (2.0 if _part(data, "engine").get("count") == 2 else 1.0)
    per_gal = a["aircraft.jet_fuel_lb_per_gal" if jet else "aircraft.avgas_lb_per_gal"]
    share = per_gal * flow / (a["class_guess.cruise_bsfc_lb_per_hp_h"]["jet_a" if jet else "avgas"] * power)
    return round(min(max(share, 0.5), 0.75), 2)


def _part(data: Any, key: str) -> Mapping[str, Any]:
    found = data.get(key) if isinstance(data, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def _number(value: Any) -> float | None:
    if isinstance(value, Mapping):
        value = value.get("likely")
    good = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if good else None


def _times(value: Any, count: Any) -> float | None:
    number = _number(value)
    return None if number is None else number * count


def _usable(data: Mapping[str, Any]) -> float | None:
    tanks = data.get("tanks")
    if not isinstance(tanks, list | tuple):
        return None
    gallons = [_number(tank.get("usable_gal")) for tank in tanks if isinstance(tank, Mapping)]
    return sum(g for g in gallons if g is not None) or None
