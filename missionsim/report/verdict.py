"""The verdict: which of a few forms a comparison takes, and its one sentence."""

from __future__ import annotations

from dataclasses import dataclass

from missionsim.base.arrays import Array
from missionsim.report.wording import (
    chance,
    count,
    dollars,
    each_usd,
    listing,
    number,
    plain,
    some,
    start,
    the,
    years_in_ten,
)
from missionsim.statistics.intervals import exact_mean, mean_interval
from missionsim.study.compare.certainty import Certainty
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.find_out import EVERY, FindOut
from missionsim.study.compare.ownership import LEAST_BATCHES, independent, least_rows
from missionsim.study.compare.sensitivity import Bar
from missionsim.study.replicate.one_year import CHUNK

CLEAR, LEVEL, FEWER, HANGS, FEW, NONE, ALONE = ("clearly cheapest", "level", "cheaper but makes fewer trips",
                                                "hangs on one thing", "too few years to tell", "none does the job",
                                                "one candidate")
MOST_LEVEL = 4
LEAST_TRIPS = 0.5
"""From so many trips a year fewer on it is part of the verdict."""
MOST_USD_PER_H = 500.0
"""Above so much for an hour of an adult's time owning is not told as a matter of what the time is worth."""
ONE_THING_SHARE = 0.5
"""One thing is what the choice hangs on from this share of what it would save to know everything."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Which form, and its sentence."""

    form: str
    sentence: str


def verdict(comparison: Comparison) -> Verdict:
    """Return the form that a comparison takes among its candidates, and the sentence; empty for one that serves."""
    out = not_doing_the_job(comparison)
    serving = [i for i, r in enumerate(comparison.results) if r.does_the_job != "no"]
    if not serving:
        told = listing([f"{the(r.name)} {r.why_not}" for r in comparison.results])
        return Verdict(NONE, f"None of these does the job: {told}.")
    sure = comparison.certainty
    if sure is None or len(serving) < 2:
        return Verdict(ALONE, out)
    found = _among(comparison, sure, serving)
    return Verdict(found.form, f"{found.sentence} {out}".strip())


def _among(comparison: Comparison, sure: Certainty, serving: list[int]) -> Verdict:
    if comparison.replications < 2:
        return Verdict(FEW, "From one year nothing can be said about the differences.")
    if not sure.enough:
        return Verdict(FEW, f"Too few to say which costs least: {few_batches(comparison)}.")
    if all(comparison.clear[i] for i in serving if i != comparison.lead):
        thing = _turning(comparison, serving)
        return Verdict(HANGS, f"{thing} {_clear(comparison, sure, '')}") if thing else _clearly(comparison, sure)
    level = _level(comparison, sure, serving)
    thing = _asked(comparison, sure)
    return Verdict(HANGS, f"{thing} {level}") if thing else Verdict(LEVEL, level)


def few_batches(comparison: Comparison) -> str:
    """Return how many ownerships were flown and how many intervals and chances need, where years share weather."""
    need = LEAST_BATCHES * CHUNK
    return (f"{count(comparison.replications, 'ownership')} of {comparison.study.spec.years} years flown, {need} are "
            "needed for chances and intervals, since neighbours share years of weather")


def _clearly(comparison: Comparison, sure: Certainty) -> Verdict:
    """Return who is clearly the cheapest, with what a trip more costs where another makes more."""
    mine = comparison.results[comparison.lead].tally.column("completed")
    most = max(comparison.results, key=lambda r: float(r.tally.column("completed").mean()))
    mean = told_difference(comparison, most.tally.column("completed") - mine)
    if mean is None or mean < LEAST_TRIPS:
        return Verdict(CLEAR, _clear(comparison, sure, ""))
    costs = comparison.dollar_years(comparison.names.index(most.name)) - comparison.dollar_years(comparison.lead)
    extra, valued = exact_mean(costs) / mean, own_value(comparison) > 0.0
    price = (f"with which each further trip costs {each_usd(extra)} dollars{', hours not valued' if valued else ''}"
             if extra > 0.0 else "which costs no more where hours are not valued")
    fewer = f", but makes {some(mean, 'trip', 1)} fewer than {the(most.name)}, {price}"
    return Verdict(FEWER, _clear(comparison, sure, fewer))


def own_value(comparison: Comparison) -> float:
    """Return what the study values an hour of an adult at; 0 where it gives hours no value. [usd/h]"""
    return comparison.prepared.prices.value_of_time_usd_per_h


def hours_in_both(comparison: Comparison) -> str:
    """Return that two sums held against each other value hours, and how; empty where they do not."""
    value = own_value(comparison)
    return f", hours at {dollars(value, 1.0)} dollars an adult's in both" if value > 0.0 else ""


def _clear(comparison: Comparison, sure: Certainty, fewer: str) -> str:
    name = comparison.names[comparison.lead]
    share = sure.confidence_mean_best[comparison.lead]
    return (f"Of these aircraft {the(name)} does the trips for clearly the least money{_over_none(comparison)}{fewer}: "
            f"{chance(share, comparison.replications)} that its average year is the cheapest, and it is the cheapest "
            f"in {years_in_ten(sure.probability_best[comparison.lead])}.")


def _over_none(comparison: Comparison) -> str:
    """Return what the lead costs over not owning, a trip made and an hour saved; empty without alternatives.

    Where hours are valued the year is told with them, a trip and an hour without.
    """
    other = comparison.alternatives
    if other is None:
        return ""
    own = next(x for x in other.every if x.name == comparison.names[comparison.lead])
    net, plain = (exact_mean(a - b) for a, b in ((own.net_usd, other.none.net_usd), (own.usd, other.none.usd)))
    side, both = "over" if net > 0.0 else "under", hours_in_both(comparison)
    text = f", {dollars(abs(net))} dollars a year {side} having no aircraft{both}"
    if plain <= 0.0:
        return text + (f" ({dollars(-plain)} under it without them)" if both else "")
    made, hours = exact_mean(own.made), told_difference(comparison, other.none.equal_hours - own.equal_hours)
    each = [f"{each_usd(plain / made)} for each trip it makes"] if made > 0.0 else []
    saves = hours is not None and hours > 0.0
    each += [f"{each_usd(plain / hours)} for each hour saved" if hours and saves else "no hour clearly saved"]
    told = listing(each, "or" if saves else "and")      # the same dollars by trip or by hour
    return f"{text} ({f'{dollars(plain)} over it without them: ' if both else ''}{told})"


def _level(comparison: Comparison, sure: Certainty, serving: list[int]) -> str:
    """Return who is level, each with its dollars and chance and with what else divides them: the trips made."""
    names, cost = comparison.names, [r.measures["net_cost_usd"]["mean"] or 0.0 for r in comparison.results]
    order = sorted(sure.level(serving), key=lambda i: cost[i])[:MOST_LEVEL]
    told = [f"{the(names[i])} ({dollars(cost[i])} dollars, "
            f"{_briefly(sure.confidence_mean_best[i], comparison.replications)}{_trips(comparison, i)})" for i in order]
    by = "by the chance that its average year is"
    text = (f"No candidate is the cheapest beyond doubt; {by}, {told[0]} comes first. " if len(order) < 2 else
            f"Level on money, {by} the cheapest: {listing(told)}. ")
    behind = [the(names[i]) for i in serving if comparison.clear[i] and i not in order]
    hardly = [the(names[i]) for i in serving if i not in order and the(names[i]) not in behind]
    told = [f"{listing(hardly)} {'has' if len(hardly) == 1 else 'have'} hardly a chance of it"] if hardly else []
    told += [f"{listing(behind)} {'costs' if len(behind) == 1 else 'cost'} more"] if behind else []
    return f"{text}{start('; '.join(told))}{'.' if told else ''}".strip()


def _briefly(share: float, years: int) -> str:
    """Return a chance without its noun, which stands before the list: `about 9 in 10`."""
    return chance(share, years).replace(" chances", "").replace(" chance", "")


def _trips(comparison: Comparison, i: int) -> str:
    """Return how many trips one makes more or fewer than the lead, where that is more than chance."""
    mean = told_difference(comparison, comparison.results[i].tally.column("completed")
                           - comparison.results[comparison.lead].tally.column("completed"))
    if i == comparison.lead or mean is None or abs(mean) < LEAST_TRIPS:
        return ""
    return f", {some(abs(mean), 'trip', 1)} {'more' if mean > 0.0 else 'fewer'}"


def _asked(comparison: Comparison, sure: Certainty) -> str:
    """Return the one answer that the choice hangs on, where one is worth half of knowing everything."""
    found = [f for f in comparison.find_out if f.kept == "choice"]
    if not found or (found[0].value_usd or 0.0) < ONE_THING_SHARE * sure.knowing_all_usd:
        return ""
    return f"It hangs on one thing: {_thing(found[0])}."


def _thing(f: FindOut) -> str:
    whose = "" if f.candidate == EVERY else f" of {the(f.candidate)}"
    if f.changing:
        return f"{f.label}{whose}; another is the choice at {listing([plain(c) for c in f.changing], 'or')}"
    if f.break_even:
        at = listing([f"{value:,.4g} {f.unit}".strip() for value in f.break_even], "or")
        return f"{f.label}{whose}; the choice changes at {at}"
    return f"{f.label}{whose}; knowing it is worth {dollars(f.value_usd)} dollars a year"


def _turning(comparison: Comparison, serving: list[int]) -> str:
    """Return the one input within whose usual range another becomes the cheapest; empty where none or several do."""
    names = [comparison.names[i] for i in serving]
    turning = [bar for bar in comparison.bars if bar.changes_hands and len(_cheapest(bar, names)) == 2]
    if len(turning) != 1:
        return ""
    bar = turning[0]
    low, high = _cheapest(bar, names)
    return (f"It hangs on one thing, {bar.what}: at {_value(bar, bar.low)} {the(low)} is the cheapest, at "
            f"{_value(bar, bar.high)} {the(high)}.")


def _cheapest(bar: Bar, names: list[str]) -> tuple[str, ...]:
    """Return who is the cheapest at either end of a bar; one name where it is the same."""
    ends = [min(names, key=lambda n: usd[n]) for usd in (bar.low_usd, bar.high_usd)]
    return tuple(dict.fromkeys(ends))


def _value(bar: Bar, value: float) -> str:
    if bar.unit == "x":
        return f"{value:.2g} times today's"
    if bar.unit.startswith("1/"):
        return f"{value * 100.0:.2g} % a {bar.unit[2:]}"
    return f"{number(value, 0)} {bar.unit}".strip()


def below(comparison: Comparison) -> str:
    """Return below which value of an hour not owning is better, or that it always is; empty where owning is cheaper."""
    other = comparison.alternatives
    if other is None:
        return ""
    lead = comparison.results[comparison.lead]
    own = next(x for x in other.every if x.name == lead.name)
    extra, equal = exact_mean(own.net_usd - other.none.net_usd), lead.equals_not_owning_usd_per_h
    if extra <= 0.0:
        return ""
    plain = exact_mean(own.usd - other.none.usd)
    less = f"{dollars(extra)} dollars a year less{hours_in_both(comparison)}" if plain <= 0.0 else (
        f"{dollars(plain)} dollars a year less{', hours not valued' if own_value(comparison) > 0.0 else ''}")
    if equal is None or equal["at"] is None:
        return (f"Not owning is better: it costs {less}, and no value of an hour of your time is found that makes up "
                "for that.")
    if equal["at"] > MOST_USD_PER_H:
        return (f"Not owning is better: it costs {less}, and only from {dollars(equal['at'])} dollars on for an hour "
                "of an adult's time, the pilot's at the controls counted half, would owning make up for that.")
    span = "" if equal["low"] is None or equal["high"] is None else \
        f" ({dollars(equal['low'], 1.0)} to {dollars(equal['high'], 1.0)})"
    return (f"Below {dollars(equal['at'], 1.0)} dollars{span} an hour of an adult's time, the pilot's at the controls "
            "counted half, not owning is better.")


def not_doing_the_job(comparison: Comparison) -> str:
    """Return who stands apart for not giving the service asked for, and of whom it cannot be told."""
    out = [f"{the(r.name)} {r.why_not}" for r in comparison.results if r.does_the_job == "no"]
    close = [the(r.name) for r in comparison.results if r.does_the_job == "too close to tell"]
    text = f"{start(listing(out))}, and stands apart." if out else ""
    return text + (f" Whether {listing(close)} gives the service asked for is too close to tell." if close else "")


def told_difference(comparison: Comparison, difference: Array) -> float | None:
    """Return a mean difference by replication where its interval leaves zero out."""
    study = comparison.study
    rows = independent(study, difference[None])[0]
    mean, low, high = mean_interval(rows) if len(rows) >= least_rows(study) else (None, None, None)
    return None if low is None or high is None or low <= 0.0 <= high or round(abs(mean or 0.0), 1) == 0.0 else mean
