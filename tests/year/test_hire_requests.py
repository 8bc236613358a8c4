"""Flights for others: which legs carry somebody, and how many are asked for."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.year.demand import DemandLine
from missionsim.year.hire_requests import RequestLine, requests_of_year, route_of


@pytest.mark.parametrize(("pick_up", "to", "kind", "stops", "occupied"), [
    ("HOME", "A", "one_way", ("A",), (True, False)),
    ("HOME", "A", "wait", ("A",), (True, True)),
    ("P", "A", "one_way", ("P", "A"), (False, True, False)),
    ("P", "A", "wait", ("P", "A", "P"), (False, True, True, False)),
    ("P", "HOME", "one_way", ("P",), (False, True)),
    ("P", "HOME", "wait", ("P", "HOME", "P"), (False, True, True, False)),
])
def test_empty_legs_are_those_without_passengers(pick_up, to, kind, stops, occupied):
    assert route_of("HOME", pick_up, to, kind) == (stops, occupied)
    assert len(occupied) == len(stops) + 1


def test_a_flight_to_where_it_starts_is_none():
    with pytest.raises(ValueError, match="same place"):
        route_of("HOME", "A", "A", "wait")


def line(**changes):
    given = {"places": ("KOMA",), "per_year": 40.0, "weekdays": (0, 1, 2), "adults": {2: 0.5, 3: 0.5}}
    return RequestLine(DemandLine(**(given | changes)), (True, False), 1, (0.5, 3.0, 14.0))


def asked(lines, assumptions, years):
    return [requests_of_year(lines, "KGRI", 2025, assumptions,
                             [np.random.default_rng([7, k, i]) for i in range(len(lines))]) for k in range(years)]


def test_requests_come_as_often_and_when_they_should(assumptions):
    years = asked([line()], assumptions, 60)
    counts = np.array([len(y) for y in years])
    assert counts.mean() == pytest.approx(40.0, abs=4 * np.sqrt(40.0 / 60))
    assert counts.var(ddof=1) == pytest.approx(40.0, rel=4 * np.sqrt(2.0 / 59))
    days = {r.trip.departs_local[0].weekday() for y in years for r in y}
    assert days <= {0, 1, 2}


def test_requests_do_not_make_room_for_each_other(assumptions):
    # Many one-day requests on one weekday: the same day is asked for twice, as different people do.
    requests = asked([line(per_year=150.0, weekdays=(4,))], assumptions, 1)[0]
    days = [r.trip.departs_local[0].date() for r in requests]
    assert len(set(days)) < len(days)


def test_another_line_changes_no_draw(assumptions):
    alone = asked([line()], assumptions, 2)
    both = asked([line(), line(places=("KDSM",))], assumptions, 2)
    for a, b in zip(alone, both, strict=True):
        assert [r.trip for r in a] == [r.trip for r in b if r.line == 0]
