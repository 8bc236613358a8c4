"""A partnership in words, tables and pictures: how many members, who gets the aircraft, who pays what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from missionsim.report.html import Section
from missionsim.report.partners_answer import agreed_rate, limits, rate_per, sentences
from missionsim.report.partners_members import (
    capital,
    insured,
    leaving,
    members_text,
    refusals,
    short_members,
    who_gets_it,
    who_pays,
)
from missionsim.report.partners_sizes import first_table, pictures, short_sizes, sizes_section
from missionsim.report.partners_without import against_none_sections, short_against_none
from missionsim.report.shared_page import (
    SharedKind,
    SharedPage,
    around,
    by_candidate,
    shared_cautions,
    shared_object,
    tables_csv,
    usd_around,
)
from missionsim.report.shared_screen import drawn
from missionsim.report.tables import Table
from missionsim.report.wording import dollars, number, percent, plain
from missionsim.study.shared_use.partner_results import PartnersResult, partners
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
    "what a claim for damage does to later premiums; loss of the whole aircraft",
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
    sections = [sizes_section(result)]
    sections += against_none_sections(result)
    sections += [Section(f"members-{i + 1}", f"Members: {c.name}", members_text(c), (),
                         (capital(c), who_gets_it(c), who_pays(c), leaving(c), insured(c), refusals(c)))
                 for i, c in enumerate(result.candidates)]
    sections += [_fund(result), _rules(result), _weekends(result), _early(result)]
    return SharedPage(study, result.replications, f"{study.name}: one aircraft, {len(study.members)} members",
                      study.spec.question or "Who gets the aircraft when, and who pays what?", sentences(result),
                      first_table(result), drawn(pictures(result), [c.name for c in result.candidates]),
                      tuple(sections), NOT_MODELLED, _cautions(result), "summary.csv, members.csv",
                      _terminal(result), result.ways_told, limits(result))


def _cautions(result: PartnersResult) -> tuple[str, ...]:
    return shared_cautions(CAUTIONS, "arrangement", *(member.pilot.rating for member in result.study.members))


def _terminal(result: PartnersResult) -> tuple[Table, ...]:
    """Return what a terminal of 80 columns has room for: sizes, members, and each against no aircraft."""
    return (*(short_sizes(c) for c in result.candidates), *(short_members(c) for c in result.candidates),
            *(short_against_none(c) for c in result.candidates))


def _fund(result: PartnersResult) -> Section:
    first = result.candidates[0].fund
    table = by_candidate(
        "Does the fund hold?", "", result,
        ("dues a month, each", lambda c: number(c.fund["dues_usd_per_month"], 0)),
        (f"rate agreed, {rate_per(result.candidates[0])}", agreed_rate),
        ("rate at which it holds", lambda c: around(c.fund["break_even_rate_usd"], lambda v: number(v, 0))),
        ("chance of an assessment", lambda c: around(c.fund["assessment_chance"], percent)),
        ("each pays then", lambda c: usd_around(c.fund["assessment_usd"])),
        ("assessments in all these years", lambda c: number(c.fund["assessments"]["mean"])),
        (f"in the fund after {first['years']} years", lambda c: dollars(c.fund["balance_by_year"][-1]["mean"])))
    return Section("fund", "The fund", (
        f"Dues and payments for use go in; the group's bills, the overhauls of engine and propeller and the deductible "
        f"after damage go out. What is missing is assessed in equal parts. The rate at which it holds leaves no "
        f"assessment in {percent(first['break_even_confidence_share'])} of the histories of {first['years']} years, at "
        "these dues and the fund as it starts. Dollars of the first year.",), (), (table,))


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


KIND = SharedKind("partners", "partnership.yaml", prepare_partners, partners, partners_page, partners_csv,
                  partners_object)
