"""Every assumption is read by some command: a number that is shown and read by nothing would be changed to no effect.

Small studies are run with assumptions that note which keys are asked for by themselves; lists of all of them, as they
are shown and written, do not count.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner

from missionsim import read_advertisement
from missionsim.base.assumptions import Assumptions, packaged_assumptions
from missionsim.cli.app import app

STUDIES = Path(__file__).parents[2] / "profiles" / "studies"
QUICK = {"grid.replications": 10, "statistics.decided_before_replications": 1,
         "statistics.question_replications": 10, "statistics.within_first_replications": 10}
"""So that few years are enough for all that is told."""
ADVERTISED = {
    "twin": "1994 diesel twin, 2x 168 hp, retractable, four seats, 1900 TT, FIKI, $320,000",
    "cabin": "1981 pressurised cabin-class twin, 2x 310 hp, engines 880 & 210 SMOH, FIKI, 2-axis AP, $280,000",
    "old": "1968 four seat fixed gear 180 hp $62,000",
    "boosted": "1981 turbocharged four seat fixed gear 180 hp $120,000",
}
SAID_BY_THE_DEMO = "the studies and profiles used here give the figure themselves"
EXCEPTIONS = {
    **dict.fromkeys(("hire.expenses_usd_per_day", "hire.margin_share", "hire.pilot_usd_per_day",
                     "hire.ticket_tax_share",
                     "sharing.give_way_share", "sharing.held_days", "sharing.open_bookings", "sharing.opens_days",
                     "sharing.release_days", "aircraft.aspect_ratio", "aircraft.wing_loading_lb_per_sqft",
                     "trip.adults",
                     "trip.year", "insurance.dual_retractable_h", "keeping.rent_class_usd_per_h",
                     "keeping.rent_entry_over_hp", "unknown.identity_maker_supports", "unknown.orphan_repair_factor",
                     "unknown.state_hours_since_inspection_h", "insurance.club_factor"), SAID_BY_THE_DEMO),
    **dict.fromkeys(("class_guess.cruise_bsfc_lb_per_hp_h", "class_guess.price_spread",
                     "class_guess.range_of_tanks_share"), "no advertisement here leaves just that to its class"),
    **dict.fromkeys(("statistics.within_first_batches", "statistics.within_most_replications"),
                    "of a width asked for over several years, or without a number of years"),
}
"""Keys that these commands leave alone, each with the reason; that they are named where they are read is tested too."""


@pytest.fixture
def asked(monkeypatch):
    """Keys read one at a time."""
    keys: set[str] = set()

    def noting(read):
        def noted(self, key):
            keys.add(key)
            return read(self, key)
        return noted

    for read in (Assumptions.__getitem__, Assumptions.entry):
        monkeypatch.setattr(Assumptions, read.__name__, noting(read))
    return keys


def study(name, extends, **changes):
    """Write a study that extends one of the demo, and return its file."""
    path = Path(f"{name}.yaml")
    path.write_text(yaml.safe_dump({"extends": str(STUDIES / f"{extends}.yaml"), "study": name, **changes}))
    return str(path)


def candidates():
    """Write aircraft out of short advertisements, whose gaps their classes fill; return entries of a study."""
    for name, text in ADVERTISED.items():
        Path(f"{name}.yaml").write_text(read_advertisement(text).profile_text)
    return [f"{name}.yaml" for name in ADVERTISED]


def commands():
    """Yield the words of every command, with the studies they need written beside."""
    person = {"name": "one", "demand": [{"to": "KLBF", "per_year": 4}]}
    years = ["--replications", "10", "--workers", "1", "--out"]
    one = study("one", "buyer", assumptions=QUICK, candidates=candidates())
    yield ["compare", one, *years, "one", "--tipping", "--grid"]
    outside = study("visual", "buyer", pilot={"rating": "visual"}, kept="tie_down", assumptions=QUICK)
    yield ["compare", outside, "--within", "90000", *years, "visual"]
    yield ["compare", study("kept", "buyer", years=2, assumptions=QUICK), *years, "kept", "--upgrades"]
    few = ["--replications", "2", "--workers", "1", "--out"]
    members = {"people": [person, {**person, "name": "two"}], "sizes": [2]}
    yield ["partners", study("group", "partnership", members=members), *few, "group"]
    yield ["rates", study("let", "charter", operation="rental_leaseback"), *few, "let"]
    yield ["rates", study("hired", "charter"), *few, "hired"]
    yield ["leg", "boosted_six", "KGRI", "KDEN", "--date", "2025-08-03T09:00", "--people", "3"]
    yield ["leg", "twin.yaml", "KGRI", "KDEN", "--date", "2025-01-03T09:00"]
    yield ["check", one]
    yield ["climate", "KGRI"]
    yield ["climate", "Nashville, TN"]      # a hub, for which a lighter field is looked for


@pytest.mark.slow
def test_every_assumption_is_read_by_some_command(asked, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for words in commands():
        done = CliRunner().invoke(app, words)
        assert done.exit_code == 0, (words, done.output[-500:])
    unread = set(packaged_assumptions().entries) - asked
    assert unread <= set(EXCEPTIONS)
