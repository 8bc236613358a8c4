"""Every trip not made, told over all simulated years: how often, for what, by how much, and what would make it go."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil
from statistics import median

import numpy as np

from missionsim.base.words import EXPLAINED, REASONS, Outcome, Reason
from missionsim.study.explain.other_plans import ANOTHER_DAY, ANOTHER_FIELD, Failed, OtherPlan, Tried
from missionsim.study.explain.replication import ExplainedYear
from missionsim.study.explain.trip_days import ToldYear, told_year
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.exact_reasons import NOR_TANKS, TO_FILL, WITH_PASSENGERS, Why
from missionsim.study.replicate.one_year import weather_of
from missionsim.study.replicate.tally import Tally
from missionsim.study.replicate.trip_years import BROKEN_OFF, TripYears

UPGRADES: Mapping[Reason, str] = {Reason.OXYGEN: "portable_oxygen", Reason.RANGE: "long_range_tanks",
                                  Reason.ICING: "ice_approved"}
"""Upgrades that take a reason away."""


@dataclass(frozen=True, slots=True)
class ReasonShare:
    """What decided that it was not made, and in which share of the years that wanted the trip."""

    reason: Reason
    share: float


@dataclass(frozen=True, slots=True)
class Margin:
    """By how much one reason fails: the median and the worst of the years judged, and the median one in words."""

    reason: Reason
    unit: str
    typical: float
    worst: float
    words: str


@dataclass(frozen=True, slots=True)
class SmallestChange:
    """The smallest change that would make it go: `kind` is load, people, fuel, field, hour, upgrade, day or aircraft.

    `amount` in `unit`, None where nothing is measured. `also`: what else refuses it as loaded, the end of `words`.
    """

    kind: str
    amount: float | None
    unit: str
    words: str
    also: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class RefusedTrip:
    """One trip with one candidate over all years flown.

    Parameters
    ----------
    candidate, trip_id : str
    trip : int                 Row of the trip table.
    years_wanted : int         Simulated years that wanted it.
    not_made, never_left : int Years in which it was refused or broken off; of these, refused.
    reasons : tuple            The most frequent first.
    judged : int               Years not made that were judged exactly, of the first few flown.
    margins : tuple            From these years; reasons of sky and calendar have none.
    change : SmallestChange
    """

    candidate: str
    trip_id: str
    trip: int
    years_wanted: int
    not_made: int
    never_left: int
    reasons: tuple[ReasonShare, ...]
    judged: int
    margins: tuple[Margin, ...]
    change: SmallestChange

    @property
    def share(self) -> float:
        """Share of the years that wanted it in which it was not made."""
        return self.not_made / max(self.years_wanted, 1)

    @property
    def told(self) -> str:
        """One sentence a client can repeat."""
        why = ", ".join(f"{str(r.reason).replace('_', ' ')} {100.0 * r.share:.0f} %" for r in self.reasons[:3])
        text = f"not made in {self.not_made} of the {self.years_wanted} years that wanted it ({why})"
        if self.margins:
            m = self.margins[0]
            text += f"; {m.words}" + (f", at worst {_amount(m.worst, m.unit)}" if m.worst > 1.05 * m.typical else "")
        return f"{text}; {self.change.words}"


@dataclass
class _Judged:
    """What was found of one trip and candidate in the years judged."""

    years: int = 0
    other_day: OtherPlan | None = None
    other_field: OtherPlan | None = None
    why: dict[Reason, list[Why]] = field(default_factory=dict)
    earlier_h: list[float] = field(default_factory=list)


def years_judged(prepared: Prepared, flown: int) -> range:
    """Return the replications that are flown again and judged, the first few; none where trips are generated anew."""
    listed = prepared.study.listed is not None and len(prepared.table)
    return range(min(int(prepared.study.assumptions["explain.years_judged"]), flown) if listed else 0)


def judged_year(prepared: Prepared, replication: int) -> tuple[ToldYear, ...]:
    """Return a replication flown again and told, by candidate."""
    day = weather_of(prepared, replication)
    return tuple(told_year(entrant, replication, day) for entrant in prepared.entrants)


def failed_trips(prepared: Prepared, tallies: Sequence[Tally], told: Sequence[Sequence[ToldYear]]) -> list[Failed]:
    """Return trips often not made, and not in the years judged, that no earlier hour of their own would have helped.

    Parameters
    ----------
    prepared : Prepared
    tallies : sequence of Tally   One a candidate.
    told : sequence               The years judged, [year][candidate].
    """
    often = [_often(part, prepared.study.assumptions["explain.tried_from_share"]) for part in tallies]
    return [Failed(number, trip, replication, stop.reason)
            for replication, candidates in zip(tallies[0].replications[:len(told)].tolist(), told, strict=True)
            for number, year in enumerate(candidates) for trip, stop in year.explained.stops.items()
            if trip in often[number] and stop.earlier_h is None and stop.reason in ANOTHER_DAY | ANOTHER_FIELD]


def refused_trips(prepared: Prepared, tallies: Sequence[Tally], told: Sequence[Sequence[ToldYear]], tried: Tried,
                  ) -> tuple[RefusedTrip, ...]:
    """Return every trip of a list that some candidate did not make in some year, by trip and candidate.

    Shares are of all years flown.

    Parameters
    ----------
    prepared : Prepared
    tallies : sequence of Tally   One a candidate.
    told : sequence               The years judged, [year][candidate], from which margins come.
    tried : Tried                 What became of trips planned otherwise.
    """
    if not told:
        return ()
    judged = [_together([year.explained for year in years], number, tried)
              for number, years in enumerate(zip(*told, strict=True))]
    flown = [part.trips for part in tallies]
    return tuple(found for k in range(len(prepared.table)) for number in range(len(tallies))
                 for found in _of(prepared, tallies[number], flown[number], k, judged[number].get(k, _Judged())))


def refusal_of(found: Sequence[RefusedTrip], candidate: str, trip: int) -> RefusedTrip | None:
    """Return what is told of one trip, by row of the trip table, and candidate; None where it is always made."""
    return next((x for x in found if x.candidate == candidate and x.trip == trip), None)


def _often(part: Tally, from_share: float) -> set[int]:
    """Return the trips that are not made in at least such a share of the years that want them."""
    names = list(Outcome)
    lost = sum(part.by_trip[:, names.index(o)] for o in (Outcome.REFUSED, Outcome.BROKEN_OFF))
    return set(np.flatnonzero((lost > 0) & (lost >= from_share * part.by_trip.sum(axis=1))).tolist())


def _together(years: Sequence[ExplainedYear], number: int, tried: Tried) -> dict[int, _Judged]:
    out: dict[int, _Judged] = {}
    for year in years:
        for trip, stop in year.stops.items():
            mine = out.setdefault(trip, _Judged())
            mine.years += 1
            for reason in {why.reason for why in stop.whys}:
                worst = max((w for w in stop.whys if w.reason is reason), key=lambda w: w.margin or 0.0)
                mine.why.setdefault(reason, []).append(worst)
            if stop.earlier_h is not None:
                mine.earlier_h.append(stop.earlier_h)
    for trip, mine in out.items():
        mine.other_day, mine.other_field = tried.day.get((number, trip)), tried.field.get((number, trip))
    return out


def _of(prepared: Prepared, part: Tally, trips: TripYears, k: int, judged: _Judged) -> Iterator[RefusedTrip]:
    outcome, names = part.by_trip[k], list(Outcome)
    refused, broken = (int(outcome[names.index(o)]) for o in (Outcome.REFUSED, Outcome.BROKEN_OFF))
    if not refused + broken:
        return
    wanted, mine = int(outcome.sum()), (trips.trip == k) & (trips.outcome >= BROKEN_OFF)
    why = np.bincount(np.maximum(trips.reason[mine], 0), minlength=len(REASONS)).astype(float)
    order = [int(i) for i in np.argsort(-why, kind="stable") if why[i] > 0]
    reasons = tuple(ReasonShare(REASONS[i], float(why[i]) / wanted) for i in order)
    margins = tuple(_margin(judged.why[r.reason]) for r in reasons if _measured(judged.why.get(r.reason, [])))
    yield RefusedTrip(part.name, prepared.table[k].trip_id, k, wanted, refused + broken, refused, reasons, judged.years,
                      margins, _change(reasons, margins, judged, wanted - refused - broken, wanted))


def refuse_too(reasons: Collection[Reason], last: str = "and") -> str:
    """Return the end of a sentence on a smallest change: what refuses the trip too; empty where nothing does."""
    if not reasons:
        return ""
    *before, end = (str(r).replace("_", " ") for r in REASONS if r in reasons)
    verb = "refuse" if before and last == "and" else "refuses"
    return f"; {', '.join(before)}{f' {last} ' if before else ''}{end} {verb} it too as loaded"


def _beside(reason: Reason, judged: _Judged) -> tuple[Reason, ...]:
    """Return what else keeps the loaded aircraft from going in most of the years judged: mending one is not enough."""
    return tuple(r for r in REASONS if r is not reason and r is not Reason.WIND
                 and 2 * len(judged.why.get(r, [])) > judged.years)


def _measured(whys: Sequence[Why]) -> bool:
    return any(w.margin is not None for w in whys)


def _margin(whys: Sequence[Why]) -> Margin:
    known = sorted((w for w in whys if w.margin is not None), key=lambda w: w.margin or 0.0)
    values = [w.margin or 0.0 for w in known]
    middle = known[(len(known) - 1) // 2]
    return Margin(middle.reason, middle.unit, float(median(values)), values[-1], middle.words)


def _change(reasons: Sequence[ReasonShare], margins: Sequence[Margin], judged: _Judged, made: int, wanted: int,
            ) -> SmallestChange:
    """Return what takes the most frequent reason away, by the worst margin judged, and which others then remain."""
    reason = reasons[0].reason if reasons else Reason.DUTY
    margin = next((m for m in margins if m.reason is reason), None)
    if judged.earlier_h and reason in ANOTHER_DAY:
        hours = median(judged.earlier_h)
        return SmallestChange("hour", hours, "h", f"it would go {hours:.0f} h earlier in {len(judged.earlier_h)} of "
                              f"{judged.years} years judged")
    found = (_otherwise(reason, judged) or _by_weight(reason, margin, judged)
             or _by_margin(reason, margin, _beside(reason, judged)))
    if found is not None:
        return found
    if margin is not None and WITH_PASSENGERS in margin.words:
        return SmallestChange("people", None, "", "the pilot alone would go higher, with oxygen; passengers only where "
                              "all wear it and the study accepts that (the assumption flight.passengers_level_ft)")
    if reason in UPGRADES:
        name = UPGRADES[reason]
        return SmallestChange("upgrade", None, "", f"the upgrade {name.replace('_', ' ')} would take this away")
    if reason in ANOTHER_DAY:
        words = f"another day: it goes in {made} of {wanted} years as planned"
        if judged.other_day is not None:
            words += f"; a day earlier or later it would not go in {_years(judged.other_day.years)} judged"
        return SmallestChange("day", None, "", words)
    return SmallestChange("aircraft", None, "", f"another aircraft or another plan: {EXPLAINED[reason]}")


def _otherwise(reason: Reason, judged: _Judged) -> SmallestChange | None:
    """Return another day or another field on which it goes, as flown; a day before a field."""
    day, place = judged.other_day, judged.other_field
    if reason in ANOTHER_DAY and day is not None and day.made:
        return SmallestChange("day", 1.0, "days",
                              f"moved by a day it would go in {day.made} of {day.years} years judged")
    if reason in ANOTHER_FIELD and place is not None and place.made:
        return SmallestChange("field", place.away_nm, "nm", f"to {place.field}, {place.away_nm:.0f} nm away, it would "
                              f"go in {place.made} of {place.years} years judged")
    return None


def _by_weight(reason: Reason, margin: Margin | None, judged: _Judged) -> SmallestChange | None:
    """Return what helps where a load leaves no room for the fuel that the tanks hold; None elsewhere."""
    words = [w.words for w in judged.why.get(reason, [])]
    if margin is not None and reason is Reason.PAYLOAD and any(TO_FILL in w for w in words):
        amount = float(ceil(margin.worst - 1e-9))
        return SmallestChange("load", amount, margin.unit, f"{_amount(amount, margin.unit)} less on board would let "
                              "the tanks be filled; it may then go with a fuel stop")
    if reason is Reason.RANGE and any(NOR_TANKS in w for w in words):
        return SmallestChange("aircraft", None, "", "another aircraft, or less on board and a fuel stop: larger tanks "
                              "alone would not help")
    return None


def _by_margin(reason: Reason, margin: Margin | None, also: tuple[Reason, ...]) -> SmallestChange | None:
    if margin is None:
        return None
    amount = float(ceil(margin.worst - 1e-9))
    mends = "would mend that" if also else "would make it go"
    words = {
        Reason.PAYLOAD: ("load", f"{_amount(amount, 'lb')} less on board {mends}"),
        Reason.SEATS: ("people", f"{amount:.0f} fewer on board {mends}"),
        Reason.RANGE: ("fuel", f"{_amount(amount, 'gal')} more in the tanks {mends}"),
        Reason.RUNWAY: ("field", f"a field or a cooler hour with {_amount(amount, 'ft')} more to spare {mends}"),
        Reason.CLIMB: ("load", f"it wants {_amount(amount, margin.unit)} more of climb: less on board, or a cooler "
                               "hour"),
        Reason.BALANCE: ("load", f"the load must move by {_amount(amount, 'in')} of the centre of gravity"),
        Reason.TERRAIN: ("aircraft", f"it wants {_amount(amount, 'ft')} more of usable level"),
    }.get(reason)
    return None if words is None else SmallestChange(words[0], amount, margin.unit, words[1] + refuse_too(also), also)


def _years(count: int) -> str:
    return "the one year" if count == 1 else f"any of {count} years"


def _amount(value: float, unit: str) -> str:
    return f"{ceil(value - 1e-9):,} {unit}"
