"""Which years of a trip are opened, by hand."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from missionsim.base.words import REASONS, Reason
from missionsim.study.explain.replication import Stop
from missionsim.study.explain.trip_days import commonest_among, nearest, usual_of, worst_of
from missionsim.study.replicate.exact_reasons import Why
from missionsim.study.replicate.trip_years import BROKEN_OFF, COMPLETED, DELAYED, REFUSED, TripYears

CEILING, ICING = REASONS.index(Reason.CEILING), REASONS.index(Reason.ICING)


def years(*rows):
    """Return years of one trip: outcome, hours of a traveller, what decided."""
    count = len(rows)
    given = {"replication": np.arange(count), "trip": np.zeros(count, dtype=np.int64),
             "outcome": np.array([r[0] for r in rows], dtype=np.uint8),
             "flown_h": np.array([r[1] for r in rows], dtype=np.float32),
             "reason": np.array([r[2] for r in rows], dtype=np.int8)}
    return TripYears(*(given.get(f.name, np.zeros(count, dtype=np.float32)) for f in fields(TripYears)))


def test_the_usual_year_is_of_the_commonest_fate_and_of_middle_hours():
    flown = years((COMPLETED, 5.0, -1), (REFUSED, 0.0, CEILING), (COMPLETED, 9.0, -1), (COMPLETED, 6.0, -1),
                  (REFUSED, 0.0, CEILING), (DELAYED, 7.0, CEILING))
    assert usual_of(flown, np.arange(6)) == 3     # of 5, 6 and 9 hours


def test_years_not_made_for_different_reasons_are_different_fates():
    flown = years((REFUSED, 0.0, CEILING), (REFUSED, 0.0, ICING), (COMPLETED, 5.0, -1), (COMPLETED, 6.0, -1))
    assert usual_of(flown, np.arange(4)) == 2     # two completed against one and one


def test_the_worst_is_broken_off_then_not_begun_then_late_each_by_hours():
    rows = [(COMPLETED, 30.0, -1), (DELAYED, 9.0, CEILING), (DELAYED, 12.0, CEILING)]
    assert worst_of(years(*rows), np.arange(3)) == 2
    rows.append((REFUSED, 8.0, CEILING))
    assert worst_of(years(*rows), np.arange(4)) == 3
    rows += [(BROKEN_OFF, 4.0, ICING), (BROKEN_OFF, 6.0, ICING)]
    assert worst_of(years(*rows), np.arange(6)) == 5


def lacking(*margins, earlier_h=None):
    return Stop(Reason.PAYLOAD, tuple(Why(Reason.PAYLOAD, m, unit, "") for m, unit in margins), earlier_h)


@pytest.mark.parametrize(("stops", "expected"), [
    ({4: lacking((90.0, "lb")), 7: lacking((60.0, "lb"))}, 7),
    ({4: lacking((90.0, "lb")), 7: lacking((1.0, "people"))}, 4),            # 0.9 of a step against a whole one
    ({4: lacking((10.0, "lb")), 7: lacking(earlier_h=3.0), 9: lacking(earlier_h=2.0)}, 9),
    ({4: lacking((None, "")), 7: lacking((400.0, "lb"))}, 7),                # what is measured can be mended
    ({4: lacking((50.0, "lb"), (900.0, "ft")), 7: lacking((150.0, "lb"))}, 7),   # the larger lack of each counts
])
def test_the_nearest_miss_lacks_least(stops, expected):
    assert nearest(stops) == expected


def test_of_the_few_years_told_that_of_the_usual_fate_stands_for_a_trip():
    flown = years((REFUSED, 0.0, CEILING), (DELAYED, 7.0, CEILING), (COMPLETED, 5.0, -1), (COMPLETED, 6.0, -1))
    assert commonest_among(flown, 0, [0, 1, 2]) == 2
    assert commonest_among(flown, 0, [0, 1]) == 0         # none of that fate: the first that wanted it
    assert commonest_among(flown, 5, [0, 1]) == 0         # nobody wanted it
