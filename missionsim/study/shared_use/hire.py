"""Flying for others made ready: the owner and those who ask, the crew's rules, and what must be on board."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from missionsim.aircraft.figures import likely
from missionsim.aircraft.profile import Profile
from missionsim.base.errors import Fault, InputError
from missionsim.base.streams import generator
from missionsim.base.words import BIT, Reason, Stream
from missionsim.money.hire_rates import Sale, Tariff
from missionsim.study.inputs.load_members import notice_spread
from missionsim.study.inputs.load_study import Study, filled
from missionsim.study.inputs.schema import Pilot
from missionsim.study.inputs.schema_sharing import Outside
from missionsim.study.shared_use.groups import Person, SharedTrips, group_of
from missionsim.study.shared_use.hire_sums import OTHERS, HireTerms, HireYear
from missionsim.study.shared_use.shared_decisions import SharedDecisions
from missionsim.study.shared_use.shared_year import BookingHabits
from missionsim.study.shared_use.sums import Sums
from missionsim.study.shared_use.years import SharedUse, YearToShare
from missionsim.year.demand import generate
from missionsim.year.hire_requests import requests_of_year
from missionsim.year.trips import WISH_LIST, TripTable


@dataclass(frozen=True)
class Hire(SharedUse[Sums]):
    """Flying for others: the owner and, as one, all who ask.

    `missing` [candidate]: what the operation lacks on board, in words.
    """

    missing: tuple[tuple[str, ...], ...]
    terms: HireTerms

    def sums_of(self, year: YearToShare) -> Sums:
        """Return the sums of one replication of one candidate, for the owner alone and for all."""
        return HireYear(self.terms, year).sums()

    def allowed(self, shared: SharedTrips, decided: SharedDecisions) -> SharedDecisions:
        """Return decisions with every trip for others refused where the candidate lacks equipment for them."""
        if not self.missing[decided.number]:
            return decided
        found = decided.decisions
        structural = np.where(shared.person == OTHERS, np.uint32(BIT[Reason.EQUIPMENT]), found.structural)
        return replace(decided, decisions=replace(found, structural=structural))


def prepare_hire(study: Study) -> Hire:
    """Return a study of flying for others ready to fly.

    Raises
    ------
    InputError   The study names nobody who asks, or a private operation.
    """
    outside = _outside_of(study)
    a = study.assumptions
    charter = study.spec.operation == "charter_on_certificate"
    pilot = crew_pilot(study, outside, charter)
    owner = Person("owner", study.pilot, tuple(_owner_years(study)), local_h=study.local_hours(study.pilot))
    others = _others(study, outside, pilot, charter)
    habits = (BookingHabits(outside.owner_notice_days or notice_spread(a, "hire.owner_notice_days"),
                            a["sharing.holds_h"], 0.0, notice_spread(a, "sharing.cancel_days"),
                            wish_list=study.trips_are == WISH_LIST),
              BookingHabits(notice_spread(a, "hire.notice_days"), a["sharing.holds_h"], 0.0,
                            notice_spread(a, "sharing.cancel_days"),
                            tuple(line.notice_days for line in study.requests)))
    missing = tuple(missing_for(c.profile, study, outside, pilot, charter) for c in study.candidates)
    return Hire(study, group_of(study, (owner, others)), habits,
                ((Stream.DEMAND, (0, 0)), (Stream.OUTSIDE_DEMAND, (0, 0))), missing, terms_of(study, outside, charter))


def _outside_of(study: Study) -> Outside:
    if study.spec.outside is None:
        raise InputError([Fault(study.file, "outside", "is missing", "a table with the `requests` of others")])
    if study.spec.operation == "private":
        raise InputError([Fault(study.file, "operation", "is private, which nobody pays for",
                                "rental_leaseback or charter_on_certificate")])
    if study.members:
        raise InputError([Fault(study.file, "members", "this study's trips are its members'",
                                "the owner's own `trips` or `demand`")])
    return study.spec.outside


def _owner_years(study: Study) -> list[TripTable]:
    if study.listed is not None:
        return [study.listed]
    years = int(study.assumptions["hire.demand_years"])
    return [generate(study.demand, study.home.ident, study.year, study.assumptions,
                     [generator(study.seed, k, Stream.DEMAND, 1, i) for i in range(len(study.demand))])
            for k in range(years)]


def _others(study: Study, outside: Outside, pilot: Pilot, charter: bool) -> Person:
    a = study.assumptions
    years, empty, tags = [], [], []
    for k in range(int(a["hire.demand_years"])):
        streams = [generator(study.seed, k, Stream.OUTSIDE_DEMAND, 1, i) for i in range(len(study.requests))]
        asked = requests_of_year(study.requests, study.home.ident, study.year, a, streams)
        years.append(TripTable(tuple(r.trip for r in asked), study.home.ident, study.year))
        empty.append(tuple(tuple(not flag for flag in study.requests[r.line].occupied) for r in asked))
        tags.append(tuple(r.line for r in asked))
    changes: dict[str, Any] = {}
    if charter:
        changes["flight.oxygen_free_ft"] = a["hire.oxygen_free_ft"]
    return Person("others", pilot, tuple(years), 0.0, changes, tuple(empty), 2 if outside.crew.second_pilot else 1,
                  tuple(tags))


def crew_pilot(study: Study, outside: Outside, charter: bool) -> Pilot:
    """Return who flies for others: the study's own entry over a charter pilot, or over a renter who flies visually."""
    a = study.assumptions
    who = "pilot" if charter else "renter"
    usual: dict[str, Any] = {"rating": "instrument" if charter else "visual", "night": charter,
                             "total_h": float(a[f"hire.{who}_total_h"]),
                             "retractable_h": float(a[f"hire.{who}_retractable_h"]),
                             "type_h": {"every": float(a[f"hire.{who}_type_h"])}}
    if charter:
        usual |= {name: float(a[f"hire.{name}"]) for name in ("max_flight_h_per_day", "max_duty_h")}
    own = {} if outside.crew.pilot is None else outside.crew.pilot.model_dump(exclude_unset=True)
    return filled(Pilot().model_copy(update=usual | own), a)


def missing_for(profile: Profile, study: Study, outside: Outside, pilot: Pilot, charter: bool) -> tuple[str, ...]:
    """Return what a charter on a certificate needs and this aircraft lacks, in words.

    Passengers on instrument flights in a single-engine aircraft: an autopilot or a second pilot, a backup for attitude
    or its power, engine trend monitoring; and published engine limits bind. From memory of 14 CFR 135: the operator
    must check the numbers.

    Parameters
    ----------
    profile : Profile
    study : Study
    outside : Outside   Who else flies, and for what.
    pilot : Pilot
    charter : bool      On a certificate, else let.
    """
    if not charter:
        return ()
    panel, lacking = profile.panel, []
    autopilot = panel.autopilot == "two_axis" and panel.autopilot_works is not False
    if pilot.rating == "instrument":
        if not autopilot and not outside.crew.second_pilot:
            lacking.append("two-axis autopilot or second pilot")
        if not panel.electronic_attitude:
            lacking.append("second source of attitude")
        if not profile.engine.monitor:
            lacking.append("engine trend monitoring")
    tbo_h = profile.engine.tbo_h
    if tbo_h is not None and likely(profile.engine.hours_since_overhaul_h, 0.0) >= tbo_h:
        lacking.append("engine within its published hours")
    year = likely(profile.engine.overhaul_year, float("nan"))
    limit = study.assumptions["engine_life.calendar_years"]
    if study.year - year > limit:
        lacking.append(f"engine overhauled within {limit:g} years")
    return tuple(lacking)


def terms_of(study: Study, outside: Outside, charter: bool) -> HireTerms:
    """Return the money of flying for others; what the study leaves out comes from the group `hire`."""
    a = study.assumptions
    shares = a["hire.operator_share"]

    def own(value: float | None, name: str) -> float:
        return float(a[f"hire.{name}"] if value is None else value)

    operator = shares[study.spec.operation] if outside.operator_share is None else outside.operator_share
    crew = outside.crew
    conformity = own(outside.conformity_usd, "conformity_usd") if charter else (outside.conformity_usd or 0.0)
    paid = charter or crew.usd_per_day is not None
    return HireTerms(
        charter, Sale(float(operator), own(outside.ticket_tax_share, "ticket_tax_share") if charter else 0.0),
        2 if crew.second_pilot else 1, own(crew.usd_per_day, "pilot_usd_per_day") if paid else 0.0,
        own(crew.expenses_usd_per_day, "expenses_usd_per_day") if paid else 0.0, float(a["hire.second_pilot_share"]),
        conformity / float(a["ownership.years_kept"]), own(outside.margin_share, "margin_share"),
        outside.rate_usd_per_h, outside.hours_a_year, float(a["hire.inspection_interval_h"]),
        Tariff(outside.daily_minimum_h, outside.waiting_usd_per_h, outside.positioning_billed,
              outside.fuel_surcharge_usd_per_h, outside.fees_passed_on, outside.rate_is == "dry",
              outside.clock == "meter_hours"), outside.elasticity)

