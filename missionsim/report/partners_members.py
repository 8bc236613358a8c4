"""The members of a partnership: who gets the aircraft, who pays what, capital, leaving and insuring."""

from __future__ import annotations

from missionsim.report.partners_answer import lost_share
from missionsim.report.shared_page import around, reasons_table, usd_around, usd_mean
from missionsim.report.tables import Table
from missionsim.report.wording import dollars, listing, number, percent
from missionsim.study.shared_use.partner_results import CandidatePartners


def members_text(c: CandidatePartners) -> tuple[str, ...]:
    """Return what the words of the tables mean, and what is said of deductible and leaving."""
    cover, row = c.fund["deductible"], c.leaving[0]
    claims = cover["claims_a_year"]["mean"]
    often = f"once in about {number(1.0 / claims, 0)} years" if claims else "never"
    who = "all alike" if cover["paid_by"] == "all" else "whoever flew, and by all alike where it was parked"
    return (
        "Met: the time first asked for was taken. Moved: flown some hours earlier or later instead. Lost: given up "
        "because another member had the aircraft. Equity bears the purchase, what the sale does not bring back and "
        "what the money would have earned; bills and overhauls are shared as the group agreed.",
        "In all is everything a member bears of the aircraft: dues, hours or days, the own bills (fees and nights of "
        "own trips, training), the equity's part, and a part of what the fund lacks: what bills and overhauls come to "
        "a year, over the years it is kept, beyond what all pay in. That is taken from the fund while it lasts and "
        "assessed then, from all alike; below zero money gathers there, the members' by equity.",
        f"The insurer's deductible, {dollars(cover['usd'], 1.0)} dollars after damage, {often} "
        f"(our estimate), is paid by {who}; what a year is expected to bring of it is in "
        "every sum here.",
        f"A member who leaves gets the share's part of what the aircraft sells for then and of the fund. A share takes "
        f"{number(row['weeks_to_sell'], 0)} weeks to sell, and whoever leaves owes the dues until then "
        f"({dollars(row['dues_until_sold_usd'], 10.0)} dollars). Five and more owners are insured as a club.")


def capital(c: CandidatePartners) -> Table:
    """Return what each member bears in all, of which the mean of all is the cost of a member in the answer."""
    head = ("Member", "equity", "buys in with", "into the fund at first", "that share costs a year", "pays in a year",
            "of what the fund lacks", "in all")
    rows = tuple((m["name"], percent(m["equity_share"]), usd_mean(m["buy_in_usd"]),
                  dollars(m["into_fund_at_start_usd"], 10.0), usd_mean(m["owning_usd"]), usd_mean(m["paid_usd"]),
                  usd_mean(m["of_shortfall_usd"]), usd_mean(m["bears_usd"])) for m in c.members)
    return Table(f"{c.name}: capital and all a member bears in a year", head, (*rows, *_closing(c, 5)))


def _closing(c: CandidatePartners, blank: int) -> tuple[tuple[str, ...], ...]:
    """Return the lines that lead from what members bear to the cost of a member in the answer: two sums each."""
    def line(label: str, parts: int) -> tuple[str, ...]:
        return (label, *[""] * blank, *(dollars(c.together[name]["mean"] / parts, 10.0)
                                        for name in ("of_shortfall_usd", "bears_usd")))

    return line("together", 1), line("each", len(c.members))


def leaving(c: CandidatePartners) -> Table:
    """Return what each leaving member gets and the others then pay."""
    head = ("Leaves", "share bought out at", "of it from the fund", "the others pay", "dues a month then")
    rows = tuple((row["member"], dollars(row["exit_usd"]), dollars(row["of_it_fund_usd"]),
                  "; ".join(f"{name} {dollars(usd)}" for name, usd in row["others_pay_usd"].items()) or "–",
                  number(row["dues_usd_per_month"], 0)) for row in c.leaving)
    return Table(f"{c.name}: if one leaves after {c.leaving[0]['after_years']} years", head, rows)


def insured(c: CandidatePartners) -> Table:
    """Return what an insurer would ask by member: the least experienced counts for all."""
    head = ("Member", "rating", "insurable", "dual hours first", "premium if all were so", "without this member")
    rows = tuple((m["name"], m["insurance"]["rating"], "yes" if m["insurance"]["insurable"] else "difficult",
                  number(m["insurance"]["dual_h"], 0), dollars(m["insurance"]["premium_usd"], 10.0),
                  "–" if m["insurance"]["premium_without_usd"] is None
                  else dollars(m["insurance"]["premium_without_usd"], 10.0)) for m in c.members)
    whole = ("the group", "", "yes" if c.insurance["insurable"] else "difficult", number(c.insurance["dual_h"], 0),
             dollars(c.insurance["premium_usd"], 10.0), "")
    return Table(f"{c.name}: insuring the members (our estimate; only an insurer quotes)", head, (*rows, whole))


def short_members(c: CandidatePartners) -> Table:
    """Return what a terminal has room for."""
    head = ("Member", "flown of wanted", "lost to others", "hours", "days held", "buys in with", "fund lacks",
            "in all $")
    rows = tuple((m["name"], f"{number(m['flown']['mean'], 0)} of {number(m['wanted']['mean'], 0)}",
                  percent(lost_share(m)), number(m["hours"]["mean"], 0),
                  number(m["days_held"]["mean"], 0), usd_mean(m["buy_in_usd"]), usd_mean(m["of_shortfall_usd"]),
                  usd_mean(m["bears_usd"])) for m in c.members)
    return Table(f"{c.name}: the members, mean year; in all: what each pays, the equity's part, and a part of what the "
                 "fund lacks", head, (*rows, *_closing(c, 5)))


def who_gets_it(c: CandidatePartners) -> Table:
    """Return how the trips wanted by each member ended."""
    head = ("Member", "trips wanted", "booked", "moved", "flown", "given up", "met a booking", "lost to others",
            "flight hours", "days held", "weekend days")
    rows = tuple((m["name"], *(number(m[n]["mean"]) for n in ("wanted", "booked", "moved", "flown", "cancelled")),
                  percent(m["met_booked_share"]["mean"]), around(m["booked_out_share"], percent),
                  number(m["hours"]["mean"], 0), number(m["days_held"]["mean"], 0),
                  percent(m["weekend_days_share"]["mean"])) for m in c.members)
    return Table(f"{c.name}: who gets it, mean year", head, rows)


def who_pays(c: CandidatePartners) -> Table:
    """Return what each member pays at the agreed terms, and would under other splits."""
    agreed = ((c.terms.dues_usd_per_month, "a month each"), (c.terms.hourly_usd, "an hour"),
              (c.terms.daily_usd, "a day held"))
    terms = listing([f"{number(usd, 0)} dollars {per}" for usd, per in agreed if usd])
    head = ("Member", "pays in all", "dues", "hours", "days", "own bills", "all by hours", "all by days held",
            "all equally", "half and half")
    rows = tuple((m["name"], usd_around(m["paid_usd"]), *(usd_mean(m["paid_of"][n]) for n in ("dues_usd", "hourly_usd",
                                                                                        "daily_usd", "own_usd")),
                  *(usd_mean(m["paid_under"][n]) for n in ("by_hours", "by_days_held", "by_calendar",
                                                              "half_and_half")))
                 for m in c.members)
    return Table(f"{c.name}: who pays what a year at {terms}, and under other splits", head, rows)


def refusals(c: CandidatePartners) -> Table:
    """Return why trips were not made, by member."""
    return reasons_table(f"{c.name}: trips not made, by reason, mean year",
                         {m["name"]: m["refused"] for m in c.members})
