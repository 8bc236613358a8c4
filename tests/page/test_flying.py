"""The flying process without a process: flying ahead gives way, what was flown ahead is not flown again, two views."""

from __future__ import annotations

from dataclasses import replace

import pytest
from study_cases import small_study

from missionsim.page.flying import CalledOffError, Flights, Order
from missionsim.study.compare.kept_flights import KeptFlights


@pytest.fixture
def small(monkeypatch):
    """Let every order be of a small study; return what may be changed of it."""
    held = {"study": small_study(trips=3)}
    monkeypatch.setattr("missionsim.study.inputs.load_study.load_study", lambda path: held["study"])
    return held


@pytest.fixture
def flown(monkeypatch):
    """Count the chunks that are flown."""
    count = []
    real = KeptFlights.fly

    def fly(self, prepared, chunk):
        found = real(self, prepared, chunk)
        count.append((chunk, found))
        return found

    monkeypatch.setattr(KeptFlights, "fly", fly)
    return count


def changed(study, digest, **spec):
    """Return a study that its file now says otherwise."""
    return replace(study, spec=study.spec.model_copy(update=spec), hashes={**study.hashes, study.file: digest})


def told(news, key):
    return [n[key] for n in news if key in n]


def test_years_flown_ahead_are_told_at_once_and_not_flown_again(small, flown):
    news = []
    flights = Flights(news.append, lambda: False)
    flights.carry_out(Order("prepare", "study", revision=1))
    assert [chunk for chunk, _ in flown] == [0, 1]
    assert [set(one) for one in news] == [{"reach"}]    # twenty years, and of them nobody is told
    flights.carry_out(Order("fly", "study", 20, 1))
    assert [chunk for chunk, _ in flown] == [0, 1]
    assert [s.years for s in told(news, "screen")] == [20, 20]
    assert told(news, "flown") == [1, 1]


def test_flying_ahead_gives_way_to_another_order(small, flown):
    asked = iter([False, True])
    flights = Flights(lambda news: None, lambda: False, lambda: next(asked))
    flights.carry_out(Order("prepare", "study", revision=1))
    assert [chunk for chunk, _ in flown] == [0]


def test_another_price_flies_nobody_and_another_seed_flies_all(small, flown):
    flights = Flights(lambda news: None, lambda: False)
    flights.carry_out(Order("fly", "study", 20, 1))
    study = small["study"]
    prices = study.spec.prices.model_copy(update={"fuel_usd_per_gal": 9.0})
    small["study"] = changed(study, "b", prices=prices)
    flights.carry_out(Order("fly", "study", 20, 2))
    assert flown[2:] == [(0, 0), (1, 0)]
    small["study"] = replace(changed(study, "c", seed=5), seed=5)
    flights.carry_out(Order("fly", "study", 20, 3))
    assert flown[4:] == [(0, 2), (1, 2)]


def test_a_flight_called_off_ends_between_two_chunks(small, flown):
    flights = Flights(lambda news: None, lambda: len(flown) > 0)
    with pytest.raises(CalledOffError):
        flights.carry_out(Order("fly", "study", 20, 1))
    assert [chunk for chunk, _ in flown] == [0]


@pytest.mark.slow
def test_a_study_over_years_tells_a_year_first_and_keeps_it_beside_the_ownerships(small):
    small["study"] = small_study(trips=3, years=3)
    news = []
    Flights(news.append, lambda: False).carry_out(Order("fly", "study", 20, 1))
    year, owned = told(news, "screen")[-1], told(news, "owned")[-1]
    assert "each standing for all 3 years kept" in year.view
    assert "each kept 3 years and sold" in owned.view
    assert (year.enough, owned.enough) == (True, False)
    assert (year.record.years, owned.record.years) == (1, 3)
