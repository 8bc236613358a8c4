"""What drawn figures of a listing do: to weights, speed, upkeep and money, by replication."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from missionsim.aircraft.figures import likely
from missionsim.aircraft.loading import empty_weight_lb
from missionsim.base.arrays import Array, Bools
from missionsim.money.cost_profile import catch_up_usd
from missionsim.study.unknowns.class_figures import AS_LIKELY, Factors, factors_of
from missionsim.study.unknowns.draws import WORDS, Drawn, Listing, prior_of
from missionsim.study.unknowns.upkeep import UpkeepRule


@dataclass(frozen=True)
class Effects:
    """What the drawn figures change, arrays by replication of the chunk.

    `extra_empty_lb`: empty weight beyond that of the plan. `speed_share`: true airspeed over that of the plan.
    `autopilot_out`: the autopilot cannot be counted on. `oil_since_h`, `months_since_annual`: None where not drawn.
    `repair_factor`: on repair times. `catch_up_usd`: work due as soon as it is bought. `value_lost_share`: of the
    price, beyond what it supposes. `of_class`: of a drawn aircraft of a class over the likely one.
    """

    drawn: Drawn
    extra_empty_lb: Array
    speed_share: Array
    autopilot_out: Bools
    oil_since_h: Array | None
    months_since_annual: Array | None
    repair_factor: Array
    catch_up_usd: Array
    value_lost_share: Array
    of_class: tuple[Factors, ...] = ()

    def at(self, i: int) -> OneEffect:
        """Return the effects in one replication of the chunk."""
        oil, annual = (None if values is None else float(values[i])
                       for values in (self.oil_since_h, self.months_since_annual))
        return OneEffect(float(self.extra_empty_lb[i]), float(self.speed_share[i]), bool(self.autopilot_out[i]), oil,
                         annual, float(self.repair_factor[i]), self.of_class[i] if self.of_class else AS_LIKELY)


@dataclass(frozen=True, slots=True)
class OneEffect:
    """What the drawn figures change in one replication; see `Effects`."""

    extra_empty_lb: float
    speed_share: float
    autopilot_out: bool
    oil_since_h: float | None
    months_since_annual: float | None
    repair_factor: float
    of_class: Factors = AS_LIKELY

    def upkeep_rule(self, rule: UpkeepRule) -> UpkeepRule:
        """Return the upkeep rule of this replication."""
        changes: dict[str, Any] = {name: value for name in ("oil_since_h", "months_since_annual")
                                   if (value := getattr(self, name)) is not None}
        if self.repair_factor != 1.0:
            changes["repair_factor"] = self.repair_factor
        return replace(rule, **changes) if changes else rule


def effects_of(drawn: Drawn) -> Effects:
    """Return the effects of drawn figures.

    Itineraries and nominal weights stay those of the likely aircraft: what a heavier one cannot lift it refuses on the
    day. Fuel flow stays too, unless it is open itself: a slow aircraft burns as much an hour, for longer.
    """
    listing, n = drawn.listing, drawn.count
    a = listing.assumptions
    works = drawn.answer("panel.autopilot_works")
    supported = drawn.answer("identity.maker_supports")
    lost = value_lost_share(drawn)
    return Effects(
        drawn, _extra_empty_lb(drawn), _speed_share(drawn),
        np.zeros(n, dtype=bool) if works is None else ~works,
        drawn.values.get("state.hours_since_oil_change_h"), drawn.values.get("state.months_since_annual"),
        np.ones(n) if supported is None else np.where(supported, 1.0, a["unknown.orphan_repair_factor"]),
        np.array([catch_up_usd(profile, a) for profile in drawn.profiles()]), lost,
        tuple(factors_of(listing.profile, drawn.values, n)))


def value_lost_share(drawn: Drawn) -> Array:
    """Return the share of the price lost to damage and missing logs beyond the mean that a silent listing supposes."""
    a = drawn.listing.assumptions
    lost = a["unknown.value_lost_share"]
    out = np.zeros(drawn.count)
    damage = drawn.values.get("state.damage_history")
    if damage is not None:
        words = WORDS["state.damage_history"]
        share = np.array([lost.get(word, 0.0) for word in words])
        out += share[damage.astype(np.int64)] - _mean(prior_of("state.damage_history", a), dict(zip(words, share,
                                                                                                    strict=True)))
    hours = drawn.values.get("state.airframe_hours_h")
    if hours is not None:
        out += a["ownership.value_lost_per_airframe_h"] * (hours - _middle_hours(drawn))
    complete = drawn.answer("state.logs_complete")
    if complete is not None:
        missing = lost["logs_missing"]
        out += np.where(complete, 0.0, missing) - _mean(prior_of("state.logs_complete", a), {"no": missing})
    return out


def _middle_hours(drawn: Drawn) -> float:
    """Return the airframe hours that the price supposes: the likely ones of the advertisement or of the age."""
    listing = drawn.listing
    figure = next(f for f in listing.unsaid if f.key == "state.airframe_hours_h")
    if figure.range is not None:
        return figure.range.likely
    age = listing.year - listing.profile.identity.year
    return float(age * prior_of(figure.key, listing.assumptions)[1])


def _mean(shares: dict[str, float], values: dict[str, float]) -> float:
    return float(sum(share * values.get(word, 0.0) for word, share in shares.items()) / sum(shares.values()))


def _extra_empty_lb(drawn: Drawn) -> Array:
    profile, a = drawn.listing.profile, drawn.listing.assumptions
    planned = empty_weight_lb(profile, a) - profile.changes.empty_weight_lb
    if "weights.empty_weight_lb" in drawn.values:
        return np.asarray(drawn.values["weights.empty_weight_lb"] - planned)
    if "weights.useful_load_lb" in drawn.values:
        return np.asarray(profile.weights.max_takeoff_lb - drawn.values["weights.useful_load_lb"] - planned)
    return np.zeros(drawn.count)


def _speed_share(drawn: Drawn) -> Array:
    key = "state.cruise_speed_of_book_share"
    if key not in drawn.values:
        return np.ones(drawn.count)
    planned = likely(drawn.listing.profile.state.cruise_speed_of_book_share,
                     drawn.listing.assumptions["aircraft.cruise_speed_of_book_share"])
    return np.asarray(drawn.values[key] / planned)


def autopilot_open(listing: Listing) -> bool:
    """Tell whether it is open that the autopilot works; then a plan without it is needed beside the usual one."""
    return any(f.key == "panel.autopilot_works" for f in listing.unsaid)
