"""Tiny stories of the event loop: what happened, in which order, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import year_cases
from hypothesis import given
from hypothesis import strategies as st
from year_cases import BLOCK_H, FLIGHT_H, SLOTS, SOUND, all_go, schedule_of, shut, year

from missionsim.base.words import BIT, Mark, Outcome, Purpose, Reason, Shop, marks_of

HOME, THERE, FARTHER, ALTERNATE = 0, 1, 2, 9


def out_and_back(start_h: float = 100.0, stay_h: float = 5.0):
    return [(start_h, HOME, THERE), (start_h + stay_h, THERE, HOME)]


def test_a_trip_with_nothing_in_its_way_is_completed_as_planned():
    log = year(schedule_of(out_and_back()))
    (end,) = log.ends
    assert (end.outcome, end.reason, end.departed_h, end.home_h) == (Outcome.COMPLETED, None, 100.0, 105.0 + BLOCK_H)
    assert (end.reached, end.looks, end.diversions, end.nights_forced) == (1, 0, 0, 0)
    assert [(f.leg, f.depart_h) for f in log.legs] == [(0, 100.0), (1, 105.0)]
    assert not log.hops


def test_a_late_start_within_the_window_is_delayed_by_more_than_an_hour():
    trips = schedule_of(out_and_back())
    log = year(trips, shut(trips, 0, [3, 4]))
    (end,) = log.ends
    assert (end.outcome, end.reason, end.looks, end.departed_h) == (Outcome.DELAYED, Reason.CEILING, 2, 102.0)
    # Landed at 103.25, an hour's stay, so 105 as planned still goes.
    assert log.legs[1].depart_h == 105.0


def test_an_hour_late_is_not_delayed():
    trips = schedule_of(out_and_back())
    assert year(trips, shut(trips, 0, [3])).ends[0].outcome is Outcome.COMPLETED


def test_bad_weather_seen_coming_is_left_before():
    trips = schedule_of(out_and_back())
    early = np.array([True, False])
    log = year(trips, replace(all_go(trips), early_look=early))
    assert log.legs[0].depart_h == 97.0
    assert log.ends[0].outcome is Outcome.COMPLETED


def test_a_structural_refusal_never_asks_for_the_aircraft():
    trips = schedule_of(out_and_back())
    log = year(trips, replace(all_go(trips), structural=np.array([BIT[Reason.RUNWAY] | BIT[Reason.SEATS]], np.uint32)))
    (end,) = log.ends
    assert (end.outcome, end.reason, end.structural) == (Outcome.REFUSED, Reason.SEATS, True)
    assert np.isnan(end.departed_h)
    assert not log.legs


def test_a_window_shut_by_weather_refuses_on_the_day_with_all_reasons():
    trips = schedule_of(out_and_back())
    decisions = shut(trips, 0, range(SLOTS))
    decisions = shut(trips, 0, [4], Reason.ICING, decisions)
    (end,) = year(trips, decisions).ends
    assert (end.outcome, end.reason, end.structural) == (Outcome.REFUSED, Reason.CEILING, False)
    assert end.reasons == BIT[Reason.CEILING] | BIT[Reason.ICING]
    assert end.looks == 7   # the planned hour and six later ones


def test_darkness_is_the_reason_only_where_nothing_else_closes_a_lighter_hour():
    trips = schedule_of(out_and_back())
    dark = shut(trips, 0, range(3, 9), Reason.DAYLIGHT)
    assert year(trips, dark, booked=()).ends[0].outcome is Outcome.DELAYED
    night = shut(trips, 0, [9], Reason.DAYLIGHT, decisions=dark)
    assert year(trips, night).ends[0].reason is Reason.DAYLIGHT
    low = shut(trips, 0, [9], Reason.WIND, decisions=dark)
    assert year(trips, low).ends[0].reason is Reason.WIND     # one windy hour of day, six dark ones


def test_an_arrival_below_minima_diverts_waits_and_goes_on():
    trips = schedule_of(out_and_back())
    below, closes = np.zeros((2, SLOTS), dtype=bool), np.zeros((2, SLOTS))
    below[0, 3], closes[0, 3] = True, 2.0
    log = year(trips, replace(all_go(trips), below=below, diverts=year_cases.Diversions(closes)))
    (end,) = log.ends
    over, on = log.hops
    assert (over.purpose, over.from_place, over.to_place) == (Purpose.DIVERSION, THERE, ALTERNATE)
    assert over.depart_h == 101.25
    assert (on.purpose, on.depart_h) == (Purpose.CONTINUATION, 101.25 + 0.5 + 2.0)
    assert (end.diversions, end.reached) == (1, 1)
    # There at 104.5 with the taxi in; planned 101.25: over an hour late.
    assert end.outcome is Outcome.DELAYED
    assert log.legs[1].depart_h == 106.0   # the first whole hour after a stay of one


def test_a_place_that_stays_shut_is_driven_to_and_the_aircraft_follows():
    trips = schedule_of(out_and_back())
    below, closes = np.zeros((2, SLOTS), dtype=bool), np.zeros((2, SLOTS))
    below[0, 3], closes[0, 3] = True, 7.0
    log = year(trips, replace(all_go(trips), below=below, diverts=year_cases.Diversions(closes)), limits=replace(
        year_cases.LIMITS, max_duty_h=16.0))
    (end,) = log.ends
    assert (end.outcome, end.reason, end.reached) == (Outcome.BROKEN_OFF, Reason.CEILING, 0)
    diversion, ferry = log.hops
    assert (ferry.purpose, ferry.from_place, ferry.to_place, ferry.people) == (Purpose.FERRY, ALTERNATE, THERE, 1)
    assert ferry.depart_h == diversion.depart_h + 0.5 + 7.0
    assert log.legs[1].depart_h >= ferry.depart_h + 0.5 + 0.25


def test_home_below_minima_brings_the_party_home_by_road_and_the_aircraft_later():
    trips = schedule_of(out_and_back())
    below, closes = np.zeros((2, SLOTS), dtype=bool), np.zeros((2, SLOTS))
    below[1, 3], closes[1, 3] = True, 12.0
    log = year(trips, replace(all_go(trips), below=below, diverts=year_cases.Diversions(closes)))
    (end,) = log.ends
    assert end.outcome is Outcome.BROKEN_OFF
    assert end.home_h == pytest.approx(105.0 + BLOCK_H + 0.5 + 60.0 / 45.0)
    assert log.hops[-1].depart_h == 105.0 + BLOCK_H + 0.5 + 12.0


def test_a_return_that_stays_shut_waits_out_its_window_and_is_fetched_a_day_later():
    trips = schedule_of(out_and_back())
    log = year(trips, shut(trips, 1, range(SLOTS)))
    (end,) = log.ends
    assert (end.outcome, end.reason, end.otherwise) == (Outcome.BROKEN_OFF, Reason.CEILING, True)
    assert end.home_h == 102.0 + 9 + 8.0     # window's last hour, then eight hours by other means
    (ferry,) = log.hops
    assert (ferry.from_place, ferry.to_place, ferry.depart_h) == (THERE, HOME, 111.0 + 24.0)


class _OnlyAt:
    """Weather fair from one hour on."""

    def __init__(self, hour: float) -> None:
        self.hour = hour

    def next_fair_h(self, from_place: int, to_place: int, time_h: float) -> float:
        return max(self.hour, time_h)

    def lets_through(self, from_place: int, to_place: int, depart_h: float, flight_h: float) -> bool:
        return depart_h >= self.hour


@pytest.mark.parametrize(("fair_from_h", "goes_at_h"), [
    (100.0, 103.75), (104.0, 104.75), (107.75, 107.75), (108.0, None)])
def test_from_an_alternate_it_goes_on_only_when_both_places_are_above_minima_then(fair_from_h, goes_at_h):
    # Landed at the alternate at 101.75, the place said to open two hours later; at most six hours are waited.
    trips = schedule_of(out_and_back())
    below, closes = np.zeros((2, SLOTS), dtype=bool), np.zeros((2, SLOTS))
    below[0, 3], closes[0, 3] = True, 2.0
    log = year(trips, replace(all_go(trips), below=below, diverts=year_cases.Diversions(closes),
                              fair=_OnlyAt(fair_from_h)), limits=replace(year_cases.LIMITS, max_duty_h=16.0))
    (end,), (_, on) = log.ends, log.hops
    if goes_at_h is None:
        assert (end.outcome, on.purpose, on.people) == (Outcome.BROKEN_OFF, Purpose.FERRY, 1)
    else:
        assert (on.purpose, on.depart_h, end.reached) == (Purpose.CONTINUATION, goes_at_h, 1)


@pytest.mark.parametrize(("latest_local_h", "goes_on"), [(14.75, True), (14.5, True), (14.2, False)])
def test_from_an_alternate_nobody_goes_on_after_hours(latest_local_h, goes_on):
    # Slot 0 is 97 h, a quarter past seven by the clock: on at 103.75, 14:00, there half an hour later.
    trips = schedule_of(out_and_back())
    trips = replace(trips, local_h=np.full(2, 7.25), latest_local_h=np.full(2, latest_local_h))
    below, closes = np.zeros((2, SLOTS), dtype=bool), np.zeros((2, SLOTS))
    below[0, 3], closes[0, 3] = True, 2.0
    log = year(trips, replace(all_go(trips), below=below, diverts=year_cases.Diversions(closes)))
    assert (log.hops[1].purpose is Purpose.CONTINUATION) == goes_on


def test_an_aircraft_left_behind_waits_for_fair_weather():
    trips = schedule_of(out_and_back())
    decisions = replace(shut(trips, 1, range(SLOTS)), fair=_OnlyAt(200.0))
    assert year(trips, decisions).hops[0].depart_h == 200.0


def test_a_fault_away_strands_the_party_and_the_aircraft_comes_home_mended():
    trips = schedule_of(out_and_back())
    upkeep = replace(SOUND, fault_mean_h=FLIGHT_H)    # the first fault after one flight hour
    log = year(trips, upkeep=upkeep)
    (end,) = log.ends
    assert (end.outcome, end.reason, end.otherwise) == (Outcome.BROKEN_OFF, Reason.MAINTENANCE, True)
    assert end.home_h == 105.0 + 8.0    # it stays until the planned return, then travels
    away = log.shop[0]
    assert (away.kind, away.place, away.start_h, away.end_h) == (Shop.FAULT, THERE, 101.25, 101.25 + 96.0)
    assert (log.hops[0].purpose, log.hops[0].depart_h) == (Purpose.FERRY, 101.25 + 96.0)
    assert (end.reached, len(log.legs)) == (1, 1)


HIDDEN = replace(SOUND, fault_mean_h=2.0 * FLIGHT_H, shown_before_share=1.0)


@pytest.mark.parametrize(("first_weekday", "longer_h"), [(0, 0.0), (1, 24.0), (2, 24.0), (3, 0.0)])
def test_a_mechanic_is_found_later_on_a_weekend(first_weekday, longer_h):
    trips = replace(schedule_of(out_and_back()), first_weekday=first_weekday)   # it breaks on the fifth day of the year
    upkeep = replace(SOUND, fault_mean_h=FLIGHT_H, weekend_h=24.0)
    assert year(trips, upkeep=upkeep).shop[0].end_h == 101.25 + 96.0 + longer_h
    # In the field it is mended as quickly as on any day, and so is what the shop at home finds.
    quick = replace(upkeep, repair_median_h=5.0, field_fix_h=6.0)
    assert year(trips, upkeep=quick).shop[0].end_h == 101.25 + 5.0
    at_home = replace(HIDDEN, repair_median_h=2.5, weekend_h=24.0)
    assert year(replace(schedule_of(out_and_back(), out_and_back(200.0)), first_weekday=first_weekday),
                upkeep=at_home).shop[0].end_h == 202.5


def test_a_repair_that_is_ready_by_the_last_hour_of_the_return_is_waited_for():
    trips = schedule_of(out_and_back())     # the return may leave until 111
    upkeep = replace(SOUND, fault_mean_h=FLIGHT_H, find_low_h=0.0, find_median_h=0.0, find_high_h=0.0)
    in_time = year(trips, upkeep=replace(upkeep, repair_median_h=7.0))    # 108.25
    assert (in_time.ends[0].outcome, in_time.ends[0].reason) == (Outcome.DELAYED, Reason.MAINTENANCE)
    assert in_time.legs[1].depart_h == 109.0
    too_late = year(trips, upkeep=replace(upkeep, repair_median_h=10.0))    # 111.25
    assert too_late.ends[0].outcome is Outcome.BROKEN_OFF
    soon = year(trips, upkeep=replace(upkeep, repair_median_h=3.0))    # 104.25, before the planned return
    assert (soon.ends[0].outcome, soon.legs[1].depart_h) == (Outcome.COMPLETED, 105.0)


def test_a_party_away_for_days_stays_for_all_of_them():
    trips = schedule_of(out_and_back(stay_h=150.0))
    upkeep = replace(SOUND, fault_mean_h=FLIGHT_H)    # mended after 96 h
    log = year(trips, upkeep=upkeep)
    assert (log.ends[0].outcome, log.legs[1].depart_h) == (Outcome.COMPLETED, 250.0)


def test_a_fault_found_before_leaving_home_puts_the_trip_off_or_loses_it():
    trips = schedule_of(out_and_back(), out_and_back(200.0))    # the fault comes with the first landing at home
    soon = year(trips, upkeep=replace(HIDDEN, repair_median_h=2.5))
    assert [end.outcome for end in soon.ends] == [Outcome.COMPLETED, Outcome.DELAYED]
    assert soon.ends[1].departed_h == 203.0     # found at 200, mended at 202.5
    assert (soon.shop[0].start_h, soon.shop[0].end_h, soon.shop[0].place) == (200.0, 202.5, HOME)
    late = year(trips, upkeep=HIDDEN)
    assert [(end.outcome, end.reason) for end in late.ends] == [(Outcome.COMPLETED, None),
                                                               (Outcome.REFUSED, Reason.MAINTENANCE)]
    assert not late.hops


def test_a_fault_found_before_leaving_for_home_strands_at_the_planned_hour():
    trips = schedule_of(out_and_back())
    log = year(trips, upkeep=replace(HIDDEN, fault_mean_h=FLIGHT_H))
    assert log.ends[0].home_h == 105.0 + 8.0
    assert log.shop[0].start_h == 105.0


def test_a_flight_that_ends_for_a_fault_does_not_reach_its_place():
    trips = schedule_of(out_and_back())
    upkeep = replace(SOUND, fault_mean_h=FLIGHT_H, shown_flying_share=1.0, ends_trip_share=1.0)
    (end,) = year(trips, upkeep=upkeep).ends
    assert (end.outcome, end.reason, end.reached, end.home_h) == (Outcome.BROKEN_OFF, Reason.MAINTENANCE, 0,
                                                                  101.25 + 8.0)


def test_a_long_repair_is_flown_home_for_under_a_permit():
    trips = schedule_of(out_and_back())
    upkeep = replace(SOUND, fault_mean_h=FLIGHT_H, permit_share=1.0)    # 96 h there, or 72 h for the permit
    log = year(trips, upkeep=upkeep)
    assert (log.hops[0].purpose, log.hops[0].depart_h) == (Purpose.FERRY, 101.25 + 72.0)
    repair = log.shop[0]
    assert (repair.place, repair.start_h, repair.end_h) == (HOME, 173.25 + 0.75, 173.25 + 0.75 + 48.0)
    quick = year(trips, upkeep=replace(upkeep, permit_h=100.0))
    assert (quick.shop[0].place, quick.hops[0].depart_h) == (THERE, 101.25 + 96.0)


def test_a_deferred_fault_grounds_nobody_and_is_mended_with_the_annual():
    trips = schedule_of(out_and_back())
    upkeep = replace(SOUND, fault_mean_h=1.5, deferrable_share=1.0)
    log = year(trips, upkeep=upkeep)
    assert log.ends[0].outcome is Outcome.COMPLETED
    annual, fault = log.shop
    assert (annual.kind, fault.kind, fault.deferred, fault.start_h) == (Shop.ANNUAL, Shop.FAULT, True, 5000.0)


def test_the_annual_refuses_a_trip_that_falls_into_it():
    log = year(schedule_of(out_and_back(5100.0), out_and_back(5300.0)))
    assert [(e.outcome, e.reason) for e in log.ends] == [(Outcome.REFUSED, Reason.MAINTENANCE),
                                                         (Outcome.COMPLETED, None)]


def test_the_annual_waits_for_the_aircraft_to_come_home():
    trips = schedule_of(out_and_back(4999.0))
    log = year(trips, shut(trips, 1, range(6)))
    assert log.shop[0].start_h == 5007.0 + BLOCK_H      # booked for 5004 + 1.25, but the aircraft came later
    assert log.ends[0].outcome is Outcome.COMPLETED


def test_nobody_flies_after_the_annual_ran_out():
    trips = schedule_of(out_and_back(4999.0), out_and_back(5020.0), out_and_back(5300.0))
    upkeep = replace(SOUND, annual_from_h=4999.5, annual_due_h=5003.0, annual_down_h=100.0)
    log = year(trips, upkeep=upkeep)
    # Away when it runs out: the aircraft is brought home empty, and the annual takes it before the next trip does.
    assert (log.ends[0].outcome, log.ends[0].reason) == (Outcome.BROKEN_OFF, Reason.MAINTENANCE)
    assert [hop.purpose for hop in log.hops] == [Purpose.FERRY]
    assert log.shop[0].kind == Shop.ANNUAL
    assert [(end.outcome, end.reason) for end in log.ends[1:]] == [(Outcome.REFUSED, Reason.MAINTENANCE),
                                                                   (Outcome.COMPLETED, None)]


def test_an_oil_change_comes_when_the_hours_are_flown():
    trips = schedule_of(*(out_and_back(100.0 + 100.0 * k) for k in range(6)))
    log = year(trips, upkeep=replace(SOUND, oil_interval_h=5.0, oil_since_h=1.0))
    changes = [v for v in log.shop if v.kind == Shop.OIL_CHANGE]
    # Two hours a trip, one on the oil already: due after the second trip, then after every third.
    assert [v.start_h for v in changes] == [205.0 + BLOCK_H, 505.0 + BLOCK_H]


def test_a_second_trip_waits_for_the_first_and_is_refused_when_its_window_closes():
    log = year(schedule_of(out_and_back(100.0), out_and_back(101.0, 4.0), out_and_back(97.0, 4.0)))
    ends = {end.trip: end for end in log.ends}
    assert ends[2].outcome is Outcome.COMPLETED
    # The aircraft is home at 102.25; both others could still go within six hours, the first in the queue does.
    assert ends[0].departed_h == 103.0
    assert (ends[1].outcome, ends[1].reason) == (Outcome.REFUSED, Reason.BOOKED)


FOUR_HOURS = np.full((2, SLOTS), 4.0)


def test_a_day_too_long_for_the_pilot_ends_in_a_night():
    trips = schedule_of([(100.0, HOME, THERE), (120.0, THERE, HOME)])
    log = year(trips, replace(all_go(trips), flight_h=FOUR_HOURS, block_h=FOUR_HOURS))
    # There at noon; a return planned for four in the morning waits until the pilot wakes at seven, 123.
    assert [f.depart_h for f in log.legs] == [100.0, 123.0]
    assert log.ends[0].outcome is Outcome.COMPLETED


def test_a_leg_of_more_than_a_day_goes_on_in_the_morning():
    # Eight hours of flying are two days of five: off at eight, down at half past twelve, on at half past seven.
    trips = schedule_of(out_and_back(stay_h=60.0))
    shape = (2, SLOTS)
    long_legs = all_go(trips, flight_h=np.full(shape, 8.0), block_h=np.full(shape, 9.0))
    log = year(trips, long_legs, limits=replace(year_cases.LIMITS, max_flight_per_day_h=5.0, max_duty_h=24.0))
    (end,) = log.ends
    assert [leg.depart_h for leg in log.legs] == [100.0, 160.0]
    # Wakes at seven, half an hour before: 123.5 - 104.5 are 19 h on the ground; there at 128.
    # Home: off at eight in the evening, down at half past midnight, which still is that day's end; rests ten hours.
    assert end.rested_h == pytest.approx(19.0 + 10.0)
    assert end.home_h == pytest.approx(160.0 + 9.0 + 10.0)
    assert (end.nights_rested, end.nights_forced) == (2, 1)


def test_hours_spent_in_meetings_are_no_rest():
    trips = replace(schedule_of([(100.0, HOME, THERE), (111.0, THERE, HOME)]), last_slot=np.array([9, 11]))
    limits = replace(year_cases.LIMITS, rest_h=5.0)     # of which there are many before the return may leave at 119
    (end,) = year(trips, replace(all_go(trips), flight_h=FOUR_HOURS, block_h=FOUR_HOURS), limits=limits).ends
    assert (end.outcome, end.reason) == (Outcome.REFUSED, Reason.DUTY)


def test_a_duty_day_counts_from_waking():
    trips = schedule_of([(104.0, HOME, THERE), (109.0, THERE, HOME)])    # eight in the morning at 104
    late = replace(trips, utc_offset_h=trips.utc_offset_h + 4.0)         # noon at 104: the pilot has been up since 99
    assert year(trips).ends[0].outcome is Outcome.COMPLETED              # up at 103, home at 110.25
    assert year(late).ends[0].outcome is Outcome.COMPLETED               # home at 110.25, 11.25 h after waking
    short = replace(year_cases.LIMITS, max_duty_h=7.5)
    assert year(trips, limits=short).legs[1].depart_h == 109.0
    assert year(late, limits=short).ends[0].reason is Reason.DUTY        # earliest return 106.25, too long from 99


def test_a_return_is_flown_earlier_rather_than_breaking_the_duty_day():
    legs = [(100.0, HOME, THERE), (111.0, THERE, HOME)]
    trips = schedule_of(legs)
    log = year(trips)
    # 99.5 is the start of duty; leaving at 111 would end at 112.25, twelve and three quarter hours later.
    assert log.legs[1].depart_h == 108.0
    assert log.ends[0].outcome is Outcome.COMPLETED


def test_a_day_that_cannot_fit_is_refused_before_it_begins():
    legs = [(100.0, HOME, THERE), (106.0, THERE, HOME)]
    trips = schedule_of(legs)
    flights = np.full((2, SLOTS), 4.0)
    (end,) = year(trips, replace(all_go(trips), flight_h=flights, block_h=flights)).ends
    assert (end.outcome, end.reason) == (Outcome.REFUSED, Reason.DUTY)


def test_trips_at_the_very_end_of_the_looking_still_get_an_end():
    last_h = 8784.0 + 21 * 24.0
    log = year(schedule_of(out_and_back(last_h - 2.0), out_and_back(last_h + 10.0)))
    assert [(e.trip, e.outcome) for e in log.ends] == [(0, Outcome.BROKEN_OFF), (1, Outcome.REFUSED)]


def test_booked_trips_are_refused_and_absent_ones_leave_no_record():
    log = year(schedule_of(out_and_back(100.0), out_and_back(200.0), out_and_back(300.0)), booked={0}, absent={1})
    assert [(e.trip, e.reason) for e in log.ends] == [(0, Reason.BOOKED), (2, None)]


def test_a_booked_trip_that_no_other_day_would_let_go_keeps_its_own_reason():
    trips = schedule_of(out_and_back(100.0), out_and_back(200.0))
    seats = np.array([BIT[Reason.SEATS], 0], dtype=np.uint32)
    ends = year(trips, all_go(trips, structural=seats), booked={0, 1}).ends
    assert [(e.reason, e.reasons, e.structural, e.looks) for e in ends] == [
        (Reason.SEATS, BIT[Reason.SEATS], True, 0), (Reason.BOOKED, BIT[Reason.BOOKED], False, 0)]


def test_a_booked_trip_looks_at_no_weather_moves_to_no_other_day_and_holds_nobody_up():
    trips = replace(schedule_of(out_and_back(100.0), out_and_back(102.0)), days_later=np.array([3, 0]))
    shut_out = shut(trips, 0, range(SLOTS))
    assert [e.reason for e in year(trips, shut_out, booked={0}).ends] == [Reason.BOOKED, None]
    assert [leg.depart_h for leg in year(trips).legs if leg.leg == 2] == [107.0]    # the first is back at 106.25
    assert [leg.depart_h for leg in year(trips, booked={0}).legs] == [102.0, 107.0]


@given(seed=st.integers(0, 2**32 - 1))
def test_nothing_overlaps_and_every_trip_ends_once(seed):
    random = np.random.default_rng(seed)
    starts = np.sort(random.uniform(24.0, 600.0, 12)).round()
    trips = schedule_of(*([(float(s), HOME, THERE), (float(s) + 4, THERE, FARTHER), (float(s) + 9, FARTHER, HOME)]
                   for s in starts))
    shape = (len(trips.trip), SLOTS)
    decisions = all_go(trips, below=random.random(shape) < 0.15,
                         diverts=year_cases.Diversions(random.integers(1, 15, shape).astype(float)))
    for leg in range(shape[0]):
        decisions = shut(trips, leg, np.flatnonzero(random.random(SLOTS) < 0.4), Reason.CEILING, decisions)
    upkeep = replace(SOUND, fault_mean_h=6.0, oil_interval_h=10.0, annual_from_h=200.0, annual_due_h=300.0,
                     annual_down_h=48.0, deferrable_share=0.6, shown_before_share=0.5, shown_flying_share=0.2,
                     ends_trip_share=0.5, permit_share=0.5)
    log = year(trips, decisions, upkeep)
    assert sorted(end.trip for end in log.ends) == list(range(12))
    left = {int(trips.trip[f.leg]) for f in log.legs}
    assert left == {end.trip for end in log.ends if end.outcome is not Outcome.REFUSED}
    flights = sorted([(f.depart_h, BLOCK_H, int(trips.from_place[f.leg]), int(trips.to_place[f.leg])) for f in log.legs]
                     + [(h.depart_h, h.flight_h, h.from_place, h.to_place) for h in log.hops])
    place = HOME
    for k, (depart_h, block_h, from_place, to_place) in enumerate(flights):
        assert from_place == place      # the aircraft never moves without a flight
        place = to_place
        if k + 1 < len(flights):
            assert depart_h + block_h <= flights[k + 1][0] + 1e-9
    shop = sorted((v.start_h, v.end_h) for v in log.shop)
    assert all(end_h <= start_h + 1e-9 for (_, end_h), (start_h, _) in pairwise(shop))
    for start_h, end_h in shop:
        assert all(depart_h + block_h <= start_h + 1e-9 or depart_h >= end_h - 1e-9
                   for depart_h, block_h, *_ in flights)


def test_a_trip_bears_the_marks_of_every_flight_it_flew():
    trips = schedule_of(out_and_back(), out_and_back(200.0))
    marks = np.zeros((4, SLOTS), np.uint8)
    marks[0, 3], marks[1, 3], marks[2, 4] = Mark.ADAPTED, Mark.MARGINAL, Mark.MOVED  # the last one is not flown
    log = year(trips, all_go(trips, marks=marks))
    assert [end.marks for end in log.ends] == [Mark.ADAPTED | Mark.MARGINAL, 0]
    assert marks_of(log.ends[0].marks) == ("adapted", "marginal")


def test_nobody_leaves_or_arrives_in_the_middle_of_the_night():
    trips = replace(schedule_of(out_and_back()), local_h=np.array([5.0, 16.0]), zone_shift_h=np.array([0.0, 1.0]),
                    earliest_local_h=np.array([7.0, 7.0]), latest_local_h=np.array([21.0, 21.0]))
    block_h = np.full((2, SLOTS), 1.5)
    leg, slot = np.arange(2)[:, None], np.arange(SLOTS)
    awake = trips.awake(leg, slot, block_h, np.zeros((2, SLOTS), dtype=bool))
    assert np.flatnonzero(awake[0]).tolist() == list(range(2, 12))       # from seven on
    # Leaves at 16 to 18 to be there by 21, an hour being lost to the clock; after midnight it is too early again.
    assert np.flatnonzero(awake[1]).tolist() == [0, 1, 2]
    long_leg = np.ones((2, SLOTS), dtype=bool)
    assert np.flatnonzero(trips.awake(leg, slot, block_h, long_leg)[1]).tolist() == list(range(8))


def turning(trips, slots, place, **changes):
    ends, met = np.zeros((2, SLOTS), dtype=np.int32), np.zeros((2, SLOTS), dtype=bool)
    ends[0, list(slots)] = 1 + place
    met[0, 3] = True
    return replace(all_go(trips), ends=ends, met_below=met, **changes)


def test_a_flight_that_turns_back_is_tried_again_in_the_next_open_hour():
    trips = schedule_of(out_and_back())
    log = year(trips, turning(trips, (3, 4), HOME))
    # Off at 100, there and back half an hour and a quarter of taxi: the next whole hour is slot 4, which turns too.
    (end,), (back, again) = log.ends, log.hops
    assert (back.purpose, back.from_place, back.to_place, back.depart_h) == (Purpose.TURNED, HOME, HOME, 100.0)
    assert again.depart_h == 101.0
    assert log.legs[0].depart_h == 102.0
    assert (end.turned, end.met_below, end.reached, end.outcome) == (2, 1, 1, Outcome.DELAYED)


def test_a_flight_that_never_gets_through_is_broken_off_and_home():
    trips = schedule_of(out_and_back())
    log = year(trips, turning(trips, range(SLOTS), HOME))
    (end,) = log.ends
    assert (end.outcome, end.reason, end.reached, end.otherwise) == (Outcome.BROKEN_OFF, Reason.CEILING, 0, False)
    assert [hop.depart_h for hop in log.hops] == [100.0 + k for k in range(7)]
    assert (end.turned, end.met_below, log.legs) == (7, 1, [])
    assert end.home_h == 106.0 + 0.5 + 0.25


def test_a_flight_that_lands_short_goes_on_when_the_way_opens():
    trips = schedule_of(out_and_back())
    log = year(trips, turning(trips, (3, 4, 5), ALTERNATE))
    (end,) = log.ends
    short, on = log.hops
    assert (short.purpose, short.to_place, on.purpose, on.from_place, on.to_place) == (
        Purpose.TURNED, ALTERNATE, Purpose.CONTINUATION, ALTERNATE, THERE)
    assert on.depart_h == 103.0     # slot 6, the first whose way is open
    assert (end.turned, end.reached, end.outcome) == (1, 1, Outcome.DELAYED)


def movable(*starts_h: float, earlier: int = 0, later: int = 0, step: int = 1):
    """Trips there and back whose windows hold the days they may be moved to, an hour either side."""
    trips = schedule_of(*(out_and_back(start_h) for start_h in starts_h))
    n, legs = len(starts_h), 2 * len(starts_h)
    return replace(trips, days_earlier=np.full(n, earlier), days_later=np.full(n, later), day_step=np.full(n, step),
                   start_h=trips.start_h + 2.0 - 24.0 * earlier, planned_slot=np.full(legs, 1 + 24 * earlier),
                   last_slot=np.full(legs, 2 + 24 * (earlier + later)), slots=24 * (earlier + later) + 6)


def test_a_trip_that_cannot_go_on_its_day_goes_on_the_next_fair_one():
    trips = movable(100.0, later=3)
    own_day, next_day = range(3), range(25, 29)
    log = year(trips, shut(trips, 0, [*own_day, *next_day]))
    (end,) = log.ends
    assert (end.outcome, end.reason, end.marks, end.nights_forced) == (Outcome.COMPLETED, None, Mark.MOVED, 0)
    assert [leg.depart_h for leg in log.legs] == [148.0, 153.0]     # all of it two days later


@given(st.integers(0, 3), st.integers(0, 3), st.integers(0, 12), st.integers(0, 20), st.sampled_from((0, 6)))
def test_windows_of_its_own_day_are_what_moves_leave_over(earlier, later, before, after, evening):
    # A leg may leave `before` its planned hour and `after` it on its own day; the first of a trip in the evening too.
    own = 24 * earlier + evening + before
    planned, last = np.array([own, own - evening]), np.array([own, own - evening]) + after + 24 * later
    of = replace(schedule_of(out_and_back()), planned_slot=planned, last_slot=last, days_earlier=np.array([earlier]),
                 days_later=np.array([later]), evening_slots=np.array([evening]))
    assert of.own_open.tolist() == [24 * earlier + evening, 24 * earlier]
    assert of.own_last.tolist() == (planned + after).tolist()
    assert of.own_earlier().tolist() == [before, before]
    assert (of.plain.own_open, of.plain.own_last) == (of.own_open.tolist(), of.own_last.tolist())


def test_only_four_hours_of_a_moved_day_are_looked_at():
    trips = movable(100.0, later=1)
    late = year(trips, shut(trips, 0, [0, 1, 2, 25, 26]))
    assert late.ends[0].outcome is Outcome.REFUSED      # slots 25 and 26 are all that its window has left
    wide = replace(trips, last_slot=np.full(4 // 2, 24 + 8), slots=36)
    third = year(wide, shut(wide, 0, [*range(9), 25, 26, 27]))
    assert third.legs[0].depart_h == 99.0 + 28.0
    fifth = year(wide, shut(wide, 0, [*range(9), 25, 26, 27, 28]))
    assert (fifth.ends[0].outcome, fifth.ends[0].reason) == (Outcome.REFUSED, Reason.CEILING)


def test_an_earlier_day_is_taken_only_when_the_own_one_looks_bad():
    trips = movable(100.0, earlier=1)
    looks_bad = all_go(trips, early_look=np.array([True, False]))
    assert year(trips).legs[0].depart_h == 100.0
    log = year(trips, looks_bad)
    assert [leg.depart_h for leg in log.legs] == [76.0, 81.0]
    assert log.ends[0].marks == Mark.MOVED


def leaving_the_evening_before():
    """A trip planned for eight, from five on or from four in the afternoon before: slots 0 to 3 and 13 to 18."""
    trips = schedule_of(out_and_back())
    return replace(trips, evening_slots=np.array([13]), start_h=trips.start_h - np.array([13.0, 0.0]),
                   planned_slot=np.array([16, 3]), last_slot=np.array([19, 9]), slots=21)


@pytest.mark.parametrize(("early", "evening", "shut_slots", "departs_h", "nights"), [
    (False, True, [], 100.0, 0),                # its own hour looks good
    (True, False, [], 97.0, 0),                 # bad for what no forecast says: the early morning
    (True, True, [], 84.0, 1),                  # bad weather ahead: off at four in the afternoon
    (True, True, [0, 1, *range(4, 13)], 86.0, 1),
    (True, True, range(13), 97.0, 0)])          # the evening is no better
def test_who_must_be_there_leaves_the_evening_before_bad_weather(early, evening, shut_slots, departs_h, nights):
    trips = leaving_the_evening_before()
    looks = {"early_look": np.array([early, False]), "evening_look": np.array([evening, False])}
    log = year(trips, shut(trips, 0, shut_slots, decisions=all_go(trips, **looks)))
    (end,) = log.ends
    assert [leg.depart_h for leg in log.legs] == [departs_h, 105.0]
    assert (end.nights_rested, end.rested_h) == (0, 0.0)     # nobody slept on the way of a leg
    assert (end.nights_forced, end.marks, end.outcome) == (nights, Mark.MOVED if nights else 0, Outcome.COMPLETED)


def test_a_trip_that_may_be_dropped_goes_a_week_later():
    trips = movable(100.0, later=7, step=7)
    log = year(trips, shut(trips, 0, range(3)))
    assert [leg.depart_h for leg in log.legs] == [268.0, 273.0]


def test_a_day_in_the_shop_moves_a_trip_too():
    trips = movable(4990.0, 5010.0, later=2)
    log = year(trips, upkeep=replace(SOUND, annual_from_h=5005.0, annual_due_h=5005.0, annual_down_h=30.0))
    assert [end.marks for end in log.ends] == [0, Mark.MOVED]
    assert log.legs[2].depart_h == 5035.0    # the annual lasts until then; the next day's hours begin at 5034


def test_a_trip_that_finds_no_day_is_refused_for_what_stopped_it_on_its_own():
    trips = movable(100.0, later=1)
    decisions = shut(trips, 0, range(3))
    decisions = shut(trips, 0, range(3, 30), Reason.ICING, decisions)
    (end,) = year(trips, decisions).ends
    assert (end.outcome, end.reason, end.marks) == (Outcome.REFUSED, Reason.CEILING, 0)


def test_a_booking_moved_within_the_window_leaves_fewer_days_to_move_to():
    trips = movable(100.0, later=2)
    booked = replace(trips, planned_slot=trips.planned_slot + 25)    # a day and an hour later than asked
    log = year(booked, shut(booked, 0, range(26, 50)))
    assert [leg.depart_h for leg in log.legs] == [149.0, 154.0]      # slot 50, the last of the window; no third day
    full = year(booked, shut(booked, 0, range(26, 54)))
    assert full.ends[0].outcome is Outcome.REFUSED


@pytest.mark.parametrize(("until_h", "outcome", "legs", "reached"), [
    (101.0, Outcome.BROKEN_OFF, 1, 0), (101.25, Outcome.BROKEN_OFF, 1, 0),      # before it lands, and as it would
    (101.5, Outcome.BROKEN_OFF, 2, 1), (106.25, Outcome.BROKEN_OFF, 2, 1), (106.5, Outcome.COMPLETED, 2, 1)])
def test_what_would_come_at_the_end_of_looking_does_not_happen(until_h, outcome, legs, reached):
    log = year(schedule_of(out_and_back()), until_h=until_h)
    (end,) = log.ends
    assert (end.outcome, len(log.legs), end.reached) == (outcome, legs, reached)
    assert end.otherwise == (outcome is Outcome.BROKEN_OFF)


def test_the_shop_keeps_an_aircraft_whose_visit_goes_beyond_the_end_of_looking():
    trips = schedule_of(out_and_back(), out_and_back(110.0))
    oiled = replace(SOUND, oil_interval_h=1.0)
    log = year(trips, upkeep=oiled, until_h=120.0)
    assert [end.outcome for end in log.ends] == [Outcome.COMPLETED, Outcome.REFUSED]
    assert [(row.kind, row.start_h) for row in log.shop] == [("oil_change", 106.25)]
