"""A study folder of one's own, and a client that has been let in."""

from __future__ import annotations

import shutil

import pytest
from page_cases import NoJob, let_in

from missionsim.page.routes import Page
from missionsim.page.study_folder import StudyFolder
from missionsim.study.inputs.files import demo_folder


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


@pytest.fixture
def client(page):
    return let_in(page)


@pytest.fixture
def shared_page(demo):
    return Page(demo, NoJob())


@pytest.fixture
def shared(shared_page):
    return let_in(shared_page)
