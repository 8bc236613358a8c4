"""What is known of an aircraft, and our guesses with their range."""

from __future__ import annotations

import yaml

from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions
from missionsim.page.known import Known, _guess, known_of
from missionsim.study.inputs.files import demo_folder
from missionsim.study.unknowns.draws import Unsaid


def test_the_bar_adds_up_and_ends_where_what_is_said_ends():
    known = Known(30, 6, 4, ())
    assert known.shares == (75.0, 90.0)
    assert known.sentence.startswith("Of 40 figures 30 are said, 6 as a range, 4 are guesses of ours")


def test_a_guess_tells_its_middle_and_eight_of_ten():
    load = Unsaid("weights.useful_load_lb", "useful load", "lb", (), None)
    draws = {"weights.useful_load_lb": [1_000.0 + k for k in range(101)]}
    assert _guess(load, draws).words == "about 1,050 lb, 8 of 10 from 1,010 to 1,090"
    damage = Unsaid("state.damage_history", "damage", "", ("none", "old_minor", "recent_major"), None)
    assert _guess(damage, {"state.damage_history": [0] * 7 + [1] * 3}).words == "none 7 in 10, old minor 3 in 10"
    year = Unsaid("engine.overhaul_year", "year of the overhaul", "year", (), None)
    assert _guess(year, {"engine.overhaul_year": [2_010.0] * 9}).words == "about 2010, 8 of 10 from 2010 to 2010"


def test_an_answer_shortens_what_is_open():
    file = demo_folder() / "aircraft" / "carrier_230.yaml"
    text = file.read_text(encoding="utf-8")
    answered = text.replace("months_since_annual: unknown", "months_since_annual: 4")
    before, after = (known_of(t, file, 2025, packaged_assumptions()) for t in (text, answered))
    assert (after.said, after.guessed) == (before.said + 1, before.guessed - 1)
    assert len(after.guesses) == len(before.guesses) - 1
    assert known_of("name: X\n", file, 2025, packaged_assumptions()) is None         # no whole aircraft yet


def test_a_price_under_the_usual_is_told_on_the_card():
    file = demo_folder() / "aircraft" / "carrier_230.yaml"
    text = file.read_text(encoding="utf-8")
    assert "asking_price_usd: 158000" in text
    cheap = text.replace("asking_price_usd: 158000", "asking_price_usd: 60000")
    plain, told = (known_of(t, file, 2025, packaged_assumptions()).asked for t in (text, cheap))
    assert plain == ""
    assert told.startswith("Asks ")
    assert "under what we expect such an aircraft to bring" in told
    assert "run-out engine" in told       # under 85,000, what one in ten of the class brings


def test_every_figure_is_counted_once():
    file = demo_folder() / "aircraft" / "retractable_260.yaml"
    text = file.read_text(encoding="utf-8")
    known = known_of(text, file, 2025, packaged_assumptions())
    assert known.ranged == 4      # written as ranges: empty weight, engine hours, compression, hours a year
    kinds = Profile.model_validate(yaml.safe_load(text)).origins_of_figures()
    assert known.said + known.ranged + known.guessed == len(kinds)
    said = [g.label for g in known.guesses if not g.ours]
    assert said == ["empty weight", "engine hours since overhaul", "lowest compression of a cylinder",
                    "hours flown a year of late"]


def test_the_card_shows_the_bar_and_the_guesses(client):
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    text = (demo_folder() / "aircraft" / "carrier_230.yaml").read_text(encoding="utf-8")
    assert client.post("/change/aircraft", json={"text": text}).status_code == 200
    shown = client.get("/hangar").text
    assert "guesses of ours" in shown
    assert "(our guess)" in shown
    assert "(range as said)" in shown
