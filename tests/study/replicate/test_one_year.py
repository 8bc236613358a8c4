"""What must hold in every flown year of the demo, and that candidates leave each other alone."""

from __future__ import annotations

from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from study_cases import fly_chunk

from missionsim.base.words import BIT, Outcome, Purpose, Reason
from missionsim.decide.minima import LOOK_BEFORE_H
from missionsim.money.renting import billed_hours
from missionsim.report.contract import clean
from missionsim.study.compare.compare import chunk_tallies
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import weather_of, year_of
from missionsim.study.replicate.ownership_years import fly_owned
from missionsim.study.replicate.tally import joined_tallies
from missionsim.world.daylight import Daylight
from missionsim.world.random_fields.hours import HOURS, hour_index
from missionsim.world.surface.year import SurfaceYear

CHUNK = range(3)


@pytest.fixture(scope="module")
def prepared():
    study = load_study()
    every_other = replace(study.listed, trips=study.listed.trips[::2])
    return prepare(replace(study, listed=every_other, spec=study.spec.model_copy(update={"trips_are": "logbook"})))


@pytest.fixture(scope="module")
def flown(prepared):
    return fly_chunk(prepared, CHUNK)


def test_every_trip_has_one_end_in_every_replication(prepared, flown):
    wanted = np.tile(np.arange(prepared.schedule.trips), len(CHUNK))
    for candidate in flown:
        np.testing.assert_array_equal(candidate.trips["trip"], wanted)
        assert set(candidate.trips["outcome"]) <= {str(o) for o in Outcome}


def test_no_trip_is_both_flown_and_refused(flown):
    for candidate in flown:
        trips, flights = candidate.trips, candidate.flights
        refused = {(r, t) for r, t, o in zip(trips["replication"], trips["trip"], trips["outcome"], strict=True)
                   if o == Outcome.REFUSED}
        assert not refused & set(zip(flights["replication"], flights["trip"], strict=True))
        assert (trips["reason"][trips["outcome"] == Outcome.REFUSED] != "").all()
        assert (trips["reason"][trips["outcome"] == Outcome.COMPLETED] == "").all()


def test_no_two_flights_of_an_aircraft_overlap_and_each_starts_where_the_last_one_ended(flown):
    for candidate in flown:
        for r in CHUNK:
            mine = {k: v[candidate.flights["replication"] == r] for k, v in candidate.flights.items()}
            ends = mine["depart_h"] + mine["block_h"]
            assert all(b >= a - 1e-6 for a, b in zip(ends[:-1], mine["depart_h"][1:], strict=True))
            # A diversion begins where the flight would have ended, a short way from where it turned.
            assert (mine["from_place"][1:] == mine["to_place"][:-1]).all()


def test_the_shop_and_flights_never_have_the_aircraft_at_once(flown):
    for candidate in flown:
        for r in CHUNK:
            mine = candidate.flights["replication"] == r
            start, end = candidate.flights["depart_h"][mine], (candidate.flights["depart_h"]
                                                               + candidate.flights["block_h"])[mine]
            own = candidate.shop["replication"] == r
            for s, e in zip(candidate.shop["start_h"][own], candidate.shop["end_h"][own], strict=True):
                assert ((end <= s + 1e-6) | (start >= e - 1e-6)).all()


def test_the_ledger_adds_up_to_the_cent(flown):
    for candidate in flown:
        ledger = candidate.ledger
        reps = np.array(CHUNK)
        by_category = ledger.by_category(reps).sum(axis=1)
        np.testing.assert_array_equal(by_category, ledger.net_cost_cents(reps))
        np.testing.assert_array_equal(np.bincount(ledger.replication, ledger.amount_cents, len(CHUNK)), by_category)


def test_fuel_bought_is_fuel_burned_and_what_is_left(flown):
    for candidate in flown:
        flights = candidate.flights
        for r in CHUNK:
            mine = flights["replication"] == r
            bought, burned = flights["fuel_uplift_gal"][mine], flights["fuel_burn_gal"][mine]
            on_board = np.cumsum(bought) - np.cumsum(burned)
            assert (on_board >= -1e-6).all()
            assert (bought >= 0.0).all()


def test_nothing_is_missing_or_infinite(flown):
    for candidate in flown:
        for table in (candidate.flights, candidate.shop):
            for name, values in table.items():
                if values.dtype.kind == "f":
                    assert np.isfinite(values).all(), name
        left = candidate.trips["outcome"] != Outcome.REFUSED
        for name in ("departed_h", "home_h"):
            assert np.isfinite(candidate.trips[name][left]).all()


def test_removing_a_candidate_leaves_the_others_rows_as_they_are(prepared, flown):
    study = prepared.study
    # The first one: places, lanes and weather points are laid out beginning with it.
    fewer = prepare(replace(study, candidates=study.candidates[1:]))
    for candidate, before in zip(fly_chunk(fewer, CHUNK), flown[1:], strict=True):
        for table in ("flights", "trips", "shop"):
            for name, values in getattr(candidate, table).items():
                old, new = getattr(before, table)[name], values
                if name in {"place", "from_place", "to_place"}:
                    old, new = _idents(prepared, old), _idents(fewer, new)
                np.testing.assert_array_equal(new, old, err_msg=f"{candidate.name}: {table}.{name}")
        np.testing.assert_array_equal(candidate.ledger.amount_cents, before.ledger.amount_cents)


def _idents(of, rows):
    return np.array([of.places.airports[int(r)].ident for r in rows])


def test_forecasts_by_index_are_those_of_the_weather(prepared):
    day, whole = weather_of(prepared, 1), SurfaceYear.simulate(prepared.sky.climate, prepared.study.seed, 1)
    _ = whole.latent    # the whole year of every airport
    for gates in prepared.sky.gates[:4]:
        leg, slot = np.nonzero(gates.open_)
        to_place, arrive = prepared.schedule.to_place[leg], gates.hours.arrival_i[leg, slot]
        forecast = gates.ahead.arrival.forecast.of(day.enroute.forecasts)[leg, slot]
        np.testing.assert_array_equal(forecast, whole.forecast_mean(
            to_place, arrive, gates.hours.departure_i[leg, slot] - LOOK_BEFORE_H))
        at = prepared.sky.asked_hours.index[gates.hours.arrival_at[leg, slot]]
        assert (at >= 0).all()
        np.testing.assert_array_equal(day.sky.here.latent[at], whole.latent_at(to_place, arrive))


def test_air_beyond_the_hours_looked_at_is_that_of_the_whole_year(prepared):
    day = weather_of(prepared, 2)
    home, hours = np.zeros(3, dtype=np.int64), np.array([200.5, 3000.2, 8000.9])
    sometimes = prepared.sky.asked_hours.index[home * HOURS + hour_index(hours)]
    assert (sometimes < 0).any()
    whole = SurfaceYear.simulate(prepared.sky.climate, prepared.study.seed, 2)
    _, temperature_c = day.sky.field_air(home, hours)
    row = prepared.sky.airport_row[home]
    every = whole.whole_years().temperature_c
    np.testing.assert_array_equal(temperature_c, every[row, hour_index(hours)])


def test_a_day_pilot_is_on_the_ground_by_civil_dusk():
    study = load_study()
    few = replace(study.listed, trips=study.listed.trips[:24])
    by_day = prepare(replace(study, pilot=study.pilot.model_copy(update={"night": False}),
                             candidates=study.candidates[1:2], listed=few))
    (flown,) = fly_chunk(by_day, range(3))
    flights = {k: v[flown.flights["purpose"] == Purpose.TRIP] for k, v in flown.flights.items()}
    assert len(flights["leg"]) > 50
    days = {}
    for place in {*flights["from_place"].tolist(), *flights["to_place"].tolist()}:
        airport = by_day.places.airports[place]
        days[place] = Daylight.at(airport.latitude_deg, airport.longitude_deg, study.year)
    legs = [(f, t, d, d + b) for f, t, d, b in zip(flights["from_place"].tolist(), flights["to_place"].tolist(),
                                                   flights["depart_h"], flights["block_h"], strict=True)]
    start_dark = [bool(days[f].is_dark(d)) for f, _, d, _ in legs]
    end_dark = [bool(days[t].is_dark(e - 0.5)) for _, t, _, e in legs]
    assert not any(start_dark)
    # Dusk is kept with still-air times; half an hour covers the wind of the day on all but the odd flight.
    assert np.mean(end_dark) < 0.02
    assert (flown.trips["reasons"] & BIT[Reason.DAYLIGHT]).any()


def test_records_are_in_order_of_departure(flown):
    for candidate in flown:
        for r in CHUNK:
            departs = candidate.flights["depart_h"][candidate.flights["replication"] == r]
            assert all(a <= b for a, b in pairwise(departs))
        assert {f.name for f in fields(candidate)} >= {"flights", "trips", "shop", "ledger"}


DEMAND = """
demand:
  - {to: KOMA, per_year: 8}
  - {to: KHYS, per_year: 6, nights: {0: 1, 1: 1}}
  - {to: KDEN, per_year: 4}
"""


def test_years_of_generated_demand_prepared_together_are_those_prepared_alone(tmp_path):
    text = (demo_folder() / "studies" / "buyer.yaml").read_text(encoding="utf-8")
    text = text.replace("../aircraft", str(demo_folder() / "aircraft"))
    start, end = text.index("trips: ../trips"), text.index("candidates:")
    (tmp_path / "study.yaml").write_text(text[:start] + DEMAND + text[end:], encoding="utf-8")
    study = load_study(str(tmp_path / "study.yaml"))
    study = replace(study, candidates=study.candidates[1:3])
    together = chunk_tallies(prepare(study), range(2), 0)
    for replication in range(2):
        own = prepare(study, study.trips(replication))
        for tally, entrant, (flown, _) in zip(together, own.flyers, fly_owned(own, [replication]), strict=True):
            alone = flown.ledger.by_category(np.array([replication]))[0]
            np.testing.assert_array_equal(tally.categories[replication], alone)
            # A renter bills trips of their own years by the days they are away, as those of a list.
            local_h = tally.column("local_block_hours")[replication]
            least = billed_hours(flown.trips, own.books(entrant))
            assert tally.column("rented_hours")[replication] == pytest.approx(least.sum() + local_h)
            assert least.sum() > flown.trips["block_h"].sum()


def test_sums_do_not_depend_on_when_they_are_summed_up(prepared):
    chunks = [chunk_tallies(prepared, range(first, first + 2), 3) for first in (0, 2, 4)]
    at_once = [joined_tallies(parts) for parts in zip(*chunks, strict=True)]
    by_turns = [joined_tallies([joined_tallies([a, b]), c]) for a, b, c in zip(*chunks, strict=True)]
    assert [clean(t) for t in at_once] == [clean(t) for t in by_turns]


def test_what_weather_says_of_legs_serves_every_ownership_of_the_day(prepared):
    day, kept = weather_of(prepared, 1), {}
    for replication in (1, 2):      # other figures are drawn, the weather is the same
        for entrant in prepared.entrants[:2]:
            alone = year_of(entrant, day, replication)
            shared = year_of(entrant, day, replication, kept=kept)
            np.testing.assert_array_equal(shared.decisions.reasons, alone.decisions.reasons)
            assert shared.log.legs == alone.log.legs
    assert len(kept) >= 2
