"""A study given where an aircraft is read, or the other way round: told in one line, not by each of its keys."""

from __future__ import annotations

from missionsim.aircraft.profile import Profile
from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.schema import StudySpec
from missionsim.study.inputs.yaml_lines import YamlDocument

STUDY_KEYS = frozenset(StudySpec.model_fields)
PROFILE_KEYS = frozenset({*Profile.model_fields, "class"})
CLEARLY = 2
"""So many times as many keys of the one kind as of the other make a file one of the other kind."""


def key_counts(document: YamlDocument) -> tuple[int, int]:
    """Return how many keys a file has that a study knows, and how many that an aircraft knows."""
    keys = set(map(str, document.data))
    return len(keys & STUDY_KEYS), len(keys & PROFILE_KEYS)


def refuse_aircraft(document: YamlDocument) -> None:
    """Refuse a profile of an aircraft where a study was asked for, once it has proved no study.

    Raises
    ------
    InputError   By its keys it is an aircraft.
    """
    study, profile = key_counts(document)
    if profile > CLEARLY * study:
        raise InputError([Fault(document.name, "", "is the profile of an aircraft, not a study", "a study with home, "
                                "trips and candidates, which names this file; `missionsim check` tells what is in it",
                                "", 1)])


def refuse_study(document: YamlDocument) -> None:
    """Refuse a study where a profile of an aircraft was asked for, once it has proved no profile.

    Raises
    ------
    InputError   By its keys it is a study.
    """
    study, profile = key_counts(document)
    if study > CLEARLY * profile:
        raise InputError([Fault(document.name, "", "is a study, not the profile of an aircraft", "the file of one "
                                "aircraft, such as those under the study's candidates", "", 1)])
