"""A study folder of one's own, and a client that has been let in."""

from __future__ import annotations

import shutil

import pytest
from starlette.testclient import TestClient

from missionsim.page.guard import Guard
from missionsim.page.job import State
from missionsim.page.routes import Page, application
from missionsim.page.study_folder import StudyFolder
from missionsim.study.inputs.files import demo_folder

TOKEN, PORT = "a-token-nobody-guesses", 4711
HOST = f"http://127.0.0.1:{PORT}"


class NoJob:
    """Stands in for the flying process: keeps what it was asked."""

    def __init__(self):
        self.asked, self.state = [], State()

    def prepare(self, study_file, revision):
        self.asked.append(("prepare", revision))

    def fly(self, study_file, years, revision):
        self.asked.append(("fly", years))

    def share(self, kind, study_file, years, revision):
        self.asked.append(("share", kind, years))

    def cancel(self):
        self.asked.append(("cancel",))

    def ask(self, order):
        self.asked.append((order.what,))


@pytest.fixture
def empty(tmp_path, monkeypatch):
    """Return a new study in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return StudyFolder.opened(None)


@pytest.fixture
def demo(tmp_path):
    """Return the demo's buyer study, copied."""
    folder = shutil.copytree(demo_folder(), tmp_path / "demo")
    return StudyFolder.opened(folder / "studies" / "buyer.yaml")


@pytest.fixture
def page(empty):
    return Page(empty, NoJob())


def let_in(page):
    made = TestClient(Guard(application(page), TOKEN, PORT), base_url=HOST, headers={"Origin": HOST})
    made.get(f"/?key={TOKEN}")
    return made


@pytest.fixture
def client(page):
    return let_in(page)


@pytest.fixture
def shared_page(demo):
    return Page(demo, NoJob())


@pytest.fixture
def shared(shared_page):
    return let_in(shared_page)
