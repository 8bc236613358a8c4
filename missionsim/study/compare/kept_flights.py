"""Flown years kept in memory by what they depend on: another price flies nothing, another aircraft flies alone.

Streams are addressed, so that a candidate flies the same years whoever else takes part; only then can years flown
beside others be told beside new ones. Kept so are single years of listed trips; where each year of an ownership is
flown, or each year draws its own trips, all is flown anew.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from missionsim.study.inputs.load_aircraft import Candidate
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.rental import rental_of
from missionsim.study.prepare.study import Flyer, Prepared
from missionsim.study.replicate.one_year import CHUNK, YearColumns, drawn_effects, fly_parts, people_of
from missionsim.study.replicate.ownership_years import priced_years
from missionsim.study.replicate.rented_year import Renting, rented_years
from missionsim.study.replicate.tally import Tally, tally
from missionsim.study.unknowns.draws import Listing

PRICES_ALONE = frozenset({"study", "question", "candidates", "prices", "value_of_time_usd_per_h", "years_kept",
                          "dollars", "least_completed_share", "replications", "rent_available"})
"""Keys of a study that no flight depends on."""
MOST_KEPT = 24
"""Candidates whose years are kept, the last asked for."""
RENTED = "rented"

YearsKey = tuple[str, str]
ChunkJob = tuple[int, list[int]]
Each = Callable[[Callable[[Any, Any], Any], Any, Sequence[Any]], list[Any]]
S = TypeVar("S")
J = TypeVar("J")
R = TypeVar("R")


def splits(study: Study) -> bool:
    """Tell whether the years of a study can be kept by candidate."""
    return study.listed is not None and study.spec.years == 1


def study_key(study: Study) -> str:
    """Return what the flights of every candidate depend on, as a hash: trips, pilot, places, rules, weather, seed."""
    spec = study.spec.model_dump(exclude=set(PRICES_ALONE))
    price = study.spec.prices if study.spec.plan_by == "cost" else None
    own = {study.file, *(c.file for c in study.candidates)}
    files = {name: digest for name, digest in study.hashes.items() if name not in own}
    figures = [(entry.key, entry.value) for entry in study.assumptions]
    return _hash((spec, price, files, figures, study.pilot, study.year, study.home, study.listed))


def same_flights(prepared: Prepared, study: Study) -> bool:
    """Tell whether a study differs from a prepared one in nothing a flight depends on."""
    listings = [Listing.of(c.profile, study.year, study.assumptions) for c in study.candidates]
    new = [_candidate_key(c, listing) for c, listing in zip(study.candidates, listings, strict=True)]
    return (new == [candidate_key(f) for f in prepared.flyers] and study_key(study) == study_key(prepared.study)
            and rental_of(study) == rental_of(prepared.study))


def candidate_key(flyer: Flyer) -> str:
    """Return what the flights of one candidate depend on beside the study, as a hash: all but its prices."""
    return _candidate_key(flyer.candidate, flyer.listing)


def _candidate_key(c: Candidate, listing: Listing) -> str:
    unsaid = [u.key for u in listing.unsaid if not u.key.startswith("prices.")]
    figures = c.profile.model_dump(exclude={"prices"})
    return _hash((c.name, figures, sorted(c.profile.class_guesses), c.upgrades, unsaid))


def _hash(whole: object) -> str:
    return hashlib.sha256(repr(whole).encode()).hexdigest()


def flown_chunk(prepared: Prepared, job: ChunkJob) -> list[YearColumns]:
    """Return the years of a chunk with some candidates, the rented one last where it is among them; what a worker does.

    Parameters
    ----------
    prepared : Prepared
    job : int, list of int   The chunk, and the candidates by number; the one after the last is the rented aircraft.
    """
    (chunk, new), count = job, len(prepared.flyers)
    replications = range(chunk * CHUNK, (chunk + 1) * CHUNK)
    people_lb = people_of(prepared, replications)
    renting = Renting(prepared, replications, people_lb) if count in new else None
    some = prepared.some([i for i in new if i < count])
    parts = fly_parts(some, replications, drawn_effects(some, replications), people_lb,
                      None if renting is None else renting.fly)
    return [*parts, *([] if renting is None else [renting.columns()])]


def one_by_one(task: Callable[[S, J], R], shared: S, jobs: Sequence[J]) -> list[R]:
    """Return `task(shared, job)` of every job."""
    return [task(shared, job) for job in jobs]


@dataclass
class KeptFlights:
    """The years flown so far, a chunk at a time, by study and candidate."""

    _years: dict[YearsKey, list[YearColumns]] = field(default_factory=dict)

    def fly(self, prepared: Prepared, chunks: Sequence[int], each: Each = one_by_one) -> int:
        """Fly chunks with those candidates that have not flown them; those before must be there.

        Parameters
        ----------
        prepared : Prepared
        chunks : sequence of int   One after the other.
        each : callable            Does the jobs, `each(task, shared, jobs)`; at the same time where it can.

        Returns
        -------
        int   Chunks of candidates flown, those of the rented one not counted.
        """
        keys = self._keys(prepared)
        for key in keys:                                    # the last asked for come last
            self._years[key] = self._years.pop(key, [])
        jobs = [(chunk, new) for chunk in chunks
                if (new := [i for i, key in enumerate(keys) if len(self._years[key]) <= chunk])]
        for (_, new), found in zip(jobs, each(flown_chunk, prepared, jobs), strict=True):
            for i, part in zip(new, found, strict=True):
                self._years[keys[i]].append(part)
        for key in list(self._years)[:max(0, len(self._years) - max(MOST_KEPT, len(keys)))]:
            del self._years[key]
        return sum(i < len(prepared.flyers) for _, new in jobs for i in new)

    def tallies(self, prepared: Prepared, chunk: int, keep: int) -> list[Tally]:
        """Return the sums of a kept chunk at the study's prices of now; the rented aircraft comes last."""
        replications = range(chunk * CHUNK, (chunk + 1) * CHUNK)
        idents, rental = [a.ident for a in prepared.places.airports], prepared.rental
        kept = [self._years[key][chunk] for key in self._keys(prepared)]
        priced = priced_years(prepared, kept[:len(prepared.flyers)], replications,
                              drawn_effects(prepared, replications))
        found = [tally(one, owned, replications, prepared.books(flyer), keep, idents)
                 for (one, owned), flyer in zip(priced, prepared.flyers, strict=True)]
        if rental is not None:
            found.append(tally(rented_years(prepared, kept[-1], replications), None, replications,
                               prepared.books(rental.flyers[0]), keep, idents))
        return found

    def _keys(self, prepared: Prepared) -> list[YearsKey]:
        study = study_key(prepared.study)
        rental = [] if prepared.rental is None else [(study, RENTED + candidate_key(prepared.rental.flyers[0]))]
        return [*((study, candidate_key(f)) for f in prepared.flyers), *rental]
