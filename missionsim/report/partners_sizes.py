"""A partnership by size of the group: what the members as written bear and fly in each, and the whole group."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from missionsim.report.first_screen import BarRow, bar_rows
from missionsim.report.html import Section
from missionsim.report.shared_page import around, turned, usd_around
from missionsim.report.shared_screen import Bars, Curves, Value, curves
from missionsim.report.tables import Table
from missionsim.report.wording import dollars, in_usd, listing, number, percent, some, start
from missionsim.study.shared_use.partner_results import CandidatePartners, PartnersResult


def cheapest(c: CandidatePartners, written: int, lead: CandidatePartners) -> str:
    """Return how many members are cheapest for those as written, and how many of their trips are flown and lost then.

    Parameters
    ----------
    c : CandidatePartners
    written : int               Members as written.
    lead : CandidatePartners    The one that begins the answer; what holds of its sizes is not said again.
    """
    best = c.best_size_for_written["members"]
    row = next(r for r in c.sizes if r["members"] == best)
    whose = f"your {written} members" if written > 1 else "your one member"
    head = f"{some(best, 'member')} would be cheapest for {whose} with the {c.name}" if c is lead else (
        f"{c.name}: {some(best, 'member')} would be cheapest")
    edge = "" if c is not lead and best == lead.best_size_for_written["members"] else _edge(c, best)
    return (f"{head}: a year with every trip done costs each {usd_around(row['written_net_cost_per_member_usd'])} "
            f"dollars. Of {number(row['written_wanted']['mean'])} trips each wants, {_trips(row)}.{edge}{_level(c)}")


def _trips(row: Mapping[str, Any]) -> str:
    """Return how many trips of each are flown, and lost to others."""
    flown, lost = (number(row[f"written_{name}"]["mean"]) for name in ("flown", "lost"))
    return f"{flown} are flown and {lost} lost to others' reservations"


def _edge(c: CandidatePartners, best: int) -> str:
    """Return that a cheaper size may lie beyond those looked at, where the cheapest is the last of them."""
    sizes = [r["members"] for r in c.sizes]
    if best == max(sizes):
        return " No larger group was looked at: one may be cheaper still."
    return " No smaller group was looked at: one may be cheaper still." if best == min(sizes) > 1 else ""


def _level(c: CandidatePartners) -> str:
    level = c.best_size_for_written["level_with"]
    return f" {start(listing([str(n) for n in level], 'or'))} may be as cheap." if level else ""


def neighbours(c: CandidatePartners, written: int) -> str:
    """Return whether the next smaller and larger group looked at would be cheaper than as written; empty for none."""
    sizes, than = [r["members"] for r in c.sizes], c.best_size_for_written["than_written_usd"]
    near = [*sorted(n for n in sizes if n < written)[-1:], *sorted(n for n in sizes if n > written)[:1]]
    told = listing([_than_written(n, than[n]) for n in near])
    return f" {start(told)} dollars a member." if told else ""


def _than_written(members: int, more_usd: Mapping[str, Any]) -> str:
    """Return whether another size would be cheaper than as written, by how much, and whether that may be chance."""
    low, high = more_usd["low"], more_usd["high"]
    cheaper = more_usd["mean"] < 0.0
    by = usd_around(turned(more_usd) if cheaper else more_usd)
    maybe = ", which may be chance," if low is None or low <= 0.0 <= high else ""
    return f"{members} would be {'cheaper' if cheaper else 'dearer'} by {by}{maybe}"


def as_written(c: CandidatePartners) -> str:
    """Return how many trips of each are flown and lost in the group as written; what is wanted is told before."""
    count = len(c.members)
    flown = sum(m["flown"]["mean"] for m in c.members) / count
    lost = sum((m["booked_out_share"]["mean"] or 0.0) * m["wanted"]["mean"] for m in c.members) / count
    return f"With {count} as written, {number(flown)} are flown and {number(lost)} lost."


def sizes_section(result: PartnersResult) -> Section:
    """Return the section of sizes: what is compared, and two tables a candidate."""
    sharing = {"dues_and_hours": "what is fixed in equal parts and the rest by hours", "hours": "everything by hours",
               "days_held": "everything by days held", "equally": "everything in equal parts"}
    spec = result.study.spec.members
    by = sharing[spec.sharing.by] if spec is not None else sharing["dues_and_hours"]
    text = (
        "A member pays more and finds the aircraft free in a small group. All sizes are told for your own members and "
        "the trips they want, the same years in every size: whoever is added flies more or less than they do, and "
        "would make a size look cheap or dear that is not. Groups smaller than yours are made of your members by "
        "turns, each held in dollars and hours against the same member in the same year as written, and told with "
        f"the trips flown and lost in those turns; in larger ones each added member is like {result.use.typical}.",
        f"Each bears {by}, the purchase in equal parts, and the own fees and training. With every trip done: with car "
        "or airline for each trip not flown, and hours at their worth. By that sizes are judged. Even one alone loses "
        "a trip now and then: the one before came home late. The second table is of all in the group, added ones too: "
        "trips wanted by a member differ there from size to size, and dollars a member with them.")
    return Section("sizes", "How many members?", text, (),
                   tuple(t for c in result.candidates for t in (_written(c), _whole(c))))


def _label(c: CandidatePartners, row: Mapping[str, Any]) -> str:
    return f"{row['members']} (yours)" if row["members"] == len(c.members) else f"{row['members']}"


def _dearer(c: CandidatePartners, row: Mapping[str, Any]) -> str:
    than = c.best_size_for_written["than_written_usd"].get(row["members"])
    return "–" if than is None else usd_around(than)


def short_sizes(c: CandidatePartners) -> Table:
    """Return what a terminal has room for."""
    head = ("Members", "aircraft", "every trip done", "dearer than yours", "lost", "flown")
    rows = tuple((_label(c, r), dollars(r["written_cost_per_member_usd"]["mean"]),
                  dollars(r["written_net_cost_per_member_usd"]["mean"]), _dearer(c, r), percent(written_lost(r)),
                  percent(r["written_flown_share"]["mean"])) for r in c.sizes)
    return Table(f"{c.name}: a year of each of your members by size of the group, dollars, the same trips "
                 "(lost: to others' reservations)", head, rows)


def _written(c: CandidatePartners) -> Table:
    head = ("Members", "the aircraft", "with every trip done", "dearer than as written", "dearer than no aircraft",
            "trips wanted", "lost to others", "flown", "flight hours")
    rows = tuple((_label(c, r), usd_around(r["written_cost_per_member_usd"]),
                  usd_around(r["written_net_cost_per_member_usd"]), _dearer(c, r),
                  usd_around(r["written_more_than_none_usd"]), number(r["written_wanted"]["mean"]),
                  around(r["written_booked_out_share"], percent), percent(r["written_flown_share"]["mean"]),
                  number(r["written_hours"]["mean"], 0)) for r in c.sizes)
    return Table(f"{c.name}: each of your members in groups of other sizes, mean year (interval of the mean)", head,
                 rows)


def _whole(c: CandidatePartners) -> Table:
    head = ("Members", "cost a member, added ones too", "with every trip done", "trips wanted", "met a booking",
            "moved", "lost to others", "flown", "flight hours", "dollars an hour")
    rows = tuple((_label(c, r), usd_around(r["cost_per_member_usd"]), usd_around(r["net_cost_per_member_usd"]),
                  number(r["wanted"]["mean"], 0), percent(r["met_booked_share"]["mean"]),
                  percent(r["moved_share"]["mean"]), around(r["booked_out_share"], percent),
                  percent(r["flown_share"]["mean"]), number(r["flight_hours"]["mean"], 0),
                  number(r["cost_per_hour_usd"]["mean"], 0)) for r in c.sizes)
    return Table(f"{c.name}: the whole group by size, each of its members and all their trips", head, rows)


def first_table(result: PartnersResult) -> Table:
    """Return dollars against the chance of getting the aircraft, the candidates side by side."""
    rows = [(_label(result.candidates[0], row), *(
        cell for c in result.candidates for cell in (
            usd_around(c.sizes[k]["written_cost_per_member_usd"]),
            dollars(c.sizes[k]["written_net_cost_per_member_usd"]["mean"]),
            around(_free(c.sizes[k]["written_booked_out_share"]), percent))))
            for k, row in enumerate(result.candidates[0].sizes)]
    head = ("Members", *(text for c in result.candidates for text in (
        f"{c.name}: dollars a member and year", "with every trip done", "gets the aircraft")))
    return Table("What each of your members bears against the chance of getting the aircraft, the same trips in every "
                 "size (interval of the mean)", head, tuple(rows))


def written_lost(row: Mapping[str, Any]) -> float:
    """Return the share of the written members' wanted trips that others' reservations took; of none wanted none."""
    mean: float | None = row["written_booked_out_share"]["mean"]
    return mean or 0.0


def _free(lost: Mapping[str, Any]) -> dict[str, Any]:
    def rest(name: str) -> float | None:
        return None if lost[name] is None else 1.0 - lost[name]

    return {"mean": rest("mean"), "low": rest("high"), "high": rest("low")}


def pictures(result: PartnersResult) -> tuple[Curves | Bars, ...]:
    """Return the pictures: dollars against trips lost, a member's year, and trips lost, each by size."""
    members = len(result.study.members)
    lines = [(c.name, [_point(r, members) for r in c.sizes]) for c in result.candidates]

    def rows(cell: Callable[[Mapping[str, Any]], tuple[float, float]], words: Callable[[float], str],
             ) -> tuple[BarRow, ...]:
        return bar_rows([(some(r["members"], "member") + (" (yours)" if r["members"] == members else ""),
                          [cell(c.sizes[k]) for c in result.candidates])
                         for k, r in enumerate(result.candidates[0].sizes)], words)

    def money(row: Mapping[str, Any]) -> tuple[float, float]:
        paid, net = (row[f"written_{name}_per_member_usd"]["mean"] for name in ("cost", "net_cost"))
        return paid, max(net - paid, 0.0)

    return (curves("Dollars against trips lost", "Of each of your members. Down is cheaper, left is freer. The number "
                   "is how many share; your group is large.", "% of the trips wanted lost to others' reservations",
                   lines, across=lambda v: f"{v:,.0f}", upward=lambda v: f"${v / 1000:,.0f}k"),
            Bars("A member's year", "Of each of your members, the same trips in every size. Solid: what the aircraft "
                 "costs. Outlined: what the trips not flown cost otherwise. The number is both.", "Members",
                 rows(money, in_usd)),
            Bars("Trips lost to others", "Of a hundred trips your members want.", "Members",
                 rows(lambda r: (100.0 * written_lost(r), 0.0), lambda v: number(v, 0))))


def _point(row: Mapping[str, Any], written: int) -> Value:
    usd, lost = row["written_cost_per_member_usd"]["mean"], written_lost(row)
    return Value(100.0 * lost, usd, str(row["members"]),
                 f"{some(row['members'], 'member')} {dollars(usd)} dollars, {percent(lost)} of trips lost",
                 row["members"] == written)
