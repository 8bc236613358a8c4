"""A partnership held against having no aircraft, in sentences and tables: all members together, and each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from missionsim.report.html import Section
from missionsim.report.shared_page import around, turned, usd_around
from missionsim.report.tables import Table
from missionsim.report.wording import dollars, listing, number, some
from missionsim.study.shared_use.partner_results import CandidatePartners, PartnersResult

SHARE, NONE, LEVEL = "the share", "no aircraft", "cannot be told"


def less(row: Mapping[str, Any]) -> str:
    """Return which costs less, the share or no aircraft, or that the years flown do not tell."""
    low, high = row["more_than_none_usd"]["low"], row["more_than_none_usd"]["high"]
    if low is None or low <= 0.0 <= high:
        return LEVEL
    return NONE if low > 0.0 else SHARE


def against_none_words(c: CandidatePartners) -> str:
    """Return the group as written against no aircraft, for one of its members, and for whom it is otherwise."""
    members = len(c.members)
    row = {name: _of_one(c.together[name], members)
           for name in ("net_cost_usd", "none_net_cost_usd", "more_than_none_usd")}
    text = (f"With every trip done it costs {'each' if members > 1 else 'its member'} "
            f"{dollars(row['net_cost_usd']['mean'])} dollars a year; with no aircraft the same trips would cost "
            f"{dollars(row['none_net_cost_usd']['mean'])}: {_verdict(row)}")
    return f"{text}{_each(c) if members > 1 else ''}."


def _of_one(together: Mapping[str, Any], members: int) -> dict[str, Any]:
    """Return a measure of all members together for one of them."""
    return {name: None if value is None else value / members for name, value in together.items()}


def _verdict(row: Mapping[str, Any]) -> str:
    """Return which costs less and by how much, with the interval."""
    more = row["more_than_none_usd"]
    if less(row) == LEVEL:
        return f"which costs less cannot be told (the share is dearer by {usd_around(more)})"
    if less(row) == NONE:
        return f"no aircraft costs less, by {usd_around(more)}"
    return f"the share costs less, by {usd_around(turned(more))}"


def _each(c: CandidatePartners) -> str:
    """Return for which members it is as for all together, and for whom otherwise."""
    found = {m["name"]: less(m) for m in c.members}
    if set(found.values()) == {less(c.together)}:
        return ", and so it is for each of them"
    told = [f"{listing([name for name, word in found.items() if word == kind])}: {kind}"
            for kind in (NONE, SHARE, LEVEL) if kind in found.values()]
    return f" (what costs less for each: {'; '.join(told)})"


def _told(name: str, row: Mapping[str, Any]) -> str:
    """Return one comparison in a sentence: which costs less, by how much, what it saves in hours."""
    return (f"{name}: {_verdict(row)} dollars a year, {dollars(row['net_cost_usd']['mean'])} with the share and "
            f"{dollars(row['none_net_cost_usd']['mean'])} with no aircraft; the share {hours_told(row)}.")


def hours_told(row: Mapping[str, Any]) -> str:
    """Return hours of all travellers saved, as they are and as valued, and the worth of one at which both are equal."""
    equal = row["equals_not_owning_usd_per_h"]["at"]
    text = f"{_saved(row['hours_saved'])} of all travellers together, and as they are valued " \
           f"{_saved(row['valued_hours_saved'])}"
    return text if equal is None else f"{text}: at {dollars(equal, 1.0)} dollars an hour both would cost the same"


def _saved(hours: Mapping[str, Any]) -> str:
    """Return hours saved or taken more, where the years flown tell which."""
    if hours["low"] is None or hours["low"] <= 0.0 <= hours["high"]:
        return "neither clearly saves nor takes hours"
    told = some(abs(hours["mean"]), "hour")
    return f"saves {told}" if hours["mean"] > 0.0 else f"takes {told} more"


def against_none_sections(result: PartnersResult) -> list[Section]:
    """Return a section a candidate: what is compared, a sentence for each result, and the table."""
    return [Section(f"no-aircraft-{i + 1}", f"The share or no aircraft: {c.name}", (
        *(_compared(result) if i == 0 else ()), _told("All together", c.together) if len(c.members) > 1 else "",
        *(_told(m["name"], m) for m in c.members)), (), (_table(result, c),)) for i, c in enumerate(result.candidates)]


def _compared(result: PartnersResult) -> tuple[str, ...]:
    """Return what stands in both sums."""
    study = result.study
    value, weight = study.spec.value_of_time_usd_per_h, number(study.assumptions["time.pilot_weight"])
    hours = (f"Hours of all travellers are in both sums at {dollars(value, 1.0)} dollars for an adult's" if value > 0.0
             else "This study gives hours no value, so both sums are dollars alone") + (
        f". As they are valued, hours of the pilot at the controls count {weight} times those of another adult; each "
        "result tells at which worth of an hour both would cost the same.")
    local_h = sum(p.local_h for p in result.use.group.persons[:result.use.members])
    local = (f" The share's sum holds {some(local_h, 'hour')} a year of local and practice flying of all members "
             "together, which nobody flies who has no aircraft." if local_h > 0.0 else "")
    return (
        "The same trips are done both ways: those the members as written wanted when the day came. With the share: all "
        "a member bears of the aircraft, and car or airline for every trip not made with it. With no aircraft: every "
        "trip by car or airline, as people choose. An optional trip not worth its way is given up, and its worth "
        f"stands in the sum, though nobody pays it. {hours}{local}",)


def _table(result: PartnersResult, c: CandidatePartners) -> Table:
    value = result.study.spec.value_of_time_usd_per_h
    hours = ("their hours",) if value > 0.0 else ()
    head = ("Member", "of the aircraft, in all", "car and airline besides", "worth of trips given up", *hours,
            "with the share", "no aircraft: car and airline", "worth of trips given up", *hours, "with no aircraft",
            "the share is dearer by", "costs less", "hours saved", "an hour's worth at which both are equal")
    return Table(f"{c.name}: the share or no aircraft, the same trips all done, dollars of a mean year (interval of "
                 "the mean)", head, tuple(_row(name, row, value > 0.0) for name, row in _who(c)))


def _who(c: CandidatePartners) -> Sequence[tuple[str, Mapping[str, Any]]]:
    together = [("all together", c.together)] if len(c.members) > 1 else []
    return [*((m["name"], m) for m in c.members), *together]


def _row(name: str, row: Mapping[str, Any], valued: bool) -> tuple[str, ...]:
    def sums(prefix: str) -> tuple[str, ...]:
        names = ("car_and_airline_usd", "given_up_usd", *(("time_usd",) if valued else ()), "net_cost_usd")
        return tuple(dollars(row[f"{prefix}{each}"]["mean"], 10.0) for each in names)

    equal = row["equals_not_owning_usd_per_h"]
    return (name, dollars(row["bears_usd"]["mean"], 10.0), *sums(""), *sums("none_"),
            usd_around(row["more_than_none_usd"]), less(row), around(row["hours_saved"], lambda v: number(v, 0)),
            around({"mean": equal["at"], **equal}, lambda v: dollars(v, 1.0)))


def short_against_none(c: CandidatePartners) -> Table:
    """Return what a terminal has room for."""
    head = ("Member", "share", "no aircraft", "share dearer by", "hours saved")
    rows = tuple((name, dollars(row["net_cost_usd"]["mean"], 10.0), dollars(row["none_net_cost_usd"]["mean"], 10.0),
                  usd_around(row["more_than_none_usd"]), number(row["hours_saved"]["mean"], 0))
                 for name, row in _who(c))
    return Table(f"{c.name}: the share or no aircraft, the same trips all done, dollars of a mean year", head, rows)
