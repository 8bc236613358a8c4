"""What is compared, and how sure: two trips and a handful of years worked by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.study.compare import certainty as sure
from missionsim.study.compare.alternatives import NONE, SHARE, alternatives, does_the_job
from missionsim.study.compare.compare import compared, flown_tallies
from missionsim.study.compare.measures import common_hours, equal_hours
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.trip_years import BROKEN_OFF, COMPLETED, REFUSED, TripYears

HOURS = {"a": [4.0, 5.0, 9.0, 7.0], "b": [3.0, 8.0, 6.0, 7.5]}


def trips_of(name, outcome, given_up=(False, False, False, False)):
    """Return two trips of two replications: 2 people on the first, 3 on the second."""
    none = np.zeros(4, dtype=np.float32)
    values = dict.fromkeys(TripYears.__dataclass_fields__, none)
    values |= {"replication": np.array([0, 0, 1, 1]), "trip": np.array([0, 1, 0, 1]),
               "outcome": np.array(outcome, dtype=np.uint8), "given_up": np.array(given_up),
               "flown_h": np.array(HOURS[name], dtype=np.float32), "people": np.array([2.0, 3.0, 2.0, 3.0])}
    return SimpleNamespace(trips=TripYears(**values), replications=np.array([0, 1]))


def test_common_trips_are_those_both_made_in_the_same_year():
    a = trips_of("a", [COMPLETED, REFUSED, COMPLETED, COMPLETED])
    b = trips_of("b", [COMPLETED, COMPLETED, BROKEN_OFF, COMPLETED])
    # Year 0: the first trip alone, 2 people: 8 and 6 h. Year 1: the second alone, 3 people: 21 and 22.5 h.
    assert common_hours(a, b).tolist() == [[8.0, 21.0], [6.0, 22.5]]


def test_a_trip_given_up_by_one_counts_for_nobody():
    a = trips_of("a", [REFUSED, COMPLETED, COMPLETED, COMPLETED], (True, False, False, False))
    b = trips_of("b", [COMPLETED] * 4)
    assert equal_hours([a, b]).tolist() == [[15.0, 39.0], [24.0, 34.5]]


def job(made, wanted, least):
    columns = {"completed": np.array(made, dtype=float), "trips_wanted": np.array(wanted, dtype=float)}
    return does_the_job(SimpleNamespace(by_trip=np.zeros((0, 4)), column=columns.__getitem__), least, [])[0]


def test_the_job_is_done_missed_or_cannot_be_told():
    wanted = [10.0] * 8
    # 9.5 of 10 in the mean, known to 0.45 (2.365 x 0.535 / sqrt 8): 9 are asked for, then 9.7, then 9.99.
    made = [9.0, 10.0] * 4
    assert [job(made, wanted, share) for share in (0.90, 0.97, 0.999)] == ["yes", "too close to tell", "no"]


def test_a_trip_worth_less_than_its_way_takes_no_hours_of_anybody_without_an_aircraft():
    study = small_study(trips=4)
    first, *rest = study.listed.trips
    listed = replace(study.listed, trips=(replace(first, optional_value_usd=1.0), *rest))
    prepared = prepare(replace(study, listed=listed), rental=True)
    tallies = flown_tallies(prepared, 2)
    part = tallies[0].trips
    of_first = part.trip == 0
    assert part.other_given_up.tolist() == of_first.tolist()
    every = alternatives(tallies[:-1], tallies[-1], 0, prepared.study.assumptions)
    rest_h = [float((part.other_h * part.people)[(part.replication == r) & ~of_first].sum()) for r in (0, 1)]
    assert every.of(NONE).hours == pytest.approx(rest_h, rel=1e-6)
    assert every.of(NONE).given_up.tolist() == [1.0, 1.0]
    share, free = every.of(SHARE), prepared.study.assumptions["keeping.share_available_share"]
    other_h = np.where(of_first, 0.0, part.other_h)
    party = np.where(part.made, free * part.party_h + (1.0 - free) * other_h, part.party_h)
    assert share.hours == pytest.approx([float((party * part.people)[part.replication == r].sum()) for r in (0, 1)])


def test_hours_shown_side_by_side_are_of_the_same_trips():
    """The first trip is given up without an aircraft: its hours stand in nobody's that are compared, flown or not."""
    study = small_study(trips=4)
    first, *rest = study.listed.trips
    listed = replace(study.listed, trips=(replace(first, optional_value_usd=1.0), *rest))
    tallies = flown_tallies(prepare(replace(study, listed=listed)), 2)
    every = alternatives(tallies, None, 0, study.assumptions)
    part = tallies[0].trips
    kept = part.person_h[part.trip != 0].sum() / 2.0
    own, none = every.every[0].entry(), every.of(NONE).entry()
    assert own["compared_hours"]["mean"] == pytest.approx(kept)
    assert own["door_to_door_hours"]["mean"] > kept + 1.0
    assert none["compared_hours"]["mean"] == none["door_to_door_hours"]["mean"]


def test_the_layers_of_a_year_by_hand():
    # Years deviate by -3, -1, 1, 3 of which open figures make -1, -1, 1, 1; prices add -2 or 2 to every year.
    year, effect = np.array([-3.0, -1.0, 1.0, 3.0]), np.array([-1.0, -1.0, 1.0, 1.0])
    found = sure._spread(100.0 + year[:, None] + np.array([[-2.0, 2.0]]), effect)
    assert found["listing"] == pytest.approx(1.0)
    assert found["luck"] == pytest.approx(2.0)     # 5 - 1
    assert found["prices"] == pytest.approx(2.0)
    assert found["total"] == pytest.approx(3.0)    # 5 + 4
    assert found["interaction"] == pytest.approx(0.0, abs=1e-9)


def test_what_open_figures_do_is_not_drawn_twice(monkeypatch):
    seen = {}
    whole = sure.joint_means

    def watched(level, years, effects, *rest, **more):
        seen.setdefault("years", years)    # of the stated chances; what knowing all would bring comes after
        seen.setdefault("effects", effects)
        return whole(level, years, effects, *rest, **more)

    prepared = prepare(small_study(trips=6))
    tallies = flown_tallies(prepared, 12)
    effect = np.linspace(-500.0, 500.0, 12)
    monkeypatch.setattr(sure, "joint_means", watched)
    monkeypatch.setattr(sure, "listing_effects", lambda *_: effect)
    found = compared(prepared, tallies)
    assert seen["effects"] == pytest.approx(np.stack([effect, effect]))
    routines = sure.routine_effects(prepared, np.arange(12), found.certainty.priced.by_year[:2] - effect)
    assert seen["years"] + effect + routines == pytest.approx(found.certainty.priced.by_year[:2])
