"""Partnerships: members share one aircraft through simulated years, in every size of group that is asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from missionsim.base.arrays import Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import Fault, InputError
from missionsim.base.words import Stream
from missionsim.money.categories import CODE, Category
from missionsim.money.entries import Ledger
from missionsim.study.inputs.load_members import MemberTrips, notice_spread, trips_of
from missionsim.study.inputs.load_study import Study
from missionsim.study.inputs.schema_sharing import Booking
from missionsim.study.shared_use.groups import Person, group_of
from missionsim.study.shared_use.shared_year import BookingHabits, SharedYear
from missionsim.study.shared_use.sums import Sums, member_sums, size_sums, slip_sums, travel_sums
from missionsim.study.shared_use.years import SharedUse, YearToShare
from missionsim.year.reservations import ReservationRule
from missionsim.year.trips import WISH_LIST

OF_PERSON = ("wanted", "flown", "lost", "flight_hours", "days_held", "own_cents")
"""Of `member_sums`: what is kept of each person in every size."""


@dataclass(frozen=True)
class PartnersSums:
    """Sums by size, by size and person, by member as written, by booking rule, and of leaving earlier.

    `people`: by size, (r, n) in the order of `taking_part`; that of the group as written is always there.
    """

    sizes: Mapping[int, Sums]
    people: Mapping[int, Sums]
    members: Sums
    rules: Mapping[str, Sums]
    slip: Sums


@dataclass(frozen=True)
class Partnership(SharedUse[PartnersSums]):
    """Members who share one aircraft.

    `group`: all members, followed by people like the typical one where sizes go beyond the members. `members`: how
    many of the persons are the study's own. `typical`: whom added members are like.
    """

    members: int
    typical: str
    rule: ReservationRule
    sizes: tuple[int, ...]

    def sums_of(self, year: YearToShare) -> PartnersSums:
        """Return what is summed of one replication of one candidate, in every size and under every rule."""
        return _MembersYear(self, year).sums()


def prepare_partners(study: Study) -> Partnership:
    """Return a partnership ready to fly.

    Raises
    ------
    InputError   The study names no members.
    """
    spec = study.spec.members
    if spec is None:
        raise InputError([Fault(study.file, "members", "is missing", "a table of `people` who share the aircraft")])
    a, count = study.assumptions, len(study.members)
    need = max((*spec.sizes, count))
    typical = typical_of(study.members)
    persons, habits, streams = [], [], []
    for i, copy in [(i, 0) for i in range(count)] + [(typical, copy + 1) for copy in range(need - count)]:
        member = study.members[i]
        years = trips_of(member, i, int(a["sharing.demand_years"]), study.home.ident, study.seed, study.year, a, copy)
        name = member.name if copy == 0 else f"like {member.name}"
        persons.append(Person(name, member.pilot, tuple(years), member.spec.to_hangar_min / 60.0,
                              local_h=study.local_hours(member.pilot)))
        own = member.spec
        habits.append(BookingHabits(
            own.notice_days or notice_spread(a, "sharing.notice_days"),
            a["sharing.holds_h"] if own.holds_h is None else own.holds_h,
            a["sharing.cancel_share"] if own.cancel_share is None else own.cancel_share,
            notice_spread(a, "sharing.cancel_days"), wish_list=study.taken_for(member.listed) == WISH_LIST))
        streams.append((Stream.MEMBERS, (i, copy)))
    return Partnership(study, group_of(study, persons), tuple(habits), tuple(streams), count,
                       study.members[typical].name, rule_of(study, spec.booking), spec.sizes)


def typical_of(members: Sequence[MemberTrips]) -> int:
    """Return the row of the member whom added ones are like: as written, else with trips a year nearest to the mean."""
    for i, member in enumerate(members):
        if member.spec.typical:
            return i
    wanted = [float(sum(line.per_year for line in m.demand)) if m.listed is None else float(len(m.listed))
              for m in members]
    mean = sum(wanted) / len(wanted)
    return min(range(len(members)), key=lambda i: abs(wanted[i] - mean))


def rule_of(study: Study, booking: Booking) -> ReservationRule:
    """Return the booking rule of a study; weeks of a rotation begin on Mondays at home."""
    a = study.assumptions

    def own(name: str) -> float:
        value = getattr(booking, name)
        return float(a[f"sharing.{name}"] if value is None else value)

    monday_h = -24.0 * date(study.year, 1, 1).weekday() + round(-study.home.longitude_deg / 15.0)
    return ReservationRule(booking.rule, 1, 24.0 * min(own("opens_days"), 60.0), int(own("open_bookings")),
                       24.0 * own("held_days"), 24.0 * own("release_days"), monday_h, own("give_way_share"))


def rules_compared(rule: ReservationRule, a: Assumptions) -> dict[str, ReservationRule]:
    """Return the rules every partnership is looked at under; a cap where the study has none is the usual one."""
    plain = replace(rule, kind="first_come", open_bookings=0, held_h=0.0)
    cap = replace(rule, kind="first_come", open_bookings=rule.open_bookings or int(a["sharing.open_bookings"]),
                  held_h=rule.held_h or 24.0 * a["sharing.held_days"])
    return {"first_come": plain, "first_come_with_cap": cap, "rotating_week": replace(rule, kind="rotating_week")}


def taking_part(size: int, members: int, replication: int) -> list[int]:
    """Return who takes part in a group of some size: the members by turns, each as often as the others.

    Groups larger than the study's have all members, and further people like the typical one.
    """
    own = min(size, members)
    return sorted([*((replication + j) % members for j in range(own)), *range(members, members + size - own)])


class _MembersYear:
    """One replication of one candidate: decided once, booked and flown in every size and under every rule."""

    def __init__(self, prepared: Partnership, year: YearToShare) -> None:
        self.prepared, self.year = prepared, year
        self.known: dict[tuple[tuple[int, ...], ReservationRule], tuple[SharedYear, Ledger]] = {}

    def sums(self) -> PartnersSums:
        """Return all sums of the year."""
        prepared = self.prepared
        rules = {name: _fair(self._members(rule))
                 for name, rule in rules_compared(prepared.rule, prepared.study.assumptions).items()}
        as_written = range(prepared.members)
        members = self._members(prepared.rule) | self._travel(as_written, self.year.shared.person, prepared.members)
        people = {n: self._people(n) for n in sorted({*prepared.sizes, prepared.members})}
        return PartnersSums({n: self._size(n) for n in prepared.sizes}, people, members, rules,
                            slip_sums(self.year.shared, self.year.decided))

    def _members(self, rule: ReservationRule) -> Sums:
        year, study, as_written = self.year, self.prepared.study, range(self.prepared.members)
        spec = study.spec.members
        assert spec is not None
        flown, ledger = self._flown(as_written, rule)
        return member_sums(year.shared, flown, ledger, as_written, study.year, spec.sharing.hourly,
                           year.reserve_cents(flown), self._local_h(as_written))

    def _local_h(self, people: Sequence[int]) -> list[float]:
        return [self.prepared.group.persons[p].local_h for p in people]

    def _people(self, size: int) -> Sums:
        """Return what each in a group of some size does and pays alone, (n,)."""
        prepared, shared = self.prepared, self.year.shared
        people = taking_part(size, prepared.members, shared.replication)
        flown, ledger = self._flown(people, prepared.rule)
        spec = prepared.study.spec.members
        assert spec is not None
        own = member_sums(shared, flown, ledger, people, prepared.study.year, spec.sharing.hourly, 0,
                          self._local_h(people))
        place = np.full(len(prepared.group.persons), -1, dtype=np.int64)
        place[people] = np.arange(size)
        training = np.full(size, ledger.by_category([shared.replication])[0][CODE[Category.TRAINING]])
        return {name: own[name] for name in OF_PERSON} | {"training_cents": training} | self._travel(
            people, place[shared.person], size)

    def _size(self, size: int) -> Sums:
        people = taking_part(size, self.prepared.members, self.year.shared.replication)
        flown, ledger = self._flown(people, self.prepared.rule)
        travel = self._travel(people, np.zeros(len(self.year.shared.person), dtype=np.int64), 1)
        return size_sums(self.year.shared, flown, ledger, self.prepared.study.year) | {
            name: values[0] for name, values in travel.items()}

    def _travel(self, people: Sequence[int], whose: Ints, count: int) -> Sums:
        return travel_sums(self.year.trips_made(*self._flown(people, self.prepared.rule)), whose, count)

    def _flown(self, people: Sequence[int], rule: ReservationRule) -> tuple[SharedYear, Ledger]:
        key = (tuple(people), rule)
        if key not in self.known:
            places = {p: k for k, p in enumerate(people)}
            flown = self.year.flown_by(places, replace(rule, members=len(people)))
            self.known[key] = flown, self.year.ledger(flown, people, len(people), deductible=False)
        return self.known[key]


def _fair(sums: Sums) -> Sums:
    return {name: sums[name] for name in ("wanted", "met", "moved", "lost", "flown", "weekend_wanted", "weekend_lost")}
