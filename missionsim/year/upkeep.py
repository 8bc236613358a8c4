"""The health of one aircraft through a year: hours, oil, inspections and faults. No prices, no chance."""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, inf

from missionsim.base.words import Shop
from missionsim.flight.rules import inspection_due, next_inspection_h
from missionsim.year.aircraft import Upkeep, Wear
from missionsim.year.records import ShopRow


def annual_start_h(upkeep: Upkeep, away: Iterable[tuple[float, float]]) -> float:
    """Return when the annual is booked: where the widest gap between trips begins, late enough and in time. [h]

    Parameters
    ----------
    upkeep : Upkeep          From when on it may begin, and when it is due.
    away : pairs of float    Planned departure and return of each trip. [h]
    """
    free_h, start_h, widest_h = upkeep.annual_from_h, min(upkeep.annual_from_h, upkeep.annual_due_h), -inf
    for leave_h, home_h in [*sorted(away), (inf, inf)]:
        if free_h > upkeep.annual_due_h:
            break
        if leave_h - free_h > max(widest_h, 0.0):
            widest_h, start_h = leave_h - free_h, free_h
        free_h = max(free_h, home_h)
    return start_h


class Health:
    """Hours since this and that, and the faults that have come due.

    The k-th fault comes when the hours flown, divided by the mean time between faults, pass the k-th sum of unit
    exponentials: the same luck strikes every candidate, earlier the less reliable it is. A fault that only shows before
    the next flight is hidden until somebody looks.
    """

    __slots__ = ("_deferred", "_fault", "_grounding", "_hidden", "_next_sum", "_overhauled", "_shop", "annual_done",
                 "ends_trip", "flown_h", "inspection_due_at_h", "oil_at_h", "replication", "upkeep", "wear")

    def __init__(self, upkeep: Upkeep, wear: Wear, replication: int) -> None:
        self.upkeep, self.wear, self.replication = upkeep, wear, replication
        self.flown_h = 0.0
        self.oil_at_h = -upkeep.oil_since_h
        self.inspection_due_at_h = upkeep.inspection_interval_h - upkeep.inspection_since_h
        self._fault = 0
        self._next_sum = float(wear.fault_sum[0])
        self._grounding: list[int] = []
        self._hidden: list[int] = []
        self._deferred: list[int] = []
        self._shop = 0
        self._overhauled = self.annual_done = self.ends_trip = False

    @property
    def grounded(self) -> bool:
        """A fault that has shown keeps the aircraft on the ground."""
        return bool(self._grounding)

    @property
    def hidden(self) -> bool:
        """A fault will show when somebody looks at the aircraft before its next flight."""
        return bool(self._hidden)

    def look_over(self) -> None:
        """Find what is to be found before a flight."""
        self._grounding += self._hidden
        self._hidden = []

    def flyable_at(self, time_h: float) -> bool:
        """Tell whether the annual is in date."""
        return self.annual_done or time_h <= self.upkeep.annual_due_h

    def fly(self, flight_h: float) -> None:
        """Add flight hours and collect the faults they bring."""
        self.flown_h += flight_h
        hazard = self.flown_h / self.upkeep.fault_mean_h
        while hazard >= self._next_sum:
            self._strike(self._fault)
            self._fault += 1
            if self._fault >= len(self.wear.fault_sum):
                self._next_sum = inf
            else:
                self._next_sum = float(self.wear.fault_sum[self._fault])

    def _strike(self, k: int) -> None:
        upkeep, shown = self.upkeep, self.wear.shown_rank[k]
        if self.wear.defer_rank[k] < upkeep.deferrable_share:
            self._deferred.append(k)
        elif shown < upkeep.shown_before_share:
            self._hidden.append(k)
        else:
            self._grounding.append(k)
            flying = shown < upkeep.shown_before_share + upkeep.shown_flying_share
            self.ends_trip |= bool(flying and self.wear.ends_rank[k] < upkeep.ends_trip_share)

    def repair_h(self, away: bool, weekend: bool = False) -> float:
        """Return the time to mend the first grounding fault: its own draw, and away from home the way to a mechanic.

        Times in the home shop are days of the calendar, with their weekends; only who looks for a mechanic elsewhere on
        a `weekend` waits longer.
        """
        k, upkeep = self._grounding[0], self.upkeep
        work_h = upkeep.repair_median_h * exp(upkeep.repair_sigma * float(self.wear.repair_normal[k]))
        if not away or work_h < upkeep.field_fix_h:
            return work_h
        rank = 2.0 * float(self.wear.find_rank[k]) - 1.0
        beyond_h = upkeep.find_high_h - upkeep.find_median_h if rank > 0.0 else upkeep.find_median_h - upkeep.find_low_h
        return work_h + upkeep.find_median_h + rank * beyond_h + (upkeep.weekend_h if weekend else 0.0)

    def ferriable(self) -> bool:
        """Tell whether all grounding faults let the aircraft be flown home without passengers.

        References
        ----------
        .. [1] 14 CFR 21.197(a): special flight permits to a base where repairs are performed.
        """
        return all(self.wear.permit_rank[k] < self.upkeep.permit_share for k in self._grounding)

    def due_at_home(self, next_flights_h: float = 0.0) -> list[tuple[Shop, float]]:
        """Return the visits due now that the aircraft is home, with their hours.

        A deferred fault waits for the next visit, its parts long ordered, and makes that one a little longer.

        Parameters
        ----------
        next_flights_h : float   Flight hours of the next trip; the hundred-hour inspection is done before it. [h]
        """
        upkeep, due = self.upkeep, []
        for k in self._grounding:
            due.append((Shop.FAULT, upkeep.repair_median_h * exp(upkeep.repair_sigma
                                                                 * float(self.wear.repair_normal[k]))))
        if self.flown_h - self.oil_at_h >= upkeep.oil_interval_h:
            due.append((Shop.OIL_CHANGE, upkeep.oil_down_h))
        if self._inspection_due(next_flights_h):
            due.append((Shop.HUNDRED_HOUR, upkeep.inspection_down_h))
        if not self._overhauled and self.flown_h >= upkeep.overhaul_due_h:
            self._overhauled = True
            due.append((Shop.ENGINE_OVERHAUL, upkeep.overhaul_down_h))
        if due:
            due += [(Shop.FAULT, upkeep.deferred_repair_h)] * len(self._deferred)
        return due

    def _inspection_due(self, next_flights_h: float) -> bool:
        """Tell whether to inspect now; one just done serves even a trip longer than the interval."""
        fresh = self.inspection_due_at_h - self.flown_h >= self.upkeep.inspection_interval_h
        return not fresh and inspection_due(self.flown_h, next_flights_h, self.inspection_due_at_h)

    def deferred_at_annual(self) -> int:
        """Return how many deferred faults the annual mends on the side."""
        return len(self._deferred)

    def visit(self, kind: Shop, start_h: float, hours_h: float, place: int, trip: int) -> ShopRow:
        """Book a visit and reset what it resets. An annual changes the oil and counts as the hundred-hour one.

        Parameters
        ----------
        kind : Shop
        start_h : float   UTC hours of the year. [h]
        hours_h : float   That it takes. [h]
        place : int       Row of the place.
        trip : int        Row of the trip, -1 for none.
        """
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
                self.inspection_due_at_h = next_inspection_h(self.flown_h, self.inspection_due_at_h,
                                                             self.upkeep.inspection_interval_h)
            self.annual_done |= kind is Shop.ANNUAL
        return ShopRow(self.replication, str(kind), start_h, start_h + hours_h, place, self.flown_h, rank, deferred,
                       trip)
