"""Records are cut whole: every field says along which axis it runs, or that somebody else sees to it."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import pytest

from missionsim.base.axes import APART, axis, equal, fields_along, joined, take
from missionsim.decide.candidate_plan import CandidatePlan, FieldRows, PlanTimes, RowIndex, RunwayRows
from missionsim.decide.gate_plan import Ahead, GateHours, GateLimits, GatePlan, LooksAhead, RouteLooks
from missionsim.decide.leg_weather import FieldLimits
from missionsim.flight.batch import LevelLimits
from missionsim.flight.table import FlightRows, FlightTable
from missionsim.money.other_ways import TripTerms
from missionsim.study.prepare.lanes import LaneSet
from missionsim.year.decisions import Decisions
from missionsim.year.schedule import Schedule

CUT = (CandidatePlan, FieldRows, RowIndex, RunwayRows, PlanTimes, FieldLimits, Ahead, LooksAhead, RouteLooks, GatePlan,
       GateHours, GateLimits, LevelLimits, FlightRows, FlightTable, TripTerms, LaneSet, Decisions, Schedule)


@pytest.mark.parametrize("kind", CUT)
def test_every_field_of_a_record_that_is_cut_names_its_axis(kind: Any) -> None:
    assert [f.name for f in fields(kind) if "axis" not in f.metadata] == []


@dataclass(frozen=True)
class Plain:
    """Two arrays of one shape."""

    left: Any
    right: Any


@dataclass(frozen=True)
class Parts:
    """A record with arrays, tables and records along `leg`."""

    hours: Any = axis("leg")
    wide: Any = axis("leg", at=1)
    table: Any = axis("leg", at=1)
    plain: Any = axis("leg", at=1)
    nothing: Any = axis("leg")
    total: float = axis(APART)


def test_arrays_tables_and_records_are_cut_along_their_dimension() -> None:
    grid = np.arange(6).reshape(2, 3)
    cut = take(Parts(np.array([1.0, 2.0, 3.0]), grid, {"a": grid}, Plain(grid, grid + 10), None, 6.0), "leg",
               np.array([2, 0]), total=4.0)
    assert cut.hours.tolist() == [3.0, 1.0]
    assert cut.wide.tolist() == cut.table["a"].tolist() == cut.plain.left.tolist() == [[2, 0], [5, 3]]
    assert cut.plain.right.tolist() == [[12, 10], [15, 13]]
    assert (cut.nothing, cut.total) == (None, 4.0)


@pytest.mark.parametrize(("other", "same"), [
    (Plain(np.arange(3), Plain(2.0, None)), True), (Plain(np.arange(3) % 2, Plain(2.0, None)), False),
    (Plain(np.arange(4), Plain(2.0, None)), False), (Plain(np.arange(3), Plain(2.5, None)), False),
    (Plain(np.arange(3), Plain(2.0, 0.0)), False), (None, False)])
def test_records_are_equal_where_all_that_they_hold_is(other: Any, same: bool) -> None:
    assert equal(Plain(np.arange(3), Plain(2.0, None)), other) is same


def test_records_are_joined_along_an_axis() -> None:
    one, two = (PlanTimes(0.5, 0.2, 0.1, np.array([1.0]), np.array([0.1 * k])) for k in (1, 2))
    assert fields_along(PlanTimes, "leg") == ("nominal_block_h",)
    assert joined([one, two], "leg")["nominal_block_h"].tolist() == [0.1, 0.2]
