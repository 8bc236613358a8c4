"""The ownership behind a shared year: what a year of buying, keeping and selling the aircraft comes to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from missionsim.base.arrays import Array, Ints
from missionsim.money.categories import CATEGORIES, CODE, FIXED, Category
from missionsim.money.overhauls import OwnershipDraws
from missionsim.money.ownership_cash import Ownership, ownership_of
from missionsim.money.purchase_terms import PurchaseTerms, YearlyRecords
from missionsim.study.prepare.study import Entrant
from missionsim.study.replicate.ownership_years import ownership_draws, purchase_terms, years_kept
from missionsim.study.unknowns.effects import effects_of

GROWS = np.array([c not in FIXED and c is not Category.INSPECTION for c in CATEGORIES])
"""By category: grows with what is flown."""


def draws_of(entrant: Entrant, replications: int) -> OwnershipDraws:
    """Return the luck of one candidate's engines and its drawn state in all replications."""
    flyer, seed = entrant.flyer, entrant.prepared.study.seed
    effects = effects_of(flyer.listing.drawn(seed, range(replications)))
    return ownership_draws(flyer, effects, seed, range(replications))


def owned_by_group(entrant: Entrant, cash_cents: Ints, flight_hours: Array, draws: OwnershipDraws, *,
                   limits_bind: bool = False, trips: Array | float = 1.0, years: int | None = None) -> Ownership:
    """Return the ownership of one candidate where each flown year stands for all that it is kept.

    The premium stays as the year's ledger has it, which knows who flies and whether it is hired out.

    Parameters
    ----------
    cash_cents : (r, c) array      The flown year's ledger by category.
    flight_hours : (r,) array
    limits_bind : bool             Published hours and calendar bind, as for hire.
    trips : float or (r,) array    Times those flown.
    years : int                    Kept; None: as the study has it.
    """
    prepared, flyer = entrant.prepared, entrant.flyer
    terms: PurchaseTerms = replace(purchase_terms(prepared, flyer), pilot=None, limits_bind=limits_bind)
    share = np.broadcast_to(np.asarray(trips, dtype=np.float64), flight_hours.shape)
    cash = np.where(GROWS, cash_cents * share[:, None], cash_cents)
    hours, none = (flight_hours * share)[:, None], np.zeros((len(flight_hours), 1))
    flown = YearlyRecords(hours, none, none, np.rint(cash).astype(np.int64)[:, None, :])
    records = flown.kept(years or years_kept(prepared))
    return ownership_of(flyer.cost, records, draws, terms, prepared.prices, prepared.study.assumptions)


def columns_usd(owned: Ownership, categories: frozenset[Category]) -> Array:
    """Return what a year of it bears of some categories, by replication."""
    return np.asarray(owned.year_cents[:, sorted(CODE[c] for c in categories)].sum(axis=1) / 100.0)
