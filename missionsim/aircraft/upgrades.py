"""Upgrades as named data: price, days in the shop, weight, and what they change; the assumptions hold them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import Fault, InputError, near_match

GROUP = "upgrade."


@dataclass(frozen=True, slots=True)
class Upgrade:
    """One upgrade; `changes` adds to or multiplies figures, `sets` replaces them by dotted key."""

    name: str
    what: str
    source: str
    price_usd: float
    price_low_usd: float
    price_high_usd: float
    downtime_days: float
    downtime_low_days: float
    downtime_high_days: float
    weight_lb: float
    changes: Mapping[str, float]
    sets: Mapping[str, Any]
    tank_gal: float = 0.0


def catalogue(assumptions: Assumptions) -> dict[str, Upgrade]:
    """Return all upgrades by name, in the order of the assumptions file."""
    return {a.key.removeprefix(GROUP): _upgrade(a.key, assumptions) for a in assumptions if a.key.startswith(GROUP)}


def obstacle(profile: Profile, upgrade: Upgrade) -> str:
    """Return why an upgrade makes no sense on a profile, or an empty string."""
    engine, panel = profile.engine, profile.panel
    reasons = {
        "matched_injectors": "the engine has no fuel injection" if not engine.fuel_injected else "",
        "three_blades": f"the propeller has {profile.propeller.blades} blades" if profile.propeller.blades != 2 else "",
        "ice_escape": "ice protection is already approved" if panel.ice_protection == "approved" else "",
        "portable_oxygen": "fixed oxygen is on board" if panel.oxygen == "fixed" else "",
    }
    if upgrade.name in profile.changes.names:
        return "it is already on the aircraft"
    if upgrade.sets and all(profile.figure(key) == value for key, value in upgrade.sets.items()):
        return "the aircraft has it"
    return reasons.get(upgrade.name, "")


def apply_upgrades(profile: Profile, names: Sequence[str], assumptions: Assumptions) -> Profile:
    """Return the profile with upgrades.

    Parameters
    ----------
    names : sequence of str   Keys of `catalogue`; the order does not matter.

    Raises
    ------
    InputError                All unknown names and all upgrades that make no sense on this aircraft, at once.
    """
    known = catalogue(assumptions)
    _raise_faults(profile, names, known)
    chosen = [known[name] for name in sorted(names)]
    data = profile.model_dump()
    data["changes"] = _summed(profile, chosen, known, assumptions)
    for upgrade in chosen:
        for key, value in upgrade.sets.items():
            section, _, figure = key.partition(".")
            data[section][figure] = value
        if upgrade.tank_gal > 0.0:
            data["tanks"] = (*data["tanks"], _tank(profile, upgrade))
    data["engine"]["lean_of_peak"] = data["engine"]["lean_of_peak"] or _lean_opened(data["engine"])
    return Profile.model_validate(data)


def _raise_faults(profile: Profile, names: Sequence[str], known: Mapping[str, Upgrade]) -> None:
    faults = []
    for name in names:
        if name not in known:
            faults.append(Fault(profile.name, "upgrades", f"is {name!r}", ", ".join(known),
                                near_match(name, list(known))))
        elif obstacle(profile, known[name]):
            faults.append(Fault(profile.name, "upgrades", f"is {name!r}, but {obstacle(profile, known[name])}"))
    faults += [Fault(profile.name, "upgrades", f"has {name!r} twice") for name in sorted(set(names))
               if list(names).count(name) > 1]
    if faults:
        raise InputError(faults)


def _summed(profile: Profile, chosen: Sequence[Upgrade], known: Mapping[str, Upgrade], assumptions: Assumptions,
            ) -> dict[str, Any]:
    """Return the changes of the profile with those of the upgrades."""
    old = profile.changes
    result = old.model_dump()
    before = [known[name] for name in old.names if name in known]
    share = assumptions["aircraft.further_speed_gain_share"]
    result["cruise_kt"] += (_speed_kt([*before, *chosen], share) - _speed_kt(before, share))
    for upgrade in chosen:
        result["empty_weight_lb"] += upgrade.weight_lb
        for key in ("climb_fpm", "max_takeoff_lb"):
            result[key] += upgrade.changes.get(key, 0.0)
        for key in ("fuel_share", "takeoff_share", "landing_share"):
            result[key] *= upgrade.changes.get(key, 1.0)
    result["names"] = (*old.names, *(upgrade.name for upgrade in chosen))
    return result


def _speed_kt(upgrades: Iterable[Upgrade], further_share: float) -> float:
    """Return the change of cruising speed; gains beyond the largest count in part, losses in full."""
    speeds = sorted((u.changes.get("cruise_kt", 0.0) for u in upgrades), reverse=True)
    gains = [s for s in speeds if s > 0.0]
    return sum(gains[:1]) + further_share * sum(gains[1:]) + sum(s for s in speeds if s < 0.0)


def _lean_opened(engine: Mapping[str, Any]) -> bool:
    even = engine["cylinders"] <= 4 or engine["matched_injectors"]
    return bool(engine["monitor"] and engine["fuel_injected"] and even)


def _tank(profile: Profile, upgrade: Upgrade) -> dict[str, Any]:
    arm_in = sum(t.usable_gal * (t.arm_in or 0.0) for t in profile.tanks) / profile.usable_gal
    return {"name": upgrade.name, "usable_gal": upgrade.tank_gal, "arm_in": arm_in,
            "order": max(t.order for t in profile.tanks)}


def _upgrade(key: str, assumptions: Assumptions) -> Upgrade:
    entry = assumptions.entry(key)
    value, low, high = entry.value, entry.low or {}, entry.high or {}
    return Upgrade(
        key.removeprefix(GROUP), entry.what, entry.source, value["price_usd"],
        low.get("price_usd", value["price_usd"]), high.get("price_usd", value["price_usd"]), value["downtime_days"],
        low.get("downtime_days", value["downtime_days"]), high.get("downtime_days", value["downtime_days"]),
        value["weight_lb"], value["changes"], value["sets"], value.get("tank_gal", 0.0))
