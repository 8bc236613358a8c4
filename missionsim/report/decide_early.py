"""How late to decide, and how often that is wrong, as a part of the report."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from missionsim.report.html import Section
from missionsim.report.tables import Table
from missionsim.report.wording import count, number
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.forecast_skill import ForecastSkill

HEAD = ("Decided before departure", "Put off", "of them needlessly", "Gone", "of them wrongly",
        "found so on arrival only")


def decide_early(comparison: Comparison) -> Section | None:
    """Return a table for each candidate of decisions taken some hours before departure, where any were looked at."""
    found = comparison.decided_before
    if not found:
        return None
    tables = tuple(_table(name, tuple(rows)) for name, rows in groupby(found, lambda h: h.candidate))
    return Section("deciding", "How late to decide, and how often that is wrong", _text(comparison, found), (), tables)


def _text(comparison: Comparison, found: Sequence[ForecastSkill]) -> tuple[str, ...]:
    trips = len(comparison.prepared.schedule.trip)
    shares = sorted({h.below_share for h in found})
    visual = max(h.visual_legs for h in found)
    where, then, of_way = "at take-off or at arrival", "go to an alternate", ""
    if visual:
        where, then = "at take-off, on the way or at arrival", "turn back, land short or go to an alternate"
        whose = "every leg" if visual == trips else f"up to {count(visual, 'leg')}"
        of_way = (f" and along the way of {whose} that nobody flies on instruments: a leg is put off too when low "
                  "weather anywhere on it is as likely as this pilot accepts, unless it can be gone round")
    below = " to ".join(dict.fromkeys(number(100.0 * s) for s in (shares[0], shares[-1])))
    return (
        f"Every leg at its planned hour: {count(trips, 'leg')} in the weather of "
        f"{count(found[0].legs // trips, 'simulated year')}. On {below} of 100 the ceiling or visibility {where} is "
        "below this pilot's minima, whatever was decided. Put off needlessly: the weather would have served. Gone "
        "wrongly: it was below minima somewhere there. The last column is the part of those that could take off and "
        f"then had to {then}.",
        "A leg is put off when the forecast makes weather below minima at arrival as likely as this pilot accepts, or "
        "at departure likelier than not. The earlier you decide, the fewer legs a forecast can speak against: most "
        "trips that will not go still look fair a day ahead. So do not cancel early for a doubt; keep another way to "
        "get there until the last look.",
        f"Only ceiling and visibility count here, at both ends{of_way}. The alternates in reach, ice, storms, wind and "
        "daylight do not. At the last look the pilot sees the sky over the departure airport and is wrong less often "
        "than this.")


def _table(name: str, rows: Sequence[ForecastSkill]) -> Table:
    return Table(f"{name}: decisions and how they turned out, legs of 100", HEAD, tuple(
        (f"{h.before_h} h", *(number(100.0 * share) for share in (
            h.put_off_share, h.false_stop_share, 1.0 - h.put_off_share, h.false_go_share, h.false_go_arrival_share)))
        for h in rows))
