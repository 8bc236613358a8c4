"""Upgrades and other choices as variants: the same simulated years flown again with each.

Every variant is a candidate of its own beside the one it is made from, so that weather, people, luck and the drawn
figures of the listing are the same for both and their difference is the variant's doing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from missionsim.aircraft.upgrades import Upgrade, apply_upgrades, catalogue, obstacle
from missionsim.base.arrays import Array, Columns
from missionsim.base.errors import MissionsimError
from missionsim.base.parallel import Progress
from missionsim.money.categories import CODE, Category
from missionsim.money.resale import upgrade_recovered_share
from missionsim.statistics.comparisons import paired_difference
from missionsim.study.compare.compare import flown_tallies
from missionsim.study.compare.measures import hours_usd, values_of
from missionsim.study.inputs.load_aircraft import Candidate
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import Entrant, prepare
from missionsim.study.replicate.one_year import again, columns_of, weather_of, year_of
from missionsim.study.replicate.tally import Tally
from missionsim.study.unknowns.upkeep import annual_window_h

REPLICATIONS = 50
"""Simulated years of variants; their own number, because differences of the same years need few."""
SAFETY = {"shoulder_belts": "worth having for safety in an accident; that is never priced here"}
LEAN = "lean of peak"
RATING = "visual pilot"
INSTRUMENT = "instrument rating"


@dataclass(frozen=True, slots=True)
class Variant:
    """What one change does to one candidate, means a year; `low, high` of 95 % where more than chance is claimed.

    `price_usd` (`low, likely, high`, installed) and `downtime_days` once. `trips`, `flight_hours`, `fuel_gal`,
    `door_to_door_hours`, `fuel_stops`, `net_cost_usd`: with it minus without it, `mean, low, high`. `own_usd`: what the
    upgrade itself costs a year (money tied up, value lost, premium), a part of the net cost. `usd_per_trip`: net cost
    but for what hours are valued at, over the trips gained, `usd_per_hour`: over the hours saved; None without a clear
    gain, or where it costs nothing and with a change that is not bought. `comes_back_usd`: of its price at the sale.
    `pays`: more trips or fewer dollars a year, more than chance. `payback_years`: until what it saves a year has paid
    for what does not come back; None where it saves nothing.
    `trips_lost_in_shop`: while it is built in, once. `note`: what no
    figure shows.
    """

    candidate: str
    variant: str
    what: str
    price_usd: Mapping[str, float]
    downtime_days: float
    trips: Mapping[str, float | None]
    flight_hours: Mapping[str, float | None]
    door_to_door_hours: Mapping[str, float | None]
    fuel_gal: Mapping[str, float | None]
    fuel_stops: Mapping[str, float | None]
    net_cost_usd: Mapping[str, float | None]
    own_usd: float
    usd_per_trip: float | None
    trips_lost_in_shop: float
    comes_back_usd: float
    pays: bool
    payback_years: float | None
    usd_per_hour: float | None
    note: str = ""


def upgrades(study: Study, replications: int = REPLICATIONS, workers: int = 1, progress: Progress | None = None,
             ) -> tuple[Variant, ...]:
    """Fly every upgrade that makes sense on every candidate, lean-side cruise, and the pilot without the rating.

    Parameters
    ----------
    study : Study
    replications : int              How many.
    workers : int                   Processes.
    progress : Progress, optional   Told of each finished chunk.

    Returns
    -------
    tuple of Variant   By candidate: a change of rating first for a visual pilot, then what pays, then the one that
                       lowers the net cost most. Risk is valued nowhere.
    """
    known = catalogue(study.assumptions)
    pairs = [(base, change) for base in range(len(study.candidates)) for change in _changes(study, base, known)]
    flown = replace(study, candidates=(*study.candidates, *(c for _, (_, c) in pairs)),
                    spec=study.spec.model_copy(update={"years": 1}))
    tallies = flown_tallies(prepare(flown), replications, workers, 0, progress)
    first = len(study.candidates)
    found = [_variant(tallies[base], tallies[first + k], name, known.get(name), study)
             for k, (base, (name, _)) in enumerate(pairs)]
    found += _without_rating(study, tallies[:first], replications, workers)
    order = {c.name: i for i, c in enumerate(study.candidates)}
    return tuple(sorted(found, key=lambda v: (order[v.candidate], v.variant != INSTRUMENT, not v.pays,
                                              v.net_cost_usd["mean"] or 0.0)))


def with_upgrade(study: Study, candidate: Candidate, name: str) -> Candidate:
    """Return a candidate with one upgrade built in; an engine that it lets run lean of peak does.

    Raises
    ------
    InputError   The upgrade is unknown or makes no sense on this aircraft.
    """
    profile = apply_upgrades(candidate.profile, [name], study.assumptions)
    if profile.can_lean and not candidate.profile.can_lean:
        profile = profile.changed({"cruise.mixture": "lean"})
    return replace(candidate, name=f"{candidate.name} + {name}", profile=profile,
                   upgrades=(*candidate.upgrades, name))


def annual_months(study: Study, replications: int = REPLICATIONS) -> dict[str, list[float]]:
    """Return by candidate the mean trips completed with the annual in each month of the year, January first."""
    prepared = prepare(replace(study, spec=study.spec.model_copy(update={"years": 1})))
    done = np.zeros((len(prepared.flyers), 12))
    for replication in range(replications):
        day = weather_of(prepared, replication)
        for entrant in prepared.entrants:
            done[entrant.number] += _months(entrant, day, replication)
    return {f.candidate.name: (done[i] / replications).tolist() for i, f in enumerate(prepared.flyers)}


def _months(entrant: Entrant, day: Any, replication: int) -> Array:
    year = year_of(entrant, day, replication)
    rule = replace(entrant.flyer.upkeep, months_since_annual=None)
    usual = rule.upkeep(entrant.prepared.study.seed, replication)
    out = np.zeros(12)
    for month in range(12):
        from_h, due_h = annual_window_h(month, 0.0)
        upkeep = replace(usual, annual_from_h=from_h, annual_due_h=due_h)
        flown = again(entrant, year, upkeep, day.luck, replication)
        out[month] = _completed(columns_of(entrant.prepared, flown, replication).trips)
    return out


def _completed(trips: Columns) -> float:
    return float(np.isin(trips["outcome"], ["completed", "delayed"]).sum())


def _changes(study: Study, base: int, known: Mapping[str, Upgrade]) -> list[tuple[str, Candidate]]:
    candidate, found = study.candidates[base], []
    for name, upgrade in known.items():
        if obstacle(candidate.profile, upgrade) or _beyond_tables(candidate, upgrade):
            continue
        try:
            found.append((name, with_upgrade(study, candidate, name)))
        except (MissionsimError, ValueError):
            continue  # it does not fit this profile's limits, for example a weight above what the tables hold
    if candidate.profile.can_lean and candidate.profile.cruise.mixture == "rich":
        lean = candidate.profile.changed({"cruise.mixture": "lean"})
        found.append((LEAN, replace(candidate, name=f"{candidate.name} + {LEAN}", profile=lean)))
    return found


def _beyond_tables(candidate: Candidate, upgrade: Upgrade) -> bool:
    """Tell whether the flight manual's tables end below the weight that an upgrade allows: then nothing can be said."""
    return candidate.profile.form == "handbook" and upgrade.changes.get("max_takeoff_lb", 0.0) > 0.0


def _without_rating(study: Study, tallies: Sequence[Tally], replications: int, workers: int) -> list[Variant]:
    """Fly the pilot's other rating: what it gains or loses stands beside what an aircraft or an upgrade does."""
    to, name = ("visual", RATING) if study.pilot.rating == "instrument" else ("instrument", INSTRUMENT)
    pilot = study.pilot.model_copy(update={"rating": to})
    other = replace(study, pilot=pilot, spec=study.spec.model_copy(update={"years": 1}))
    flown = flown_tallies(prepare(other), replications, workers)
    return [_variant(a, b, name, None, study) for a, b in zip(tallies, flown, strict=True)]


def _variant(base: Tally, changed: Tally, name: str, upgrade: Upgrade | None, study: Study) -> Variant:
    def difference(measure: str) -> Mapping[str, float | None]:
        return paired_difference(values_of(changed, measure), values_of(base, measure))

    trips = paired_difference(changed.column("completed"), base.column("completed"))
    own = float(sum((changed.categories - base.categories)[:, CODE[c]].mean() / 100.0
                    for c in (Category.CAPITAL, Category.UPGRADES, Category.VALUE_LOST, Category.INSURANCE)))
    days = upgrade.downtime_days if upgrade is not None else 0.0
    sure = trips["low"]
    net, hours = difference("net_cost_usd"), difference("door_to_door_hours")
    plain = paired_difference(*(values_of(part, "net_cost_usd") - hours_usd(part) for part in (changed, base)))
    back = prices_back(upgrade, study)
    prices = {"low": 0.0, "likely": 0.0, "high": 0.0} if upgrade is None else {
        "low": upgrade.price_low_usd, "likely": upgrade.price_usd, "high": upgrade.price_high_usd}
    return Variant(
        base.name, name, _what(name, upgrade), prices, days, trips, difference("flight_hours"),
        hours, difference("fuel_gal"), difference("fuel_stops"), net,
        own, None if upgrade is None else per_trip_usd(plain, trips),
        float(base.column("completed").mean()) * days / 365.0, back,
        bool((sure is not None and sure > 0.0) or (net["high"] is not None and net["high"] < 0.0)),
        payback_years(prices["likely"] - back, own - (net["mean"] or 0.0)), per_hour_usd(plain, hours),
        SAFETY.get(name, ""))


def prices_back(upgrade: Upgrade | None, study: Study) -> float:
    """Return what of an upgrade's price comes back at the sale. [usd]"""
    if upgrade is None:
        return 0.0
    years = study.spec.years_kept or study.assumptions["ownership.years_kept"]
    return upgrade.price_usd * upgrade_recovered_share(float(years), study.assumptions)


def payback_years(lost_usd: float, saved_usd_per_year: float) -> float | None:
    """Return years until yearly savings, the upgrade's own cost apart, have paid for what is lost; None: never."""
    return lost_usd / saved_usd_per_year if lost_usd > 0.0 and saved_usd_per_year > 0.0 else None


def per_hour_usd(net: Mapping[str, float | None], hours: Mapping[str, float | None]) -> float | None:
    """Return what an hour saved costs; None where hours are not clearly saved, or are saved for nothing."""
    if hours["high"] is None or hours["high"] >= 0.0 or not net["mean"] or net["mean"] <= 0.0:
        return None
    return net["mean"] / -(hours["mean"] or 0.0)


def per_trip_usd(net: Mapping[str, float | None], trips: Mapping[str, float | None]) -> float | None:
    """Return what a trip gained costs; None where trips are not clearly gained, or are gained for nothing."""
    if trips["low"] is None or trips["low"] <= 0.0 or not net["mean"] or net["mean"] <= 0.0:
        return None
    return net["mean"] / (trips["mean"] or 0.0)


def _what(name: str, upgrade: Upgrade | None) -> str:
    if upgrade is not None:
        return upgrade.what
    return {LEAN: "cruise on the lean side of peak, same throttle", RATING: "the pilot without the instrument rating",
            }.get(name, "the pilot with an instrument rating")
