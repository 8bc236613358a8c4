"""The flying process without a process: flying ahead gives way, what was flown ahead is not flown again, two views."""

from __future__ import annotations

import pickle
from dataclasses import replace
from multiprocessing import Pipe
from threading import Thread

import pytest
from study_cases import small_study

from missionsim.base.errors import MissionsimError
from missionsim.page.beside import Beside, work_beside
from missionsim.page.flying import CalledOffError, Flights, Order
from missionsim.study.compare.kept_flights import KeptFlights
from missionsim.study.prepare import study as study_module

REAL = study_module.prepare


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

    def fly(self, prepared, chunks, each):
        found = real(self, prepared, chunks, each)
        count.append((*chunks, found))
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
    assert [chunk for *chunks, _ in flown for chunk in chunks] == [0, 1]
    assert [set(one) for one in news] == [{"reach"}]    # twenty years, and of them nobody is told
    flights.carry_out(Order("fly", "study", 20, 1))
    assert [chunk for *chunks, _ in flown for chunk in chunks] == [0, 1]
    assert [s.years for s in told(news, "screen")] == [20, 20]
    assert told(news, "flown") == [1, 1]


def test_flying_ahead_gives_way_to_another_order(small, flown):
    asked = iter([False, True])
    flights = Flights(lambda news: None, lambda: False, lambda: next(asked))
    flights.carry_out(Order("prepare", "study", revision=1))
    assert [chunk for *chunks, _ in flown for chunk in chunks] == [0]


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
    assert [chunk for *chunks, _ in flown for chunk in chunks] == [0]


@pytest.fixture
def beside():
    """A second flying process at the other end of a pipe, as a thread: it is handed bytes, as a process is."""
    mine, its = Pipe()
    thread = Thread(target=work_beside, args=(its,), daemon=True)
    thread.start()
    yield Beside(mine)
    mine.close()
    thread.join(10)


def test_two_processes_fly_two_chunks_at_a_time_and_what_comes_of_it_is_the_same(small, flown, beside):
    alone, both = [], []
    Flights(alone.append, lambda: False).carry_out(Order("fly", "study", 40, 1))
    Flights(both.append, lambda: False, beside=beside).carry_out(Order("fly", "study", 40, 1))
    assert [chunks for *chunks, _ in flown] == [[0], [1], [2], [3], [0, 1], [2, 3]]
    assert told(both, "done") == [0, 20, 40]
    first, second = (told(news, "screen")[-1] for news in (alone, both))
    assert (first.years, second.years) == (40, 40)
    assert pickle.dumps(first.sliders) == pickle.dumps(second.sliders)
    assert first.table == second.table


def test_a_second_process_that_is_gone_leaves_all_to_the_first():
    mine, its = Pipe()
    its.close()
    two = Beside(mine)
    assert two.at_once == 2
    assert two.each(pow, 2, [3, 4]) == [8, 16]
    assert two.at_once == 1
    assert two.each(pow, 2, [5, 6]) == [32, 64]


def test_what_all_jobs_share_is_handed_over_once_and_a_fault_beside_is_told_here(beside):
    shared = Fussy()
    assert beside.each(Fussy.plus, shared, [1, 2]) == [1, 2]
    assert beside.each(Fussy.plus, shared, [3, 4]) == [3, 4]
    assert shared.handed_over == 1
    with pytest.raises(MissionsimError, match="not nine"):
        beside.each(Fussy.plus, shared, [3, 9])
    assert beside.each(Fussy.plus, shared, [5, 6]) == [5, 6]     # no answer is left over for the next one


class Fussy:
    """Counts how often it is handed over, and takes no nine."""

    handed_over = 0

    def __getstate__(self):
        self.handed_over += 1
        return {}

    def plus(self, job):
        if job == 9:
            raise MissionsimError("not nine")
        return job


def test_what_is_taken_back_is_laid_out_no_more(small, flown, monkeypatch):
    laid_out = []
    monkeypatch.setattr(study_module, "prepare", lambda study, rental: laid_out.append(study.seed) or REAL(
        study, rental=rental))
    flights = Flights(lambda news: None, lambda: False)
    first = small["study"]
    for study in (first, replace(changed(first, "b", seed=5), seed=5), changed(first, "c")):
        small["study"] = study
        flights.carry_out(Order("prepare", "study", 20, 1))
    assert laid_out == [first.seed, 5]
    assert sum(found for *_, found in flown) == 8      # two aircraft, two chunks, two studies


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
