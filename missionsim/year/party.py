"""A trip under way."""

from __future__ import annotations


class Party:
    """One trip under way: what has happened to it so far."""

    __slots__ = ("by_road_h", "departed_h", "diversions", "duty_start_h", "flown_h", "landed_h", "late", "looks",
                 "nights", "reached", "reasons", "skipped", "trip")

    def __init__(self, trip: int) -> None:
        self.trip = trip
        self.departed_h = self.by_road_h = -1.0
        self.duty_start_h = -1e9
        self.landed_h = -1e9
        self.flown_h = 0.0
        self.reached = self.looks = self.diversions = self.reasons = self.nights = 0
        self.late = self.skipped = False
