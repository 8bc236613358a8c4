"""What the shop took of each replication: days, trips, nights; and what was given up for trips that were made."""

from __future__ import annotations

import numpy as np

from missionsim.base.arrays import Array, Columns, Ints
from missionsim.base.words import BIT, Mark, Outcome, Reason

YEAR_H = 8760.0
SHOP_MEASURES = ("shop_days", "trips_lost_to_shop", "stranded", "nights_stranded")
MARKS = ("moved", "adapted", "marginal")
AS_ASKED = "made_as_asked"
MADE = (str(Outcome.COMPLETED), str(Outcome.DELAYED))


def shop_sums(shop: Columns, trips: Columns, replications: Ints) -> list[Array]:
    """Return days in the shop within the year, trips lost to it, times stranded away, and nights away for it.

    Parameters
    ----------
    shop, trips : mapping            Columns named as in `ShopRow` and `TripRow`.
    replications : (n,) int array    In rising order.

    Returns
    -------
    list of (n,) arrays              Named in `SHOP_MEASURES`. A trip is lost when it is refused or broken off for
                                     maintenance; stranded is who comes home from there by other means.
    """
    n = len(replications)
    inside_h = np.clip(shop["end_h"], 0.0, YEAR_H) - np.clip(shop["start_h"], 0.0, YEAR_H)
    days = np.bincount(np.searchsorted(replications, shop["replication"]), inside_h / 24.0, n)
    row = np.searchsorted(replications, trips["replication"])
    lost = ~np.isin(trips["outcome"], MADE) & (trips["reason"] == str(Reason.MAINTENANCE))
    stranded = lost & trips["came_home_otherwise"].astype(bool)
    nights = np.where((trips["reasons"] & BIT[Reason.MAINTENANCE]) != 0, trips["nights_forced"], 0)
    return [days, *(np.bincount(row, values.astype(float), n) for values in (lost, stranded, nights))]


def mark_sums(trips: Columns, replications: Ints) -> list[Array]:
    """Return the number of trips made that bear each mark, by replication, in the order of `MARKS`; those with none.

    Together they are more than the trips made where a trip bears two marks; `AS_ASKED` counts those that bear none.
    """
    row, made = np.searchsorted(replications, trips["replication"]), np.isin(trips["outcome"], MADE)
    chosen = [(trips["marks"] & int(mark)) != 0 for mark in (Mark.MOVED, Mark.ADAPTED, Mark.MARGINAL)]
    return [np.bincount(row, (made & some).astype(float), len(replications)) for some in (*chosen, trips["marks"] == 0)]
