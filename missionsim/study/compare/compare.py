"""The main job: fly every candidate through the same years and compare them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.memory import give_back
from missionsim.base.parallel import Helpers, Progress, in_order
from missionsim.base.words import REASONS
from missionsim.money.cost_profile import CostProfile
from missionsim.statistics.comparisons import probability_best
from missionsim.statistics.information_value import Question
from missionsim.statistics.intervals import Measure, measure, ratio_measure
from missionsim.study.compare.alternatives import Alternatives, AsAsked, alternatives, as_asked, does_the_job
from missionsim.study.compare.certainty import Certainty, certainty, headline
from missionsim.study.compare.find_out import FindOut, find_out
from missionsim.study.compare.forecast_skill import ForecastSkill, forecast_skills
from missionsim.study.compare.measures import (
    COUNTED,
    SHARES,
    differences,
    every_year_has_trips,
    hours_usd,
    possible,
    values_of,
)
from missionsim.study.compare.ownership import Ownerships, independent, least_rows, ownerships
from missionsim.study.compare.price_draws import means_at_common_share, priced
from missionsim.study.compare.put_off import PutOff
from missionsim.study.compare.questions import asked
from missionsim.study.compare.recost import Recosted
from missionsim.study.compare.sensitivity import Bar, Offer, bars, offers, tippings
from missionsim.study.compare.share_wanted import by_share_wanted
from missionsim.study.compare.stopping import Stopping, Watch, most_replications
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import Prepared, prepare
from missionsim.study.prepare.subset import subset
from missionsim.study.replicate.one_year import CHUNK, people_of
from missionsim.study.replicate.ownership_years import fly_owned
from missionsim.study.replicate.rented_year import Renting, rental_rate, rented_years
from missionsim.study.replicate.tally import Tally, joined_tallies, tally

CONTRACT_VERSION = 2
FOLDED = 20
"""Chunks that are kept apart before they are summed up."""
@dataclass(frozen=True)
class Result:
    """One candidate of a finished comparison: its sums and its measures with intervals.

    `by_year`, `net_present_cost_usd`, `ownership`: from purchase to sale. `insurance`: what an insurer asks of the
    pilot at first: `insurable, why, premium_usd, dual_h`. `market_value`: what it sells for and what such
    aircraft bring, with what is to be said where the price asked lies outside.
    """

    name: str
    tally: Tally
    measures: Mapping[str, Measure]
    refused: Mapping[str, Mapping[str, float]]
    delayed: Mapping[str, float]
    by_month: Sequence[Mapping[str, float | None]]
    by_year: Sequence[Mapping[str, Any]] | None = None
    net_present_cost_usd: Measure | None = None
    ownership: Mapping[str, Any] | None = None
    does_the_job: str = "yes"
    why_not: str = ""
    equals_not_owning_usd_per_h: Mapping[str, float | None] | None = None
    spread: Mapping[str, float] | None = None
    prices_usd: Mapping[str, float] | None = None
    insurance: Mapping[str, Any] = field(default_factory=dict)
    market_value: Mapping[str, Any] = field(default_factory=dict)

    def values(self, name: str) -> Array:
        """Return a measure by replication: dollars, shares or counts."""
        return values_of(self.tally, name)


@dataclass(frozen=True)
class Comparison:
    """A finished comparison; everything a report or a program needs.

    `differences`: one entry per pair and measure, a minus b. `lead`: index of the candidate with the least mean net
    cost and, by candidate, whether its lead over that one is more than chance (Holm-corrected). `questions`: what to
    ask the sellers, most valuable first; None where no listing leaves anything open. `ownership`: in studies over
    several years. `tipping_points`: where the choice changes hands; `bars`: how the answer moves with one input at a
    time; `offers`: the price at which each candidate equals its cheapest rival; all from the same flown years.
    `decided_before`: how decisions by forecast turn out; `stopping`: where a width was asked for.
    `find_out`: what to find out first; `certainty`: how sure; `alternatives`: what else one could do with these trips.
    `as_asked`: the candidates with trips that were moved, adapted or marginal counted as not made. `rented`: the rented
    aircraft's years; None where none was flown.
    `by_share_wanted`: the result at some shares of a wish list. `refusals`: trips not made, told over all years, once
    `report.refusals.with_refusals` has put them there, and with them `told`, the few years flown again for it, by
    candidate, and `put_off`, what weather keeps from leaving.
    `rent_or_own`, `upgrades`, `annual_months`, `grid`: on request, see `study.extras`.
    """

    prepared: Prepared
    results: tuple[Result, ...]
    differences: tuple[Mapping[str, Any], ...]
    probability_best: Mapping[str, Mapping[str, float | None]]
    confidence_mean_best: Mapping[str, Mapping[str, float | None]]
    lead: int
    clear: tuple[bool, ...]
    replications: int
    questions: tuple[Question, ...] | None = None
    ownership: Ownerships | None = None
    tipping_points: tuple[Mapping[str, Any], ...] | None = None
    bars: tuple[Bar, ...] = ()
    offers: tuple[Offer, ...] = ()
    decided_before: tuple[ForecastSkill, ...] | None = None
    stopping: Stopping | None = None
    alternatives: Alternatives | None = None
    rented: Result | None = None
    find_out: tuple[FindOut, ...] = ()
    certainty: Certainty | None = None
    as_asked: tuple[AsAsked, ...] = ()
    by_share_wanted: tuple[Mapping[str, Any], ...] | None = None
    refusals: tuple[Any, ...] | None = None
    told: Any = None
    put_off: tuple[PutOff, ...] | None = None
    rent_or_own: tuple[Any, ...] | None = None
    upgrades: tuple[Any, ...] | None = None
    annual_months: Mapping[str, Sequence[float]] | None = None
    grid: Any = None

    @property
    def study(self) -> Study:
        """The study compared."""
        return self.prepared.study

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the candidates, in the study's order."""
        return tuple(r.name for r in self.results)

    def cost_years(self, i: int) -> Array:
        """Return a candidate's net cost by replication, prices nobody gave averaged over their draws. [usd]"""
        if self.certainty is None:
            return self.results[i].values("net_cost_usd")
        return np.asarray(self.certainty.priced.cost[i].mean(axis=1))

    def dollar_years(self, i: int) -> Array:
        """Return the same without what hours are valued at: by it a trip or an hour more is priced. [usd]"""
        return np.asarray(self.cost_years(i) - hours_usd(self.results[i].tally))

    def cost_draws(self, i: int) -> Array:
        """Return a candidate's net cost over years and price draws, one row of all. [usd]"""
        return self.cost_years(i) if self.certainty is None else self.certainty.priced.cost[i].ravel()

    def result(self, name: str) -> Result:
        """Return one candidate's result."""
        return next(r for r in self.results if r.name == name)


def compare(study: Study, replications: int | None = None, workers: int = 1, keep: int = 20,
            progress: Progress | None = None, cluster: str | None = None, within_usd: float | None = None,
            ) -> Comparison:
    """Fly all candidates of a study and compare them.

    Parameters
    ----------
    study : Study
    replications : int, optional   Simulated years; the study's own number when left out.
    workers : int                  Processes; results do not depend on it.
    keep : int                     Replications whose single records are kept.
    progress : callable, optional  Told replications done and wanted.
    cluster : str, optional        Address of a dask scheduler whose workers fly instead.
    within_usd : float, optional   Fly on in chunks until the 95 % interval of every mean difference to the leader is
                                   no wider than plus or minus this; `replications` is then the most flown.
    """
    return fly_and_compare(prepare(study, rental=True), replications, workers, keep, progress, cluster, within_usd)


def fly_and_compare(prepared: Prepared, replications: int | None = None, workers: int | Helpers = 1, keep: int = 20,
                    progress: Progress | None = None, cluster: str | None = None, within_usd: float | None = None,
                    flown: Callable[[Sequence[Tally]], None] | None = None) -> Comparison:
    """Fly and compare what is prepared, see `compare`; faults of the study have come up before.

    Parameters
    ----------
    prepared : Prepared
    replications : int, optional    The study's own number where left out.
    workers : int or Helpers        Processes; or helpers that have the prepared study already and stay afterwards.
    keep : int                      Replications whose records are kept, the first ones.
    progress : Progress, optional   Told of each finished chunk.
    cluster : str, optional         Address of a scheduler that flies instead.
    within_usd : float, optional    Half width at which enough years are flown. [usd]
    flown : callable, optional      Told the sums before they are compared, one a candidate.
    """
    study = prepared.study
    count = most_replications(study, replications, within_usd)
    if not isinstance(workers, Helpers):
        with Helpers(prepared, min(workers, -(-count // CHUNK)), cluster) as helpers:
            return fly_and_compare(prepared, count, helpers, keep, progress, None, within_usd, flown)
    watch = None if within_usd is None else Watch(prepared, within_usd, count)
    give_back()
    skills = None if watch is not None else workers.beside(forecast_skills, count)
    tallies = flown_tallies(prepared, count, workers, keep, progress, watch=watch)
    workers.keep_one()
    give_back()
    if flown is not None:
        flown(tallies)
    skills = skills or workers.beside(forecast_skills, len(tallies[0].replications))
    found = replace(compared(prepared, tallies), decided_before=skills() or None)
    return found if watch is None else replace(found, stopping=watch.stopping())


def comparison_of(prepared: Prepared, parts: Sequence[Sequence[Tally]], *, brief: bool = False) -> Comparison:
    """Return the comparison of years flown in one or several parts, each with a tally a candidate, in order.

    `brief` leaves out what no first answer tells: tipping points, bars, offers, decisions by forecast.
    """
    found = compared(prepared, _folded(parts), brief=brief)
    return found if brief else replace(found, decided_before=forecast_skills(prepared, found.replications) or None)


def flown_tallies(prepared: Prepared, count: int, workers: int | Helpers = 1, keep: int = 0,
                  progress: Progress | None = None, cluster: str | None = None, watch: Watch | None = None,
                  ) -> list[Tally]:
    """Fly all candidates of a prepared study through so many replications; one tally a candidate.

    With a `watch`, chunks beyond the one it calls enough do not count, flown or not.

    Parameters
    ----------
    prepared : Prepared
    count : int                     Replications.
    workers : int or Helpers        Processes; or helpers that have the prepared study already.
    keep : int                      Replications whose records are kept, the first ones.
    progress : Progress, optional   Told of each finished chunk.
    cluster : str, optional         Address of a scheduler that flies instead.
    watch : Watch, optional         Tells when the years are enough.
    """
    chunks = [(range(i, min(i + CHUNK, count)), keep) for i in range(0, count, CHUNK)]
    parts: list[list[Tally]] = []
    with closing(in_order(chunk_sums, prepared, chunks, workers, cluster, watch is not None)) as flown:
        for number, done in enumerate(flown, 1):
            # Sums by trip are as large for a chunk as for all: summed up now and then they take no room.
            parts = [*parts, done] if len(parts) < FOLDED else [_folded([*parts, done])]
            last = watch is not None and watch.enough(done[:len(prepared.flyers)])
            if progress is not None:
                progress(min(number * CHUNK, count), min(number * CHUNK, count) if last else count)
            if last:
                break
    return _folded(parts)


def _folded(parts: Sequence[Sequence[Tally]]) -> list[Tally]:
    """Return the tallies of all candidates over several chunks, in order."""
    return [joined_tallies(chunks) for chunks in zip(*parts, strict=True)]


def compared(prepared: Prepared, tallies: Sequence[Tally], *, brief: bool = False) -> Comparison:
    """Return the comparison of finished tallies, one a candidate, then that of the rented aircraft if one was flown."""
    study, count = prepared.study, len(prepared.flyers)
    tallies, rented = tallies[:count], tallies[count] if len(tallies) > count else None
    owned = ownerships(prepared, [t.owned for t in tallies])
    must = _must_be_possible(prepared)
    jobs = [does_the_job(t, study.spec.least_completed_share, must) for t in tallies]
    results = tuple(replace(_result(t, study.most_trips), does_the_job=job, why_not=why, by_year=o.by_year,
                            net_present_cost_usd=o.net_present_cost_usd, ownership=o.summary(),
                            insurance=o.insurance, market_value=_market_value(f.cost))
                    for t, o, (job, why), f in zip(tallies, owned.owned, jobs, prepared.flyers, strict=True))
    recosted = Recosted(prepared, tallies)
    serving = [i for i, (job, _) in enumerate(jobs) if job != "no"] or list(range(count))
    local_usd = [recosted.local_usd(i) for i in range(count)] + (
        [] if rented is None else [_rented_local_usd(prepared, rented)])
    other = alternatives(tallies, rented, serving[0], study.assumptions, local_usd)
    costs = priced(recosted, other.every)
    sure = certainty(prepared, tallies, costs, serving,
                     {} if brief else {share: means_at_common_share(recosted, share) for share in (0.0, 1.0)})
    rows = partial(independent, study)
    other = alternatives(tallies, rented, sure.lead, study.assumptions, local_usd, rows, least_rows(study),
                         study.most_trips).at_prices(
        {name: (costs.by_year[i], sure.net_cost_usd[i] if i < count else headline(prepared, costs.cost[i]))
         for i, name in enumerate(costs.names)})
    results = tuple(_sure(r, sure, i, other) for i, r in enumerate(results))
    net = costs.by_year[:count]
    questions = asked(prepared, tallies, net, serving)
    choice = recosted if len(serving) == count else Recosted(prepared.some(serving), [tallies[i] for i in serving])
    return Comparison(prepared, results, tuple(differences(tallies, net, rows, least_rows(study))),
                      _best(tallies, sure),
                      {"net_cost_usd": {t.name: share if sure.enough else None
                                        for t, share in zip(tallies, sure.confidence_mean_best, strict=True)}},
                      sure.lead, sure.clear, len(tallies[0].replications),
                      questions=questions or None,
                      find_out=find_out(recosted, costs, questions, serving, sure.level(serving)),
                      certainty=sure, as_asked=as_asked(tallies, net, study.most_trips),
                      ownership=owned if study.spec.years > 1 else None,
                      tipping_points=None if brief else tuple(t.entry() for t in tippings(choice)),
                      bars=() if brief else bars(choice), offers=() if brief else offers(choice),
                      alternatives=other, rented=None if rented is None else _rented(prepared, rented),
                      by_share_wanted=by_share_wanted(prepared, tallies, other) or None)


def _rented(prepared: Prepared, rented: Tally) -> Result:
    """Return the rented aircraft's years, the job asked of it as of the candidates."""
    job, why = does_the_job(rented, prepared.study.spec.least_completed_share, _must_be_possible(prepared))
    return replace(_result(rented, prepared.study.most_trips), does_the_job=job, why_not=why)


def _must_be_possible(prepared: Prepared) -> list[bool]:
    """Return by row of the trip table which trips must be possible; empty where trips vary."""
    return [t.must_be_possible for t in prepared.table] if prepared.study.listed is not None else []


def _rented_local_usd(prepared: Prepared, rented: Tally) -> Array:
    """Return what local flying adds to a year of renting: its hours at the rate."""
    assert prepared.rental is not None
    key, name = rental_rate(prepared.rental.flyers[0])
    return np.asarray(rented.column("local_block_hours") * float(prepared.study.assumptions[key][name]))


def _market_value(cost: CostProfile) -> dict[str, Any]:
    return {} if cost.market_value is None else cost.market_value.entry()


def chunk_sums(prepared: Prepared, job: tuple[Sequence[int], int]) -> list[Tally]:
    """Fly a chunk and return its sums, see `chunk_tallies`; the job is its replications and how many are kept."""
    return chunk_tallies(prepared, *job)


def chunk_tallies(prepared: Prepared, replications: Sequence[int], keep: int) -> list[Tally]:
    """Fly a chunk and return its sums; what a worker does. Where demand is generated each year has trips of its own."""
    study = prepared.study
    if study.listed is not None:
        return _tallies(prepared, replications, keep)
    parts: list[list[Tally]] = [[] for _ in range(len(prepared.flyers) + (prepared.rental is not None))]
    years = _own_years(study, replications, prepared.rental is not None)
    for replication, own in zip(replications, years, strict=True):
        for i, part in enumerate(_tallies(own, [replication], keep)):
            parts[i].append(part)
    return [_joined_years(p) for p in parts]


def _own_years(study: Study, replications: Sequence[int], rental: bool) -> Iterator[Prepared]:
    """Yield the study ready to fly each replication's own trips, prepared together since they go to the same places."""
    tables = [study.trips(replication) for replication in replications]
    every = tuple(trip for table in tables for trip in table)
    together = prepare(study, replace(tables[0], trips=every), rental=rental)
    first = 0
    for table in tables:
        yield subset(together, np.arange(first, first + len(table)))
        first += len(table)


def _tallies(prepared: Prepared, replications: Sequence[int], keep: int) -> list[Tally]:
    idents, rental = _idents(prepared), prepared.rental
    people_lb = people_of(prepared, replications)
    renting = None if rental is None else Renting(prepared, replications, people_lb)
    flown = fly_owned(prepared, replications, people_lb, None if renting is None else renting.fly)
    parts = [tally(one, owned, replications, prepared.books(flyer), keep, idents)
             for (one, owned), flyer in zip(flown, prepared.flyers, strict=True)]
    if rental is not None and renting is not None:
        years = rented_years(prepared, renting.columns(), replications)
        parts.append(tally(years, None, replications, prepared.books(rental.flyers[0]), keep, idents))
    return parts


def _idents(prepared: Prepared) -> list[str]:
    return [a.ident for a in prepared.places.airports]


def _joined_years(parts: Sequence[Tally]) -> Tally:
    """Join years with trip tables of their own: counts by trip mean nothing across them and are left empty."""
    none = np.zeros((0, 4))
    reasons = np.zeros((0, len(REASONS)))
    return joined_tallies([replace(p, by_trip=none, trip_reason=reasons, trip_sum=none) for p in parts])


def _result(part: Tally, most_trips: float) -> Result:
    measures: dict[str, Measure] = {}
    every = every_year_has_trips([part])
    for name in ("trips_wanted", *SHARES, *COUNTED, "cost_usd", "net_cost_usd"):
        found = (measure(values_of(part, name)) if every or name not in SHARES else
                 ratio_measure(part.column(SHARES[name]), part.column("trips_wanted")))
        measures[name] = possible(name, found, most_trips)
    cost = values_of(part, "cost_usd")
    quarters = part.monthly[:, :, 3].reshape(len(cost), 4, 3).sum(axis=2) / 100.0
    measures["dearest_quarter_usd"] = measure(quarters.max(axis=1))
    measures["cost_per_hour_usd"] = ratio_measure(cost, part.column("flight_hours"))
    measures["cost_per_completed_trip_usd"] = ratio_measure(cost, part.column("completed"))
    refused = {"structural": _mean_counts(part.structural), "on_the_day": _mean_counts(part.on_the_day)}
    return Result(part.name, part, measures, refused, _mean_counts(part.delayed), _by_month(part))


def _mean_counts(counts: Array) -> dict[str, float]:
    mean = counts.mean(axis=0)
    return {str(reason): float(mean[i]) for i, reason in enumerate(REASONS) if mean[i] > 0}


def _by_month(part: Tally) -> list[dict[str, float | None]]:
    wanted, completed, hours, cents = (part.monthly[:, :, i].mean(axis=0) for i in range(4))
    return [{"month": m + 1, "trips_wanted": float(wanted[m]),
             "completed_share": float(completed[m] / wanted[m]) if wanted[m] else None,
             "flight_hours": float(hours[m]), "cost_usd": float(cents[m] / 100.0)} for m in range(12)]


def _sure(result: Result, sure: Certainty, i: int, other: Alternatives) -> Result:
    """Return a result with its cost over price draws as the headline, and what it equals not owning at."""
    likely = result.measures["net_cost_usd"]
    low, high = sure.prices_usd[i]
    measures = {**result.measures, "net_cost_usd": sure.net_cost_usd[i], "net_cost_at_likely_prices_usd": likely}
    return replace(result, measures=measures, spread=sure.spread[i], prices_usd={"p10": low, "p90": high},
                   equals_not_owning_usd_per_h=other.equals_not_owning(result.name))


def _best(tallies: Sequence[Tally], sure: Certainty) -> dict[str, dict[str, float | None]]:
    """Return the shares of single years in which each is best, by measure; cost under price draws."""
    completed = np.stack([t.column("completed") for t in tallies])
    made: dict[str, Any] = {"values": np.stack([values_of(t, "completed_share") for t in tallies])}
    if not every_year_has_trips(tallies):
        made = {"values": completed, "denominators": np.stack([t.column("trips_wanted") for t in tallies])}
    each = probability_best(np.stack([values_of(t, "cost_usd") for t in tallies]), denominators=completed)
    found: dict[str, list[float | None]] = {
        "net_cost_usd": [share if sure.enough else None for share in sure.probability_best],
        "cost_per_completed_trip_usd": each,
        "completed_share": _shares_best(made)}
    return {name: dict(zip((t.name for t in tallies), shares, strict=True)) for name, shares in found.items()}


def _shares_best(made: Mapping[str, Any]) -> list[float | None]:
    return probability_best(made["values"], lower_is_better=False, denominators=made.get("denominators"))
