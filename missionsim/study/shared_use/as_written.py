"""What the members a study names bear and fly in groups of other sizes: their own trips of the same years in every one.

Whoever is added to a group flies more or less than the study's own members, so that the mean over all in it compares
other flying. Here only the study's own members count, whoever else is there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Ints
from missionsim.money.categories import CATEGORIES, FIXED, OUTSIDE, Category
from missionsim.money.cost_sharing import FEES, Deductible
from missionsim.money.ownership_cash import Ownership
from missionsim.statistics.intervals import Measure, measure
from missionsim.study.inputs.schema_sharing import Sharing
from missionsim.study.shared_use.equity import OWNING
from missionsim.study.shared_use.no_aircraft import none_net_usd
from missionsim.study.shared_use.owned import columns_usd
from missionsim.study.shared_use.result import count_measure, share_measure
from missionsim.study.shared_use.sums import Sums


@dataclass(frozen=True)
class Borne:
    """What each in a group of some size bears and flies in a year; arrays (r, n).

    `cost_usd`: of the aircraft. `net_usd`: with the trips not flown, and hours, as the study counts them.
    """

    cost_usd: Array
    net_usd: Array
    wanted: Array
    flown: Array
    lost: Array
    hours: Array


def borne(own: Sums, owned: Ownership, sharing: Sharing, deductible: Deductible, value_usd_per_h: float) -> Borne:
    """Return what each in a group bears, as the group agreed to share, every cost of a year in it.

    Parameters
    ----------
    own : mapping              By person (r, n), as of `PartnersSums.people`.
    owned : Ownership          Of a group of this size.
    sharing : Sharing          How fixed costs and those of use are shared; a group of another size needs other dues
                               and rates than those written, so everything is covered.
    deductible : Deductible
    value_usd_per_h : float    What the study values an adult's hour at.
    """
    cost = _cost_usd(own, owned, sharing, deductible)
    beside = own["other_usd"] + own["lost_usd"] + value_usd_per_h * own["valued_h"]
    return Borne(cost, cost + beside, own["wanted"], own["flown"], own["lost"], own["flight_hours"])


def _cost_usd(own: Sums, owned: Ownership, sharing: Sharing, deductible: Deductible) -> Array:
    """Return each one's part of a year's cost, (r, n): the purchase in equal parts, own bills by whose they are."""
    by, hours = sharing.by, own["flight_hours"]
    even = np.full(hours.shape, 1.0 / hours.shape[1])
    use = even if by == "equally" else _parts(own["days_held"] if by == "days_held" else hours)
    fixed = even if by in {"dues_and_hours", "equally"} else use
    bills = FEES | ({Category.FUEL} if sharing.hourly == "dry" else frozenset())
    training = own["training_cents"][:, :1] / 100.0
    owning = _usd(owned, OWNING)
    standing = _usd(owned, FIXED - OWNING) - training  # training is each one's own: once in the ledger, paid by all
    rest = _usd(owned, frozenset(CATEGORIES) - OUTSIDE - FIXED - bills)
    claims = deductible.usd * deductible.per_flight_h * hours
    parked = deductible.usd * deductible.parked_per_year
    shared_claims = 0.0 if deductible.by_flyer else claims.sum(axis=1, keepdims=True)
    return np.asarray(even * owning + fixed * standing + use * (rest + parked + shared_claims)
                      + _parts(own["own_cents"] - own["training_cents"]) * _usd(owned, bills)
                      + training + (claims if deductible.by_flyer else 0.0))


def _usd(owned: Ownership, categories: frozenset[Category]) -> Array:
    return columns_usd(owned, categories)[:, None]


def _parts(values: Array) -> Array:
    """Return each one's part of the whole of a year, (r, n); equal parts where there is none."""
    whole = values.sum(axis=1, keepdims=True)
    return np.where(whole > 0.0, values / np.where(whole > 0.0, whole, 1.0), 1.0 / values.shape[1])


def of_written(found: Array, as_written: Array, who: Ints) -> Array:
    """Return the mean over the study's own members in a group of another size, (r,).

    Where only some of them take part by turns, each year tells by how much those of that year differ from themselves
    in the group as written; that is laid on the mean of all. So no size has other trips than another.

    Parameters
    ----------
    found, as_written : (r, n) and (r, m) arrays    By person, in a group of n and in the group as written.
    who : (r, n) array                              Who takes part; below m the study's own.
    """
    members = as_written.shape[1]
    if found.shape[1] >= members:
        return np.asarray(found[:, :members].mean(axis=1))
    return np.asarray(as_written.mean(axis=1) + (found - np.take_along_axis(as_written, who, axis=1)).mean(axis=1))


@dataclass(frozen=True)
class WrittenIn:
    """The study's own members in a group of some size: means over them, by replication."""

    cost_usd: Array
    net_usd: Array
    wanted: Array
    flown: Array
    lost: Array
    hours: Array

    @classmethod
    def of(cls, found: Borne, as_written: Borne, who: Ints) -> WrittenIn:
        """Return them; parameters as those of `of_written`."""
        def held(name: str) -> Array:
            return of_written(getattr(found, name), getattr(as_written, name), who)

        def turns(name: str) -> Array:
            # Of a wanted trip by turns: whether one alone loses it hangs little on what became of it as written, and
            # its difference to that would bring in the chance of both.
            if found.wanted.shape[1] >= as_written.wanted.shape[1]:
                return held(name)
            scale = as_written.wanted.mean() / max(found.wanted.mean(), 1e-9)
            return np.asarray(getattr(found, name).mean(axis=1) * scale)

        return cls(held("cost_usd"), held("net_usd"), held("wanted"), turns("flown"), turns("lost"), held("hours"))

    def entry(self, none_usd: Array) -> dict[str, Measure]:
        """Return what a row of the table of sizes tells of them.

        Parameters
        ----------
        none_usd : (r,) array    What the same trips cost one of them with no aircraft.
        """
        return {"written_cost_per_member_usd": measure(self.cost_usd),
                "written_net_cost_per_member_usd": measure(self.net_usd),
                "written_more_than_none_usd": measure(self.net_usd - none_usd),
                "written_wanted": count_measure(self.wanted), "written_flown": count_measure(self.flown),
                "written_lost": count_measure(self.lost), "written_hours": count_measure(self.hours),
                "written_flown_share": share_measure(self.flown, self.wanted),
                "written_booked_out_share": share_measure(self.lost, self.wanted)}


def none_per_member_usd(members: Sums, value_usd_per_h: float) -> Array:
    """Return what the trips of one of the study's own members cost with no aircraft, the mean over them, (r,)."""
    return np.asarray(none_net_usd(members, value_usd_per_h).mean(axis=1))

