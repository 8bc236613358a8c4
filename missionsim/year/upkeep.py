"""The health of one aircraft through a year: hours, oil, inspections and faults. No prices, no chance."""

from __future__ import annotations

from math import exp

from missionsim.base.words import Shop
from missionsim.year.records import ShopRow
from missionsim.year.schedule import Upkeep, Wear


class Health:
    """Hours since this and that, and the faults that have come due.

    The k-th fault comes when the hours flown, divided by the mean time between faults, pass the k-th sum of unit
    exponentials: the same luck strikes every candidate, earlier the less reliable it is.
    """

    __slots__ = ("_deferred", "_fault", "_grounding", "_next_sum", "_overhauled", "_shop", "flown_h", "inspected_at_h",
                 "oil_at_h", "replication", "upkeep", "wear")

    def __init__(self, upkeep: Upkeep, wear: Wear, replication: int) -> None:
        self.upkeep, self.wear, self.replication = upkeep, wear, replication
        self.flown_h = 0.0
        self.oil_at_h = -upkeep.oil_since_h
        self.inspected_at_h = -upkeep.inspection_since_h
        self._fault = 0
        self._next_sum = float(wear.fault_sum[0])
        self._grounding: list[int] = []
        self._deferred: list[int] = []
        self._shop = 0
        self._overhauled = False

    @property
    def grounded(self) -> bool:
        """A fault keeps the aircraft on the ground."""
        return bool(self._grounding)

    def fly(self, flight_h: float) -> None:
        """Add flight hours and collect the faults they bring."""
        self.flown_h += flight_h
        hazard = self.flown_h / self.upkeep.fault_mean_h
        while hazard >= self._next_sum:
            k = self._fault
            waits = self.wear.defer_rank[k] < self.upkeep.deferrable_share
            (self._deferred if waits else self._grounding).append(k)
            self._fault += 1
            if self._fault >= len(self.wear.fault_sum):
                self._next_sum = float("inf")
            else:
                self._next_sum = float(self.wear.fault_sum[self._fault])

    def repair_h(self, away: bool) -> float:
        """Return the time to mend the first grounding fault: its own draw, longer away from home."""
        upkeep = self.upkeep
        median_h = upkeep.repair_away_median_h if away else upkeep.repair_home_median_h
        return median_h * exp(upkeep.repair_sigma * float(self.wear.repair_normal[self._grounding[0]]))

    def due_at_home(self) -> list[tuple[Shop, float]]:
        """Return the visits due now that the aircraft is home, with their hours.

        A deferred fault waits for the next visit, its parts long ordered, and makes that one a little longer.
        """
        upkeep, due = self.upkeep, []
        for k in self._grounding:
            due.append((Shop.FAULT, upkeep.repair_home_median_h * exp(upkeep.repair_sigma
                                                                      * float(self.wear.repair_normal[k]))))
        if self.flown_h - self.oil_at_h >= upkeep.oil_interval_h:
            due.append((Shop.OIL_CHANGE, upkeep.oil_down_h))
        if self.flown_h - self.inspected_at_h >= upkeep.inspection_interval_h:
            due.append((Shop.HUNDRED_HOUR, upkeep.inspection_down_h))
        if not self._overhauled and self.flown_h >= upkeep.overhaul_due_h:
            self._overhauled = True
            due.append((Shop.ENGINE_OVERHAUL, upkeep.overhaul_down_h))
        if due:
            due += [(Shop.FAULT, upkeep.deferred_repair_h)] * len(self._deferred)
        return due

    def deferred_at_annual(self) -> int:
        """Return how many deferred faults the annual mends on the side."""
        return len(self._deferred)

    def visit(self, kind: Shop, start_h: float, hours_h: float, place: int, trip: int) -> ShopRow:
        """Book a visit and reset what it resets. An annual changes the oil and counts as the hundred-hour one."""
        deferred = False
        if kind is Shop.FAULT:
            deferred = not self._grounding
            k = (self._grounding or self._deferred).pop(0)
            rank = float(self.wear.cost_rank[k])
        else:
            rank = float(self.wear.shop_rank[self._shop % len(self.wear.shop_rank)])
            self._shop += 1
            self.oil_at_h = self.flown_h
            if kind in {Shop.ANNUAL, Shop.HUNDRED_HOUR}:
                self.inspected_at_h = self.flown_h
        return ShopRow(self.replication, str(kind), start_h, start_h + hours_h, place, self.flown_h, rank, deferred,
                       trip)
