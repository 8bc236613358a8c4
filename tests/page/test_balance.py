"""Weight and balance on an aircraft's card: typed there, judged by the aircraft's own rules, loads by hand."""

from __future__ import annotations

import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.page.balance import balance_of
from missionsim.study.inputs.files import demo_folder

FILE = demo_folder() / "aircraft" / "carrier_230.yaml"
TEXT = FILE.read_text(encoding="utf-8")


def told(text, pilot_lb=200.0):
    return balance_of(text, FILE, pilot_lb, packaged_assumptions())


@pytest.fixture
def card(client, page):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    client.post("/change/aircraft", json={"text": TEXT})
    return page.study.hangar.cards[0].key


def entry(client, card, path, **cells):
    return client.post("/change/entry", json={"path": path, "card": card, "cells": cells})


def figure(client, card, path, text, was=None):
    return client.post("/change/figure", json={"card": card, "path": path, "text": text, "was": was})


def test_the_pilot_alone_with_full_tanks_by_hand():
    """Useful load is the brochure's 1,290 less 45, so empty are 1,815 lb at 40.2 in; the pilot's 200 at 37; fuel 44 gal
    at 47 and 24 at 48.5, 6 lb each: moments 72,963, 7,400, 12,408 and 6,984, together 99,755 over 2,423 lb."""
    words, fuel, weight, cg, limits, verdict = told(TEXT).loads.rows[0]
    assert (words, fuel, weight) == ("the pilot alone", "68", "2,423")
    assert float(cg) == pytest.approx(99_755.0 / 2_423.0, abs=0.05)
    assert limits == "37.8 to 49.4"      # 37.2 to 2,300 lb, from there 4 in more over 760 lb
    assert verdict == "inside"


def test_a_load_out_of_balance_and_one_too_heavy_are_warned_of():
    tail_heavy = TEXT.replace("{cg_in: 49.4, weight_lb: 3060}", "{cg_in: 41.5, weight_lb: 3060}").replace(
        "{cg_in: 49.4, weight_lb: 1500}", "{cg_in: 41.5, weight_lb: 1500}")
    assert any(w.startswith("With all seats taken: out of balance by") for w in told(tail_heavy).warnings)
    weak = TEXT.replace("brochure_useful_load_lb: 1290", "brochure_useful_load_lb: 600")
    too_heavy = "With all seats taken: 215 lb too heavy without any fuel"      # 770 aboard, 555 carried
    assert any(too_heavy in w for w in told(weak).warnings)


def test_how_far_a_load_is_out_of_balance_by_hand():
    """As above 41.17 in at take-off; without fuel (72,963 + 7,400) / 2,015 lb = 39.9 in, which is inside."""
    narrow = TEXT.replace("{cg_in: 49.4, weight_lb: 3060}", "{cg_in: 41.0, weight_lb: 3060}").replace(
        "{cg_in: 49.4, weight_lb: 1500}", "{cg_in: 41.0, weight_lb: 1500}").replace("41.2, weight", "40.0, weight")
    assert "With the pilot alone: out of balance by 0.2 in, at take-off or when the tanks are empty." in told(
        narrow).warnings


def test_without_an_envelope_it_is_said_that_balance_is_not_checked():
    begin, end = TEXT.index("envelope:"), TEXT.index("tanks:")
    found = told(TEXT[:begin] + TEXT[end:])
    assert found.loads is None
    assert "balance is not checked" in found.warnings[-1]
    assert told("name: X\n") is None


def test_places_and_envelope_are_typed_on_the_card(client, card, page):
    study = page.study
    rear = {"name": "rear bags", "kind": "baggage", "arm_in": "110", "max_lb": "50 lb"}
    assert entry(client, card, "stations", **rear).status_code == 200
    assert study.hangar.card(card).data["stations"][3] == {"name": "rear bags", "kind": "baggage", "arm_in": 110,
                                                           "max_lb": 50}
    assert figure(client, card, "stations.3.max_lb", "60", "50").status_code == 200
    assert figure(client, card, "stations.3.arm_in", "9999").status_code == 422
    corners = "37.2 at 1500, 37.2 at 2300, 41.2 at 3060, 47 at 3060, 47 at 1500"
    assert figure(client, card, "envelope", corners).status_code == 200
    assert study.hangar.card(card).data["envelope"][3] == {"cg_in": 47, "weight_lb": 3060}
    assert figure(client, card, "envelope", "37.2 at 1500, 41.2 at 2000, 47 at 2500").status_code == 422    # too low
    assert figure(client, card, "envelope", corners.replace("47 at 3060", "47 or 3060")).status_code == 422
    shown = client.get("/hangar").text
    assert f'value="{corners}"' in shown
    assert "Usual loads, with all the fuel that tanks and weight allow" in shown
    out = client.post("/change/remove-entry", json={"path": "stations", "card": card, "number": 3, "was": "something"})
    assert out.status_code == 409
    was = "name rear bags; kind baggage; arm_in 110; max_lb 60"
    assert client.post("/change/remove-entry", json={"path": "stations", "card": card, "number": 3,
                                                     "was": was}).status_code == 200
    assert len(study.hangar.card(card).data["stations"]) == 3


def test_what_a_class_gives_is_written_down_to_be_changed(client, page):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    client.post("/change/aircraft", json={"text": "name: Offer\nclass: 'four-seat fixed gear, 180-200 hp'\nprices: "
                                                  "{asking_price_usd: 90000}\n"})
    card = page.study.hangar.cards[0].key
    assert "from its class" in client.get("/hangar").text
    assert entry(client, card, "stations").status_code == 200
    assert sum(s.get("seats", 0) for s in page.study.hangar.card(card).data["stations"]) == 4


def test_what_the_study_replaces_of_the_assumptions_reaches_the_card(client, card, page):
    assert "about 11.2 months" not in client.get("/hangar").text
    study = page.folder / "study.yaml"
    study.write_text(study.read_text() + "assumptions: {unknown.state_months_since_annual: [11.1, 11.2, 11.3]}\n")
    assert "about 11.2 months" in client.get("/hangar").text
