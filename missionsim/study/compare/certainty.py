"""How sure the answer is: three layers of what is not known, kept apart, and two chances that are never mixed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from missionsim.base.arrays import Array, Floats
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.statistics.comparisons import best_shares
from missionsim.statistics.intervals import Measure, mean_interval, pooled_points
from missionsim.statistics.joint_chances import additive_effects, chances, joint_means
from missionsim.statistics.splines import number_basis
from missionsim.study.compare.ownership import independent, least_rows
from missionsim.study.compare.price_draws import Priced
from missionsim.study.prepare.study import Flyer, Prepared
from missionsim.study.replicate.tally import Tally
from missionsim.study.unknowns.routines import drawn_routines_min

LEVEL_SHARE = 0.05
"""Least chance at which a candidate counts as level with the lead."""
YEARS_AT_ONCE = 50
"""Years, each under all draws of prices, that are looked through at once for the cheapest."""
CURVED_FROM = 60
"""Years from which the effect of a number may bend."""


@dataclass(frozen=True)
class Certainty:
    """How sure a comparison is, by candidate in the study's order.

    Parameters
    ----------
    priced : Priced
    net_cost_usd : tuple of measures     Mean over years and price draws, with the interval that the flown years give
                                         the mean; points of single years with prices in.
    prices_usd : tuple                   10 and 90 % points of the mean over price draws.
    spread : tuple of mappings           Standard deviations of one year: luck, listing, prices, total, interaction.
    probability_best : tuple             Share of simulated years, under price draws, in which it is the cheapest.
    confidence_mean_best : tuple         Share of joint draws in which its average year is the cheapest.
    lead : int                           The least mean among those that do the job.
    over : tuple                         Chance that the lead's average year costs less than this one's; 1 at the lead.
    clear : tuple of bool                Whether that reaches `statistics.clear_share`; False at the lead itself.
    knowing_all_usd : float              What it would save a year to know every price and open figure before choosing:
                                         the bound of what to find out; the years stay luck.
    enough : bool                        Whether enough years, or batches of ownerships, were flown to tell chances.
    at_common : mapping                  By share of a price's log variance that all aircraft have in common, other than
                                         the assumed one: `confidence_mean_best` then.
    listing_usd : (candidates, n) array  What a candidate's open figures do to the cost of each year, with mean zero.
    """

    priced: Priced
    net_cost_usd: tuple[Measure, ...]
    prices_usd: tuple[tuple[float, float], ...]
    spread: tuple[Mapping[str, float], ...]
    probability_best: tuple[float, ...]
    confidence_mean_best: tuple[float, ...]
    lead: int
    over: tuple[float, ...]
    clear: tuple[bool, ...]
    knowing_all_usd: float
    enough: bool
    listing_usd: Array
    at_common: Mapping[float, tuple[float, ...]] = field(default_factory=dict)

    def level(self, serving: Sequence[int]) -> list[int]:
        """Return the lead and those whose average year has a chance worth naming to be the cheapest."""
        return [i for i in serving if i == self.lead or self.confidence_mean_best[i] >= LEVEL_SHARE]


def certainty(prepared: Prepared, tallies: Sequence[Tally], priced: Priced, serving: Sequence[int],
              at_common: Mapping[float, Array] | None = None) -> Certainty:
    """Return how sure the choice among candidates is.

    Parameters
    ----------
    prepared : Prepared
    tallies : sequence of Tally   One a candidate.
    priced : Priced               Their costs under price draws, candidates first.
    serving : sequence of int     Candidates that do the job; only they can be the cheapest.
    at_common : mapping           By another share that aircraft have in common: mean costs by draw, (k, draws).
    """
    count, study, a = len(tallies), prepared.study, prepared.study.assumptions
    cost = priced.cost[:count]
    by_year, by_draw = cost.mean(axis=2), cost.mean(axis=1)
    effects = np.stack([listing_effects(flyer, part, years)
                        for flyer, part, years in zip(prepared.flyers, tallies, by_year, strict=True)])
    routines = routine_effects(prepared, tallies[0].replications, by_year - effects)
    lead = min(serving, key=lambda i: float(by_draw[i].mean()))
    residual = independent(study, by_year - effects - routines)
    names = [f.candidate.profile.name for f in prepared.flyers]
    groups = [names.index(n) for n in names]
    means = joint_means(by_draw, residual, effects, groups, a["statistics.prior_errors"],
                        generator(study.seed, 0, Stream.MEANS), common=routines)
    known = joint_means(by_draw, np.zeros_like(effects), effects, groups, 1.0,
                        generator(study.seed, 0, Stream.MEANS, 1), common=routines)[list(serving)]
    enough = residual.shape[1] >= least_rows(study)
    ahead = (means[lead] < means).mean(axis=1) + 0.5 * (means[lead] == means).mean(axis=1)
    over = np.where(np.arange(count) == lead, 1.0, ahead)
    clear = tuple(bool(enough and i != lead and i in serving and over[i] >= a["statistics.clear_share"])
                  for i in range(count))
    best = np.zeros(count)
    best[list(serving)] = _often_best(cost, serving)
    return Certainty(
        priced, tuple(headline(prepared, cost[i]) for i in range(count)),
        tuple((float(low), float(high)) for low, high in np.quantile(by_draw, [0.1, 0.9], axis=1).T),
        tuple(_spread(cost[i], effects[i]) for i in range(count)), tuple(best.tolist()),
        tuple(chances(means, serving).tolist()), lead, tuple(over.tolist()), clear,
        float(known.mean(axis=1).min() - known.min(axis=0).mean()), enough, effects,
        {share: tuple(chances(joint_means(level, residual, effects, groups, a["statistics.prior_errors"],
                                          generator(study.seed, 0, Stream.MEANS), common=routines), serving).tolist())
         for share, level in (at_common or {}).items()})


def _often_best(cost: Floats, serving: Sequence[int]) -> Floats:
    """Return the shares of years and price draws in which each of some is the cheapest.

    Some years at a time: all at once took 150 MB beside 1,000 years.
    """
    share = np.empty((len(serving), *cost.shape[1:]))
    for first in range(0, cost.shape[1], YEARS_AT_ONCE):
        some = cost[:, first:first + YEARS_AT_ONCE][list(serving)]
        share[:, first:first + YEARS_AT_ONCE] = best_shares(some.reshape(len(some), -1)).reshape(some.shape)
    return np.asarray(share.reshape(len(share), -1).mean(axis=1))


def listing_effects(flyer: Flyer, part: Tally, by_year: Array) -> Array:
    """Return what a candidate's open figures do to the cost of each year, with mean zero. [usd]"""
    designs = []
    for unsaid in flyer.listing.unsaid:
        drawn = np.asarray(part.drawn[unsaid.key], dtype=np.float64)
        if unsaid.categories:
            designs.append((drawn[:, None] == np.arange(1, len(unsaid.categories))).astype(np.float64))
        elif np.ptp(drawn) > 0.0:
            bent = number_basis(drawn).design(drawn)[:, 1:]
            designs.append(bent if len(drawn) >= CURVED_FROM * 3 else bent[:, :1])
    return additive_effects(np.asarray(by_year, dtype=np.float64), designs)


def routine_effects(prepared: Prepared, replications: Array, by_year: Array) -> Array:
    """Return what the pilot's routines, which nobody gave, do to each candidate's years, with mean zero. [usd]"""
    drawn = drawn_routines_min(prepared.study.seed, replications.tolist(), prepared.study.assumptions)
    designs = [values[:, None] for values in drawn.values() if np.ptp(values) > 0.0]
    return np.stack([additive_effects(np.asarray(row, dtype=np.float64), designs) for row in by_year])


def headline(prepared: Prepared, cost: Array) -> Measure:
    """Return the measure of a cost [year, draw] over years and price draws."""
    years = independent(prepared.study, cost.mean(axis=1)[None])[0]
    mean, low, high = mean_interval(years)
    whole = float(cost.mean())
    shift = 0.0 if mean is None else whole - mean
    few = len(years) < least_rows(prepared.study)
    found: Measure = {"mean": whole, "low": None if low is None or few else low + shift,
                      "high": None if high is None or few else high + shift}
    return found | pooled_points(cost)


def _spread(cost: Array, effects: Array) -> dict[str, float]:
    """Return standard deviations of one year: luck, open figures, prices, all, and what they do together."""
    years, prices = cost.mean(axis=1), cost.mean(axis=0)
    listing = float(np.var(effects))
    of_years, of_prices, total = float(np.var(years)), float(np.var(prices)), float(np.var(cost))
    luck = max(of_years - listing, 0.0)
    together = max(total - of_years - of_prices, 0.0)
    return {"luck": luck**0.5, "listing": min(listing, of_years)**0.5, "prices": of_prices**0.5, "total": total**0.5,
            "interaction": together**0.5}
