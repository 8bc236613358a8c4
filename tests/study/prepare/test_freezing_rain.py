"""Freezing rain at either end stops everybody, ice approved or not; elsewhere it is no matter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.base.words import BIT, Reason
from missionsim.decide.leg_weather import WeatherSky
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import weather_of, year_of


@pytest.fixture(scope="module")
def ready(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rain")
    aircraft = demo_folder() / "aircraft" / "boosted_six.yaml"
    (folder / "study.yaml").write_text(
        f"study: rain\nhome: KGRI\nyear: 2025\ntrips: trips.csv\n"
        f"candidates: [{{aircraft: {aircraft}, changes: {{panel.ice_protection: approved}}}}]\n")
    (folder / "trips.csv").write_text("date,from,to\n2025-02-04,KGRI,KOMA\n2025-02-11,KGRI,KDSM\n")
    return prepare(load_study(folder / "study.yaml"))


class Raining(WeatherSky):
    """Weather with freezing rain everywhere or nowhere."""

    falls = True

    @property
    def freezing(self):
        return np.full(len(self.here.latent), self.falls)


def icing_of(ready, kind):
    day = weather_of(ready, 0)
    sky = kind(day.sky.surface, day.sky.airport_row, day.sky.asked_hours)
    reasons = year_of(ready.entrants[0], replace(day, sky=sky), 0).weather.reasons
    return (reasons & np.uint32(BIT[Reason.ICING])) != 0


def test_it_stops_an_approved_aircraft_too(ready):
    assert icing_of(ready, Raining)[ready.schedule.looks.hours.open_].all()


def test_without_it_the_ends_stop_nobody_for_ice(ready):
    dry = type("Dry", (Raining,), {"falls": False})
    assert not icing_of(ready, dry).any()
