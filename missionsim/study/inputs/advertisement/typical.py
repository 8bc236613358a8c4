"""What a class of aircraft fills in where an advertisement is silent, and which classes cannot be flown."""

from __future__ import annotations

from missionsim.aircraft.classes import KINDS, NO_TURBINE
from missionsim.aircraft.profile import Profile
from missionsim.study.inputs.advertisement.text import FoundWords


def why_not_flown(class_id: str) -> str:
    """Return why a class cannot be flown, empty where it can."""
    if not class_id:
        return "the words do not say what kind of aircraft it is; gear, seats and power decide"
    return "" if KINDS[class_id].flown else f"it {NO_TURBINE}"


def usual_figures(profile: Profile) -> tuple[FoundWords, ...]:
    """Return what the class filled in a profile, each figure marked as usual for the class."""
    note = f"usual for a {profile.class_words}"
    return tuple(FoundWords(key, profile.in_words(key), "", -1, "class guess", note) for key in profile.class_guesses)
