from __future__ import annotations

import pytest

from missionsim.page.year_strip import year_strip
from missionsim.study.inputs.files import demo_folder

HOSTILE = '"><script>alert(1)</script>'


@pytest.mark.parametrize("part", ["", "year", "hangar", "verdict"])
def test_parts_open_on_an_empty_study(client, part):
    answer = client.get(f"/{part}")
    assert answer.status_code == 200
    assert "Planning estimates only" in answer.text


def test_unknown_parts_and_changes_are_not_there(client):
    assert client.get("/elsewhere").status_code == 404
    assert client.post("/change/everything", json={}).status_code == 404


def test_a_value_is_kept_or_refused_with_its_reason(client, page):
    assert client.post("/change/value", json={"path": "home", "text": "kgri"}).status_code == 200
    assert page.study.file.get(["home"]) == "KGRI"
    answer = client.post("/change/value", json={"path": "pilot.age", "text": "300"})
    assert answer.status_code == 422
    assert answer.json()["faults"][0]["accepted"] == "a whole number from 16 to 100"


def test_a_cell_changed_elsewhere_is_a_conflict(client, page):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    client.post("/trips", json={"rows": [{"date": "2025-03-04", "to": "KOMA"}]})
    answer = client.post("/change/cell", json={"row": "t1", "column": "to", "text": "KLNK", "was": "KDSM"})
    assert answer.status_code == 409
    assert "KOMA" in answer.json()["conflict"]


def test_pasted_rows_are_added_and_the_rest_set_aside(client):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    answer = client.post("/trips", json={"rows": [{"date": "2025-03-04", "to": "KOMA"}, {"date": "x", "to": "KOMA"}]})
    assert answer.json()["added"] == 1
    assert answer.json()["refused"][0]["faults"][0]["key"] == "date"


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b'{"path": 3, "text": "x"}', b'{"path": "a/../b", "text": "x"}',
                                  b"\xff\xfe"])
def test_nonsense_is_refused_without_a_word_of_python(client, body):
    answer = client.post("/change/value", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 400
    assert "Traceback" not in answer.text


def test_too_much_at_once_is_refused(client):
    assert client.post("/trips", content=b"x" * 4_000_001).status_code == 413


def test_hostile_text_shows_as_text(client):
    client.post("/change/value", json={"path": "study", "text": HOSTILE})
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    client.post("/trips", json={"rows": [{"date": "2025-03-04", "to": "KOMA", "purpose": HOSTILE}]})
    client.post("/change/aircraft", json={"text": f"name: '{HOSTILE}'\n"})
    for part in ("year", "hangar", "verdict"):
        text = client.get(f"/{part}").text
        assert HOSTILE not in text
        assert "alert(1)" in text


def test_flying_waits_for_a_whole_study(client, page):
    assert client.post("/fly", json={}).status_code == 422
    assert page.job.asked == []


def test_a_whole_study_is_laid_out_as_soon_as_it_can_be(client, page):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    client.post("/trips", json={"rows": [{"date": "2025-03-04", "to": "KOMA"}]})
    assert page.job.asked == []
    text = sorted((demo_folder() / "aircraft").glob("*.yaml"))[0].read_text(encoding="utf-8")
    assert client.post("/change/aircraft", json={"text": text}).status_code == 200
    assert [a[0] for a in page.job.asked] == ["prepare"]
    assert client.post("/fly", json={"years": "all"}).status_code == 200
    assert page.job.asked[-1] == ("fly", 100)


WORDS = "1978 four place retractable, 260 HP. TTAF 4,312 SMOH 812. UL 1,180 lbs. $164,900"


def test_an_advertisement_proposes_and_keeps_nothing(client, page, tmp_path):
    found = client.post("/advertisement", json={"text": WORDS}).json()
    told = {f["key"]: (f["value"], f["words"]) for f in found["figures"]}
    assert told["engine.hours_since_overhaul_h"] == ("812", "SMOH 812")
    assert told["prices.asking_price_usd"] == ("164900", "$164,900")
    assert page.study.hangar.cards == []
    assert list(tmp_path.iterdir()) == []


def test_only_accepted_figures_of_an_advertisement_are_kept(client, page):
    given = {"text": WORDS, "name": "Barn find", "accepted": ["prices.asking_price_usd", "identity.year"]}
    assert client.post("/change/advertised", json=given).status_code == 200
    data = page.study.hangar.cards[0].data
    assert (page.study.hangar.cards[0].name, data["prices"]["asking_price_usd"], data["identity"]) \
        == ("Barn find", 164_900, {"year": 1978})
    assert "engine" not in data


def test_empty_words_are_refused(client):
    assert client.post("/advertisement", json={"text": "  "}).status_code == 422


LOGBOOK = """Date,Aircraft,From,To,Out,In,Night,Pax,Remarks
3/4/2025,x,KGRI,KOMA,07:30,08:40,0,1,dealer
3/4/2025,x,KOMA,KGRI,15:00,16:10,0,1,
3/9/2025,x,KGRI,KGRI,10:00,11:00,0,0,practice
6/1/2025,x,KGRI,KDSM,08:00,09:30,0,2,
"""


def test_a_dropped_logbook_is_shown_before_it_is_taken(client, page):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    found = client.post("/drop?name=my%20log.csv", content=LOGBOOK.encode()).json()
    assert (found["rows"], found["columns"]["date"], found["columns"]["from"]) == ("legs", "Date", "From")
    assert (found["count"], found["local_flights"]) == (1, 1)
    assert any("KDSM" in a["what"] for a in found["aside"])
    assert page.study.rows == []
    given = {"columns": found["columns"], "rows": found["rows"], "take": True}
    assert client.post("/match", json=given).status_code == 200
    assert [(r.cells["date"], r.cells["to"], r.trip.people) for r in page.study.rows] == [("2025-03-04", "KOMA", 2)]
    assert page.study.file.get(["year"]) == 2025


def test_other_columns_read_the_same_file_otherwise(client):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    found = client.post("/drop?name=x.csv", content=b"When,Where,Who\n2025-03-04,KOMA,2\n").json()
    again = client.post("/match", json={"columns": {"date": "When", "to": "Where", "people": "Who"}, "rows": "trips"})
    assert again.json()["trips"][0]["words"].endswith("2 aboard")
    assert found["name"] == "x.csv"


def test_an_import_that_tells_nobody_who_comes_says_so_and_the_year_keeps_saying_it(client, page):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    found = client.post("/drop?name=x.csv", content=b"When,Where,Mood\n2025-03-04,KOMA,fine\n").json()
    assert "nothing tells who comes on the only trip" in found["notes"][0]
    assert "columns not used: Mood" in found["notes"][0]
    given = {"columns": found["columns"], "rows": found["rows"], "take": True}
    assert client.post("/match", json=given).status_code == 200
    assert page.study.rows[0].cells["adults"] == ""
    assert "No trip says who comes: taken as the pilot alone" in client.get("/year").text
    row = page.study.rows[0].ident
    assert client.post("/change/cell", json={"row": row, "column": "adults", "text": "2"}).status_code == 200
    assert "who comes: taken" not in client.get("/year").text


def test_the_field_of_a_town_is_said_where_it_is_typed(client, page):
    client.post("/change/value", json={"path": "home", "text": "Daphne, AL"})
    assert "The aircraft lives at KBFM, Mobile Downtown Airport: public, 9,618 ft paved." in client.get("/year").text
    client.post("/trips", json={"rows": [{"date": "2025-03-04", "to": "KOMA"}]})
    row = page.study.rows[0].ident
    said = client.post("/change/cell", json={"row": row, "column": "to", "text": "Nashville, TN"}).json()["said"]
    assert said.startswith("Nashville, TN is read as KJWN (John C Tune Airport: public, 5,500 ft paved)")
    assert client.post("/change/cell", json={"row": row, "column": "purpose", "text": "x"}).json()["said"] == ""
    labels = [a["label"] for a in client.get("/airports?text=Fairhope").json()]
    assert any("PRIVATE, by leave alone, 2,200 ft grass" in label for label in labels)


@pytest.mark.parametrize(("name", "content"), [("x.exe", b"MZ"), ("x.xlsx", b"not a zip"), ("x.csv", b"\x00\x01"),
                                               ("../../x.pdf", b"%PDF")])
def test_what_is_no_table_is_refused_in_words(client, name, content):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    answer = client.post(f"/drop?name={name}", content=content)
    assert answer.status_code == 422
    assert answer.json()["faults"][0]["what"]


def test_airports_are_found_while_typing(client):
    def found(text):
        return [row["value"] for row in client.get("/airports", params={"text": text}).json()]

    assert found("omah")[0] == found("eppley")[0] == found("KOMA")[0] == found("Omaha, NE")[0] == "KOMA"
    assert found("KOFK omah")[0] == "KOFK KOMA"     # the last one of a cell
    assert found("x") == found("") == found("qqqqqqqq") == []
    assert len(found("north")) == 12
    assert "Omaha, NE" in client.get("/airports", params={"text": "omah"}).json()[0]["label"]


def test_whoever_begins_is_asked_for_home_before_trips(client):
    def before(text):
        return text.index('id="home"') < text.index('id="trips-title"')

    assert before(client.get("/year").text)
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    client.post("/trips", json={"rows": [{"date": "2025-03-04", "to": "KOMA"}]})
    assert not before(client.get("/year").text)


def test_marks_of_the_strip_stand_apart(demo):
    marks = year_strip(demo.rows, demo.far_nm).marks
    assert len(marks) == 63
    for i, one in enumerate(marks):
        for other in marks[:i]:
            assert abs(one.x - other.x) >= one.size + other.size or abs(one.y - other.y) >= 20.0
