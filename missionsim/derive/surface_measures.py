"""Measures of surface weather that apply alike to the raw reports and to simulated years."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Bools, Floats, Ints, Ints8
from missionsim.base.assumptions import Assumptions
from missionsim.derive.surface import RAW, read_raw
from missionsim.world.data import table
from missionsim.world.random_fields.hours import NEW_YEAR_INDEX
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.flight_category import category, ceiling_from_code, visibility_from_code
from missionsim.world.surface.place_climate import distance_nm
from missionsim.world.surface.station_climate import MONTH_DAYS, MONTH_OF_HOUR, MONTHS, PAIR_SHARE
from missionsim.world.surface.station_table import TABLE, StationTable
from missionsim.world.surface.year import SurfaceYear

OUTSIDE = (b"AK", b"HI", b"PR", b"GU", b"VI")
"""States and territories that are not contiguous."""

TIME_LAGS_H = (1, 3, 6, 12, 24, 48)
SPACE_BINS_NM = ((0.0, 50.0), (80.0, 120.0), (170.0, 230.0), (350.0, 450.0))
LEADS_H = (3, 6, 12, 24, 48)
_MONTH_END = np.concatenate([[0], np.cumsum(MONTH_DAYS)]) * 24


@dataclass(frozen=True, slots=True)
class Stations:
    """Stations of the packaged table beside their raw year of reports.

    Parameters
    ----------
    row : (s,) int64                Rows of the packaged table.
    category : (s, 8760) int8       0 VFR to 3 LIFR, by hour-ending local standard time.
    source_year : (s, 12)           Year each month was taken from.
    """

    row: Ints
    category: Ints8
    source_year: NDArray[np.int16]

    @property
    def low(self) -> Bools:
        """Whether the weather is IFR or worse: ceiling below 1,000 ft or visibility below 3 sm."""
        return self.category >= 2


def raw_stations(folder: Path = RAW, contiguous: bool = True) -> Stations:
    """Return stations with their raw categories."""
    raw, _ = read_raw(folder)
    arrays = table(TABLE)
    row = np.flatnonzero(~np.isin(arrays["state"], OUTSIDE)) if contiguous else np.arange(arrays["state"].size)
    source = arrays["raw_row"][row]
    kind = category(ceiling_from_code(raw["ceiling_100ft"][source]),
                    visibility_from_code(raw["visibility_0p1sm"][source]))
    return Stations(row, kind, raw["source_year_by_month"][source])


def climate_at(rows: Ints, assumptions: Assumptions) -> SurfaceClimate:
    """Return the climate of places that are stations."""
    stations = StationTable.packaged()
    return SurfaceClimate.build(stations.latitude_deg[rows], stations.longitude_deg[rows],
                                stations.elevation_ft[rows], [stations.label(r) for r in rows.tolist()], assumptions)


def local_year(climate: SurfaceClimate, values: NDArray) -> NDArray:
    """Return simulated values [p, HOURS] as the 8,760 hour-ending hours of each place's standard time."""
    start = np.rint(-climate.utc_offset_h).astype(int) + NEW_YEAR_INDEX + 1
    return np.stack([row[s:s + 8760] for row, s in zip(values, start, strict=True)])


def simulated_categories(climate: SurfaceClimate, seed: int, replications: range) -> Iterator[Ints8]:
    """Yield the categories (p, 8760) of simulated years, in the layout of the raw data."""
    cells = local_year(climate, climate.cells_by_hour)
    kind = category(climate.ceiling_ft, climate.visibility_sm).reshape(len(climate.names), -1, PAIR_SHARE.size)
    place = np.arange(len(climate.names))[:, None]
    for replication in replications:
        latent = local_year(climate, SurfaceYear.simulate(climate, seed, replication).latent)
        yield kind[place, cells, climate.rank(latent)]


def time_correlation(low: Bools) -> dict[int, float]:
    """Return the correlation of low weather with itself, by hours apart; deviations from yearly means, pooled."""
    d = (low - low.mean(axis=1, keepdims=True)).astype(np.float32)
    variance = float(np.mean(d * d, dtype=np.float64))
    return {lag: float(np.mean(d[:, lag:] * d[:, :-lag], dtype=np.float64)) / variance for lag in TIME_LAGS_H}


def space_correlation(low: Bools, stations: Stations) -> dict[tuple[float, float], float]:
    """Return the correlation of low weather between stations, by distance.

    Only pairs on the same standard time and months taken from the same year count, for simulated data alike.
    """
    arrays = table(TABLE)
    lat, lon = arrays["latitude_deg"][stations.row], arrays["longitude_deg"][stations.row]
    distance = distance_nm(lat, lon, lat, lon)
    offset = arrays["utc_offset_h"][stations.row]
    d = (low - low.mean(axis=1, keepdims=True)).astype(np.float32)
    pairs = np.triu((offset[:, None] == offset[None]) & (distance > 0.5), 1)
    sums = {edges: np.zeros(3) for edges in SPACE_BINS_NM}
    for month in range(MONTHS):
        part = d[:, _MONTH_END[month]:_MONTH_END[month + 1]]
        product, square = part @ part.T, (part * part).sum(axis=1)
        year = stations.source_year[:, month]
        same = pairs & (year[:, None] == year[None])
        for (near, far), total in sums.items():
            i, j = np.nonzero(same & (distance >= near) & (distance < far))
            total += [product[i, j].sum(), square[i].sum(), square[j].sum()]
    return {edges: float(a / np.sqrt(b * c)) for edges, (a, b, c) in sums.items()}


def category_shares(kind: Ints8) -> Floats:
    """Return yearly shares of the four categories, [s, 4]."""
    return np.stack([(kind == k).mean(axis=1) for k in range(4)], axis=1)


def monthly_low(kind: Ints8) -> Floats:
    """Return the monthly share of IFR or worse, [s, 12]."""
    return np.stack([(kind[:, m == MONTH_OF_HOUR] >= 2).mean(axis=1) for m in range(MONTHS)], axis=1)


def table_shares(climate: SurfaceClimate) -> Floats:
    """Return yearly shares of the four categories straight from the table, [p, 4]."""
    return np.einsum("pmc,m->pc", climate.categories(), np.array(MONTH_DAYS) / 365.0)


@dataclass(frozen=True, slots=True)
class Looks:
    """Forecasts and what came of them at one lead: arrays [replication, n]."""

    lead_h: int
    said: Floats
    seen: Bools
    usual: Floats      # station-month-hour climatology

    @property
    def brier_skill(self) -> float:
        """Brier skill over the climatology of station, month and hour."""
        return 1.0 - float(np.mean((self.said - self.seen) ** 2) / np.mean((self.usual - self.seen) ** 2))

    def hit_and_false_alarm(self) -> tuple[float, float]:
        """Return hit rate and false-alarm ratio of yes-no warnings as frequent as the event."""
        cut = np.quantile(self.said, 1.0 - self.seen.mean())
        warned = self.said > cut
        hits = (warned & self.seen).sum()
        return float(hits / self.seen.sum()), float(1.0 - hits / warned.sum())

    def bin(self, low: float, high: float) -> tuple[float, float, float]:
        """Return mean said and seen share in a bin of said chances, and the standard error of their difference.

        The error is clustered by replication.
        """
        inside = (self.said >= low) & (self.said < high)
        count = inside.sum(axis=1)
        gap = np.where(inside, self.seen - self.said, 0.0).sum(axis=1)
        mean = gap.sum() / count.sum()
        n = count.size
        error = np.sqrt(n / (n - 1) * ((gap - mean * count) ** 2).sum()) / count.sum()
        said = np.where(inside, self.said, 0.0).sum() / count.sum()
        return float(said), float(said + mean), float(error)


def looks(climate: SurfaceClimate, seed: int, replications: int, leads_h: tuple[int, ...] = LEADS_H,
          ceiling_ft: float = 1000.0, visibility_sm: float = 3.0, every_h: int = 7) -> list[Looks]:
    """Return forecasts of weather below minima and what came, at every place and every few hours.

    Parameters
    ----------
    climate : SurfaceClimate
    seed : int               Of the study.
    replications : int       How many.
    leads_h : tuple of int   Hours ahead. [h]
    ceiling_ft : float       [ft]
    visibility_sm : float    [sm]
    every_h : int            Hours between looks. [h]
    """
    limits = climate.thresholds(ceiling_ft, visibility_sm)
    usual = climate.share_below(ceiling_ft, visibility_sm).reshape(len(climate.names), -1)
    hours = np.arange(72, 72 + 8760, every_h)
    place, valid = (a.ravel() for a in np.meshgrid(np.arange(len(climate.names)), hours, indexing="ij"))
    climatology = usual[place, climate.cell(place, valid)]
    said: dict[int, list] = {lead: [] for lead in leads_h}
    seen = []
    for replication in range(replications):
        year = SurfaceYear.simulate(climate, seed, replication)
        seen.append(year.below(limits, place, valid))
        for lead in leads_h:
            said[lead].append(year.chance_below(limits, place, valid, valid - lead))
    every = np.broadcast_to(climatology, (replications, climatology.size))
    return [Looks(lead, np.array(said[lead]), np.array(seen), every) for lead in leads_h]




def union_sets(stations: Stations, reach_nm: float = 150.0, members: int = 6, sets: int = 1000,
               ) -> list[tuple[int, Ints]]:
    """Return (month, stations) of neighbouring stations with the same source year and standard time.

    Parameters
    ----------
    stations : Stations   Source of each station and month.
    reach_nm : float      Farthest neighbour. [nm]
    members : int         Of a set.
    sets : int            How many.
    """
    arrays = table(TABLE)
    lat, lon = arrays["latitude_deg"][stations.row], arrays["longitude_deg"][stations.row]
    distance = distance_nm(lat, lon, lat, lon)
    offset = arrays["utc_offset_h"][stations.row]
    random = np.random.default_rng(20)
    found = []
    for month in range(MONTHS):
        year = stations.source_year[:, month]
        for centre in range(stations.row.size):
            near = np.flatnonzero((distance[centre] < reach_nm) & (offset == offset[centre]) & (year == year[centre]))
            if near.size >= members:
                found.append((month, random.choice(near, members, replace=False)))
    return [found[k] for k in random.permutation(len(found))[:sets]]


def union_share(low: Bools, sets: list[tuple[int, Ints]]) -> tuple[float, float]:
    """Return the share of hours with any station of a set low, and the mean share of a single station."""
    parts = [low[members, _MONTH_END[month]:_MONTH_END[month + 1]] for month, members in sets]
    return float(np.mean([part.any(axis=0).mean() for part in parts])), float(np.mean([part.mean() for part in parts]))


def thunder_days(climate: SurfaceClimate, seed: int, replications: int) -> Floats:
    """Return the mean number of days a year with thunder at each place."""
    days = np.zeros(len(climate.names))
    for replication in range(replications):
        storms = SurfaceYear.simulate(climate, seed, replication).storms
        hours = local_year(climate, np.stack([storms.thunder_by_hour(p) for p in range(days.size)]))
        days += hours.reshape(days.size, 365, 24).any(axis=2).sum(axis=1) / replications
    return days


def storm_day_skill(climate: SurfaceClimate, seed: int, replications: int, coverage: float = 0.2,
                    ) -> tuple[float, float, float]:
    """Return hit rate, false-alarm ratio and base rate of next-day warnings of storms near a route in summer.

    The event: coverage above a value at any of the climate's places at some hour from 12 to 21 standard time; the
    forecast is issued 24 h ahead. Warnings are 1.3 times as frequent as the event, as usual for convection.

    Parameters
    ----------
    climate : SurfaceClimate
    seed : int           Of the study.
    replications : int   How many.
    coverage : float     Share of the area from which it counts.
    """
    places = np.arange(len(climate.names))
    start = -round(float(climate.utc_offset_h[0])) + NEW_YEAR_INDEX + 24 * 151
    hours = start + 24 * np.arange(0, 92, 2)[:, None] + np.arange(12, 22, 2)
    said, seen = [], []
    for replication in range(replications):
        storms = SurfaceYear.simulate(climate, seed, replication).storms
        place, valid = np.broadcast_arrays(places, hours[:, :, None])
        said.append(storms.chance_over(coverage, place, valid, valid - 24).max(axis=(1, 2)))
        seen.append((storms.coverage(place, valid) > coverage).any(axis=(1, 2)))
    chance, event = np.concatenate(said), np.concatenate(seen)
    warned = chance > np.quantile(chance, 1.0 - 1.3 * event.mean())
    hits = (warned & event).sum()
    return float(hits / event.sum()), float(1.0 - hits / warned.sum()), float(event.mean())
