"""The answer in sentences. A difference is claimed only where it holds after correction for the number of rivals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.report.answer_alternatives import against_not_owning, first_sentence, trade_off
from missionsim.report.wording import AMOUNTS, CONDITIONS, count, dollars, listing, number, percent, plain, the
from missionsim.statistics.comparisons import Lead, holm, paired_difference, paired_p_value
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.compare.measures import SHARES
from missionsim.study.compare.questions import worth_asking

Array = NDArray[Any]
FEW, MOST_CONDITIONS, MOST_RIVALS = 3, 4, 3
"""Questions, conditions and rivals told in the answer; the report has all."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a comparison says, in plain sentences.

    Parameters
    ----------
    question : str            The study's own question, or the usual one.
    over_years : str          Which is cheapest over the years of ownership; empty for a study of one year.
    cost : str                Trips made of those wanted, what all of them cost, against having no aircraft.
    verdict : str             Whether that lead is more than chance, and over whom.
    against : str             Trips and hours against the nearest rival; empty without one.
    confidence : str          How sure.
    change : str              Which conditions would change the cheapest candidate.
    ask : tuple of str        Which questions to the sellers are worth most; empty where too few years tell.
    limits : tuple of str     What a reader must know before using it: few years, a logbook as trip list.
    not_owning : str          What the cheapest costs more than having no aircraft, a trip and an hour.
    trade : tuple of str      Renting; what hours saved and further trips cost; the order by the value of time.
    """

    question: str
    over_years: str
    cost: str
    verdict: str
    against: str
    confidence: str
    change: str
    ask: tuple[str, ...]
    limits: tuple[str, ...]
    not_owning: str = ""
    trade: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """All sentences in order, empty ones left out."""
        return tuple(s for s in (self.over_years, self.cost, self.not_owning, self.verdict, self.against, *self.trade,
                                 self.confidence, self.change, *self.ask) if s)


def answer(comparison: Comparison) -> Answer:
    """Return the answer of a comparison."""
    return Answer(question(comparison), _over_years(comparison), _cost(comparison), _verdict(comparison),
                  _against(comparison), _confidence(comparison), _change(comparison), _ask(comparison),
                  _limits(comparison), against_not_owning(comparison), trade_off(comparison))


def question(comparison: Comparison) -> str:
    """Return the study's question in a sentence, or the usual one."""
    study = comparison.study
    own = " ".join(study.spec.question.split())
    if own:
        return own
    if len(comparison.results) == 1:
        return "What does a year of these trips look like with this aircraft, and what does it cost, all in?"
    return f"Which of {count(len(comparison.results), 'aircraft', 'aircraft')} makes a year of these trips for the " \
           "least money, all in?"


def nearest_rival(comparison: Comparison) -> Result | None:
    """Return the candidate that is cheapest after the leading one."""
    others = [r for i, r in enumerate(comparison.results) if i != comparison.lead]
    return min(others, key=_net, default=None)


def cheapest_clearly(comparison: Comparison) -> bool:
    """Tell whether the lead holds over every other candidate."""
    return Lead(comparison.lead, (1.0,) * len(comparison.clear), comparison.clear).over_all


def cheapest_first(comparison: Comparison) -> list[int]:
    """Return rows of candidates by mean net cost; equals stay in the study's order."""
    return sorted(range(len(comparison.results)), key=lambda i: _net(comparison.results[i]))


def _net(result: Result) -> float:
    return result.measures["net_cost_usd"]["mean"] or 0.0


def _cost(comparison: Comparison) -> str:
    lead = comparison.results[comparison.lead]
    m = lead.measures["net_cost_usd"]
    text = first_sentence(comparison)
    if m["low"] is None or m["high"] is None:
        return text + " This is the one year simulated."
    half = 0.5 * (m["high"] - m["low"])
    return (text + f" In 8 years of 10 you pay {dollars(m['p10'])} to {dollars(m['p90'])} dollars; the average is "
            f"known to plus or minus {dollars(half)}.")


def _over_years(comparison: Comparison) -> str:
    """Return the cheapest over the years, and over whom that is more than chance."""
    found = comparison.ownership
    if found is None:
        return ""
    lead = found.owned[found.lead]
    m = lead.cost_per_year_usd
    text = (f"Over {found.years} years, buying, flying all trips and selling, {the(lead.name)} costs least in the "
            f"mean: {dollars(m['mean'])} dollars a year ({dollars(m['p10'])} to {dollars(m['p90'])} for eight "
            "owners of ten)")
    others = [o.name for i, o in enumerate(found.owned) if i != found.lead]
    unclear = [o.name for i, o in enumerate(found.owned) if i != found.lead and not found.clear[i]]
    if not others:
        return text + "."
    if not unclear:
        return text + ". That is more than chance."
    return text + f"; its lead over {listing([the(n) for n in unclear])} may be chance."


def _verdict(comparison: Comparison) -> str:
    names = comparison.names
    others = [i for i in range(len(names)) if i != comparison.lead]
    if not others:
        return "There is no other candidate to compare it with."
    if comparison.replications < 2:
        return "From one year nothing can be said about the differences."
    clear = [i for i in others if comparison.clear[i]]
    unclear = [i for i in others if not comparison.clear[i]]
    if not unclear:
        return f"It is the cheapest: {_differences(comparison, others)}. These differences are more than chance."
    verdict = ("No candidate is clearly the cheapest" if len(unclear) == len(others)
               else f"It is clearly cheaper than {_some(names, clear)}, but not clearly cheapest")
    return f"{verdict}: {_differences(comparison, unclear)}, which may be chance."


def _some(names: Sequence[str], chosen: list[int]) -> str:
    if len(chosen) > MOST_RIVALS:
        return count(len(chosen), "other")
    return listing([the(names[i]) for i in chosen])


def _differences(comparison: Comparison, others: list[int]) -> str:
    lead = comparison.results[comparison.lead]
    parts = []
    nearest = sorted(others, key=lambda i: _net(comparison.results[i]))
    for i in nearest[:MOST_RIVALS]:
        d = paired_difference(comparison.results[i].values("net_cost_usd"), lead.values("net_cost_usd"))
        low, high = d["low"], d["high"]
        span = "" if low is None or high is None else f" ({_signed(low)} to {_signed(high)})"
        much = "about as much" if dollars(d["mean"]) == "0" else f"{dollars(d['mean'])} dollars more"
        parts.append(f"{the(comparison.names[i])} costs {much}{span}")
    more = len(nearest) - MOST_RIVALS
    return "; ".join(parts) + (f"; {count(more, 'other')} more still" if more > 0 else "")


def _signed(value: float) -> str:
    return dollars(value) if value >= 0 else f"{dollars(-value)} less"


def _against(comparison: Comparison) -> str:
    """Return trips and hours against the nearest rival; each claimed only where it holds over all rivals looked at."""
    rival = nearest_rival(comparison)
    if rival is None or comparison.replications < 2 or comparison.ownership is not None:
        return ""
    lead = comparison.results[comparison.lead]
    trips = _claim(comparison, "completed_share", rival)
    hours = _claim(comparison, "door_to_door_hours", rival)
    wanted = lead.measures["trips_wanted"]["mean"] or 0.0
    parts = []
    if trips is None:
        parts.append("completes about as many trips")
    else:
        more = number(abs(trips) * wanted, 1)
        parts.append(f"completes {more} trips a year {'more' if trips > 0 else 'fewer'}")
    if hours is None:
        parts.append("takes all travellers about as many hours")
    else:
        parts.append(f"takes all travellers together {number(abs(hours), 0)} hours {'more' if hours > 0 else 'less'}")
    return f"Against {the(rival.name)}, the next in cost, it {parts[0]} and {parts[1]}."


def _claim(comparison: Comparison, measure: str, rival: Result) -> float | None:
    """Return the mean difference of the lead to a rival, None where it may be chance after correction."""
    lead = comparison.results[comparison.lead]
    others = [r for i, r in enumerate(comparison.results) if i != comparison.lead]
    mine, theirs = _by_year(lead, measure), [_by_year(r, measure) for r in others]
    differences = [mine - values for values in theirs]
    p_values = [1.0 if not np.any(d) else paired_p_value(mine, values)
                for d, values in zip(differences, theirs, strict=True)]
    adjusted = dict(zip([r.name for r in others], holm(p_values), strict=True))
    limit = comparison.study.assumptions["statistics.significance_share"]
    if adjusted[rival.name] > limit:
        return None
    return float(np.mean(differences[[r.name for r in others].index(rival.name)]))


def _by_year(result: Result, measure: str) -> Array:
    """Return a measure by replication whose mean is what is said of it: with years without trips, sum over sum."""
    values = result.values(measure)
    if measure in SHARES and np.isnan(values).any():
        return result.tally.column(SHARES[measure]) / (result.tally.column("trips_wanted").mean() or 1.0)
    return values


def _confidence(comparison: Comparison) -> str:
    name, owned = comparison.names[comparison.lead], comparison.ownership
    if len(comparison.names) < 2 or comparison.replications < 2:
        return ""
    if owned is not None:
        name = owned.owned[owned.lead].name
        return (f"How sure: over the years the mean cost of {the(name)} is the lowest in "
                f"{percent(owned.confidence_mean_best[name])} of resamples; for a single owner it is the cheapest with "
                f"a chance of {percent(owned.probability_best[name])}.")
    sure = comparison.confidence_mean_best["net_cost_usd"][name]
    best = comparison.probability_best["net_cost_usd"][name]
    return (f"How sure: its mean cost is the lowest in {percent(sure)} of resamples of the "
            f"{comparison.replications:,} simulated years; in a single year it is the cheapest with a chance of "
            f"{percent(best)}.")


def _change(comparison: Comparison) -> str:
    """Return the conditions at which another candidate becomes the cheapest."""
    if comparison.tipping_points is None or len(comparison.names) < 2 or comparison.replications < 2:
        return ""
    names = comparison.names
    lead = names[comparison.lead] if comparison.ownership is None else names[comparison.ownership.lead]
    points = [t for t in comparison.tipping_points if t["at"] is not None and lead in {t["from"], t["to"]}]
    if not points:
        return ""
    by_other: dict[str, list[str]] = {}
    for t in points[:MOST_CONDITIONS]:
        above, other = t["from"] == lead, t["to"] if t["from"] == lead else t["from"]
        by_other.setdefault(other, []).append(_condition(t["variable"], float(t["at"]), t["unit"], above))
    return " ".join(f"{sentence_start(the(name))} would be the cheapest by mean with {listing(parts, 'or')}."
                    for name, parts in by_other.items())


def _condition(variable: str, at: float, unit: str, above: bool) -> str:
    what = CONDITIONS.get(variable, plain(variable))
    shown = AMOUNTS[variable].format(at, at * 100.0) if variable in AMOUNTS else f"{at:,.3g} {unit}"
    return f"{what} {'above' if above else 'below'} {shown}"


def sentence_start(text: str) -> str:
    """Return a text with a capital first letter."""
    return text[:1].upper() + text[1:]


def _ask(comparison: Comparison) -> tuple[str, ...]:
    """Return what to ask the sellers, in sentences; none where too few years tell."""
    asked = comparison.questions or ()
    if not asked or comparison.replications < comparison.study.assumptions["statistics.question_replications"]:
        return ()
    found = worth_asking(asked)
    if not found:
        return ("Of what the advertisements leave open, no single answer would change the choice beyond chance.",)
    lines = [f"Ask the seller of {the(q.candidate)}: {q.why} (worth {dollars(q.value_usd, 10.0)} dollars a year, "
             f"± {dollars(q.standard_error_usd, 10.0)})." for q in found[:FEW]]
    more = len(found) - FEW
    return (*lines, *([f"{count(more, 'more question')} in the report."] if more > 0 else []))


def _limits(comparison: Comparison) -> tuple[str, ...]:
    study, found = comparison.study, []
    if comparison.replications < 20:
        found.append(f"Only {count(comparison.replications, 'simulated year')}: take 20 or more before choosing "
                     "(--replications).")
    if study.listed is not None and study.listed.from_logbook:
        found.append("The trips come from a logbook: it holds only the trips that went, so trips that an aircraft "
                     "could not make are missing from the start.")
        if study.listed.unstitched:
            found.append(f"{count(len(study.listed.unstitched), 'leg')} of it made no trip from home to home and are "
                         "left out.")
    if study.listed is not None and study.listed.outside_year:
        found.append(f"{count(study.listed.outside_year, 'trip')} of the list start in another year and are left out.")
    return tuple(found)
