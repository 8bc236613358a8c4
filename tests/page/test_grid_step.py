"""Where each way wins is a step of its own: asked for, told as it goes, called off, gone with the years it was of."""

from __future__ import annotations

import pytest

from missionsim.page.flying import CalledOffError, Flights, Order
from missionsim.page.job import Job
from missionsim.report import grid as told
from missionsim.report.html import Section
from missionsim.study.compare import where_each_wins


@pytest.fixture
def flown(monkeypatch):
    """Flights that have years already, and a grid of two chunks."""
    def with_grid(found, replications=None, workers=1, progress=None):
        progress(10, 20)
        progress(20, 20)
        return f"{found} with its grid"

    monkeypatch.setattr(where_each_wins, "with_grid", with_grid)
    monkeypatch.setattr(told, "grid_section", lambda found: Section("where-each-wins", found))

    def made(called_off):
        news = []
        flights = Flights(news.append, called_off)
        flights._found = "years"
        return flights, news
    return made


def test_the_step_tells_how_far_it_is_and_then_the_grid(flown):
    flights, news = flown(lambda: False)
    flights.carry_out(Order("grid", "."))
    assert [(n["done"], n["wanted"]) for n in news if "wanted" in n] == [(10, 20), (20, 20)]
    assert news[-1]["phase"] == ""
    assert news[-1]["grid"].title == "years with its grid"


def test_the_step_can_be_called_off(flown):
    flights, _ = flown(lambda: True)
    with pytest.raises(CalledOffError):
        flights.carry_out(Order("grid", "."))
    assert flights._found == "years"


def test_further_years_take_grid_and_trip_of_the_former_away():
    job = Job()
    grid = Section("where-each-wins", "Where each wins")
    job._change(grid=grid)
    assert (job.state.grid, job.state.shown) == (grid, 1)
    job._change(done=10)
    assert (job.state.grid, job.state.shown) == (grid, 1)
    job._change(screen=None)
    assert (job.state.grid, job.state.trip, job.state.shown) == (None, None, 2)


def test_without_flown_years_there_is_nothing_to_lay_it_over(client):
    answer = client.post("/grid", json={})
    assert answer.status_code == 422
    assert "nothing has been flown yet" in answer.text
