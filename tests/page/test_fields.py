"""Which word a field left empty stands for, and figures of advertisements in words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import missionsim
from missionsim.aircraft.profile import Profile
from missionsim.page.advertised import _row
from missionsim.page.fields import LABELS, PILOT, Field, named, shown_fields, usual_word
from missionsim.study.inputs.advertisement.propose import _PROFILE_KEYS
from missionsim.study.inputs.advertisement.text import FoundWords
from missionsim.study.inputs.schema import StudySpec


@pytest.mark.parametrize(("model", "path", "taken"), [
    (StudySpec, "pilot.rating", "instrument"), (StudySpec, "pilot.night", "yes"), (StudySpec, "kept", "hangar"),
    (Profile, "panel.approach", "none"), (Profile, "state.logs_complete", "unknown"),
    (Profile, "identity.gear", ""), (None, "pilot.rating", "")])
def test_an_empty_choice_says_what_is_taken(model, path, taken):
    words = {"pilot.rating": ("instrument", "visual"), "pilot.night": ("yes", "no"), "kept": ("hangar", "tie_down"),
             "panel.approach": ("none", "lpv"), "state.logs_complete": ("yes", "unknown"), "identity.gear": ("fixed",)}
    assert usual_word(model, Field(path, "x", "", words[path])) == taken


def test_what_is_said_stands_beside_it_and_figures_have_no_word():
    shown = shown_fields(PILOT, lambda path: "visual" if path[-1] == "rating" else None, StudySpec)
    rating, *figures = [s for s in shown if s.field.path in {"pilot.rating", "pilot.total_h", "pilot.age"}]
    assert (rating.text, rating.usual) == ("visual", "instrument")
    assert [s.usual for s in figures] == ["", ""]


def test_every_figure_of_an_advertisement_has_words():
    folder = Path(missionsim.__file__).parent / "study" / "inputs" / "advertisement"
    sections = "engine|propeller|panel|book|tanks|identity|weights|state|limits"
    keys = {key for file in folder.glob("*.py")
            for key in re.findall(rf'"((?:{sections})\.[a-z_.]+)"', file.read_text(encoding="utf-8"))}
    assert len(keys) > 40
    assert keys <= set(LABELS)
    assert _row(FoundWords("book.cruise.tas_kt", 128.0, "128 kt", 0, "said", ""))["label"] == "Cruising speed, knots"


def test_every_figure_an_advertisement_can_say_and_a_refused_one_has_plain_words():
    assert set(_PROFILE_KEYS) <= set(LABELS)
    assert not [label for label in LABELS.values() if "_" in label or ":" in label]
    assert (named("pilot.total_h"), named("book.vs0_cas_kt")) == ("Hours in all", "Stalling speed")
    assert named("nothing.such") == ""
