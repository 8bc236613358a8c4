"""A partnership in words, tables and one figure: how many members, who gets the aircraft, who pays what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from missionsim.money.insurance import difficulty
from missionsim.report.html import Section
from missionsim.report.shared_page import (
    Kind,
    SharedPage,
    around,
    reasons_table,
    shared_cautions,
    shared_object,
    tables_csv,
)
from missionsim.report.svg_figure import SvgFigure, key_below, look, svg_figure, wrapped
from missionsim.report.tables import Table
from missionsim.report.wording import dollars, listing, number, percent, plain
from missionsim.study.shared_use.partner_results import CandidatePartners, PartnersResult, partners
from missionsim.study.shared_use.partners import prepare_partners

CAUTIONS = (
    "Co-owners' dues and rates are not passengers' shares of a flight: a private pilot who shares the cost of a flight "
    "with passengers pays at least an equal part of fuel, oil, airport fees and rental (14 CFR 61.113), with a common "
    "purpose and without offering flights to the public. Carrying people or property for hire needs an operating "
    "certificate (14 CFR 119, 135).",
    "Insurance covers the pilots and uses named in the policy. Other countries have other rules. Ask the authority, "
    "the insurer and a lawyer before signing an agreement.",
)
NOT_MODELLED = (
    "moving a trip to another day (a request moves by hours within its own flexibility)",
    "standing by for a booking that weather frees on the day",
    "trips of a member that depend on how earlier ones ended",
    "price changes over the years of the fund; shop time of overhauls",
    "more different years of generated trips a member than the assumption sharing.demand_years; intervals tell the "
    "chance of weather, faults and which of these years meet",
)


def partners_object(result: PartnersResult, out: str | None) -> dict[str, Any]:
    """Return a partnership as plain objects: the contract of `partners --json`."""
    return shared_object(result, _cautions(result), out, added_members_like=result.use.typical)


def partners_csv(result: PartnersResult) -> dict[str, str]:
    """Return the tables of sizes and members as CSV texts."""
    return tables_csv(summary=[{"candidate": c.name, **row} for c in result.candidates for row in c.sizes],
                      members=[{"candidate": c.name, **row} for c in result.candidates for row in c.members])


def partners_page(result: PartnersResult) -> SharedPage:
    """Return the page of a partnership."""
    study = result.study
    sections = [Section("sizes", "How many members?", (
        "A member pays more and finds the aircraft free in a small group. Groups smaller than the study's are made of "
        "its members by turns, larger ones have further people like them. Even one alone loses a trip now and then: "
        "the one before came home late.",), (sizes_figure(result),),
        tuple(_sizes(c) for c in result.candidates))]
    sections += [Section(f"members-{i + 1}", f"Members: {c.name}", (
        "Met: the time first asked for was taken. Moved: flown some hours earlier or later instead. Lost: given up "
        "because another member had the aircraft. Equity bears the purchase, what the sale does not bring back and "
        "what the money would have earned; bills and overhauls are shared by dues and hours. Five and more are insured "
        "as a club. The deductible after damage is the group's to settle beforehand: who flew, or all.",), (),
        (_members(c), _paid(c), _capital(c), _leaving(c), _refusals(c)))
        for i, c in enumerate(result.candidates)]
    sections += [_fund(result), _rules(result), _weekends(result), _early(result)]
    return SharedPage(study, result.replications, f"{study.name}: one aircraft, {len(study.members)} members",
                      study.spec.question or "Who gets the aircraft when, and who pays what?", _sentences(result),
                      _answer(result), tuple(sections), NOT_MODELLED, _cautions(result), "summary.csv, members.csv",
                      _terminal(result), result.not_covered)


def _cautions(result: PartnersResult) -> tuple[str, ...]:
    return shared_cautions(CAUTIONS, "arrangement", *(member.pilot.rating for member in result.study.members))


def _sentences(result: PartnersResult) -> tuple[str, ...]:
    members = len(result.study.members)
    out = []
    for c in result.candidates:
        row = next((r for r in c.sizes if r["members"] == members), None)
        alone = next((r for r in c.sizes if r["members"] == 1), None)
        if row is None:
            continue
        text = (f"{c.name}, {members} members: {_usd(row['cost_per_member_usd'])} dollars a year each; "
                f"{percent(row['booked_out_share']['mean'])} of the trips wanted are lost because another has it.")
        if alone is not None and members > 1:
            text += f" Alone it would be {_usd(alone['cost_per_member_usd'])} dollars."
        out.append(f"{text} {_best(c, members)}")
        if hard := difficulty(c.insurance):
            out.append(f"{c.name}: {hard}.")
    share = result.candidates[0].fund["break_even_confidence_share"]
    out.append(f"The fund holds {result.candidates[0].fund['years']} years without an assessment with "
               f"{percent(share)} confidence at "
               + listing([f"{number(c.fund['break_even_rate_usd']['mean'], 0)} dollars an hour ({c.name})"
                          for c in result.candidates]) + ".")
    return tuple(out)


def _best(c: CandidatePartners, members: int) -> str:
    """Return how many members are best, and whether three or five would be better than as written."""
    net = c.best_size["net_cost_per_member_usd"]
    best = c.best_size["members"]
    others = [n for n in (3, 5) if n in net and n not in {best, members}]
    text = (f"With the trips lost counted at what they cost otherwise, a group of {best} costs each least: "
            f"{dollars(net[best])} dollars a year")
    text += "" if best == members else f", one of {members} {dollars(net[members])}"
    return text + "".join(f", one of {n} {dollars(net[n])}" for n in others) + "."


def _capital(c: CandidatePartners) -> Table:
    head = ("Member", "equity", "buys in with", "that share costs a year", "pays in a year", "all in")
    rows = tuple((m["name"], percent(m["equity_share"]), _usd_mean(m["buy_in_usd"]), _usd_mean(m["owning_usd"]),
                  _usd_mean(m["paid_usd"]), _usd_mean(m["all_in_usd"])) for m in c.members)
    total = ("all together, of which stays in the fund", "", "", "", "", _usd_mean(c.into_the_fund_usd))
    return Table(f"{c.name}: capital and all a member bears in a year", head, (*rows, total))


def _leaving(c: CandidatePartners) -> Table:
    head = ("Leaves", "share bought out at", "the others pay", "dues a month then")
    rows = tuple((row["member"], dollars(row["exit_usd"]),
                  "; ".join(f"{name} {dollars(usd)}" for name, usd in row["others_pay_usd"].items()),
                  number(row["dues_usd_per_month"], 0)) for row in c.leaving)
    return Table(f"{c.name}: if one leaves after {c.leaving[0]['after_years']} years", head, rows)


def _usd(measured: Mapping[str, Any]) -> str:
    return around(measured, dollars)


def _answer(result: PartnersResult) -> Table:
    rows = [(f"{row['members']}", *(cell for c in result.candidates
                                    for cell in (_usd(c.sizes[k]["cost_per_member_usd"]),
                                                 around(_free(c.sizes[k]["booked_out_share"]), percent))))
            for k, row in enumerate(result.candidates[0].sizes)]
    head = ("Members", *(text for c in result.candidates for text in (f"{c.name}: dollars a member and year",
                                                                      "gets the aircraft")))
    return Table("Cost a member against the chance of getting the aircraft (interval of the mean)", head, tuple(rows))


def _free(lost: Mapping[str, Any]) -> dict[str, Any]:
    def turned(name: str) -> float | None:
        return None if lost[name] is None else 1.0 - lost[name]

    return {"mean": turned("mean"), "low": turned("high"), "high": turned("low")}


def _terminal(result: PartnersResult) -> tuple[Table, ...]:
    """Return what a terminal of 80 columns has room for: sizes and members."""
    return (*(_short_sizes(c) for c in result.candidates), *(_short_members(c) for c in result.candidates))


def _short_sizes(c: CandidatePartners) -> Table:
    head = ("Members", "dollars a member", "gets the aircraft", "flown", "hours", "$/h")
    rows = tuple((f"{r['members']}", _usd(r["cost_per_member_usd"]), around(_free(r["booked_out_share"]), percent),
                  percent(r["flown_share"]["mean"]), number(r["flight_hours"]["mean"], 0),
                  number(r["cost_per_hour_usd"]["mean"], 0)) for r in c.sizes)
    return Table(f"{c.name}: a year by size of the group (interval of the mean)", head, rows)


def _short_members(c: CandidatePartners) -> Table:
    head = ("Member", "wanted", "flown", "lost to others", "hours", "days held", "weekends", "pays $")
    rows = tuple((m["name"], number(m["wanted"]["mean"], 0), number(m["flown"]["mean"], 0),
                  percent(m["booked_out_share"]["mean"]), number(m["hours"]["mean"], 0),
                  number(m["days_held"]["mean"], 0), percent(m["weekend_days_share"]["mean"]),
                  _usd_mean(m["paid_usd"])) for m in c.members)
    return Table(f"{c.name}: the members, mean year", head, rows)


def _sizes(c: CandidatePartners) -> Table:
    head = ("Members", "cost a member", "net cost a member", "trips wanted", "met a booking", "moved", "lost to others",
            "flown", "flight hours", "dollars an hour")
    rows = tuple((f"{r['members']}", _usd(r["cost_per_member_usd"]), _usd(r["net_cost_per_member_usd"]),
                  number(r["wanted"]["mean"], 0), percent(r["met_booked_share"]["mean"]),
                  percent(r["moved_share"]["mean"]), around(r["booked_out_share"], percent),
                  percent(r["flown_share"]["mean"]), number(r["flight_hours"]["mean"], 0),
                  number(r["cost_per_hour_usd"]["mean"], 0)) for r in c.sizes)
    return Table(f"{c.name}: the group by size", head, rows)


def _members(c: CandidatePartners) -> Table:
    head = ("Member", "trips wanted", "booked", "moved", "flown", "given up", "met a booking", "lost to others",
            "flight hours", "days held", "weekend days")
    rows = tuple((m["name"], *(number(m[n]["mean"]) for n in ("wanted", "booked", "moved", "flown", "cancelled")),
                  percent(m["met_booked_share"]["mean"]), around(m["booked_out_share"], percent),
                  number(m["hours"]["mean"], 0), number(m["days_held"]["mean"], 0),
                  percent(m["weekend_days_share"]["mean"])) for m in c.members)
    return Table(f"{c.name}: who gets it, mean year", head, rows)


def _paid(c: CandidatePartners) -> Table:
    terms = f"{number(c.terms.dues_usd_per_month, 0)} dollars a month each and {number(c.terms.hourly_usd, 0)} an hour"
    head = ("Member", "pays in all", "dues", "hours", "own bills", "all by hours", "all by days held",
            "all by calendar", "half and half")
    rows = tuple((m["name"], _usd(m["paid_usd"]), *(_usd_mean(m["paid_of"][n]) for n in ("dues_usd", "hourly_usd",
                                                                                        "own_usd")),
                  *(_usd_mean(m["paid_under"][n]) for n in ("by_hours", "by_days_held", "by_calendar",
                                                              "half_and_half")))
                 for m in c.members)
    return Table(f"{c.name}: who pays what a year at {terms}, and under other splits", head, rows)


def _usd_mean(measured: Mapping[str, Any]) -> str:
    return dollars(measured["mean"], 10.0)


def _refusals(c: CandidatePartners) -> Table:
    return reasons_table(f"{c.name}: trips not made, by reason, mean year",
                         {m["name"]: m["refused"] for m in c.members})


def _fund(result: PartnersResult) -> Section:
    rows = [(c.name, number(c.fund["dues_usd_per_month"], 0), number(c.fund["hourly_usd"], 0),
             around(c.fund["break_even_rate_usd"], lambda v: number(v, 0)),
             around(c.fund["assessment_chance"], percent), _usd(c.fund["assessment_usd"]),
             dollars(c.fund["balance_by_year"][-1]["mean"])) for c in result.candidates]
    years = result.candidates[0].fund["years"]
    head = ("Candidate", "dues a month", "rate an hour", "rate at which it holds", "chance of an assessment",
            "each pays then", f"in the fund after {years} years")
    share = percent(result.candidates[0].fund["break_even_confidence_share"])
    return Section("fund", "The fund", (
        f"Dues and hourly payments go in; the group's bills and the overhauls of engine and propeller go out. What is "
        f"missing is assessed in equal parts. The rate at which it holds leaves no assessment in {share} of the "
        f"histories of {years} years, at these dues and the fund as it starts. Dollars of the first year.",), (),
        (Table("Does the fund hold?", head, tuple(rows)),))


def _rules(result: PartnersResult) -> Section:
    tables = []
    for c in result.candidates:
        names = [m["name"] for m in c.members]
        rows = [(plain(rule), around(r["booked_out_share"], percent),
                 *(percent(r["members"][n]["mean"]) for n in names),
                 percent(r["fairness"]["booked_out_range_share"])) for rule, r in c.rules.items()]
        tables.append(Table(f"{c.name}: trips lost to others, the same years under each rule",
                            ("Rule", "all", *names, "from most to least"), tuple(rows)))
    return Section("rules", "Which booking rule?", (
        "First come: who asks first has it. With cap: few open bookings and days at once. Rotating week: each week is "
        "one member's, and what that member does not take is free to all some days before.",), (), tuple(tables))


def _weekends(result: PartnersResult) -> Section:
    tables = []
    for c in result.candidates:
        rows = [(f"{w['members']}", percent(w["held_share"]), around(w["met_booked_share"], percent),
                 percent(w["formula_share"]), _span(w["usual_met_share"]), around(w["lost_share"], percent),
                 _span(w["usual_lost_share"])) for w in c.weekends]
        head = ("Members", "weekend days each holds", "met a booking", "by the plain formula", "usual by that formula",
                "lost", "usual")
        tables.append(Table(f"{c.name}: requests that touch a weekend", head, tuple(rows)))
    return Section("weekends", "Weekends", (
        "The plain formula takes members to hold days independently: 1 - (1 - u) to the power of the other members, u "
        "the share of weekend days each holds; usual is u from 8 to 25 %, likely 15 %. Lost: not solved by moving some "
        "hours within the trip's own flexibility; the usual figures also count trips moved to another day or swapped.",
    ), (), tuple(tables))


def _span(three_values: Mapping[str, float]) -> str:
    return f"{percent(three_values['likely'])} ({percent(three_values['low'])} to {percent(three_values['high'])})"


def _early(result: PartnersResult) -> Section:
    rows = [(c.name, *(around(r["goes_share"], percent) for r in c.leave_earlier)) for c in result.candidates]
    head = ("Candidate", *(("by plan" if r["lead_h"] == 0 else f"up to {r['lead_h']} h before")
                           for r in result.candidates[0].leave_earlier))
    return Section("leave-earlier", "If somebody must be there", (
        "Share of must-go trips that weather lets leave by the planned hour, or in the hours before it; the aircraft "
        "taken as free. Only trips that may leave so early are counted.",), (),
        (Table("Chance of leaving in time", head, tuple(rows)),))


def sizes_figure(result: PartnersResult) -> SvgFigure:
    """Return cost a member against the chance of getting the aircraft, a line a candidate, a point a size."""
    words = "; ".join(f"{c.name}: " + ", ".join(
        f"{r['members']} members {dollars(r['cost_per_member_usd']['mean'])} dollars, "
        f"{percent(_free(r['booked_out_share'])['mean'])}" for r in c.sizes) for c in result.candidates)

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        for i, c in enumerate(result.candidates):
            cost, free = (_ends([r["cost_per_member_usd"] for r in c.sizes], 1e-3),
                          _ends([_free(r["booked_out_share"]) for r in c.sizes], 100.0))
            axes.errorbar(free[0], cost[0], xerr=np.array(free[1:]), yerr=np.array(cost[1:]), capsize=2,
                          linewidth=1.4, markersize=5, label=wrapped(c.name, 26), **look(i))
            for r, x, y in zip(c.sizes, free[0], cost[0], strict=True):
                axes.annotate(f"{r['members']}", (x, y), xytext=(5, 5), textcoords="offset points", fontsize=8.5)
        axes.set_xlabel("% of trips wanted that are not lost to another member")
        axes.set_ylabel("thousand dollars a member and year")
        axes.set_ylim(bottom=0.0)
        axes.grid(axis="both")
        key_below(figure, axes)

    return svg_figure("sizes", "Cost a member against the chance of getting the aircraft",
                 "Each point is a group of the size beside it; right is freer, down is cheaper. Fine lines are the "
                 "interval of the mean.", words, 4.2, draw)


def _ends(measures: Sequence[Mapping[str, Any]], factor: float) -> tuple[Any, Any, Any]:
    mean = np.array([m["mean"] or 0.0 for m in measures]) * factor
    low, high = (np.array([m["mean"] if m[k] is None else m[k] for m in measures], dtype=float) * factor
                 for k in ("low", "high"))
    return mean, np.maximum(mean - low, 0.0), np.maximum(high - mean, 0.0)


KIND = Kind("partners", "partnership.yaml", prepare_partners, partners, partners_page, partners_csv, partners_object)
