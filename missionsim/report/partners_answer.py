"""What the answer says of a partnership: how many members are cheapest, the group as written, and its fund."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from missionsim.money.insurance import difficulty
from missionsim.report.partners_without import against_none_words
from missionsim.report.shared_page import around, usd_around
from missionsim.report.wording import dollars, in_ten, listing, number, percent, some, start
from missionsim.study.shared_use.partner_results import CandidatePartners, PartnersResult


def sentences(result: PartnersResult) -> tuple[str, ...]:
    """Return the answer: how many members are cheapest, what each bears and loses; then as written, and the fund."""
    order = sorted(result.candidates, key=lambda c: c.best_size["net_cost_per_member_usd"][c.best_size["members"]])
    return (_best(order[0], lead=True), _as_written(result, order[0]), _asked_for_more(result, order[0]),
            *(text for c in order[1:] for text in (_best(c, lead=False), _as_written(result, c))), *fund_holds(result),
            f"Added members are taken to be like {result.use.typical}; smaller groups are the members by turns.")


def _row(c: CandidatePartners, members: int) -> Mapping[str, Any] | None:
    return next((r for r in c.sizes if r["members"] == members), None)


def _best(c: CandidatePartners, *, lead: bool) -> str:
    """Return how many members are cheapest, what it costs each then, and what trips are lost to others."""
    best = c.best_size["members"]
    row, most = _row(c, best), c.sizes[-1]["members"]
    assert row is not None
    head = (f"{some(best, 'member').capitalize()} would be cheapest for this group" if lead else
            f"{c.name}: {best} {'is' if best == 1 else 'are'} cheapest")
    edge = ", the most looked at" if best == most and len(c.sizes) > 1 else ""
    level = c.best_size["level_with"]
    as_good = f" {listing([str(n) for n in level], 'or')} may be as cheap." if level else ""
    return (f"{head}{edge}: a year {'in the ' + c.name + ' ' if lead else ''}costs each "
            f"{usd_around(row['cost_per_member_usd'])} dollars, and {percent(lost_share(row))} of the trips wanted are "
            f"lost to others' reservations; with the trips not flown at what they cost otherwise, "
            f"{dollars(row['net_cost_per_member_usd']['mean'])} dollars.{as_good} With no aircraft the same "
            f"trips would cost {dollars(row['none_net_cost_per_member_usd']['mean'])}.")


def _as_written(result: PartnersResult, c: CandidatePartners) -> str:
    """Return what the group as written comes to, whether three or five would be cheaper, and against no aircraft."""
    members = len(result.study.members)
    own = _row(c, members)
    if own is None:
        return f"{c.name}: a group of {members} as written is not among the sizes asked for. {against_none_words(c)}"
    net, than = c.best_size["net_cost_per_member_usd"], c.best_size["than_written_usd"]
    text = (f"{c.name} with {members} as written: {usd_around(own['cost_per_member_usd'])} dollars each, "
            f"{percent(lost_share(own))} of the trips lost, {dollars(net[members])} dollars with what "
            "these cost otherwise.")
    others = [_than_written(n, than[n]) for n in (3, 5) if n in than]
    sizes = f" {start(listing(others))} dollars a member and year." if others else ""
    return f"{text}{sizes} {against_none_words(c)}"


def _than_written(members: int, more_usd: Mapping[str, Any]) -> str:
    """Return whether another size would be cheaper than as written, by how much, and whether that may be chance."""
    low, high = more_usd["low"], more_usd["high"]
    maybe = " (it may be chance)" if low is None or low <= 0.0 <= high else ""
    return (f"{members} would be {'cheaper' if more_usd['mean'] < 0.0 else 'dearer'} by "
            f"{dollars(abs(more_usd['mean']))}{maybe}")


def _asked_for_more(result: PartnersResult, c: CandidatePartners) -> str:
    """Return chance and size of an assessment."""
    fund, years = c.fund, c.fund["years"]
    if not fund["assessment_chance"]["mean"]:
        return f"The fund of the {c.name} holds {years} years without asking anybody for more."
    of_ten = in_ten(fund["assessment_chance"]["mean"])
    return (f"{start(of_ten)}{' of 10' if of_ten.isdigit() else ''} such groups with the {c.name} ask each member for "
            f"more within {years} years, "
            f"{usd_around(fund['assessment_usd'])} dollars a time.")


def fund_holds(result: PartnersResult) -> tuple[str, ...]:
    """Return the rate at which the fund holds, by candidate, and whether enough years were flown to place it."""
    first = result.candidates[0].fund
    told = listing([f"{around(c.fund['break_even_rate_usd'], lambda v: number(v, 0))} dollars {rate_per(c)} ({c.name}; "
                    f"agreed {agreed_rate(c)})" for c in result.candidates])
    few = any(c.fund["break_even_rate_usd"]["high"] is None for c in result.candidates)
    return (f"The fund holds {first['years']} years without that with {percent(first['break_even_confidence_share'])} "
            f"confidence at {'about ' if few else ''}{told}"
            f"{'; the years flown are too few to say between which rates that lies' if few else ''}.",)


def rate_per(c: CandidatePartners) -> str:
    """Return what the agreed rate is paid for: `an hour`, `a day held`."""
    return "an hour" if c.fund["rate_per"] == "hour" else f"a {c.fund['rate_per']}"


def agreed_rate(c: CandidatePartners) -> str:
    """Return the agreed rate in dollars."""
    return number(c.fund["daily_usd"] or c.fund["hourly_usd"], 0)


def limits(result: PartnersResult) -> tuple[str, ...]:
    """Return whom we expect to be hard to insure: the group, else single members of it."""
    return tuple(f"{c.name}{who}: {hard}." for c in result.candidates
                 for who, entry in (("", c.insurance), *((f", {m['name']}", m["insurance"]) for m in c.members))
                 if (hard := difficulty(entry)))


def lost_share(row: Mapping[str, Any]) -> float:
    """Return the share of wanted trips that others' reservations took; of no trip wanted none is lost."""
    mean: float | None = row["booked_out_share"]["mean"]
    return mean or 0.0
