"""Who holds the aircraft when: reservations asked for in the order people think of them, by the rules of the group.

A pure calendar. What each member wants, when each asks and how each answers is drawn before; weather, faults and the
shop meet the booked trips later, in the event loop.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from dataclasses import dataclass, field
from enum import StrEnum
from heapq import heapify, heappop, heappush
from typing import Literal

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints, Ints8

WEEK_H = 168.0
ASKS, CANCELS = 0, 1


class RequestStatus(StrEnum):
    """What became of a request for the aircraft."""

    AS_ASKED = "as_asked"
    MOVED = "moved"
    REFUSED = "refused"
    GAVE_WAY = "gave_way"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class Requests:
    """Requests for the aircraft, one a trip. Hours since the year began, arrays [trip].

    `asked_h`: when the member asks. `start_h`, `end_h`: what is to be held, preparation and parking included.
    `earlier`, `later`, `end_earlier`, `end_later`: whole hours the start and the end may move.
    `least_h`: the shortest hold that still serves the trip. `kindness`: uniform draw; a holder gives way to a must-go
    trip where it is below the group's share. `cancelled_h`: when the member gives the time back; infinite for never.
    """

    member: Ints
    asked_h: Array
    start_h: Array
    end_h: Array
    earlier: Ints
    later: Ints
    end_earlier: Ints
    end_later: Ints
    least_h: Array
    must_go: Bools
    kindness: Array
    cancelled_h: Array


@dataclass(frozen=True, slots=True)
class ReservationRule:
    """The group's rules.

    Parameters
    ----------
    kind : str              `first_come`, or `rotating_week`: each week belongs to one member in turn.
    week_start_h : float    A moment at which a week of the rotation begins.
    members : int           In the rotation.
    opens_h : float         Reservations open so long ahead.
    open_bookings : int     Most reservations a member has open at once; 0 for no cap.
    held_h : float          Most hours a member's open reservations hold; 0 for no cap. A single longer trip needs the
                            others' consent, taken as given when it is the member's only one.
    release_h : float       So long before a time in somebody else's week it is free to all.
    give_way_share : float  Share of holders who give way when another must go; 0 where nobody may ask.
    """

    kind: Literal["first_come", "rotating_week"] = "first_come"
    members: int = 1
    opens_h: float = 60 * 24.0
    open_bookings: int = 0
    held_h: float = 0.0
    release_h: float = 7 * 24.0
    week_start_h: float = 0.0
    give_way_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Reservations:
    """What became of the requests, arrays [trip].

    `status`: position in `RequestStatus`. `met`: the time first asked for was taken. `start_shift`, `end_shift`: whole
    hours moved. `held_from_h`, `held_to_h`: as booked; NaN without a reservation.
    """

    status: Ints8
    met: Bools
    start_shift: Ints
    end_shift: Ints
    held_from_h: Array
    held_to_h: Array

    def is_(self, status: RequestStatus) -> Bools:
        """Tell which trips ended so."""
        return np.asarray(self.status == CODES[status])

    @property
    def kept(self) -> Bools:
        """Trips with a reservation that was not given up."""
        return self.is_(RequestStatus.AS_ASKED) | self.is_(RequestStatus.MOVED)


CODES: dict[RequestStatus, int] = {status: i for i, status in enumerate(RequestStatus)}


def reserve_year(requests: Requests, rule: ReservationRule) -> Reservations:
    """Return who gets a reservation, by asking in order of time.

    A request that meets a reservation is moved within its flexibility, the least move first; failing that, a must-go
    trip may ask the holders to give way; failing that it waits on a list, and is looked at again when time is given
    back.
    """
    return _ReservationDesk(requests, rule).run()


@dataclass
class _Calendar:
    """Times held, in order, without overlap."""

    starts: list[float] = field(default_factory=list)
    held: list[tuple[float, float, int]] = field(default_factory=list)
    longest_h: float = 0.0

    def meeting(self, start_h: float, end_h: float) -> list[int]:
        """Return the trips that hold some of a time; touching ends do not meet."""
        found = []
        i = bisect_left(self.starts, end_h) - 1
        while i >= 0 and self.starts[i] > start_h - self.longest_h - 1e-9:
            if self.held[i][1] > start_h:
                found.append(self.held[i][2])
            i -= 1
        return found

    def add(self, start_h: float, end_h: float, trip: int) -> None:
        insort(self.starts, start_h)
        insort(self.held, (start_h, end_h, trip))
        self.longest_h = max(self.longest_h, end_h - start_h)

    def remove(self, start_h: float, end_h: float, trip: int) -> None:
        self.starts.pop(bisect_left(self.starts, start_h))
        self.held.remove((start_h, end_h, trip))


class _ReservationDesk:
    def __init__(self, requests: Requests, rule: ReservationRule) -> None:
        self.rule, count = rule, len(requests.member)
        self.member: list[int] = requests.member.tolist()
        self.asked, self.start, self.end = (c.tolist() for c in (requests.asked_h, requests.start_h, requests.end_h))
        self.slack = list(zip(*(c.tolist() for c in (requests.earlier, requests.later, requests.end_earlier,
                                                     requests.end_later)), strict=True))
        self.least, self.must = requests.least_h.tolist(), requests.must_go.tolist()
        self.kindness, self.cancelled = requests.kindness.tolist(), requests.cancelled_h.tolist()
        self.calendar = _Calendar()
        self.status, self.met = [CODES[RequestStatus.REFUSED]] * count, [False] * count
        self.shift, self.span_h = [(0, 0)] * count, [(0.0, 0.0)] * count
        self.open: dict[int, list[int]] = {}
        self.waiting: list[int] = []
        self.events: list[tuple[float, int, int]] = []

    def run(self) -> Reservations:
        self.events = [(self._first_asked_h(k), ASKS, k) for k in range(len(self.member))]
        self.events += [(cancelled_h, CANCELS, k) for k, cancelled_h in enumerate(self.cancelled)
                        if cancelled_h < self.start[k]]
        heapify(self.events)
        while self.events:
            now_h, kind, k = heappop(self.events)
            if kind == CANCELS:
                self._cancel(k, now_h)
            elif self.status[k] != CODES[RequestStatus.CANCELLED]:
                self._ask(k, now_h)
        return self._result()

    def _ask(self, k: int, now_h: float) -> None:
        again_h = self._capped_until(k, now_h)
        if again_h is None:
            self._try(k, now_h)
        elif again_h <= self.start[k]:
            heappush(self.events, (again_h, ASKS, k))

    def _first_asked_h(self, k: int) -> float:
        """Return when a request is looked at: when asked, not before that time opens or the week's owner has chosen."""
        rule, start = self.rule, self.start[k]
        opens = start - rule.opens_h
        week = int((start - rule.week_start_h) // WEEK_H)
        if rule.kind == "rotating_week" and week % rule.members != self.member[k] % rule.members:
            opens = start - min(rule.release_h, rule.opens_h)
        return float(min(max(self.asked[k], opens), start))

    def _capped_until(self, k: int, now_h: float) -> float | None:
        """Return when the member may ask again, where too many times are held; None where the request is in order."""
        rule = self.rule
        if rule.members <= 1:
            return None  # nobody to spare the aircraft for
        mine = self.open.setdefault(self.member[k], [])
        mine[:] = [j for j in mine if self.span_h[j][1] > now_h]
        if not mine:
            return None
        held = sum(self.span_h[j][1] - self.span_h[j][0] for j in mine) + self.end[k] - self.start[k]
        many = 0 < rule.open_bookings <= len(mine)
        if not many and (rule.held_h <= 0.0 or held <= rule.held_h):
            return None
        self.met[k] = True
        return float(min(self.span_h[j][1] for j in mine)) + 1e-6

    def _try(self, k: int, now_h: float) -> bool:
        start, end = self.start[k], self.end[k]
        holders = self.calendar.meeting(start, end)
        self.met[k] = self.met[k] or bool(holders)
        if not holders:
            return self._take(k, 0, 0)
        for start_shift, end_shift in self._moves(k, holders):
            if start + start_shift >= now_h and not self.calendar.meeting(start + start_shift, end + end_shift):
                return self._take(k, start_shift, end_shift)
        if self.must[k] and all(self._gives_way(j, k) for j in holders):
            for j in holders:
                self._bump(j, now_h)
            return self._take(k, 0, 0)
        self.waiting.append(k)
        return False

    def _moves(self, k: int, holders: list[int]) -> list[tuple[int, int]]:
        """Return moves that clear the holders met, the least first: later start, earlier end, or both ends together."""
        earlier, later, end_earlier, end_later = self.slack[k]
        start, end = self.start[k], self.end[k]
        after = max(self.span_h[j][1] for j in holders) - start
        before = end - min(self.span_h[j][0] for j in holders)
        out = []
        for need, ends in ((after, 1), (before, -1)):
            hours = int(np.ceil(need - 1e-9))
            for other in (0, 1):
                s, e = (hours, hours * other) if ends > 0 else (-hours * other, -hours)
                s, e = max(s, -earlier), min(e, end_later)
                if s <= later and e >= -end_earlier and end + e - start - s >= self.least[k] - 1e-9:
                    out.append((s, e))
        return sorted(out, key=lambda move: abs(move[0]) + abs(move[1]))

    def _gives_way(self, holder: int, k: int) -> bool:
        other = self.member[holder] != self.member[k]
        return bool(other and not self.must[holder] and self.kindness[holder] < self.rule.give_way_share)

    def _take(self, k: int, start_shift: int, end_shift: int) -> bool:
        self.shift[k] = (start_shift, end_shift)
        self.span_h[k] = (self.start[k] + start_shift, self.end[k] + end_shift)
        self.calendar.add(*self.span_h[k], k)
        self.open.setdefault(self.member[k], []).append(k)
        self.status[k] = CODES[RequestStatus.MOVED if start_shift or end_shift else RequestStatus.AS_ASKED]
        return True

    def _drop(self, k: int, status: RequestStatus) -> None:
        self.calendar.remove(*self.span_h[k], k)
        self.open[self.member[k]] = [j for j in self.open[self.member[k]] if j != k]
        self.status[k] = CODES[status]

    def _bump(self, k: int, now_h: float) -> None:
        """Take a reservation away from its holder, who waits on the list like anybody refused."""
        self._drop(k, RequestStatus.GAVE_WAY)
        self.met[k] = True
        if now_h < self.start[k]:
            self.waiting.append(k)

    def _cancel(self, k: int, now_h: float) -> None:
        """Drop a plan, and offer the time it held to those who wait, in the order they asked."""
        held = self._holds(k)
        if held:
            self._drop(k, RequestStatus.CANCELLED)
        self.status[k] = CODES[RequestStatus.CANCELLED]
        self.waiting = [j for j in self.waiting if j != k and self.start[j] >= now_h]
        if held:
            self.waiting = [j for j in self.waiting if self.calendar.meeting(self.start[j], self.end[j])
                            or not self._take(j, 0, 0)]

    def _holds(self, k: int) -> bool:
        return self.status[k] in (CODES[RequestStatus.AS_ASKED], CODES[RequestStatus.MOVED])

    def _result(self) -> Reservations:
        holds = np.array([self._holds(k) for k in range(len(self.member))], dtype=bool)
        kept = np.array(self.span_h, dtype=float).reshape(-1, 2)
        kept[~holds] = np.nan
        shift = np.where(holds[:, None], np.array(self.shift, dtype=np.int64).reshape(-1, 2), 0)
        return Reservations(np.array(self.status, dtype=np.int8), np.array(self.met, dtype=bool), shift[:, 0],
                            shift[:, 1], kept[:, 0], kept[:, 1])
