"""How far from the ground each rule keeps a flight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from missionsim.base.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class Clearance:
    """How far from the ground a rule keeps a flight, in flat country and in mountains.

    Parameters
    ----------
    rule : str                           `instrument`, `visual_day` or `visual_night`.
    half_width_nm, mountain_half_width_nm : float     Ground counts within this distance of the course. [nm]
    margin_ft, mountain_margin_ft : float             Height above it. [ft]
    relief_share, mountain_relief_share : float       Share of the relief added for peaks above the samples.
    level_offset_ft : float              Levels are whole thousands plus this. [ft]
    bent_mountain_half_width_nm : float  The same distance in mountains on a bent route, which follows valleys. [nm]
    end_distance_nm, mountain_end_distance_nm : float   Nearer to an end is climb-out or let-down, not counted. [nm]
    longest_ratio : float                Longest bent route against the direct one.
    lowest_bend_ft : float               Nobody bends a route to get below this. [ft]
    step_nm, sample_nm : float           Spacing of terrain samples and longest spacing of weather samples. [nm]
    """

    rule: str
    half_width_nm: float
    margin_ft: float
    relief_share: float
    mountain_half_width_nm: float
    mountain_margin_ft: float
    mountain_relief_share: float
    bent_mountain_half_width_nm: float
    level_offset_ft: float
    end_distance_nm: float
    mountain_end_distance_nm: float
    longest_ratio: float
    lowest_bend_ft: float
    step_nm: float
    sample_nm: float


def clearance(rule: str, assumptions: Assumptions) -> Clearance:
    """Return the clearance of a rule; visual flight at night over mountains keeps the instrument figure."""
    def given(name: str) -> Any:
        return assumptions[f"terrain.{name}"]

    visual = (given("visual_half_width_nm"), given("visual_margin_ft"), 0.0)
    visual_mountain = (given("visual_half_width_nm"), given("visual_mountain_margin_ft"), 0.0)
    instrument = (given("instrument_half_width_nm"), given("instrument_margin_ft"), given("sampling_relief_share"))
    instrument_mountain = (given("instrument_half_width_nm"), given("instrument_mountain_margin_ft"),
                           given("sampling_relief_share"))
    flat, mountain, offset = {
        "instrument": (instrument, instrument_mountain, 0.0),
        "visual_day": (visual, visual_mountain, 500.0),
        "visual_night": (visual, instrument_mountain, 500.0),
    }[rule]
    by_day = rule == "visual_day"
    return Clearance(
        rule, *flat, *mountain, level_offset_ft=offset, end_distance_nm=given("end_distance_nm"),
        bent_mountain_half_width_nm=given("visual_valley_half_width_nm") if by_day else mountain[0],
        mountain_end_distance_nm=given("visual_mountain_end_distance_nm") if by_day else given("end_distance_nm"),
        longest_ratio=given("longest_bend_ratio"), lowest_bend_ft=given("lowest_bend_ft"), step_nm=given("step_nm"),
        sample_nm=given("weather_sample_nm"))
