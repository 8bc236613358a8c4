"""Refusals over all years: counts by hand, margins from the years judged, and the smallest change."""

from __future__ import annotations

import json
from datetime import datetime
from types import SimpleNamespace

import pytest
from study_cases import small_study

from missionsim.base.parallel import Helpers
from missionsim.base.words import REASONS, Reason
from missionsim.report.contract import comparison_json
from missionsim.report.explained_trips import usual_days
from missionsim.report.looked_again import LookedAgain
from missionsim.report.refusals import never_made, refusals_frame, with_refusals
from missionsim.report.refusals_section import refusals_section
from missionsim.study.compare.compare import compare, fly_and_compare
from missionsim.study.explain.refusals import ReasonShare as Share
from missionsim.study.explain.refusals import (
    RefusedTrip,
    SmallestChange,
    _change,
    _Judged,
    _margin,
    refusal_of,
    refuse_too,
)
from missionsim.study.replicate.exact_reasons import Why
from missionsim.study.replicate.trip_years import BROKEN_OFF


@pytest.fixture(scope="module")
def found():
    return with_refusals(compare(small_study(trips=16), 6))


def test_shares_count_the_years_not_made_and_nothing_else(found):
    for x in found.refusals:
        part = found.result(x.candidate).tally
        mine = part.trips.trip == x.trip
        gone = part.trips.outcome[mine] >= BROKEN_OFF
        assert (x.years_wanted, x.not_made) == (int(mine.sum()), int(gone.sum()))
        assert sum(r.share for r in x.reasons) == pytest.approx(x.share)
        for r in x.reasons:
            counted = (part.trips.reason[mine][gone] == REASONS.index(r.reason)).sum()
            assert r.share == pytest.approx(counted / x.years_wanted)
        assert x.judged <= min(x.not_made, 5)
        assert all(m.worst >= m.typical > 0.0 for m in x.margins)


def test_helpers_that_look_again_beside_tell_the_same(found):
    prepared = found.prepared
    with Helpers(prepared, workers=2) as helpers:
        again = LookedAgain(helpers, prepared, 6)
        flown = fly_and_compare(prepared, 6, helpers, flown=again.flown)
        told = again.told_of(flown)
    assert told.refusals == found.refusals
    assert told.put_off == found.put_off
    assert told.decided_before == found.decided_before
    assert usual_days(told) == usual_days(found)


def test_trips_always_made_are_not_told(found):
    told = {(x.candidate, x.trip) for x in found.refusals}
    for result in found.results:
        for k, outcomes in enumerate(result.tally.by_trip):
            assert ((result.name, k) in told) == (outcomes[2:].sum() > 0)
            assert (refusal_of(found.refusals, result.name, k) is not None) == (outcomes[2:].sum() > 0)


def test_too_many_people_are_told_with_how_many_fewer_would_go(found):
    seats = [x for x in found.refusals if x.reasons[0].reason is Reason.SEATS]
    assert seats
    for x in seats:
        trip = found.prepared.table[x.trip]
        profile = found.prepared.flyers[found.names.index(x.candidate)].candidate.profile
        assert (x.change.kind, x.change.amount) == ("people", trip.people - sum(s.seats for s in profile.stations))
        assert "fewer on board" in x.told


def test_margins_and_the_change_by_hand():
    whys = [Why(Reason.PAYLOAD, 20.0, "lb", "20 lb over"), Why(Reason.PAYLOAD, 60.4, "lb", "61 lb over"),
            Why(Reason.PAYLOAD, 35.0, "lb", "35 lb over"), Why(Reason.PAYLOAD, None, "", "")]
    margin = _margin(whys)
    assert (margin.typical, margin.worst, margin.words) == (35.0, 60.4, "35 lb over")
    heavy = _change([Share(Reason.PAYLOAD, 0.5)], [margin], _Judged(years=3), 3, 6)
    assert (heavy.kind, heavy.amount, heavy.unit) == ("load", 61.0, "lb")
    low = [Share(Reason.CEILING, 0.5)]
    assert _change(low, [], _Judged(years=3), 4, 8).words == "another day: it goes in 4 of 8 years as planned"
    early = _change(low, [], _Judged(years=3, earlier_h=[2.0, 3.0]), 4, 8)
    assert (early.kind, early.amount) == ("hour", 2.5)
    assert "in 2 of 3 years judged" in early.words
    assert _change([Share(Reason.OXYGEN, 1.0)], [], _Judged(), 0, 8).kind == "upgrade"


def test_one_change_is_not_said_to_make_a_trip_go_that_other_reasons_refuse_too():
    seats = [Why(Reason.SEATS, 1.0, "people", "1 person too many")] * 3
    margin, short = _margin(seats), [Why(Reason.CLIMB, 200.0, "ft/min", "200 ft/min short")]
    share = [Share(Reason.SEATS, 1.0)]

    def told(**why):
        judged = _Judged(years=3, why={Reason.SEATS: seats} | {Reason(k): v for k, v in why.items()})
        return _change(share, [margin], judged, 0, 3).words

    assert told() == told(climb=short) == "1 fewer on board would make it go"      # one year of three is the day's
    assert told(climb=short * 2) == "1 fewer on board would mend that; climb refuses it too as loaded"
    assert told(climb=short * 3, payload=short * 2, wind=short * 3) == (
        "1 fewer on board would mend that; payload and climb refuse it too as loaded")


def test_candidates_share_a_line_whatever_else_refuses_a_trip_to_each():
    def line(*each):
        refused = [RefusedTrip(name, "one", 0, 2, 2, 2, (Share(Reason.SEATS, 1.0),), 2, (),
                               SmallestChange("people", 1.0, "people", f"1 fewer{refuse_too(also)}", also))
                   for name, also in each]
        trip = SimpleNamespace(trip_id="one", departs_local=[datetime(2025, 2, 8)], purpose="skiing")
        found, = never_made(SimpleNamespace(refusals=refused, prepared=SimpleNamespace(table=[trip])))
        return found

    both, climb = (Reason.CLIMB, Reason.PAYLOAD), (Reason.CLIMB,)
    start = "not made in 2 of the 2 years that wanted it (seats 100 %); 1 fewer"
    assert line(("A", both), ("B", both)) == (
        f"08 Feb skiing (one), A and B: {start}; payload and climb refuse it too as loaded.")
    assert line(("A", both), ("B", climb)) == (
        f"08 Feb skiing (one), A and B: {start}; payload or climb refuses it too as loaded.")
    assert line(("A", ()), ("B", ())) == f"08 Feb skiing (one), A and B: {start}."


def test_it_stands_in_object_file_and_report(found):
    entries = json.loads(comparison_json(found, None))["refusals"]
    assert len(entries) == len(found.refusals)
    assert set(entries[0]) == {"candidate", "trip_id", "trip", "years_wanted", "not_made", "never_left", "reasons",
                               "judged", "margins", "change", "share", "told"}
    assert len(refusals_frame(found)) == sum(len(x.reasons) for x in found.refusals)
    often = [x for x in found.refusals if x.share >= 0.5]
    assert len(refusals_section(found).tables[0].rows) == len(often) > 0
    assert all("not made in" in line or "see refusals.csv" in line for line in never_made(found))


def test_a_study_whose_years_have_trips_of_their_own_says_why_no_trip_is_told():
    study = SimpleNamespace(listed=None)
    section = refusals_section(SimpleNamespace(study=study, refusals=None))
    assert "refusals.csv has its headings alone" in section.text[0]
    assert not section.tables
