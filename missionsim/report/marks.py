"""What was given up for trips that were made: moved, adapted to the load, marginal on an own rule."""

from __future__ import annotations

from missionsim.report.html import Section
from missionsim.report.tables import Table
from missionsim.report.wording import percent
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.replicate.shop_sums import MARKS

TEXT = ("Completed means everybody who had to be there was there within the days the trip allows. Some of these trips "
        "were not made as they were asked for: moved to another day or the evening before; adapted, because not all of "
        "the load fitted; marginal, because a rule of the pilot's own was missed by a little, within the tolerance. A "
        "trip may bear two of these marks. No tolerance is given for terrain, fuel, weight, balance, oxygen, weather "
        "minima, the law or the flight manual.",)


def marks_section(comparison: Comparison) -> Section:
    """Return the section on how completed trips were made."""
    head = ("Candidate", "Completed, of trips wanted", "as asked", *MARKS)
    return Section("marks", "How completed trips were made", TEXT, (), (Table(
        "Mean of a simulated year, share of the trips wanted", head,
        tuple(_row(result) for result in comparison.results)),))


def _row(result: Result) -> tuple[str, ...]:
    names = ("completed_share", "as_asked_share", *(f"{mark}_share" for mark in MARKS))
    return (result.name, *(percent(result.measures[name]["mean"]) for name in names))
