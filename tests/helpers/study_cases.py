"""A small study for tests that fly: some trips and candidates of the demo."""

from __future__ import annotations

from dataclasses import replace

from missionsim.study.inputs.load_study import load_study
from missionsim.study.replicate.one_year import drawn_effects, fly_parts, people_of, together


def small_study(trips: int = 14, candidates: int = 2, years: int = 1, **spec):
    """Return the demo with its first trips and candidates; all trips are wanted and no local hours flown
    where nobody says otherwise."""
    study = load_study()
    table = replace(study.listed, trips=study.listed.trips[:trips])
    told = {"years": years, "trips_are": "logbook", "local_hours_per_year": 0.0, **spec}
    return replace(study, listed=table, candidates=study.candidates[:candidates],
                   spec=study.spec.model_copy(update=told))


def fly_chunk(prepared, replications):
    """Fly all candidates through some replications; one `Flown` a candidate, with its ledger."""
    effects = drawn_effects(prepared, replications)
    parts = fly_parts(prepared, replications, effects, people_of(prepared, replications))
    return [together(entrant, years, replications, own)
            for entrant, years, own in zip(prepared.entrants, parts, effects, strict=True)]
