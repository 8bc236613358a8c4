"""Build `missionsim/data/upper_air.npz`: `python -m missionsim.derive.upper_air`.

Reads long-term monthly means of the ERA-Interim reanalysis (January and July; 850, 500 and 200 hPa) and keeps every
second point of its grid. Wind is kept as it is, in knots. Temperature is kept as deviation from the standard
atmosphere at three pressures, linear in the logarithm of pressure between them and chosen so that

- the thickness of the layers 850 to 500 and 500 to 200 hPa is that of the reanalysis (hypsometric equation), and
- the line meets, at the ground of stations below 6,500 ft, their mean daytime temperature (08 to 18 local standard
  time, typical years): the reanalysis file has nothing below 850 hPa, and winter air over land is far colder near the
  ground than the layer above would say. Away from stations the line below 652 hPa fades to a constant deviation.
"""

from __future__ import annotations

import argparse
import math
from pathlib import Path

import numpy as np
import pandas as pd

from missionsim.physics.atmosphere import G0_M_S2, R_AIR_J_KG_K, pressure_hpa, standard_temperature_c
from missionsim.physics.units import M_PER_FT

RAW = Path(__file__).parents[3] / "shared" / "weather"
OUT = Path(__file__).parent.parent / "data" / "upper_air.npz"
KT_PER_M_S = 3600.0 / 1852.0
LEVELS_HPA = (850.0, 500.0, 200.0)
KNOTS_HPA = (1013.25, math.sqrt(850.0 * 500.0), math.sqrt(500.0 * 200.0))
HIGHEST_STATION_M = 2000.0
NEAR_NM, FADE_NM = 120.0, 500.0
RESOLUTION = 0.01
MONTHS = (1, 7)


def standard_height_m(pressure: np.ndarray | float) -> np.ndarray:
    """Return the height of pressures in the standard atmosphere, by its own profile. [m]."""
    levels_ft = np.linspace(0.0, 45_000.0, 4501)
    return np.interp(-np.log(pressure), -np.log(pressure_hpa(levels_ft)), levels_ft * M_PER_FT)


def layer_deviation_c(geopotential: np.ndarray, lower: int, upper: int) -> np.ndarray:
    """Return mean temperature of a layer over that of the standard, from its thickness. [°C]."""
    base, top = LEVELS_HPA[lower], LEVELS_HPA[upper]
    excess_m = (geopotential[:, upper] - geopotential[:, lower]) / G0_M_S2 - (
        standard_height_m(top) - standard_height_m(base))
    return excess_m * G0_M_S2 / (R_AIR_J_KG_K * math.log(base / top))


def knots_of(low_layer: np.ndarray, high_layer: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """Return deviations at the three knots that give the two layer means, for a slope below the middle knot.

    Parameters
    ----------
    low_layer, high_layer : (...) arrays   Mean deviation of 850 to 500 and of 500 to 200 hPa. [°C]
    slope : (...) array                    Change of the deviation per unit of log pressure below 652 hPa. [°C]

    Returns
    -------
    (3, ...) array                         Deviation at 1013, 652 and 316 hPa. [°C]
    """
    apart = math.log(KNOTS_HPA[1] / KNOTS_HPA[2])
    low_half, high_half = math.log(850.0 / 500.0) / 2.0, math.log(500.0 / 200.0) / 2.0
    # Mean over a layer of a line that bends at the layer's middle: middle + half / 4 x (slope below - slope above).
    a = np.array([[1.0 - low_half / 4.0 / apart, low_half / 4.0 / apart],
                  [high_half / 4.0 / apart, 1.0 - high_half / 4.0 / apart]])
    inverse = np.linalg.inv(a)
    rhs = low_layer - slope * low_half / 4.0
    middle = inverse[0, 0] * rhs + inverse[0, 1] * high_layer
    top = inverse[1, 0] * rhs + inverse[1, 1] * high_layer
    return np.stack([middle + slope * math.log(KNOTS_HPA[0] / KNOTS_HPA[1]), middle, top])


def station_days(raw: Path) -> tuple[pd.DataFrame, np.ndarray]:
    """Return low stations and their mean daytime temperature in January and July, (station, month). [°C]."""
    stations = pd.read_csv(raw / "tmy3_stations.csv")
    with np.load(raw / "tmy3_hourly.npz") as archive:
        hourly = archive["temperature_c"].astype(float)
    hour_ending = np.arange(8760) % 24 + 1
    month = np.repeat(np.arange(1, 13), np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24)
    day = (hour_ending >= 8) & (hour_ending <= 18)
    means = np.stack([hourly[:, day & (month == m)].mean(axis=1) for m in MONTHS], axis=1)
    low = (stations["elev_m"] < HIGHEST_STATION_M).to_numpy()
    return stations[low], means[low]


def low_slope(raw: Path, lat: np.ndarray, lon: np.ndarray, low_layer: np.ndarray, high_layer: np.ndarray,
              ) -> np.ndarray:
    """Return the slope below 652 hPa on the grid, blended from stations. (month, lat, lon) [°C].

    Parameters
    ----------
    raw : Path                             Folder of the open data.
    lat : (lat,) array                     Of the grid. [deg]
    lon : (lon,) array                     Of the grid. [deg]
    low_layer : (month, lat, lon) array    Mean temperature below. [°C]
    high_layer : (month, lat, lon) array   Mean temperature above. [°C]
    """
    stations, means = station_days(raw)
    row = np.abs(lat[:, None] - stations["lat"].to_numpy()).argmin(axis=0)
    column = np.abs((lon[:, None] - stations["lon"].to_numpy() + 180.0) % 360.0 - 180.0).argmin(axis=0)
    level_ft = stations["elev_m"].to_numpy() / M_PER_FT
    surface = (means - standard_temperature_c(level_ft)[:, None]).T
    reach = np.log(pressure_hpa(level_ft) / KNOTS_HPA[1])
    slope = np.zeros_like(surface)
    for _ in range(20):  # the middle knot depends weakly on the slope itself
        slope = (surface - knots_of(low_layer[:, row, column], high_layer[:, row, column], slope)[1]) / reach
    grid_lat, grid_lon = np.meshgrid(np.radians(lat), np.radians(lon), indexing="ij")
    s_lat, s_lon = np.radians(stations["lat"].to_numpy()), np.radians(stations["lon"].to_numpy())
    cosine = (np.sin(grid_lat)[..., None] * np.sin(s_lat)
              + np.cos(grid_lat)[..., None] * np.cos(s_lat) * np.cos(grid_lon[..., None] - s_lon))
    distance_nm = np.arccos(np.clip(cosine, -1.0, 1.0)) * 3440.065
    weight = np.exp(-0.5 * (distance_nm / NEAR_NM) ** 2) + 1e-3 * np.exp(-0.5 * (distance_nm / FADE_NM) ** 2)
    prior = 1e-3  # of slope zero, so that it fades over the sea and abroad
    return np.stack([(weight * s).sum(axis=-1) / (weight.sum(axis=-1) + prior) for s in slope])


def build(raw: Path) -> dict[str, np.ndarray]:
    """Return the entries of the table."""
    with np.load(raw / "upper_air_monthly_means.npz") as archive:
        arrays = {key: archive[key] for key in archive.files}
    if tuple(arrays["month"].tolist()) != MONTHS:
        raise ValueError("the raw file does not hold January and July")
    order = [arrays["pressure_hpa"].tolist().index(p) for p in LEVELS_HPA]
    lat, lon = arrays["latitude_deg"][::-2].astype(float), arrays["longitude_deg"][::2].astype(float)

    def pick(name: str) -> np.ndarray:
        return arrays[name][:, order][:, :, ::-2, ::2].astype(float)

    geopotential = pick("geopotential_m2s2")
    low, high = layer_deviation_c(geopotential, 0, 1), layer_deviation_c(geopotential, 1, 2)
    deviation = knots_of(low, high, low_slope(raw, lat, lon, low, high)).swapaxes(0, 1)

    def packed(values: np.ndarray) -> np.ndarray:
        return np.rint(values / RESOLUTION).astype(np.int16)

    return {
        "latitude_deg": lat, "longitude_deg": lon,
        "wind_hpa": np.array(LEVELS_HPA), "deviation_hpa": np.array(KNOTS_HPA),
        "resolution": np.array(RESOLUTION), "u_kt": packed(pick("eastward_wind_ms") * KT_PER_M_S),
        "v_kt": packed(pick("northward_wind_ms") * KT_PER_M_S), "deviation_c": packed(deviation),
        "meta_source": np.array("ECMWF ERA-Interim monthly means; below 850 hPa daytime temperatures of NREL TMY3"),
        "meta_date": np.array("long-term means of January and July"),
        "meta_note": np.array("every second point of 1.5 degrees; temperature from thickness, standard atmosphere"),
    }


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--raw", type=Path, default=RAW)
    parser.add_argument("--out", type=Path, default=OUT)
    options = parser.parse_args()
    options.out.parent.mkdir(exist_ok=True)
    np.savez_compressed(options.out, **build(options.raw))
    print(f"{options.out.name}: {options.out.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
