"""A partnership in words, tables and pictures: how many members, who gets the aircraft, who pays what."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from missionsim.money.insurance import difficulty
from missionsim.report.first_screen import BarRow, bar_rows
from missionsim.report.html import Section
from missionsim.report.shared_page import (
    SharedKind,
    SharedPage,
    around,
    by_candidate,
    reasons_table,
    shared_cautions,
    shared_object,
    tables_csv,
)
from missionsim.report.shared_screen import Bars, Curves, Value, curves, drawn
from missionsim.report.tables import Table
from missionsim.report.wording import dollars, in_ten, in_usd, listing, number, percent, plain, some, start
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
    sections = [Section("sizes", "How many members?", (
        "A member pays more and finds the aircraft free in a small group. Groups smaller than the study's are made of "
        f"its members by turns; in larger ones each added member is like {result.use.typical}. Even one alone loses a "
        "trip now and then: the one before came home late. The net cost counts every trip not flown at what it costs "
        "otherwise; by it sizes are judged.",), (), tuple(_sizes(c) for c in result.candidates))]
    sections += [Section(f"members-{i + 1}", f"Members: {c.name}", _members_text(c), (),
                         (_capital(c), _members(c), _paid(c), _leaving(c), _insured(c), _refusals(c)))
                 for i, c in enumerate(result.candidates)]
    sections += [_fund(result), _rules(result), _weekends(result), _early(result)]
    return SharedPage(study, result.replications, f"{study.name}: one aircraft, {len(study.members)} members",
                      study.spec.question or "Who gets the aircraft when, and who pays what?", _sentences(result),
                      _answer(result), drawn(_pictures(result), [c.name for c in result.candidates]), tuple(sections),
                      NOT_MODELLED, _cautions(result), "summary.csv, members.csv", _terminal(result),
                      result.not_covered, _limits(result))


def _members_text(c: CandidatePartners) -> tuple[str, ...]:
    cover, row = c.fund["deductible"], c.leaving[0]
    claims = cover["claims_a_year"]["mean"]
    often = f"once in about {number(1.0 / claims, 0)} years" if claims else "never"
    who = "all alike" if cover["paid_by"] == "all" else "whoever flew, and by all alike where it was parked"
    return (
        "Met: the time first asked for was taken. Moved: flown some hours earlier or later instead. Lost: given up "
        "because another member had the aircraft. Equity bears the purchase, what the sale does not bring back and "
        "what the money would have earned; bills and overhauls are shared as the group agreed.",
        f"The insurer's deductible, {dollars(cover['usd'], 1.0)} dollars after damage, {often} "
        f"(our estimate), is paid by {who}; what a year is expected to bring of it is in "
        "every sum here.",
        f"A member who leaves gets the share's part of what the aircraft sells for then and of the fund. A share takes "
        f"{number(row['weeks_to_sell'], 0)} weeks to sell, and whoever leaves owes the dues until then "
        f"({dollars(row['dues_until_sold_usd'], 10.0)} dollars). Five and more owners are insured as a club.")


def _cautions(result: PartnersResult) -> tuple[str, ...]:
    return shared_cautions(CAUTIONS, "arrangement", *(member.pilot.rating for member in result.study.members))


def _sentences(result: PartnersResult) -> tuple[str, ...]:
    """Return the answer: how many members are cheapest, what each bears and loses; then as written, and the fund."""
    order = sorted(result.candidates, key=lambda c: c.best_size["net_cost_per_member_usd"][c.best_size["members"]])
    return (_best(order[0], lead=True), _as_written(result, order[0]), _asked_for_more(result, order[0]),
            *(text for c in order[1:] for text in (_best(c, lead=False), _as_written(result, c))), *_fund_holds(result),
            f"Added members are taken to be like {result.use.typical}; smaller groups are the members by turns. Sizes "
            "are held against each other, not against having no aircraft: comparing one member's trips does that.")


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
            f"{_usd(row['cost_per_member_usd'])} dollars, and {percent(_lost_share(row))} of the trips wanted are lost "
            f"to others' reservations; with the trips not flown at what they cost otherwise, "
            f"{dollars(row['net_cost_per_member_usd']['mean'])} dollars.{as_good}")


def _as_written(result: PartnersResult, c: CandidatePartners) -> str:
    """Return what the group as written comes to, and whether three or five would be cheaper."""
    members = len(result.study.members)
    own = _row(c, members)
    if own is None:
        return f"{c.name}: a group of {members} as written is not among the sizes asked for."
    net, than = c.best_size["net_cost_per_member_usd"], c.best_size["than_written_usd"]
    text = (f"{c.name} with {members} as written: {_usd(own['cost_per_member_usd'])} dollars each, "
            f"{percent(_lost_share(own))} of the trips lost, {dollars(net[members])} dollars with what "
            "these cost otherwise.")
    others = [_than_written(n, than[n]) for n in (3, 5) if n in than]
    return text + (f" {start(listing(others))} dollars a member and year." if others else "")


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
            f"{_usd(fund['assessment_usd'])} dollars a time.")


def _fund_holds(result: PartnersResult) -> tuple[str, ...]:
    first = result.candidates[0].fund
    told = listing([f"{around(c.fund['break_even_rate_usd'], lambda v: number(v, 0))} dollars {_per(c)} ({c.name}; "
                    f"agreed {_rate(c)})" for c in result.candidates])
    few = any(c.fund["break_even_rate_usd"]["high"] is None for c in result.candidates)
    return (f"The fund holds {first['years']} years without that with {percent(first['break_even_confidence_share'])} "
            f"confidence at {'about ' if few else ''}{told}"
            f"{'; the years flown are too few to say between which rates that lies' if few else ''}.",)


def _per(c: CandidatePartners) -> str:
    return "an hour" if c.fund["rate_per"] == "hour" else f"a {c.fund['rate_per']}"


def _rate(c: CandidatePartners) -> str:
    return number(c.fund["daily_usd"] or c.fund["hourly_usd"], 0)


def _limits(result: PartnersResult) -> tuple[str, ...]:
    """Return whom we expect to be hard to insure: the group, else single members of it."""
    return tuple(f"{c.name}{who}: {hard}." for c in result.candidates
                 for who, entry in (("", c.insurance), *((f", {m['name']}", m["insurance"]) for m in c.members))
                 if (hard := difficulty(entry)))


def _lost_share(row: Mapping[str, Any]) -> float:
    """Return the share of wanted trips that others' reservations took; of no trip wanted none is lost."""
    mean: float | None = row["booked_out_share"]["mean"]
    return mean or 0.0


def _pictures(result: PartnersResult) -> tuple[Curves | Bars, ...]:
    members = len(result.study.members)
    lines = [(c.name, [Value(100.0 * _lost_share(r), r["cost_per_member_usd"]["mean"],
                             str(r["members"]), f"{r['members']} members {dollars(r['cost_per_member_usd']['mean'])} "
                             f"dollars, {percent(_lost_share(r))} of trips lost",
                             r["members"] == members) for r in c.sizes]) for c in result.candidates]

    def rows(cell: Callable[[Mapping[str, Any]], tuple[float, float]], words: Callable[[float], str],
             ) -> tuple[BarRow, ...]:
        return bar_rows([(some(r["members"], "member") + (" (yours)" if r["members"] == members else ""),
                          [cell(c.sizes[k]) for c in result.candidates])
                         for k, r in enumerate(result.candidates[0].sizes)], words)

    def money(row: Mapping[str, Any]) -> tuple[float, float]:
        paid, net = row["cost_per_member_usd"]["mean"], row["net_cost_per_member_usd"]["mean"]
        return paid, max(net - paid, 0.0)

    return (curves("Dollars against trips lost", "Down is cheaper, left is freer. The number is that of the members; "
                   "your group is large.", "% of the trips wanted lost to others' reservations", lines,
                   across=lambda v: f"{v:,.0f}", upward=lambda v: f"${v / 1000:,.0f}k"),
            Bars("A member's year", "Solid: what it costs each. Outlined: what the trips not flown cost otherwise. The "
                 "number is both.", "Members", rows(money, in_usd)),
            Bars("Trips lost to others", "Of a hundred trips wanted.", "Members",
                 rows(lambda r: (100.0 * _lost_share(r), 0.0), lambda v: number(v, 0))))


def _capital(c: CandidatePartners) -> Table:
    """Return what each member bears in all; the closing lines lead to the cost of a member in the answer."""
    head = ("Member", "equity", "buys in with", "into the fund at first", "that share costs a year", "pays in a year",
            "all in")
    rows = tuple((m["name"], percent(m["equity_share"]), _usd_mean(m["buy_in_usd"]),
                  dollars(m["into_fund_at_start_usd"], 10.0), _usd_mean(m["owning_usd"]), _usd_mean(m["paid_usd"]),
                  _usd_mean(m["all_in_usd"])) for m in c.members)
    return Table(f"{c.name}: capital and all a member bears in a year", head,
                 (*rows, *((label, *[""] * 5, dollars(usd, 10.0)) for label, usd in _closing(c))))


def _closing(c: CandidatePartners) -> tuple[tuple[str, float], ...]:
    """Return the lines between what members bear and the cost of a member in the answer, which leaves the fund out."""
    together = sum(m["all_in_usd"]["mean"] for m in c.members)
    fund = float(c.into_the_fund_usd["mean"] or 0.0)
    goes = "of it into the fund" if fund >= 0.0 else "out of the fund besides"
    each = (together - fund) / len(c.members)
    return ("all together", together), (goes, abs(fund)), ("each, without the fund", each)


def _leaving(c: CandidatePartners) -> Table:
    head = ("Leaves", "share bought out at", "of it from the fund", "the others pay", "dues a month then")
    rows = tuple((row["member"], dollars(row["exit_usd"]), dollars(row["of_it_fund_usd"]),
                  "; ".join(f"{name} {dollars(usd)}" for name, usd in row["others_pay_usd"].items()) or "–",
                  number(row["dues_usd_per_month"], 0)) for row in c.leaving)
    return Table(f"{c.name}: if one leaves after {c.leaving[0]['after_years']} years", head, rows)


def _insured(c: CandidatePartners) -> Table:
    """Return what an insurer would ask by member: the least experienced counts for all."""
    head = ("Member", "rating", "insurable", "dual hours first", "premium if all were so", "without this member")
    rows = tuple((m["name"], m["insurance"]["rating"], "yes" if m["insurance"]["insurable"] else "difficult",
                  number(m["insurance"]["dual_h"], 0), dollars(m["insurance"]["premium_usd"], 10.0),
                  "–" if m["insurance"]["premium_without_usd"] is None
                  else dollars(m["insurance"]["premium_without_usd"], 10.0)) for m in c.members)
    whole = ("the group", "", "yes" if c.insurance["insurable"] else "difficult", number(c.insurance["dual_h"], 0),
             dollars(c.insurance["premium_usd"], 10.0), "")
    return Table(f"{c.name}: insuring the members (our estimate; only an insurer quotes)", head, (*rows, whole))


def _usd(measured: Mapping[str, Any]) -> str:
    return around(measured, dollars)


def _answer(result: PartnersResult) -> Table:
    rows = [(f"{row['members']}", *(cell for c in result.candidates
                                    for cell in (_usd(c.sizes[k]["cost_per_member_usd"]),
                                                 dollars(c.sizes[k]["net_cost_per_member_usd"]["mean"]),
                                                 around(_free(c.sizes[k]["booked_out_share"]), percent))))
            for k, row in enumerate(result.candidates[0].sizes)]
    head = ("Members", *(text for c in result.candidates for text in (
        f"{c.name}: dollars a member and year", "with trips not flown", "gets the aircraft")))
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
    head = ("Member", "flown of wanted", "lost to others", "hours", "days held", "buys in with", "all in $")
    rows = tuple((m["name"], f"{number(m['flown']['mean'], 0)} of {number(m['wanted']['mean'], 0)}",
                  percent(_lost_share(m)), number(m["hours"]["mean"], 0),
                  number(m["days_held"]["mean"], 0), _usd_mean(m["buy_in_usd"]), _usd_mean(m["all_in_usd"]))
                 for m in c.members)
    # A word or two each: the columns of figures leave no room, and broken labels run into each other.
    words = ("together", "into fund" if float(c.into_the_fund_usd["mean"] or 0.0) >= 0.0 else "from fund", "each")
    closing = tuple((label, *[""] * 5, dollars(usd, 10.0)) for label, (_, usd) in zip(words, _closing(c), strict=True))
    return Table(f"{c.name}: the members, mean year", head, (*rows, *closing))


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
    agreed = ((c.terms.dues_usd_per_month, "a month each"), (c.terms.hourly_usd, "an hour"),
              (c.terms.daily_usd, "a day held"))
    terms = listing([f"{number(usd, 0)} dollars {per}" for usd, per in agreed if usd])
    head = ("Member", "pays in all", "dues", "hours", "days", "own bills", "all by hours", "all by days held",
            "all equally", "half and half")
    rows = tuple((m["name"], _usd(m["paid_usd"]), *(_usd_mean(m["paid_of"][n]) for n in ("dues_usd", "hourly_usd",
                                                                                        "daily_usd", "own_usd")),
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
    first = result.candidates[0].fund
    table = by_candidate(
        "Does the fund hold?", "", result,
        ("dues a month, each", lambda c: number(c.fund["dues_usd_per_month"], 0)),
        (f"rate agreed, {_per(result.candidates[0])}", _rate),
        ("rate at which it holds", lambda c: around(c.fund["break_even_rate_usd"], lambda v: number(v, 0))),
        ("chance of an assessment", lambda c: around(c.fund["assessment_chance"], percent)),
        ("each pays then", lambda c: _usd(c.fund["assessment_usd"])),
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
