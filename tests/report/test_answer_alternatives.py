"""What the answer says of alternatives, from four of them made by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.report import answer_alternatives as said
from missionsim.report.wording import each_usd
from missionsim.study.compare.alternatives import NONE, OWN, RENT, SHARE, Alternative, Alternatives
from missionsim.study.replicate.tally import MEASURES

OFF = np.array([-1.0, 0.0, 0.0, 1.0])
"""By year, so that intervals have a width."""


def way(kind, name, usd, hours, valued_h, made):
    nothing = np.zeros(4)
    return Alternative(kind, name, usd + 100.0 * OFF, nothing, nothing, hours + OFF, hours + OFF, valued_h + OFF,
                       hours + np.roll(OFF, kind == OWN), np.full(4, made), *[nothing] * 7)


def valued_at(usd_per_h):
    """Return what is asked about a study that values an adult's hour so."""
    return SimpleNamespace(prices=SimpleNamespace(value_of_time_usd_per_h=usd_per_h))


def all_of(own_h=430.0, own_valued_h=300.0):
    return Alternatives((way(OWN, "Alpha", 31_000.0, own_h, own_valued_h, 7.0),
                         way(RENT, "Rented", 20_000.0, 440.0, 330.0, 12.0),
                         way(NONE, "no aircraft", 7_000.0, 440.0, 370.0, 0.0)))


@pytest.mark.parametrize(("own_h", "expected"), [
    (400.0, "It saves 40 hours of all travellers together; with the pilot's at the controls counted half, as they are "
            "valued, it saves 70 hours"),
    (470.0, "It takes 30 hours of all travellers together more; with the pilot's at the controls counted half, as "
            "they are valued, it saves 70 hours"),
    (440.0, "Whether it saves hours of all travellers together cannot be told; with the pilot's at the controls "
            "counted half, as they are valued, it saves 70 hours"),
])
def test_hours_are_told_plain_and_as_they_are_valued(own_h, expected):
    other = all_of(own_h)
    assert said._hours(other.every[0], other) == expected


def test_a_lead_that_something_beats_in_both_is_told_so():
    comparison = SimpleNamespace(lead=0, results=[SimpleNamespace(name="Alpha")], prepared=valued_at(0.0))
    assert said._beaten(comparison, all_of(470.0)) == (
        "The Alpha is beaten in both dollars and hours of all travellers by the Rented (11,000 dollars and 30 hours "
        "less) and having no aircraft (24,000 dollars and 30 hours less).")
    assert said._beaten(comparison, all_of(440.5)) == ""  # half an hour, which may be chance
    guessed = [replace(x, estimate=x.kind != OWN) for x in all_of(470.0).every]
    assert said._beaten(comparison, Alternatives(tuple(guessed))) == ""


def test_a_step_of_which_only_the_dollars_are_sure_tells_them():
    told = said._steps(all_of(own_h=439.8))
    assert told == (
        "Nothing flown here beats these in both dollars and hours of all travellers: having no aircraft and the Alpha.",
        "The Alpha costs 24,000 dollars more than having no aircraft; whether it takes all travellers fewer hours "
        "cannot be told.")
    few = Alternatives(all_of(own_h=439.8).every, least_rows=9)
    assert said._steps(few)[1] == (
        "The years flown tell the Alpha and having no aircraft apart neither in dollars nor in hours.")


def test_a_step_of_which_only_the_hours_are_sure_tells_them():
    own, _, none = all_of(own_h=400.0).every
    unsure = replace(own, usd=none.usd + np.array([-900.0, 1_000.0, -900.0, 1_200.0]))
    assert said._steps(Alternatives((unsure, none)))[1] == (
        "The Alpha saves all travellers 40 hours against having no aircraft; whether it costs more cannot be told.")


@pytest.mark.parametrize(("usd", "shown"), [(28.4, "28"), (99.4, "99"), (347.0, "350"), (3_158.0, "3,160"),
                                            (7_019.0, "7,020"), (None, "–")])
def test_the_price_of_an_hour_is_rounded_as_that_of_a_trip(usd, shown):
    assert each_usd(usd) == shown


def test_where_hours_are_valued_a_trip_is_priced_without_them_and_both_sums_are_named():
    # 24,000 dollars more for 7 trips; at 60 dollars 70 hours, as valued, are 4,200 less.
    known = all_of(400.0)
    every = tuple(replace(x, time_usd=60.0 * x.valued_hours, local_usd=np.full(4, 0.0)) for x in known.every)
    lead = SimpleNamespace(name="Alpha", measures={"local_hours": {"mean": 0.0}})
    plain = SimpleNamespace(lead=0, results=[lead], alternatives=known, prepared=valued_at(0.0))
    assert said.against_not_owning(plain).startswith(
        "Owning it costs 24,000 dollars a year more than having none, 3,430 dollars for each trip it makes. It saves")
    priced = SimpleNamespace(lead=0, results=[lead], alternatives=replace(known, every=every), prepared=valued_at(60.0))
    assert said.against_not_owning(priced).startswith(
        "Owning it costs 19,800 dollars a year more than having none, hours at 60 dollars an adult's in both. In "
        "dollars alone, hours not valued, it costs 24,000 more, 3,430 dollars for each trip it makes. It saves")
    dear = SimpleNamespace(lead=0, results=[lead], prepared=valued_at(400.0), alternatives=replace(
        known, every=tuple(replace(x, time_usd=400.0 * x.valued_hours) for x in known.every)))
    assert said.against_not_owning(dear) == (
        "That is less than having no aircraft costs, hours at 400 dollars an adult's in both. In dollars alone, hours "
        "not valued, it costs 24,000 more, 3,430 dollars for each trip it makes.")
    # A step's price is the same, whatever hours are valued at.
    steps = [said._steps(x.alternatives, x is priced) for x in (plain, priced)]
    assert steps[0][1:] == steps[1][1:]
    assert "(dollars alone, here and in what follows: hours not valued)" in steps[1][0]


def test_an_estimate_that_beats_what_nothing_flown_beats_is_told():
    known = all_of(own_h=420.0)
    third = replace(way(SHARE, "a third of Alpha", 15_000.0, 425.0, 320.0, 6.0), estimate=True)
    told = said._steps(Alternatives((*known.every, third)))[0]
    assert told.endswith("having no aircraft and the Alpha.")       # dearer than none, slower than the whole
    rented = way(RENT, "Rented", 20_000.0, 430.0, 330.0, 12.0)
    other = Alternatives((known.every[0], rented, known.every[2], third))
    assert said._steps(other)[0] == (
        "Nothing flown here beats these in both dollars and hours of all travellers: having no aircraft, the Rented "
        "and the Alpha. By an estimate, a third of the Alpha beats the Rented in both.")
    even = replace(third, equal_hours=rented.equal_hours + 10.0 * OFF)  # hours that may be chance
    assert "estimate" not in said._steps(Alternatives((known.every[0], rented, known.every[2], even)))[0]


def test_trips_that_no_car_or_airline_makes_on_their_dates_are_counted_and_shown(comparison):
    part = comparison.results[comparison.lead].tally
    trips = replace(part.trips, other_on_dates=np.zeros(len(part.trips.made), dtype=bool))
    table = part.table.copy()
    table[:, MEASURES.index("trips_off_dates")] = 1.5
    lead = replace(comparison.results[comparison.lead], tally=replace(part, trips=trips, table=table))
    late = replace(comparison, results=tuple(lead if k == comparison.lead else r
                                             for k, r in enumerate(comparison.results)))
    every = (~trips.other_given_up).sum() / len(part.replications)
    assert said._off_dates(late).startswith(
        f"By car or airline {every:.1f} trips a year cannot keep their dates and take nights more; with the ")
    assert said._off_dates(late).endswith(" 1.5 are left so.")
    on_time = replace(trips, other_on_dates=~trips.other_on_dates)
    assert said._off_dates(replace(comparison, results=tuple(
        replace(r, tally=replace(r.tally, trips=on_time)) for r in comparison.results))) == ""


@pytest.mark.parametrize(("extra", "local", "rest"), [(28_940.0, 945.0, "28,000 dollars more"),
                                                      (38_600.0, 1_600.0, "37,000 dollars more"),
                                                      (300.0, 960.0, "700 dollars less")])
def test_what_is_left_without_local_flying_is_what_a_reader_works_out(extra, local, rest):
    own = SimpleNamespace(local_usd=np.full(4, local))
    lead = SimpleNamespace(measures={"local_hours": {"mean": 10.0}})
    assert said._local(own, lead, extra).endswith(f"without them it is {rest}.")
