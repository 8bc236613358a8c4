"""Kept runs on disk: whole, never replaced, read back as they were, and nobody else's files touched."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from missionsim.page.files import ChangedOutsideError
from missionsim.page.job import State
from missionsim.page.kept_runs import KeptRuns
from missionsim.page.screen import screen_of
from missionsim.page.study_file import RefusedError
from missionsim.study.compare.two_runs import RunRecord, WayYears

RECORD = RunRecord("plains", "1", 7, 2025, 1, 2, {"": {"home": "KGRI"}}, {"Dun": ("weights",)}, {"t1": "to KOMA"},
                   (WayYears("own", "Dun", (1.25, 2.5), (3.0, 4.0)),), ("Dun costs least.",))
HOSTILE = '../"><script>alert(1)</script>'


@pytest.fixture
def kept(tmp_path):
    return KeptRuns(tmp_path)


def test_what_is_kept_reads_back_the_same_after_a_restart(kept, tmp_path):
    key = kept.keep("dear  fuel", [RECORD]).key
    again = KeptRuns(tmp_path)
    assert [(r.key, r.name, r.replications, r.fault) for r in again.every()] == [(key, "dear fuel", 2, "")]
    assert again.records(key) == (RECORD,)
    assert [p.name for p in tmp_path.iterdir()] == ["kept_runs"]
    assert sorted(p.name for p in (tmp_path / "kept_runs" / key).iterdir()) == ["record.json", "run.json"]


def test_a_kept_run_is_never_replaced(kept):
    key = kept.keep("dear fuel", [RECORD]).key
    with pytest.raises(ChangedOutsideError, match="kept already"):
        kept.keep("Dear Fuel", [replace(RECORD, seed=8)])
    assert kept.records(key)[0].seed == 7


@pytest.mark.parametrize("name", ["", " ", "???", "x" * 61])
def test_a_run_needs_a_name(kept, name):
    with pytest.raises(RefusedError):
        kept.keep(name, [RECORD])
    assert kept.every() == []


def test_a_hostile_name_stays_in_its_folder(kept, tmp_path):
    kept.keep(HOSTILE, [RECORD])
    assert [p.name for p in (tmp_path / "kept_runs").iterdir()] == ["script_alert_1_script"]
    assert kept.every()[0].name == HOSTILE


@pytest.mark.parametrize("key", ["", "..", "../kept_runs", "nothing"])
def test_what_is_not_there_is_said(kept, key):
    kept.keep("a", [RECORD])
    with pytest.raises(RefusedError, match="not there any more"):
        kept.records(key)


def test_what_somebody_edited_is_neither_read_nor_removed(kept, tmp_path):
    key = kept.keep("a", [RECORD]).key
    file = tmp_path / "kept_runs" / key / "record.json"
    file.write_text(file.read_text().replace("2.5", "1.5"))
    assert kept.every()[0].fault == "was changed since it was kept"
    with pytest.raises(RefusedError, match="was changed"):
        kept.records(key)
    kept.forget(key)
    assert file.exists()


def test_an_empty_folder_of_that_name_is_not_taken_for_a_place(kept, tmp_path):
    other = tmp_path / "kept_runs" / "mine"
    other.mkdir(parents=True)       # a system puts a folder in place of an empty one without a word
    with pytest.raises(ChangedOutsideError):
        kept.keep("mine", [RECORD])
    assert list(other.iterdir()) == []


def test_folders_of_others_are_left_alone(kept, tmp_path):
    other = tmp_path / "kept_runs" / "mine"
    other.mkdir(parents=True)
    (other / "run.json").write_text(json.dumps([1]))
    (other / "letter.txt").write_text("dear seller")
    assert kept.every() == []
    kept.forget("mine")
    assert (other / "letter.txt").exists()
    with pytest.raises(ChangedOutsideError):
        kept.keep("mine", [RECORD])
    assert (other / "letter.txt").read_text() == "dear seller"


def test_a_forgotten_run_is_gone(kept, tmp_path):
    kept.forget(kept.keep("a", [RECORD]).key)
    assert list((tmp_path / "kept_runs").iterdir()) == []


@pytest.fixture(scope="module")
def screen():
    from study_cases import small_study

    from missionsim.study.compare.compare import compare
    return screen_of(compare(small_study(trips=4), 2))


def test_keeping_and_holding_against_each_other_by_the_page(client, page, screen):
    assert client.post("/keep", json={"name": "first", "shown": 0}).status_code == 422
    page.job.state = State(screen=screen, shown=3)
    assert client.post("/keep", json={"name": "first", "shown": 2}).status_code == 409
    assert client.post("/keep", json={"name": "first", "shown": 3}).status_code == 200
    assert client.post("/keep", json={"name": "First", "shown": 3}).status_code == 409
    assert "first" in client.get("/kept").text
    assert "first" in client.get("/verdict").text
    told = client.get("/two-runs?first=first&second=now")
    assert "Both say the same." in told.text
    assert screen.names[0].replace("&", "&amp;") in told.text
    assert "not there any more" in client.get("/two-runs?first=elsewhere&second=now").text
    assert client.post("/forget", json={"run": "first"}).status_code == 200
    assert "None yet" in client.get("/kept").text


def test_both_views_of_a_study_over_years_stand_side_by_side(client, page, screen):
    owned = replace(screen, view="20 purchases, each kept 6 years and sold", enough=False)
    page.job.state = State(screen=screen, owned=owned, shown=1)
    text = client.get("/screen").text
    assert text.index("One year that stands") < text.index("20 purchases") < text.index("too few to name the cheapest")
    assert text.count(screen.sentences[0].replace("'", "&#39;")) == 2
    assert client.post("/keep", json={"name": "both", "shown": 1}).status_code == 200
    assert "Over the years of owning" in client.get("/two-runs?first=both&second=now").text


def test_a_hostile_name_shows_as_text(client, page, screen):
    page.job.state = State(screen=screen, shown=1)
    key = client.post("/keep", json={"name": HOSTILE, "shown": 1}).json()["key"]
    for part in ("/verdict", "/kept", f"/two-runs?first={key}&second={key}"):
        answer = client.get(part)
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
