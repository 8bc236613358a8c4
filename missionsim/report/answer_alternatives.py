"""What the answer says of the alternatives: the first sentence, against not owning, what more trips or hours cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from missionsim.base.arrays import Array
from missionsim.money.renting import asked_of_renters
from missionsim.report.verdict import hours_in_both, own_value
from missionsim.report.wording import count, dollars, each_usd, listing, number, percent, some, start, the
from missionsim.statistics.intervals import exact_mean, mean_interval
from missionsim.study.compare.alternatives import A_THIRD_OF, NONE, OWN, RENT, Alternative, Alternatives
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.compare.trip_worth import trip_worth, worth_and_open

MOST_STEPS = 3


def first_sentence(comparison: Comparison) -> str:
    """Return how many of how many trips, at what cost, of which how much is car and airline, against not owning."""
    lead, other = comparison.results[comparison.lead], comparison.alternatives
    m = lead.measures
    wanted, made = m["trips_wanted"]["mean"] or 0.0, exact_mean(lead.tally.column("completed"))
    travel = (m["car_usd"]["mean"] or 0.0) + (m["airline_usd"]["mean"] or 0.0)
    text = (f"{start(the(lead.name))} makes {number(made, 0)} of {some(wanted, 'trip')}; all of them done, "
            f"a year costs {dollars(m['net_cost_usd']['mean'])} dollars, {dollars(travel)} of it car and airline"
            f"{_with_time(comparison)}")
    if other is None:
        return text + "."
    return text + (f". With no aircraft, by car and airline alone, the same year costs "
                   f"{dollars(exact_mean(other.none.net_usd))} dollars.")


def _with_time(comparison: Comparison) -> str:
    value = comparison.prepared.prices.value_of_time_usd_per_h
    return f", hours of all travellers at {dollars(value, 1.0)} dollars for an adult's in it" if value > 0.0 else ""


def against_not_owning(comparison: Comparison) -> str:
    """Return what owning costs more than having no aircraft, a trip and an hour."""
    other = comparison.alternatives
    if other is None:
        return ""
    lead = comparison.results[comparison.lead]
    own = next(x for x in other.every if x.name == lead.name)
    extra, both = exact_mean(own.net_usd - other.none.net_usd), hours_in_both(comparison)
    alone = _in_dollars(own, other)
    if extra <= 0.0:
        return f"That is less than having no aircraft costs{both}.{f' {alone}.' if both else ''}"
    made = exact_mean(own.made)
    each = f", {each_usd(extra / made)} dollars for each trip it makes" if made > 0.0 and not both else ""
    return f"Owning it costs {dollars(extra)} dollars a year more than having none{both}{each}." \
        + f"{_local(own, lead, extra)}{f' {alone}.' if both else ''} {_hours(own, other)}."


def _in_dollars(own: Alternative, other: Alternatives) -> str:
    """Return what owning costs more where nobody's hours are valued, and a trip it makes."""
    plain, made = exact_mean(own.usd - other.none.usd), exact_mean(own.made)
    each = f", {each_usd(plain / made)} dollars for each trip it makes" if made > 0.0 and plain > 0.0 else ""
    side = "more" if plain > 0.0 else "less"
    return f"In dollars alone, hours not valued, it costs {dollars(abs(plain))} {side}{each}"


def _local(own: Alternative, lead: Result, extra: float) -> str:
    """Return the difference without local flying, which nobody does who has no aircraft."""
    usd, hours = exact_mean(own.local_usd), lead.measures["local_hours"]["mean"]
    if not hours:
        return ""
    rest = round(extra, -2) - round(usd, -2)      # as printed, so that a reader's own sum is right
    words = f"{dollars(rest)} dollars more" if rest >= 0.0 else f"{dollars(-rest)} dollars less"
    return (f" {dollars(usd)} dollars of it are {number(hours, 0)} hours of local and practice flying, which go with "
            f"having one; without them it is {words}.")


def _hours(own: Alternative, other: Alternatives) -> str:
    """Return hours of all travellers against having no aircraft, and as they are valued where that tells more."""
    saved = _told(other, other.none.equal_hours - own.equal_hours)
    valued = _told(other, other.none.valued_hours - own.valued_hours)
    if saved is None:
        text = "Whether it saves hours of all travellers together cannot be told"
    else:
        text = (f"It saves {some(saved, 'hour')} of all travellers together" if saved > 0.0 else
                f"It takes {some(-saved, 'hour')} of all travellers together more")
    if valued is None:
        return text
    return (f"{text}; with the pilot's at the controls counted half, as they are valued, it "
            f"{'saves' if valued > 0.0 else 'takes'} {some(abs(valued), 'hour')}{'' if valued > 0.0 else ' more'}")


def _told(other: Alternatives, difference: Array) -> float | None:
    """Return a mean difference where its interval leaves zero out."""
    mean, low, high = mean_interval(other.independent(difference[None])[0])
    return None if other.few or low is None or high is None or low <= 0.0 <= high else mean


def trade_off(comparison: Comparison) -> tuple[str, ...]:
    """Return what renting would do, what more hours saved cost, and where the order changes with the value of time."""
    other = comparison.alternatives
    if other is None:
        return ()
    told = (_off_dates(comparison), _renting(comparison, other), _beaten(comparison, other),
            *_steps(other, own_value(comparison) > 0.0), _order(comparison, other))
    return tuple(sentence for sentence in told if sentence)


def _off_dates(comparison: Comparison) -> str:
    """Return how many trips can be made by car or airline only with nights beyond their dates; empty without such."""
    part = comparison.results[comparison.lead].tally
    trips = part.trips
    every = exact_mean(trips.sums(~trips.other_on_dates & ~trips.other_given_up, part.replications))
    left = exact_mean(part.column("trips_off_dates"))
    if round(every, 1) == 0.0:
        return ""
    return (f"By car or airline {number(every)} trips a year cannot keep their dates and take nights more; "
            f"with {the(part.name)} {number(left)} are left so.")


def _renting(comparison: Comparison, other: Alternatives) -> str:
    rent, rental = other.of(RENT), comparison.prepared.rental
    if rent is None:
        return ""
    why, wanted = "", comparison.results[comparison.lead].measures["trips_wanted"]["mean"] or 0.0
    if rental is not None:
        flyer, = rental.flyers
        profile = flyer.candidate.profile
        why = asked_of_renters(profile.identity.gear == "retractable", profile.engine.count, profile.engine.rated_hp,
                               flyer.experience, rental.study.assumptions)
    doubt = f" It may not be had: {why} (our estimate)." if why else ""
    return (f"Renting when needed ({rent.name[:1].lower()}{rent.name[1:]}) would make "
            f"{number(exact_mean(rent.made), 0)} of {some(wanted, 'trip')}, all done for "
            f"{dollars(exact_mean(rent.net_usd))} dollars."
            f"{doubt}")


def _steps(other: Alternatives, valued: bool = False) -> tuple[str, ...]:
    """Return what nothing beats, and what each hour saved and each further trip costs from one to the next.

    `valued`: the study values hours, so that it has to be said that these dollars hold nothing of it.
    """
    found = other.efficient()
    if len(found) < 2:
        return ()
    names = [_named(other, step["name"]) for step in found]
    alone = " (dollars alone, here and in what follows: hours not valued)" if valued else ""
    told = [f"Nothing flown here beats these in both dollars and hours of all travellers{alone}: {listing(names)}."
            f"{_by_estimate(other, [step['name'] for step in found])}"]
    for before, name, step in zip(names, names[1:], found[1:], strict=False):
        hour, trip = step["usd_per_hour_saved"], step["usd_per_trip_more"]
        if step["level"] or hour is None:
            told.append(_level_step(before, name, {} if other.few else step))
            continue
        more = f", or {each_usd(trip['mean'])} for each further trip" if trip else ""
        told.append(f"From {before} to {name} costs {each_usd(hour['mean'])} dollars for each hour saved{more}.")
    return tuple(told[:1 + MOST_STEPS])


def _by_estimate(other: Alternatives, names: Sequence[str]) -> str:
    """Return which of some alternatives an estimate, which is no rival of what is flown, beats in both clearly."""
    told = []
    for guess in (x for x in other.every if x.estimate):
        beaten = [_named(other, x.name) for x in other.every if x.name in names and all(
            (_told(other, more) or 0.0) > 0.0 for more in (x.usd - guess.usd, x.equal_hours - guess.equal_hours))]
        if beaten:
            whole = the(guess.name.removeprefix(A_THIRD_OF))
            told.append(f" By an estimate, {A_THIRD_OF}{whole} beats {listing(beaten)} in both.")
    return "".join(told)


def _level_step(before: str, name: str, step: Mapping[str, Any]) -> str:
    """Return what can be told of a step whose dollars, or whose hours, may be chance."""
    extra, saved = step.get("extra_usd"), step.get("hours_saved")
    if extra and (extra["low"] or 0.0) > 0.0:
        return (f"{start(name)} costs {dollars(extra['mean'])} dollars more than {before}; whether it takes all "
                "travellers fewer hours cannot be told.")
    if saved and (saved["low"] or 0.0) > 0.0:
        return (f"{start(name)} saves all travellers {some(saved['mean'], 'hour')} against {before}; whether it costs "
                "more cannot be told.")
    return f"The years flown tell {name} and {before} apart neither in dollars nor in hours."


def _beaten(comparison: Comparison, other: Alternatives) -> str:
    """Return what beats the leading candidate in both dollars and hours, and by how much; empty where nothing does."""
    name = comparison.results[comparison.lead].name
    own = next(x for x in other.every if x.name == name)
    beating = [x for x in other.every if not x.estimate and x is not own and all(
        (_told(other, more) or 0.0) >= 0.5 for more in (own.usd - x.usd, own.equal_hours - x.equal_hours))]
    if not beating:
        return ""
    told = [f"{_named(other, x.name)} ({dollars(exact_mean(own.usd - x.usd))} dollars and "
            f"{some(exact_mean(own.equal_hours - x.equal_hours), 'hour')} less)" for x in beating]
    alone = ", hours not valued," if own_value(comparison) > 0.0 else ""
    return f"{start(the(name))} is beaten in both dollars{alone} and hours of all travellers by {listing(told)}."


def _order(comparison: Comparison, other: Alternatives) -> str:
    found = other.by_value_of_time(comparison.prepared.prices.value_of_time_usd_per_h)
    firsts = [(step["usd_per_h"], step["order"][0]) for step in found]
    if len({name for _, name in firsts}) == 1:
        return (f"From {dollars(firsts[0][0], 1.0)} to {dollars(firsts[-1][0], 1.0)} dollars an adult's hour, "
                f"{_named(other, firsts[0][1])} costs least.")
    runs: list[tuple[float, str]] = []
    for value, name in firsts:
        if not runs or runs[-1][1] != name:
            runs.append((value, name))
    parts = [f"{_named(other, name)} at {dollars(value, 1.0)} dollars" for value, name in runs]
    return f"By the value of an hour of an adult's time, what costs least is {listing(parts)} an hour."


def _named(other: Alternatives, name: str) -> str:
    kind = next(x.kind for x in other.every if x.name == name)
    return "having no aircraft" if kind == NONE else the(name)


def worth_sentence(comparison: Comparison) -> str:
    """Return how many trips of the list are worth flying, at the study's value of an hour or else the published one.

    And how many are made too rarely to be counted either way. Empty without a list.
    """
    rows, given = trip_worth(comparison), comparison.study.assumptions
    if not rows:
        return ""
    own = own_value(comparison)
    value, whose = (own, "as this study values it") if own > 0.0 else (
        given["time.published_usd_per_h"], "the published value for travel by air")
    worth, rarely, never = worth_and_open(rows, value)
    left = [f"{count(rarely, 'trip')} made in less than {percent(given['explain.worth_from_share'])} of the years that "
            f"want {'it is' if rarely == 1 else 'them are'} left open"] if rarely else []
    left += [f"{never} {'is' if never == 1 else 'are'} never made"] if never else []
    name = start(the(comparison.names[comparison.lead]))
    return (f"{name}, once it is owned, is worth flying for {worth} of the {count(len(rows), 'trip')} of the list at "
            f"{dollars(value, 1.0)} dollars an hour of an adult's time, {whose}{'; ' if left else ''}{listing(left)}.")


def must_go_words(comparison: Comparison) -> str:
    """Return of how many trips those lost are that had to be made; empty where alternatives are not told."""
    if comparison.alternatives is None:
        return ""
    wanted = number(exact_mean(comparison.alternatives.none.must_go_lost)).removesuffix(".0")
    if wanted == "0":
        return "no trip is marked as one that must be made"
    return f"of {wanted} trips a year that must be made, those not made by light aircraft"


def must_go_lost(row: Mapping[str, Any]) -> str:
    """Return those lost of a row of `alternative_rows`; a dash with no aircraft, which loses all of them by itself."""
    return "–" if row["kind"] == NONE else number(row["must_go_lost"]["mean"])


def flown_results(comparison: Comparison) -> dict[tuple[str, str], Result]:
    """Return the candidates and the rented aircraft by kind and name: what was flown and not estimated."""
    found = {(OWN, r.name): r for r in comparison.results}
    return found if comparison.rented is None else found | {(RENT, comparison.rented.name): comparison.rented}


def alternative_rows(comparison: Comparison) -> list[dict[str, Any]]:
    """Return all alternatives in the order of the trade-off: by trips made, fewest first."""
    other = comparison.alternatives
    if other is None:
        return []
    flown = flown_results(comparison)
    rows = [x.entry() | {"job": flown[x.kind, x.name].does_the_job if (x.kind, x.name) in flown else ""}
            for x in other.every]
    return sorted(rows, key=lambda row: row["trips_made"]["mean"])


