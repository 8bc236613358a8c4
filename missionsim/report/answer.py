"""The answer in sentences: one fact each, with numbers a client can repeat."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from missionsim.money.insurance import difficulty
from missionsim.report.answer_alternatives import against_not_owning, first_sentence, trade_off, worth_sentence
from missionsim.report.answer_wanted import at_shares, wanted_sentence
from missionsim.report.verdict import below, few_batches, told_difference, verdict
from missionsim.report.wording import (
    CONDITIONS,
    SUBJECTS,
    count,
    dollars,
    listing,
    number,
    plain,
    some,
    start,
    the,
)
from missionsim.statistics.intervals import LEAST_YEARS_OF_POINTS
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.compare.find_out import EVERY, FindOut
from missionsim.study.compare.measures import equal_hours
from missionsim.study.inputs.load_study import Study

FEW, MOST_CONDITIONS, MOST_LEVEL = 5, 4, 4
"""Things to find out, conditions and candidates on a level told in the answer; the report has all."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a comparison says, in plain sentences.

    Parameters
    ----------
    question : str            The study's own question, or the usual one.
    form : str                Which of the forms of `verdict` it takes.
    verdict : str             Whether one is the cheapest, or who is level, with the chances of each.
    cost : str                Trips made of those wanted, what all of them cost, against having no aircraft.
    below : str               Below which value of an hour not owning is better; empty where owning costs less.
    wallet : str              What to be ready to pay: the three layers of what is not known together.
    layers : str              Each of them by itself, and how well the average is known.
    not_owning : str          What the leading one costs more than having no aircraft, a trip and an hour.
    against : str             Trips and hours against the nearest rival; empty without one.
    marked : str              Whether the order changes when trips moved, adapted or marginal count as not made.
    wanted : tuple of str     Of a wish list: how much of it is wanted, and the result at seven of ten trips.
    trade : tuple of str      Renting; what hours saved and further trips cost; the order by the value of time.
    cash : str                Dollars on the day of purchase and in the first year.
    change : str              Which conditions would change the cheapest candidate.
    ask : tuple of str        What to find out first, from whom; empty where too few years tell.
    limits : tuple of str     What a reader must know before using it: who is hardly insured, a price that such aircraft
                              do not bring, few years, a logbook as trip list.
    """

    question: str
    form: str
    verdict: str
    cost: str
    below: str
    wallet: str
    layers: str
    not_owning: str
    against: str
    marked: str
    wanted: tuple[str, ...]
    trade: tuple[str, ...]
    cash: str
    change: str
    ask: tuple[str, ...]
    limits: tuple[str, ...]

    @property
    def first(self) -> tuple[str, ...]:
        """Sentences of the first screen: verdict, cost, when not owning is better, the wallet, what to ask first."""
        return tuple(s for s in (self.verdict, self.cost, self.below, self.wallet, *self.ask[:1]) if s)

    @property
    def parts(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """The other sentences under what they are about, in order; a part of which nothing is said is left out."""
        parts = (("How sure that is", (self.layers,)),
                 ("Against having none, and against the next", (self.not_owning, self.against, self.marked)),
                 ("How many of the listed trips are wanted", self.wanted),
                 ("Other ways to make them", self.trade),
                 ("To have ready, and what could change the choice", (self.cash, self.change, *self.ask[1:])))
        return tuple((about, said) for about, all_of_it in parts if (said := tuple(s for s in all_of_it if s)))

    @property
    def more(self) -> tuple[str, ...]:
        """The other sentences, in order."""
        return tuple(sentence for _, said in self.parts for sentence in said)

    @property
    def sentences(self) -> tuple[str, ...]:
        """All sentences in order, empty ones left out; what makes up the wallet's range stands beside it."""
        wallet = f"{self.wallet} {self.layers}".strip()
        return tuple(wallet if s == self.wallet else s for s in (*self.first, *self.more) if s != self.layers)

    @property
    def short_limits(self) -> tuple[str, ...]:
        """The limits without what stands in brackets, for a first screen; whole ones stand among the rest."""
        return tuple(_short(s) for s in self.limits)


def answer(comparison: Comparison) -> Answer:
    """Return the answer of a comparison."""
    found = verdict(comparison)
    return Answer(question(comparison), found.form, found.sentence, first_sentence(comparison), below(comparison),
                  _wallet(comparison), _layers(comparison), against_not_owning(comparison), _against(comparison),
                  _marked(comparison), (wanted_sentence(comparison), at_shares(comparison)),
                  (*trade_off(comparison), worth_sentence(comparison)), _cash(comparison), _change(comparison),
                  _ask(comparison), _limits(comparison))


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
    others = [r for i, r in enumerate(comparison.results) if i != comparison.lead and r.does_the_job != "no"]
    return min(others, key=_net, default=None)


def cheapest_clearly(comparison: Comparison) -> bool:
    """Tell whether the lead holds over every other candidate that does the job, one at least."""
    others = [i for i, r in enumerate(comparison.results) if i != comparison.lead and r.does_the_job != "no"]
    return bool(others) and all(comparison.clear[i] for i in others)


def cheapest_first(comparison: Comparison) -> list[int]:
    """Return rows of candidates by mean net cost, those that do not do the job last; equals in the study's order."""
    return sorted(range(len(comparison.results)),
                  key=lambda i: (comparison.results[i].does_the_job == "no", _net(comparison.results[i])))


def _net(result: Result) -> float:
    return result.measures["net_cost_usd"]["mean"] or 0.0


def _wallet(comparison: Comparison) -> str:
    """Return what one must be ready to pay: luck, advertisement and prices together."""
    m = comparison.results[comparison.lead].measures["net_cost_usd"]
    if m["low"] is None or m["high"] is None:
        if comparison.replications < 2:
            return "This is the one year simulated."
        return f"How well the average is known is withheld: {few_batches(comparison)}."
    return (f"Be ready for {dollars(m['p10'])} to {dollars(m['p90'])} dollars a year, 8 cases of 10: luck, gaps of the "
            "advertisement and prices nobody gave, together.")


def _layers(comparison: Comparison) -> str:
    """Return what each of the three layers does to the leading one's year by itself, and the error of the average."""
    lead = comparison.results[comparison.lead]
    m, likely = lead.measures["net_cost_usd"], lead.measures.get("net_cost_at_likely_prices_usd", {})
    if m["low"] is None or m["high"] is None or lead.spread is None or lead.prices_usd is None:
        return ""
    text = (f"By itself luck moves a year of it typically by ± {dollars(lead.spread['luck'])} dollars"
            f"{_left_open(comparison, lead.spread['listing'])}. "
            f"The average is known to ± {dollars(0.5 * (m['high'] - m['low']))} (95 %) from the years flown")
    if lead.prices_usd["p90"] - lead.prices_usd["p10"] > 100.0:
        return (f"{text}; prices nobody gave put it from {dollars(lead.prices_usd['p10'])} to "
                f"{dollars(lead.prices_usd['p90'])} in 8 cases of 10. At likely prices, as in the ledger, it is "
                f"{dollars(likely.get('mean'))}.")
    return f"{text}."


def _left_open(comparison: Comparison, listing_usd: float) -> str:
    """Return what the leading one's advertisement leaves open does by itself; few years do not tell it from luck."""
    if not comparison.prepared.flyers[comparison.lead].listing.unsaid:
        return ""
    if round(listing_usd, -2):
        return f", what the advertisement leaves open by ± {dollars(listing_usd)}"
    return "; what the advertisement leaves open does not stand out from that in the years flown"


def _against(comparison: Comparison) -> str:
    """Return trips and hours against the nearest rival, each only where its interval leaves zero out."""
    rival = nearest_rival(comparison)
    sure = comparison.certainty
    if rival is None or comparison.replications < 2 or (sure is not None and not sure.enough):
        return ""
    lead = comparison.results[comparison.lead]
    trips = told_difference(comparison, lead.tally.column("completed") - rival.tally.column("completed"))
    hours = told_difference(comparison, _hours_more(comparison, lead, rival))
    parts = ["makes about as many trips" if trips is None else
             f"makes {some(abs(trips), 'trip', 1)} a year {'more' if trips > 0 else 'fewer'}",
             "takes all travellers about as many hours" if hours is None else
             f"takes all travellers together {some(abs(hours), 'hour')} {'more' if hours > 0 else 'less'}"]
    return f"Against {the(rival.name)}, the next in cost, it {parts[0]} and {parts[1]}."


def _hours_more(comparison: Comparison, lead: Result, rival: Result) -> Any:
    """Return by how much one takes all travellers longer, on the trips that nobody gives up, as in the table."""
    if comparison.alternatives is None:
        return _minus(equal_hours([lead.tally, rival.tally]))
    hours = {x.name: x.equal_hours for x in comparison.alternatives.every}
    return hours[lead.name] - hours[rival.name]


def _marked(comparison: Comparison) -> str:
    """Return what becomes of trips and order when trips that bear a mark count as not made."""
    lead = comparison.results[comparison.lead]
    made = float(lead.tally.column("completed").mean())
    rows = [i for i, r in enumerate(comparison.results) if r.does_the_job != "no"]
    if not comparison.as_asked or not rows:
        return ""
    left = comparison.as_asked[comparison.lead].made.mean()
    if round(made - left, 1) == 0.0:
        return ""
    text = (f"Of its {number(made, 0)} trips {number(made - left)} were moved to another day, adapted to the load or "
            "marginal")
    if len(rows) < 2:
        return f"{text}."
    first = min(rows, key=lambda i: float(comparison.as_asked[i].usd.mean()))
    same = _order_of(rows, [_net(r) for r in comparison.results]) == _order_of(
        rows, [float(x.usd.mean()) for x in comparison.as_asked])
    if first != comparison.lead:
        return f"{text}; counted as not made, {the(comparison.names[first])} costs least."
    return f"{text}; counted as not made, the order by cost {'stays' if same else 'changes behind the first'}."


def _order_of(rows: Sequence[int], usd: Sequence[float]) -> list[int]:
    return sorted(rows, key=lambda i: usd[i])


def _minus(two: Any) -> Any:
    return two[0] - two[1]


def _cash(comparison: Comparison) -> str:
    by_year = comparison.results[comparison.lead].by_year
    if not by_year or len(by_year) < 2:
        return ""
    first, then = (by_year[k]["cash_usd"]["mean"] for k in (0, 1))
    return f"Cash for it: {dollars(first)} dollars on the day of purchase, {dollars(then)} in the first year."


def _change(comparison: Comparison) -> str:
    """Return the conditions at which another candidate becomes the cheapest; those not placed are only counted."""
    if not comparison.tipping_points or comparison.replications < 2 or not cheapest_clearly(comparison):
        return ""
    lead = comparison.names[comparison.lead]
    points = [t for t in comparison.tipping_points if t["at"] is not None and lead in {t["from"], t["to"]}]
    placed = [t for t in points if t["placed"]]
    by_other: dict[str, list[str]] = {}
    for t in placed[:MOST_CONDITIONS]:
        above, other = t["from"] == lead, t["to"] if t["from"] == lead else t["from"]
        by_other.setdefault(other, []).append(condition(t, above))
    found = [f"{start(the(name))} becomes the cheapest if {listing(parts, 'or')}." for name, parts in by_other.items()]
    if len(points) > len(placed):
        loose = listing([SUBJECTS.get(t["variable"], plain(t["variable"])) for t in points if t not in placed], "or")
        found.append(f"Not placed, since the interval is open or holds what is today: at which {loose} the choice "
                     "would change.")
    return " ".join(found)


def condition(t: Mapping[str, Any], above: bool) -> str:
    """Return a condition in words, such as `fuel falls below $3.16 a gallon`."""
    value = float(t["at"])
    words = CONDITIONS.get(t["variable"])
    if words is None:
        return f"{plain(t['variable'])} {'rises above' if above else 'falls below'} {value:,.3g} {t['unit']}"
    return words[1 if above else 0].format(value, value * 100.0)


def _ask(comparison: Comparison) -> tuple[str, ...]:
    """Return what to find out first, in sentences; then what only the budget hangs on."""
    found = [f for f in comparison.find_out if f.kept == "choice"][:FEW]
    budget = [f for f in comparison.find_out if f.kept == "budget"]
    a = comparison.study.assumptions
    lines = [f"{'Find out first' if k == 0 else 'Then'}: {_one(f)}." for k, f in enumerate(found)]
    few = comparison.replications < a["statistics.question_replications"]
    if few:
        lines.append(f"What the sellers' answers are worth can be told from {a['statistics.question_replications']:g} "
                     "simulated years on.")
    elif not found and len(comparison.results) > 1:
        lines.append("No single answer, of a seller or on a price, is worth "
                     f"{dollars(a['statistics.least_worth_usd'], 1.0)} dollars a year to this choice.")
    if budget:
        most = [f"{_short(f.label)}{'' if f.candidate == EVERY else f', for {the(f.candidate)}'} "
                f"(± {dollars(f.spread_usd)})" for f in budget[:2]]
        lines.append(f"For your budget, not for the choice, in dollars a year: {listing(most)}.")
    return tuple(lines)


def _short(text: str) -> str:
    """Return a text without what stands in brackets; whole ones stand in the report's tables."""
    return re.sub(r" \([^()]*\)", "", text)


def _one(f: FindOut) -> str:
    whose = "" if f.candidate == EVERY else f", for {the(f.candidate)}"
    error = f", ± {dollars(f.standard_error_usd, 10.0)}" if f.standard_error_usd else ""
    whom = "by looking yourself" if f.who == "oneself" else f"from the {f.who}"
    also = "can" if f.bargain else "cannot"
    worth = f"{dollars(f.value_usd, 10.0)} dollars a year{error}"
    return f"{_short(f.label)}{whose}, {whom}; the answer is worth {worth}, and {also} be used to bargain"


def verdicts(comparison: Comparison) -> list[str]:
    """Return whom an insurer would hardly cover, and who asks what such aircraft do not bring."""
    told = [(r.name, difficulty(r.insurance)) for r in comparison.results]
    told += [(r.name, str(r.market_value.get("finding", ""))) for r in comparison.results]
    return [f"{name}: {text}." for name, text in told if text]


def _all_alone(study: Study) -> list[str]:
    """Return what to be told first where no word says who comes: seats, loads, fares and hours all hang on it."""
    listed = study.listed
    unsaid = sum(not trip.party_said for trip in listed) if listed is not None else 0
    adults = int(study.assumptions["trip.adults"])
    if listed is not None and unsaid and 2 * unsaid >= len(listed):
        whose = f"any of the {len(listed)} trips" if unsaid == len(listed) else f"{unsaid} of the {len(listed)} trips"
        taken = "the pilot alone" if adults == 1 else f"{adults} adults"
        where = "a column `people`, or its heading under trips.columns,"
    elif study.demand and not any(line.model_fields_set & {"adults", "children"} for line in study.spec.demand or ()):
        whose, taken, where = "any of the trips", "the pilot alone", "`adults` and `children` in each line"
    else:
        return []
    return [f"Nothing tells who comes on {whose}: they are flown with {taken}. Loads, seats, fares and hours all hang "
            f"on it; {where} may turn the answer round."]


def _limits(comparison: Comparison) -> tuple[str, ...]:
    study, found = comparison.study, [*_all_alone(comparison.study), *verdicts(comparison)]
    if comparison.replications < LEAST_YEARS_OF_POINTS:
        flown = "ownership" if study.spec.years > 1 else "simulated year"
        found.append(f"Only {count(comparison.replications, flown)}: how well good and bad years are known can be "
                     f"told from {LEAST_YEARS_OF_POINTS} on; take 100 before choosing.")
    if study.listed is not None and study.listed.from_logbook:
        found.append("The trips come from a logbook: it holds only the trips that went, so trips that an aircraft "
                     "could not make are missing from the start. Add the cancelled ones, where you remember them.")
        if study.listed.unstitched:
            found.append(f"{count(len(study.listed.unstitched), 'leg')} of it made no trip from home to home and are "
                         "left out.")
    if study.listed is not None and study.listed.outside_year:
        found.append(f"{count(study.listed.outside_year, 'trip')} of the list start in another year and are left out.")
    return tuple(found)

