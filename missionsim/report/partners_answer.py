"""What the answer says of a partnership: how many members are cheapest, the group as written, and its fund."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from missionsim.money.insurance import difficulty
from missionsim.report.partners_sizes import as_written, cheapest, neighbours
from missionsim.report.partners_without import against_none_words
from missionsim.report.shared_page import around, usd_around
from missionsim.report.wording import in_ten, listing, number, percent, start
from missionsim.study.shared_use.partner_results import CandidatePartners, PartnersResult


def sentences(result: PartnersResult) -> tuple[str, ...]:
    """Return the answer: how many members are cheapest, what each bears and loses; then as written, and the fund."""
    def least(c: CandidatePartners) -> float:
        best = c.best_size_for_written
        usd: float = best["net_cost_per_member_usd"][best["members"]]
        return usd

    order = sorted(result.candidates, key=least)
    return (*_sizes(result, order[0], order[0]), _asked_for_more(result, order[0]),
            *(text for c in order[1:] for text in _sizes(result, c, order[0])), *fund_holds(result),
            f"Every size is told for your own members and the same trips; added members are taken to be like "
            f"{result.use.typical}, smaller groups are your members by turns.")


def _sizes(result: PartnersResult, c: CandidatePartners, lead: CandidatePartners) -> tuple[str, str]:
    """Return the cheapest size, then the group as written: against no aircraft, and against the sizes next to it."""
    written = len(result.study.members)
    trips = "" if c.best_size_for_written["members"] == written else f"{as_written(c)} "
    return cheapest(c, written, lead), f"{trips}{against_none_words(c)}{neighbours(c, written)}"


def _asked_for_more(result: PartnersResult, c: CandidatePartners) -> str:
    """Return chance and size of an assessment."""
    fund, years = c.fund, c.fund["years"]
    if not fund["assessment_chance"]["mean"]:
        return f"The fund of the {c.name} holds {years} years without asking anybody for more."
    of_ten = in_ten(fund["assessment_chance"]["mean"])
    return (f"{start(of_ten)}{' of 10' if of_ten.isdigit() else ''} groups as written with the {c.name} ask each "
            f"member for more within {years} years, {usd_around(fund['assessment_usd'])} dollars a time.")


def fund_holds(result: PartnersResult) -> tuple[str, ...]:
    """Return the rate at which the fund holds, by candidate, and whether enough years were flown to place it."""
    first = result.candidates[0].fund
    told = listing([f"{around(c.fund['break_even_rate_usd'], lambda v: number(v, 0))} dollars {rate_per(c)} ({c.name}; "
                    f"agreed {agreed_rate(c)})" for c in result.candidates])
    few = any(c.fund["break_even_rate_usd"]["high"] is None for c in result.candidates)
    sure = percent(first["break_even_confidence_share"])
    return (f"The fund holds {first['years']} years without asking for more with {sure} confidence at "
            f"{'about ' if few else ''}{told}"
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
