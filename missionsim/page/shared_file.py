"""Partnership and hire of one study: a file beside it that extends it, or the study itself where it says so."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

from missionsim.base.errors import Fault, InputError
from missionsim.page.entries import shown
from missionsim.page.fields import Field, Shown, shown_fields
from missionsim.page.files import ChangedOutsideError
from missionsim.page.lists import Entry, Listed, listed
from missionsim.page.study_file import StudyFile
from missionsim.page.study_folder import StudyFolder
from missionsim.page.yaml_file import written
from missionsim.study.inputs.load_study import load_study

PARTNERS, HIRE = "partners", "rates"
QUESTIONS = {PARTNERS: "Who gets the aircraft when, who pays what, and how many are too many?",
             HIRE: "At which price of an hour does flying for others stop costing us?"}
DEMAND = (Field("to", "To", "one or several airports, or a town"), Field("per_year", "Times a year"),
          Field("nights", "Nights", "0, or 1: 0.7, 2: 0.3"), Field("adults", "Adults", "pilot among them"),
          Field("children", "Children"), Field("bags_lb", "Bags, lb", "60 / 100 / 200"),
          Field("weekdays", "Days", "mon tue, weekend, any day"), Field("season", "Season", "summer: 2, spring: 1"),
          Field("must_go_share", "Must go", "share, 0 to 1"), Field("purpose", "Purpose"))
REQUESTS = (Field("to", "To"), Field("from", "From", "home where empty"),
            Field("kind", "The aircraft", "waits and brings them back, or comes home empty", ("wait", "one_way")),
            Field("per_year", "Times a year"),
            Field("passengers", "Passengers", "1: 0.6, 2: 0.4"), Field("bags_lb", "Bags, lb"),
            Field("nights", "Nights"), Field("weekdays", "Days"), Field("season", "Season"),
            Field("leave_local_h", "Leaves at", "hour"), Field("return_local_h", "Returns at", "hour"),
            Field("notice_days", "Notice, days", "1 / 3 / 10"), Field("purpose", "Purpose"))
PERSON = (Field("name", "Name"), Field("pilot.rating", "Rating", "", ("instrument", "visual")),
          Field("pilot.total_h", "Hours in all"), Field("pilot.retractable_h", "with retractable gear"),
          Field("pilot.age", "Age"), Field("pilot.weight_lb", "Weight", "lb"),
          Field("to_hangar_min", "Way to the hangar", "minutes more"),
          Field("notice_days", "Asks ahead, days", "1 / 4 / 10"), Field("holds_h", "Holds it longer by", "hours"),
          Field("cancel_share", "Calls off", "share, 0 to 1"), Field("equity_share", "Owns", "share, 0 to 1"),
          Field("typical", "Added members are like this one", "", ("yes", "no")))
BOOKING = (Field("members.booking.rule", "Who gets it", "", ("first_come", "rotating_week")),
           Field("members.booking.opens_days", "Opens ahead", "days"),
           Field("members.booking.open_bookings", "Most open at once", "0 is no cap"),
           Field("members.booking.held_days", "Most days held together", "0 is no cap"),
           Field("members.booking.release_days", "Unclaimed time is free", "days ahead"),
           Field("members.booking.give_way_share", "Give way when another must go", "share, 0 to 1"))
SHARING = (Field("members.sharing.by", "Bills are shared by", "",
                 ("dues_and_hours", "hours", "days_held", "equally")),
           Field("members.sharing.dues_usd_per_month", "Dues", "dollars a month; empty covers what is fixed"),
           Field("members.sharing.hourly_usd", "An hour", "dollars; empty covers the rest"),
           Field("members.sharing.hourly", "An hour is", "", ("wet", "dry")),
           Field("members.sharing.clock", "counted by", "", ("tach_hours", "flight_hours", "block_hours")),
           Field("members.sharing.fund_usd", "In the fund at first", "dollars"),
           Field("members.sharing.fund_years", "The fund is to hold", "years"),
           Field("members.sharing.deductible", "The deductible after damage is paid by", "", ("all", "flyer")),
           Field("members.sizes", "Sizes of group to fly", "1 2 3 4"))
TERMS = (Field("operation", "Flown as", "", ("charter_on_certificate", "rental_leaseback")),
         Field("outside.rate_usd_per_h", "Price of a revenue hour", "dollars; empty tells what breaks even"),
         Field("outside.rate_is", "The price is", "", ("wet", "dry")),
         Field("outside.clock", "Hours are counted by", "", ("block_hours", "meter_hours")),
         Field("outside.daily_minimum_h", "Least hours billed a day"),
         Field("outside.waiting_usd_per_h", "Waiting", "dollars an hour"),
         Field("outside.positioning_billed", "Positioning is billed", "", ("yes", "no")),
         Field("outside.fuel_surcharge_usd_per_h", "Fuel surcharge", "dollars an hour"),
         Field("outside.fees_passed_on", "Fees are passed on", "", ("yes", "no")),
         Field("outside.operator_share", "The operator keeps", "share, 0 to 1"),
         Field("outside.ticket_tax_share", "Ticket tax", "share, 0 to 1"),
         Field("outside.margin_share", "Wished profit", "share, 0 to 1"),
         Field("outside.elasticity", "Requests fall with the price", "elasticity"),
         Field("outside.conformity_usd", "Making it fit for hire", "dollars"),
         Field("outside.owner_notice_days", "The owner asks ahead, days", "1 / 4 / 10"),
         Field("outside.hours_a_year", "Hours a year to tell of", "50 100 200"))
CREW = (Field("outside.crew.usd_per_day", "Pay of the crew", "dollars a day"),
        Field("outside.crew.expenses_usd_per_day", "Expenses", "dollars a day"),
        Field("outside.crew.second_pilot", "Two pilots", "", ("yes", "no")))


@dataclass(frozen=True, slots=True)
class Person:
    """One member: fields, and trips either drawn or in a list of their own."""

    entry: Entry
    name: str
    trips: str
    demand: Listed


class SharedFile:
    """The file of a study's partnership or hire.

    Parameters
    ----------
    study : StudyFolder
    kind : str            `partners` or `rates`, the command that flies it.
    """

    def __init__(self, study: StudyFolder, kind: str) -> None:
        self.study, self.kind = study, kind
        self.key = "members" if kind == PARTNERS else "outside"
        own = study.file.get([self.key]) is not None
        stem = study.file.path.stem
        name = ("" if stem == "study" else f"{stem}_") + ("partnership" if kind == PARTNERS else "hire")
        path = study.folder / f"{name}.yaml"
        self.file = study.file if own else StudyFile(path)

    @property
    def begun(self) -> bool:
        """Whether there is such a file, and it is one of this kind."""
        return self.file is self.study.file or (self.file.path.is_file() and self.file.get([self.key]) is not None
                                                and self.file.get(["extends"]) == self.study.file.path.name)

    def begin(self) -> None:
        """Write a file that extends the study: its trips become those of the first member, or the owner's own.

        Raises
        ------
        ChangedOutsideError   A file of that name is there already.
        """
        if self.file.path.exists():
            name, main = self.file.path.name, self.study.file.path.name
            raise ChangedOutsideError(f"{name} is there already and does not extend {main}; move it away first")
        what = "shared" if self.kind == PARTNERS else "for hire"
        head = "# Kept by the page of missionsim; it extends the study beside it. Edit it as you like, too.\n" + _yaml(
            {"study": f"{self.study.title}, {what}", "question": QUESTIONS[self.kind],
             "extends": self.study.file.path.name})
        if self.kind == PARTNERS:
            text = head + "trips:\ndemand:\n" + _yaml({"members": {"people": [{"name": "me", **self._own_trips()}]}})
        else:
            text = head + "operation: charter_on_certificate\noutside:\n  crew:\n    second_pilot: false\n"
        self.file.files.write(self.file.path, text)
        self.file.read()

    def _own_trips(self) -> dict[str, Any]:
        layers = self.study.file.layers()
        trips, demand = layers.data.get("trips"), layers.data.get("demand")
        if trips is None:
            return {"demand": demand or []}
        whole = dict(trips) if isinstance(trips, dict) else {"file": trips}
        path, _ = layers.resolve(("trips", "file") if isinstance(trips, dict) else ("trips",), whole["file"])
        whole["file"] = os.path.relpath(path, self.study.folder)
        return {"trips": whole if len(whole) > 1 else whole["file"]}

    def faults(self) -> list[Fault]:
        """Return everything that keeps it from being flown."""
        if not self.begun:
            return []
        try:
            load_study(self.file.path)
        except InputError as error:
            return list(error.faults)
        return []

    def groups(self) -> list[tuple[str, list[Shown]]]:
        """Return the single fields in groups."""
        groups = (("Booking", BOOKING), ("Who pays what", SHARING)) if self.kind == PARTNERS else \
            (("The operator's terms", TERMS), ("Crew", CREW))
        return [(title, shown_fields(fields, self.file.get)) for title, fields in groups]

    def people(self) -> list[Person]:
        """Return the members."""
        return [Person(entry, str(item.get("name", "")), shown(item.get("trips")),
                       self._list(f"members.people.{entry.number}.demand", "Where this member goes how often", DEMAND))
                for entry, item in zip(self._list("members.people", "Members", PERSON).entries,
                                       self.file.get(["members", "people"]) or [], strict=True)]

    def requests(self) -> Listed:
        """Return what others ask for."""
        return self._list("outside.requests", "What others ask for", REQUESTS)

    def _list(self, path: str, title: str, columns: tuple[Field, ...]) -> Listed:
        return listed(self.file.get, path, title, columns)


def _yaml(data: dict[str, Any]) -> str:
    from ruamel.yaml.comments import CommentedMap  # noqa: PLC0415
    return written(CommentedMap(data))
