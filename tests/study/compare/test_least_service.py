"""A family of three with a two-seater beside a four-seater: cheapest by money alone, and no answer to their trips."""

from __future__ import annotations

import pytest

from missionsim.report.answer import answer
from missionsim.report.slider_years import slider_years
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.load_study import load_study

TRIPS = """purpose,to,date,time,return,return_time,adults,children
alone to the store,KHSI,2025-03-04,09:00,2025-03-04,16:00,1,0
the two of us,KLNK,2025-04-12,09:00,2025-04-13,15:00,2,0
family,KLNK,2025-05-10,09:00,2025-05-11,15:00,2,1
family,KSLN,2025-06-07,09:00,2025-06-08,15:00,2,1
family,KLBF,2025-07-05,09:00,2025-07-06,15:00,2,1
family,KSLN,2025-08-09,09:00,2025-08-10,15:00,2,1
"""
AIRCRAFT = """name: {name}
class: {words}
identity: {{kind: "{words}", year: 1980}}
prices: {{asking_price_usd: {price}}}
"""
STUDY = """study: a family of three
home: KGRI
year: 2025
replications: 12
trips: trips.csv
trips_are: logbook
local_hours_per_year: 0
least_completed_share: {share}
rent_available: no
pilot: {{rating: instrument, night: true, instrument_current: true, total_h: 400}}
candidates: [two.yaml, four.yaml]
"""


def found_at(folder, share: float):
    (folder / "trips.csv").write_text(TRIPS, encoding="utf-8")
    for file, name, words, price in (("two.yaml", "Two-seater", "two-seat trainer", 45_000),
                                     ("four.yaml", "Four-seater", "four-seat fixed gear, 180-200 hp", 150_000)):
        (folder / file).write_text(AIRCRAFT.format(name=name, words=words, price=price), encoding="utf-8")
    (folder / "study.yaml").write_text(STUDY.format(share=share), encoding="utf-8")
    return compare(load_study(folder / "study.yaml"))


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    return found_at(tmp_path_factory.mktemp("family"), 0.6)


def test_the_two_seater_costs_less_and_loses_by_the_service_rule(found):
    two, four = found.results
    assert two.measures["net_cost_usd"]["mean"] < four.measures["net_cost_usd"]["mean"]
    # Four of six trips have three people on board: it can make two of six, a third, where three fifths are asked for.
    assert two.tally.column("completed").max() <= 2
    assert (two.does_the_job, found.names[found.lead]) == ("no", "Four-seater")
    assert found.confidence_mean_best["net_cost_usd"]["Two-seater"] == 0.0
    said = answer(found).verdict
    assert "Two-seater makes" in said
    assert "stands apart" in said
    assert "Two-seater does the trips for clearly the least money" not in said


def test_what_does_not_do_the_job_is_nowhere_the_cheaper_rival(found, tmp_path):
    assert found.offers == ()  # the four-seater has no rival left
    assert found.tipping_points == ()
    assert all(set(bar.low_usd) == {"Four-seater"} for bar in found.bars)
    assert slider_years(found)["out"] == {"Two-seater": found.results[0].why_not}
    free = found_at(tmp_path, 0.05)
    assert {offer.candidate: offer.rival for offer in free.offers} == {"Two-seater": "Four-seater",
                                                                      "Four-seater": "Two-seater"}
    assert slider_years(free)["out"] == {}


def test_without_the_rule_its_trips_stand_in_the_same_sentence_as_its_price(tmp_path):
    found = found_at(tmp_path, 0.05)
    assert found.names[found.lead] == "Two-seater"
    said = answer(found).verdict
    if "for clearly the least money" in said:
        assert "fewer than the Four-seater" in said.split(":")[0]
