"""The aircraft one would rent instead of owning: a candidate of its own in every comparison."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources
from pathlib import Path

from missionsim.study.inputs.load_aircraft import Candidate, as_flown, load_profile
from missionsim.study.inputs.load_study import Study

RENTED = "rented_four_seat.yaml"


def rental_of(study: Study) -> Candidate | None:
    """Return the aircraft that can be rented: the study's, else a four-seat with fixed gear; None without one."""
    if not study.spec.rent_available or study.members:
        return None
    rented = study.rented
    if rented is None:
        profile, digest = load_profile(Path(str(resources.files("missionsim") / "data" / RENTED)), RENTED)
        rented = Candidate(profile.name, profile, RENTED, digest)
    if rented.name in {c.name for c in study.candidates}:
        rented = replace(rented, name=f"{rented.name} (rented)")
    return as_flown(rented, study.spec.mixture, study.spec.oxygen)[0]
