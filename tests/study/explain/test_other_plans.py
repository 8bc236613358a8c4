"""Trips that were not made, planned otherwise: each flown as if it were the only one, and told by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from study_cases import small_study

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.words import Outcome, Reason
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.explain.other_plans import ANOTHER_DAY, Failed, OtherPlan, other_field, other_plans
from missionsim.study.explain.refusals import Margin, ReasonShare, _change, _Judged
from missionsim.study.explain.replication import explain
from missionsim.study.prepare.study import Entrant, prepare
from missionsim.study.replicate.exact_reasons import WITH_PASSENGERS
from missionsim.study.replicate.one_year import people_of, weather_of, year_of
from missionsim.world.airports.table import AirportTable

YEARS = 4


@pytest.fixture(scope="module")
def prepared():
    return prepare(small_study(trips=16))


@pytest.fixture(scope="module")
def failed(prepared):
    told = [explain(prepared, r) for r in range(YEARS)]
    return [Failed(number, trip, r, stop.reason) for r in range(YEARS) for number in (0, 1)
            for trip, stop in told[r][number].stops.items() if stop.reason in ANOTHER_DAY]


def test_a_day_beside_is_flown_as_if_the_trip_were_the_only_one(prepared, failed):
    tried = other_plans(prepared, failed).day
    assert set(tried) == {(f.number, f.trip) for f in failed}
    assert any(plan.made for plan in tried.values())
    for f in failed[:6]:
        mine = [x for x in failed if (x.number, x.trip) == (f.number, f.trip)]
        moved = replace(prepared.table[f.trip], days_earlier=1, days_later=1, day_step=1)
        alone = prepare(prepared.study, replace(prepared.table, trips=(moved,)))
        made = 0
        for x in mine:
            day = weather_of(alone, x.replication, people_of(prepared, [x.replication])[0, [f.trip]])
            upkeep = alone.flyers[f.number].upkeep.upkeep(alone.study.seed, x.replication)
            day = replace(day, habits=replace(day.habits, absent=frozenset()))
            end = year_of(Entrant(alone, f.number), day, x.replication, upkeep=upkeep).log.ends[0]
            made += end.outcome in {Outcome.COMPLETED, Outcome.DELAYED}
        assert tried[f.number, f.trip] == OtherPlan(len(mine), made)


def test_trips_of_a_long_list_are_planned_otherwise_a_few_at_a_time(prepared, failed, monkeypatch):
    together = other_plans(prepared, failed)
    monkeypatch.setattr("missionsim.study.explain.other_plans.TOGETHER", 2)
    assert len({f.trip for f in failed}) > 2
    assert other_plans(prepared, failed) == together


def test_a_grass_strip_that_is_not_accepted_has_a_paved_field_near_by():
    study = small_study(trips=16)
    grass = next(t for t in study.listed if t.destinations == ("84Y",))
    only = prepare(replace(study, listed=replace(study.listed, trips=(grass,))))
    tried = other_plans(only, [Failed(0, 0, r, Reason.SURFACE) for r in range(2)])
    assert not tried.day
    found = tried.field[0, 0]
    place, field = (study.airports.find(i) for i in ("84Y", found.field))
    assert found.away_nm == pytest.approx(haversine_nm(place.latitude_deg, place.longitude_deg, field.latitude_deg,
                                                       field.longitude_deg))
    assert found.away_nm <= 40.0
    assert field.longest_ft(("paved",)) >= 5000.0
    assert (found.years, found.made > 0) == (2, True)


def test_the_nearest_field_that_is_long_enough_is_taken():
    a = packaged_assumptions()
    airports = AirportTable.packaged(a)
    omaha = airports.find("KOMA")
    near = other_field(airports, omaha, False, {"KOMA"}, a)
    assert near is not None
    assert near.ident != "KOMA"
    for row in airports.within(omaha.latitude_deg, omaha.longitude_deg, 40.0).tolist():
        other = airports.airport(row)
        if other.ident in {"KOMA", near.ident} or not other.public:
            continue
        closer = haversine_nm(omaha.latitude_deg, omaha.longitude_deg, other.latitude_deg, other.longitude_deg) < (
            haversine_nm(omaha.latitude_deg, omaha.longitude_deg, near.latitude_deg, near.longitude_deg))
        assert not (closer and other.longest_ft(("paved",)) >= 5000.0)
    # With none near enough, or none longer than its own, there is none.
    assert other_field(airports, omaha, True, {"KOMA"}, a.replaced({"explain.other_field_nm": 10})) is None


def test_what_was_flown_is_told_as_the_smallest_change():
    low, short = [ReasonShare(Reason.CEILING, 0.5)], [ReasonShare(Reason.SURFACE, 1.0)]
    day = _change(low, [], _Judged(years=3, other_day=OtherPlan(3, 2)), 4, 8)
    assert (day.kind, day.amount, day.words) == ("day", 1.0, "moved by a day it would go in 2 of 3 years judged")
    no_day = _change(low, [], _Judged(years=3, other_day=OtherPlan(3, 0)), 4, 8)
    assert no_day.words == ("another day: it goes in 4 of 8 years as planned; a day earlier or later it would not go "
                            "in any of 3 years judged")
    place = _Judged(years=3, other_day=OtherPlan(3, 0), other_field=OtherPlan(3, 1, "KMCK", 20.4))
    for reasons in (low, short):
        field = _change(reasons, [], place, 0, 8)
        assert (field.kind, field.amount, field.unit) == ("field", 20.4, "nm")
        assert field.words == "to KMCK, 20 nm away, it would go in 1 of 3 years judged"
    # A day in the shop passes, and no other field helps; a surface does not pass.
    assert _change([ReasonShare(Reason.MAINTENANCE, 0.5)], [], place, 4, 8).kind == "day"
    assert _change(short, [], _Judged(years=3, other_day=OtherPlan(3, 3)), 0, 8).kind == "aircraft"
    # An earlier hour of its own is the smaller change.
    assert _change(low, [], _Judged(years=3, earlier_h=[2.0], other_day=OtherPlan(2, 2)), 4, 8).kind == "hour"


def test_oxygen_is_no_help_where_passengers_set_the_level():
    high = [ReasonShare(Reason.OXYGEN, 1.0)]
    alone = Margin(Reason.OXYGEN, "ft", 1500.0, 1500.0, "1,500 ft above 12,500 ft, the limit without oxygen on board")
    seated = Margin(Reason.OXYGEN, "ft", 1500.0, 1500.0,
                    f"1,500 ft above 12,500 ft, the limit {WITH_PASSENGERS}; the lowest level is 14,000 ft")
    assert _change(high, [alone], _Judged(years=3), 0, 8).words == "the upgrade portable oxygen would take this away"
    found = _change(high, [seated], _Judged(years=3), 0, 8)
    assert (found.kind, "upgrade" in found.words) == ("people", False)
