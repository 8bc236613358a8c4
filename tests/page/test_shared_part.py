"""Partnership and hire in the page: files that extend the study, judged by the study's own rules."""

from __future__ import annotations

import shutil

import pytest

from missionsim.page.flying import Flights, Order
from missionsim.page.job import State
from missionsim.page.shared_file import SharedFile
from missionsim.page.study_folder import StudyFolder
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study

HOSTILE = '"><script>alert(1)</script>'


VET = {"name": "vet", "demand.0.to": "KLBF", "demand.0.per_year": "6"}
DEALER = {"to": "KOMA", "per_year": "12", "passengers": "1: 0.5, 2: 0.5"}


def add(client, kind, path, cells):
    return client.post("/change/entry", json={"card": kind, "path": path, "cells": cells}).status_code


def put(client, kind, path, text):
    return client.post("/change/value", json={"card": kind, "path": path, "text": text}).status_code


def test_a_partnership_begins_with_the_study_and_grows(shared, shared_page):
    before = shared_page.study.file.path.read_bytes()
    assert shared.post("/shared/partners/begin", json={}).status_code == 200
    file = shared_page.folder / "buyer_partnership.yaml"
    assert [m.name for m in load_study(file).members] == ["me"]
    assert [add(shared, "partners", "members.people", VET) for _ in range(2)] == [200, 422]    # names differ
    assert add(shared, "partners", "members.people.1.demand", {"to": "North Platte, NE", "per_year": "2"}) == 200
    for path, text, status in (("members.booking.rule", "rotating_week", 200), ("members.booking.rule", "lottery", 422),
                               ("members.people.1.pilot.rating", "visual", 200), ("members.sizes", "1 2 3", 200),
                               ("members.people.1.notice_days", "3 / 2 / 1", 422)):
        assert put(shared, "partners", path, text) == status
    found = load_study(file)
    assert [(m.name, m.pilot.rating) for m in found.members] == [("me", "instrument"), ("vet", "visual")]
    assert found.spec.members.sizes == (1, 2, 3)
    assert shared_page.study.file.path.read_bytes() == before
    assert "rotating week" in shared.get("/shared/partners").text


def test_hire_begins_with_terms_and_needs_a_request(shared, shared_page):
    assert shared.post("/shared/rates/begin", json={}).status_code == 200
    assert shared.post("/shared/rates/fly", json={}).status_code == 422
    assert add(shared, "rates", "outside.requests", DEALER) == 200
    assert add(shared, "rates", "outside.requests", DEALER | {"kind": "glider"}) == 422
    assert put(shared, "rates", "outside.rate_usd_per_h", "600") == 200
    assert shared.post("/shared/rates/fly", json={}).status_code == 200
    assert shared_page.job.asked[-1] == ("share", "rates", 20)
    found = load_study(shared_page.folder / "buyer_hire.yaml")
    assert (found.spec.outside.rate_usd_per_h, len(found.requests)) == (600.0, 1)


def test_a_study_that_is_a_partnership_is_edited_itself(tmp_path):
    folder = shutil.copytree(demo_folder(), tmp_path / "demo")
    study = StudyFolder.opened(folder / "studies" / "partnership.yaml")
    use = SharedFile(study, "partners")
    assert use.file is study.file
    assert [p.name for p in use.people()] == ["dealer", "crop adviser", "vet", "retired teacher"]


def test_a_partnership_alone_lacks_trips_to_compare_and_is_told_no_command(tmp_path):
    shutil.copytree(demo_folder(), tmp_path / "demo")
    study = StudyFolder.opened(tmp_path / "demo" / "studies" / "partnership.yaml")
    assert study.needs() == ["trips of one's own; the members' are flown under Partnership"]
    assert study.faults() == []
    assert SharedFile(study, "partners").faults() == []


def test_a_folder_with_what_extends_its_study_opens_on_the_study(empty):
    empty.set_value(["home"], "KGRI")
    (empty.folder / "partnership.yaml").write_text("study: shared\nextends: study.yaml\n")
    assert StudyFolder.opened(empty.folder).file.path.name == "study.yaml"


def test_a_file_that_is_not_ours_is_not_overwritten(shared, shared_page):
    file = shared_page.folder / "buyer_hire.yaml"
    file.write_text("study: mine\n")
    assert shared.post("/shared/rates/begin", json={}).status_code == 409
    assert file.read_text() == "study: mine\n"


def test_hostile_names_show_as_text(shared):
    shared.post("/shared/partners/begin", json={})
    assert add(shared, "partners", "members.people", VET | {"name": HOSTILE, "demand.0.purpose": HOSTILE}) == 200
    text = shared.get("/shared/partners").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text


@pytest.mark.parametrize("kind", ["elsewhere", "study"])
def test_unknown_kinds_are_not_there(shared, kind):
    assert shared.get(f"/shared/{kind}").status_code == 404
    assert shared.post("/change/value", json={"card": kind, "path": "home", "text": "KOMA"}).status_code == 404


def test_the_flying_process_tells_both_verdicts(shared, shared_page, tmp_path):
    """Two years each; the sentences are those of the command's own report."""
    news = []
    flights = Flights(news.append, lambda: False)
    studies = demo_folder() / "studies"
    flights.carry_out(Order("share", str(studies / "partnership.yaml"), 2, 5, kind="partners"))
    found = next(n["shared"]["partners"] for n in news if "shared" in n)
    assert found.years == 2
    assert found.first.rows
    shared_page.job.state = State(shared={"partners": found}, shown=1)
    shared.post("/shared/partners/begin", json={})
    text = shared.get("/shared/partners").text
    assert found.sentences[0].split(":")[0] in text
    assert "The study has changed" in text
    assert all(caution.split(".")[0][:40] in text.replace("&#39;", "'") for caution in found.cautions)
    flights.carry_out(Order("report", str(tmp_path), kind="partners"))
    assert {"members.csv", "report.html", "run.json"} <= {p.name for p in (tmp_path / "results_partners").iterdir()}


def test_hire_that_has_just_begun_says_in_words_what_it_lacks(shared):
    assert shared.post("/shared/rates/begin", json={}).status_code == 200
    shown = shared.get("/shared/rates").text
    assert "Still lacking: what others ask for" in shown
    assert "is missing; accepted" not in shown
