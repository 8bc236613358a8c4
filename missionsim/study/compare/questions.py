"""What to ask the seller: the open figures of every listing, valued from the replications already run."""

from __future__ import annotations

from collections.abc import Sequence

from missionsim.base.arrays import Array
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.statistics.information_value import OpenFigure, Question, questions
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.tally import Tally
from missionsim.study.unknowns.draws import Unsaid

ADDRESS = 100
"""Of the bootstrap's stream, beside those of the comparison."""


def asked(prepared: Prepared, tallies: Sequence[Tally], costs: Array, serving: Sequence[int] | None = None,
          ) -> tuple[Question, ...]:
    """Return the questions of a study, sorted by what an answer is worth.

    Parameters
    ----------
    prepared : Prepared
    tallies : sequence of Tally   One a candidate, with the figures drawn in each replication.
    costs : (candidates, n) array Cost a year by which one chooses. [usd]
    serving : sequence of int     Candidates one chooses among; all when left out.
    """
    study = prepared.study
    names = [t.name for t in tallies]
    advertised = [f.candidate.profile.name for f in prepared.flyers]
    groups = [advertised.index(name) for name in advertised]
    rows = list(range(len(names))) if serving is None else sorted(serving)
    first = [next((i for i in rows if groups[i] == group), group) for group in groups]
    # Upgrades of one advertisement share its figures: each is asked about once.
    figures = [figure_of(number, unsaid, tallies[number]) for number in sorted(set(first))
               for unsaid in prepared.flyers[number].listing.unsaid]
    random = generator(study.seed, 0, Stream.BOOTSTRAP, ADDRESS)
    return tuple(questions(costs, figures, names, random, study.assumptions, groups, rows))


def figure_of(candidate: int, unsaid: Unsaid, part: Tally) -> OpenFigure:
    """Return an open figure with its draws, as the estimator takes it."""
    words = tuple(word.replace("_", " ") for word in unsaid.categories)
    return OpenFigure(candidate, unsaid.key, unsaid.label, unsaid.unit, part.drawn[unsaid.key], words)


def worth_asking(found: Sequence[Question]) -> list[Question]:
    """Return the questions whose answer can change the choice."""
    return [q for q in found if q.value_usd is not None and q.value_usd > 0.0]
