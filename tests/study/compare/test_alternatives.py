"""What else one could do: by hand on two trips, and as identities on a flown study."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.base.errors import InputError
from missionsim.base.words import Mark
from missionsim.money.other_ways import other_ways
from missionsim.money.renting import least_hours
from missionsim.study.compare.alternatives import NONE, RENT, SHARE, alternatives, as_asked, does_the_job
from missionsim.study.compare.compare import compare, flown_tallies
from missionsim.study.compare.measures import common_hours, differences, equal_hours, hours_usd
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.rented_year import rental_rate


@pytest.fixture(scope="module")
def prepared():
    return prepare(small_study(trips=8), rental=True)


@pytest.fixture(scope="module")
def tallies(prepared):
    return flown_tallies(prepared, 4, keep=4)


@pytest.fixture(scope="module")
def every(prepared, tallies):
    return alternatives(tallies[:-1], tallies[-1], 0, prepared.study.assumptions)


def test_having_no_aircraft_is_every_trip_by_other_means(prepared, every):
    ways = other_ways(prepared.terms, prepared.prices, prepared.study.assumptions)
    usd = np.where(ways.given_up, prepared.terms.optional_value_usd, ways.usd).sum()
    none = every.of(NONE)
    assert none.net_usd == pytest.approx(usd, rel=1e-5)
    assert (none.made == 0).all()
    hours = (np.where(ways.given_up, 0.0, ways.hours) * prepared.terms.people).sum()
    assert none.hours == pytest.approx(hours, rel=1e-5)


def test_every_wanted_trip_is_made_one_way_or_another_or_given_up(tallies):
    for part in tallies:
        whole = (part.column("completed") + part.column("broken_off") + part.column("trips_by_other_means")
                 + part.column("trips_given_up"))
        assert whole == pytest.approx(part.column("trips_wanted"))
        against = part.column("trips_faster") + part.column("trips_equal") + part.column("trips_slower")
        assert against == pytest.approx(part.column("completed"))


def test_dollars_of_trips_are_those_of_the_ledger(tallies):
    for part in tallies:
        other = part.trips.sums(part.trips.car_usd + part.trips.airline_usd + part.trips.lost_usd, part.replications)
        booked = part.trips.sums(part.trips.flown_usd, part.replications) + other
        assert booked == pytest.approx(part.trip_cents.sum(axis=1) / 100.0, abs=0.5)


def test_what_an_hour_saved_costs_holds_nothing_of_what_hours_are_valued_at():
    flown = flown_tallies(prepare(small_study(trips=8, value_of_time_usd_per_h=60.0)), 6)
    valued = np.stack([hours_usd(part) for part in flown])
    assert (valued > 0.0).all()
    # The faster of the two is 1,000 dollars dearer every year, and 60 dollars for each of its hours on top in net cost.
    found = {d["measure"]: d["mean"] for d in differences(flown, valued + np.array([[1_000.0], [0.0]]))}
    assert found["net_cost_usd"] == pytest.approx(1_000.0 + (valued[0] - valued[1]).mean())
    assert found["door_to_door_hours"] < 0.0
    assert found["extra_usd_per_hour_saved"] == pytest.approx(1_000.0 / -found["door_to_door_hours"])


def test_flight_and_block_hours_are_those_of_their_names(tallies):
    part = tallies[0]
    flights = part.kept.flights
    for measure, column in (("flight_hours", "flight_h"), ("block_hours", "block_h"), ("fuel_gal", "fuel_burn_gal")):
        by_hand = [flights[column][flights["replication"] == r].sum() for r in range(4)]
        assert part.column(measure) == pytest.approx(by_hand)
    assert (part.column("block_hours") > part.column("flight_hours")).all()


def test_hours_are_compared_over_the_same_trips(tallies):
    a, b = tallies[0], tallies[1]
    both = a.trips.made & b.trips.made
    assert common_hours(a, b)[0] == pytest.approx(
        a.trips.sums(np.where(both, a.trips.flown_h * a.trips.people, 0.0), a.replications))
    gone = replace(a, trips=replace(a.trips, given_up=np.ones_like(a.trips.given_up)))
    assert (equal_hours([gone, b]) == 0.0).all()


def test_the_value_of_an_hour_that_equals_not_owning_makes_both_cost_the_same(every):
    for one in every.every:
        if one.kind == "own" and (at := every.equals_not_owning(one.name)["at"]) is not None:
            assert one.at(at).mean() == pytest.approx(every.none.at(at).mean())
            assert one.at(at + 50.0).mean() < every.none.at(at + 50.0).mean()


def test_a_share_pays_a_third_of_what_comes_anyway_and_loses_trips(every):
    share = every.of(SHARE)
    assert share.estimate
    assert share.made == pytest.approx(0.89 * every.every[0].made)
    assert share.net_usd.mean() < every.every[0].net_usd.mean()


def test_trips_that_must_be_made_are_lost_where_no_light_aircraft_makes_them(prepared, tallies, every):
    """With none all are; of a share those of its aircraft, and one of nine of those it made, when others have it."""
    must = sum(trip.must_go for trip in prepared.table)
    assert must > 0
    part = tallies[0].trips
    assert every.of(NONE).must_go_lost.tolist() == [must] * 4
    made = [int((part.made & part.must_go & (part.replication == r)).sum()) for r in range(4)]
    assert every.every[0].must_go_lost.tolist() == [must - n for n in made]
    assert every.of(SHARE).must_go_lost == pytest.approx([must - 0.89 * n for n in made])
    rent = tallies[-1].trips
    assert every.of(RENT).must_go_lost.sum() == (rent.must_go & ~rent.made).sum()


def test_what_is_asked_of_candidates_is_asked_of_the_rented_aircraft():
    study = small_study(trips=8)
    asked = replace(study, spec=study.spec.model_copy(update={"least_completed_share": 0.999}))
    found = compare(asked, 3)
    share = found.rented.tally.column("completed").sum() / found.rented.tally.column("trips_wanted").sum()
    assert share < 0.9
    assert (found.rented.does_the_job == "yes") is False
    assert found.rented.why_not.startswith(f"makes {100.0 * share:.0f} % of the trips")


def test_efficient_steps_start_at_the_cheapest_and_shares_estimated_take_no_part(every):
    found = every.efficient()
    flown = [x for x in every.every if not x.estimate]
    assert found[0]["usd"] == pytest.approx(min(x.usd.mean() for x in flown))
    hours = [step["hours"] for step in found]
    assert hours == sorted(hours, reverse=True)
    assert all(step["name"] != every.of(SHARE).name for step in found)


def test_an_aircraft_that_makes_too_few_trips_does_not_do_the_job(tallies):
    part = tallies[0]
    share = part.column("completed").sum() / part.column("trips_wanted").sum()
    assert does_the_job(part, None, []) == ("yes", "")
    assert does_the_job(part, 0.05, [])[0] == "yes"
    assert does_the_job(part, 1.0, [])[0] == ("no" if share < 1.0 else "yes")
    never = np.array([part.by_trip[k, :2].sum() == 0 for k in range(len(part.by_trip))])
    verdict, why = does_the_job(part, None, [True] * len(never))
    assert verdict == ("no" if never.any() else "yes")
    assert ("must be possible" in why) == bool(never.any())


def test_who_does_not_do_the_job_never_leads():
    study = small_study(trips=8)
    asked = replace(study, spec=study.spec.model_copy(update={"least_completed_share": 0.999}))
    found = compare(asked, 3)
    jobs = [r.does_the_job for r in found.results]
    if "yes" in jobs or "too close to tell" in jobs:
        assert jobs[found.lead] != "no"


def test_a_trip_not_made_as_asked_goes_the_other_way(tallies):
    """Mark one trip that was made: it is a trip fewer, and costs what the other way costs more than flying it did."""
    part = tallies[0]
    made = np.flatnonzero(part.trips.made)
    marks = np.zeros(len(part.trips.made), dtype=np.uint8)
    none = replace(part, trips=replace(part.trips, marks=marks))
    marks = marks.copy()
    marks[made[0]] = int(Mark.ADAPTED)
    one = replace(part, trips=replace(part.trips, marks=marks))
    net = part.column("net_cost_cents") / 100.0
    (before,), (after,) = as_asked([none], net[None]), as_asked([one], net[None])
    assert before.usd == pytest.approx(net)
    assert before.made == pytest.approx(part.column("completed"))
    t, row = part.trips, np.searchsorted(part.replications, part.trips.replication[made[0]])
    assert (before.made - after.made)[row] == 1.0
    expected = (t.other_value_usd if np.isfinite(t.other_value_usd[made[0]]) else t.other_usd)[made[0]]
    assert (after.usd - before.usd)[row] == pytest.approx(expected - t.flown_usd[made[0]], abs=0.01)


def test_each_day_away_is_charged_and_weekends_more(assumptions):
    """Thursday 4 June 2026 with three nights: Thursday, Friday at 2 h, Saturday, Sunday at 3 h: 10 h, by hand."""
    first = np.array(["2026-06-04", "2026-06-04", "2026-06-06"], dtype="datetime64[D]")
    found = least_hours(first, np.array([3, 0, 1]), assumptions)
    assert found.tolist() == [10.0, 2.0, 6.0]


def test_the_study_names_the_class_it_would_rent():
    """The rate is that of the class: 210 dollars an hour, not the 175 of the four-seat where none is named."""
    study = small_study(trips=4).with_(rent_aircraft="four-seat retractable, 180-200 hp")
    ready = prepare(study, rental=True)
    flyer = ready.rental.flyers[0]
    assert flyer.candidate.name == "rented four-seat retractable, 180-200 hp"
    key, entry = rental_rate(flyer)
    assert study.assumptions[key][entry] == 210.0
    assert rental_rate(prepare(small_study(trips=4), rental=True).rental.flyers[0]) == ("keeping.rent_usd_per_h", "F4")


def test_what_cannot_be_rented_is_told():
    study = small_study(trips=4)
    with pytest.raises(InputError, match=r"rent_aircraft.*neither a class nor a file"):
        study.with_(rent_aircraft="four-seat retractible")


def test_without_a_rental_there_is_none():
    study = small_study(trips=4)
    alone = replace(study, spec=study.spec.model_copy(update={"rent_available": False}))
    assert compare(alone, 2).alternatives.of(RENT) is None
