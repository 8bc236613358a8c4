"""Measures of a candidate by replication, and their paired differences."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.money.categories import CODE, Category
from missionsim.statistics.comparisons import extra_usd_per_hour_saved, paired_difference, ratio_difference
from missionsim.statistics.intervals import within
from missionsim.study.replicate.local_sums import LOCAL_MEASURES
from missionsim.study.replicate.shop_sums import AS_ASKED, MARKS, SHOP_MEASURES
from missionsim.study.replicate.tally import Tally

COUNTED = ("flight_hours", "block_hours", "door_to_door_hours", "party_hours", "flown_door_to_door_hours",
           "nights_away_forced", "flights", "fuel_stops", "fuel_gal", "trips_faster", "trips_equal", "trips_slower",
           "trips_by_other_means", "trips_given_up", "trips_off_dates", "must_go_lost", "car_usd", "airline_usd",
           "given_up_usd", *SHOP_MEASURES, *LOCAL_MEASURES)
"""Measures that are columns of a tally under the same name."""
OF_TRIPS = frozenset(name for name in COUNTED if name.startswith("trips_")) | {"trips_wanted", "must_go_lost"}
"""Those that count trips of a year."""
SHARES = {"completed_share": "completed", "delayed_share": "delayed", "broken_off_share": "broken_off",
          **{f"{mark}_share": mark for mark in MARKS}, "as_asked_share": AS_ASKED}
COMPARED = ("net_cost_usd", "cost_usd", "completed_share", "flight_hours", "door_to_door_hours", "common_trips_hours",
            "fuel_stops", "extra_usd_per_hour_saved")


def values_of(part: Tally, name: str) -> Array:
    """Return a measure by replication; a share of trips is NaN in a generated year without any.

    Raises
    ------
    KeyError   The measure is a ratio of sums or unknown.
    """
    if name in SHARES:
        wanted = part.column("trips_wanted")
        return np.divide(part.column(SHARES[name]), wanted, out=np.full(wanted.shape, np.nan), where=wanted > 0)
    if name in {"cost_usd", "net_cost_usd"}:
        return part.column(name.replace("_usd", "_cents")) / 100.0
    if name in COUNTED or name == "trips_wanted":
        return part.column(name)
    raise KeyError(name)


def hours_usd(part: Tally) -> Array:
    """Return what hours are valued at in a candidate's net cost, by replication; zeros where they have no value.

    Dollars for an hour saved are told without it, else hours would stand on both sides of the division.
    """
    return np.asarray(part.categories[:, CODE[Category.TIME]] / 100.0)


def possible(name: str, found: Mapping[str, float | None], most_trips: float) -> dict[str, float | None]:
    """Return a measure with its interval and points held to what its name can be.

    Parameters
    ----------
    name : str             A share, a count, or else anything.
    found : mapping        As `measure` gives it.
    most_trips : float     Trips of a year at most.
    """
    if name in SHARES:
        return within(found, 0.0, 1.0)
    if name in OF_TRIPS:
        return within(found, 0.0, most_trips)
    return within(found, 0.0) if name in COUNTED else dict(found)


def every_year_has_trips(tallies: Sequence[Tally]) -> bool:
    """Tell whether shares of trips are defined in each year; where not, all that is said of them is sum over sum."""
    return all(bool(t.column("trips_wanted").all()) for t in tallies)


def differences(tallies: Sequence[Tally], net_usd: Array, independent: Callable[[Array], Array] = np.asarray,
                least_rows: int = 2) -> Iterator[dict[str, Any]]:
    """Yield one entry a pair and measure, a minus b, paired by replication.

    `door_to_door_hours` leaves out the trips that one of the two gave up; `common_trips_hours` counts only trips that
    both made by light aircraft in the same replication. Both are hours of all travellers. What an hour saved costs
    (`extra_usd_per_hour_saved`) is in dollars that hold no value of hours.

    Parameters
    ----------
    tallies : sequence of Tally
    net_usd : (candidates, n) array   Net cost a year by which one chooses: prices averaged over their draws.
    independent : callable            Rows of values by replication to what intervals rest on: themselves, or batches.
    least_rows : int                  Fewer of those tell no interval.
    """
    def paired(*rows: Array) -> dict[str, float | None]:
        return told(paired_difference(*independent(np.stack(rows))))

    def told(found: dict[str, float | None]) -> dict[str, float | None]:
        enough = independent(net_usd).shape[1] >= least_rows
        return found if enough else found | {"low": None, "high": None}

    plain = independent(net_usd - np.stack([hours_usd(t) for t in tallies]))
    for (i, a), (k, b) in combinations(enumerate(tallies), 2):
        hours = equal_hours([a, b])
        for name in COMPARED:
            if name == "extra_usd_per_hour_saved":
                found = told(extra_usd_per_hour_saved(plain[i], plain[k], *independent(hours)))
            elif name == "net_cost_usd":
                found = paired(net_usd[i], net_usd[k])
            elif name == "door_to_door_hours":
                found = paired(*hours)
            elif name == "common_trips_hours":
                found = paired(*common_hours(a, b))
            elif name in SHARES and not every_year_has_trips([a, b]):
                found = ratio_difference(a.column(SHARES[name]), a.column("trips_wanted"),
                                         b.column(SHARES[name]), b.column("trips_wanted"))
            else:
                found = paired(values_of(a, name), values_of(b, name))
            yield {"a": a.name, "b": b.name, "measure": name, **found}


def equal_hours(tallies: Sequence[Tally]) -> Array:
    """Return hours of all travellers by candidate and replication over the trips that none of them gave up.

    Parameters
    ----------
    tallies : sequence of Tally     Of the same replications.

    Returns
    -------
    (candidates, replications) array   [h]
    """
    flown = [t.trips for t in tallies]
    out = np.any([trips.given_up for trips in flown], axis=0)
    return np.stack([trips.sums(np.where(out, 0.0, trips.person_h), t.replications)
                     for t, trips in zip(tallies, flown, strict=True)])


def common_hours(a: Tally, b: Tally) -> Array:
    """Return hours of all travellers of two candidates by replication over trips that both made by light aircraft."""
    flown = a.trips, b.trips
    both = flown[0].made & flown[1].made
    return np.stack([trips.sums(np.where(both, trips.person_h, 0.0), t.replications)
                     for t, trips in zip((a, b), flown, strict=True)])
