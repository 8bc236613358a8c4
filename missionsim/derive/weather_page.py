"""Draw the packaged weather for a look before trusting it: `python -m missionsim.derive.weather_page [--out FOLDER]`.

Maps of low weather in January and July, thunder, low weather by hour of the day, mean winds, tables of headwinds and of
icing; written as pictures and one page. With `--package` the four that go into reports are written small into the
package instead: means of cells in place of stations, few colours, no titles, since reports must stay light.
"""

from __future__ import annotations

import argparse
import io
from collections.abc import Callable, Mapping
from html import escape
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import BoundaryNorm
from matplotlib.figure import Figure
from PIL import Image

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import packaged_assumptions
from missionsim.derive import check_headwind, check_icing
from missionsim.derive.check_climate import contiguous_of, regions, table_low
from missionsim.derive.coast import RAW as SHORE
from missionsim.derive.coast import outline, shore_distance_nm
from missionsim.world.surface.station_climate import MONTH_DAYS
from missionsim.world.surface.station_table import StationTable
from missionsim.world.winds.climatology import UpperAir

OUT = Path("weather_page")
PACKAGED = Path(__file__).resolve().parents[1] / "data" / "weather_pictures.npz"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WEST, _EAST, _SOUTH, _NORTH = -125.0, -66.5, 24.3, 49.6
CELL_DEG, STEPS = 1.5, 6
"""Size of a cell, and number of colours, of the maps in reports."""

_CLOCK = 3.0 * np.arange(8) + 1.5


class Weather:
    """What the pictures are drawn from: stations of the contiguous states and what is assumed there."""

    def __init__(self, cell_deg: float | None = None) -> None:
        self.cell_deg = cell_deg
        packaged = StationTable.packaged()
        state = np.char.decode(packaged.state)
        self.rows = np.flatnonzero(contiguous_of(state))
        self.lat, self.lon = packaged.latitude_deg[self.rows], packaged.longitude_deg[self.rows]
        self.low = 100.0 * table_low(packaged)[self.rows]
        climates = [packaged.climate(int(row)) for row in self.rows]
        self.thunder_hours = np.stack([c.thunder_share for c in climates]).mean(axis=2) @ (24.0 * np.array(MONTH_DAYS))
        shore = shore_distance_nm(self.lat, self.lon)
        self.area = regions(self.lat, self.lon, shore, packaged.elevation_ft[self.rows], state[self.rows])
        self.lines = outline()


def low_map(axes: Axes, weather: Weather, month: int) -> None:
    """Draw the share of hours of low weather at every station."""
    _map(axes, weather, weather.low[:, month].mean(axis=1), 0.0, 30.0, "viridis_r", "%")
    axes.set_title(f"Ceiling under 1,000 ft or visibility under 3 sm, {MONTHS[month]}", fontsize=8)


def thunder_map(axes: Axes, weather: Weather) -> None:
    """Draw the hours with thunder a year at every station."""
    _map(axes, weather, weather.thunder_hours, 0.0, 240.0, "magma_r", "h a year")
    axes.set_title("Hours with thunder a year (about two make a day)", fontsize=8)


def by_hour(axes: Axes, weather: Weather) -> None:
    """Draw low weather by hour of the day in regions with a course of their own."""
    for name, months, style in (("California coast", (5, 6, 7, 8), "-"), ("Central Valley", (11, 0), "--"),
                                ("Appalachians", (6, 7, 8), "-."), ("New England", (11, 0, 1), ":"),
                                ("Gulf coast", (0, 1), (0, (5, 1)))):
        part = weather.low[weather.area[name]][:, list(months)].mean(axis=(0, 1))
        axes.plot(_CLOCK, part, linestyle=style, linewidth=1.2,
                  label=f"{name}, {MONTHS[months[0]]}-{MONTHS[months[-1]]}")
    axes.set(xlim=(0, 24), ylim=(0, None), xticks=range(0, 25, 6))
    axes.set_xlabel("hour, local standard time", fontsize=7)
    axes.set_ylabel("% of hours low", fontsize=7)
    axes.legend(fontsize=6, frameon=False)
    axes.set_title("Low weather by hour of the day", fontsize=8)


def wind_map(axes: Axes, weather: Weather, level_ft: float, day: float, name: str) -> None:
    """Draw the mean wind aloft.

    Parameters
    ----------
    axes : Axes        To draw on.
    weather : Weather
    level_ft : float   [ft]
    day : float        Of the year, January 1 is 0.
    name : str         Heading.
    """
    lat, lon = (a.ravel() for a in np.meshgrid(np.arange(27, 49, 3.0), np.arange(-123, -68, 4.0), indexing="ij"))
    east, north, _ = UpperAir.packaged(packaged_assumptions()).mean(lat, lon, level_ft, day)
    _country(axes, weather.lines)
    arrows = axes.quiver(lon, lat, east, north, np.hypot(east, north), cmap="viridis", scale=600, width=0.004,
                         clim=(0, 50))
    bar = axes.figure.colorbar(arrows, ax=axes, shrink=0.8, pad=0.02)
    bar.ax.tick_params(labelsize=6)
    bar.set_label("kt", fontsize=7)
    axes.set_title(f"Mean wind at {level_ft:,.0f} ft, {name}", fontsize=8)


PICTURES: dict[str, Callable[[Axes, Weather], None]] = {
    "low_january": lambda axes, weather: low_map(axes, weather, 0),
    "low_july": lambda axes, weather: low_map(axes, weather, 6),
    "thunder": thunder_map,
    "low_by_hour": by_hour,
    "wind_january": lambda axes, weather: wind_map(axes, weather, 9000.0, 14.5, "January"),
    "wind_april": lambda axes, weather: wind_map(axes, weather, 9000.0, 105.0, "April"),
    "wind_july": lambda axes, weather: wind_map(axes, weather, 9000.0, 196.5, "July"),
    "wind_october": lambda axes, weather: wind_map(axes, weather, 9000.0, 288.5, "October"),
}
IN_REPORTS = ("low_january", "low_july", "thunder", "low_by_hour")


def picture(name: str, weather: Weather, width_in: float, dots: int) -> bytes:
    """Return one picture as PNG.

    Parameters
    ----------
    name : str         Which one.
    weather : Weather
    width_in : float   [in]
    dots : int         Per inch.
    """
    with mpl.rc_context({"font.size": 7.0}):
        figure = Figure(figsize=(width_in, 0.62 * width_in), layout="constrained")
        axes = figure.add_subplot()
        PICTURES[name](axes, weather)
        if weather.cell_deg is not None:
            axes.set_title("")
        buffer = io.BytesIO()
        figure.savefig(buffer, format="png", dpi=dots, metadata={"Software": None})
    return buffer.getvalue()


def write_page(folder: Path, weather: Weather) -> None:
    """Write all pictures and a page that shows them."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in PICTURES:
        (folder / f"{name}.png").write_bytes(picture(name, weather, 6.5, 110))
    figures = "\n".join(f'<img src="{name}.png" alt="{name.replace("_", " ")}">' for name in PICTURES)
    tables = [*check_headwind.season_lines()]
    if check_headwind.PUBLISHED.is_file() and check_icing.PROXY.is_file():
        tables += ["", *check_headwind.published_lines(), "", *check_icing.lines()]
    (folder / "page.html").write_text(
        f"<!doctype html><meta charset=\"utf-8\"><title>The packaged weather</title>\n{figures}\n"
        f"<pre>{escape(chr(10).join(tables))}</pre>\n", encoding="utf-8")


def packaged(weather: Weather) -> Mapping[str, Any]:
    """Return the table of small pictures that reports show."""
    small = {name: np.frombuffer(few_colours(picture(name, weather, 3.6, 95)), dtype=np.uint8) for name in IN_REPORTS}
    return {**small, "meta_source": np.array("drawn from the packaged climates of stations"),
            "meta_date": np.array("years of 1961 to 2005"),
            "meta_note": np.array("PNG, 12 colours; means of stations in cells of 1.5 degrees")}


def few_colours(png: bytes) -> bytes:
    """Return a picture with 12 colours, a quarter of the size."""
    buffer = io.BytesIO()
    Image.open(io.BytesIO(png)).convert("RGB").quantize(12, dither=Image.Dither.NONE).save(buffer, "PNG", optimize=True)
    return buffer.getvalue()


def _map(axes: Axes, weather: Weather, value: Floats, low: float, high: float, colours: str, unit: str) -> None:
    _country(axes, weather.lines)
    if weather.cell_deg is None:
        dots: ScalarMappable = axes.scatter(weather.lon, weather.lat, c=value, s=7, cmap=colours, vmin=low, vmax=high,
                                            linewidths=0)
    else:
        steps = BoundaryNorm(np.linspace(low, high, STEPS + 1), STEPS)
        dots = axes.pcolormesh(*_cells(weather, value, weather.cell_deg), norm=steps, antialiased=False, zorder=0,
                               cmap=mpl.colormaps[colours].resampled(STEPS))
    bar = axes.figure.colorbar(dots, ax=axes, shrink=0.8, pad=0.02)
    bar.ax.tick_params(labelsize=6)
    bar.set_label(unit, fontsize=7)


def _cells(weather: Weather, value: Floats, size_deg: float) -> tuple[Floats, Floats, np.ma.MaskedArray]:
    """Return edges of cells and the mean of the stations in each, none where there is none."""
    y, x = (np.arange(low, high + size_deg, size_deg) for low, high in ((24.0, 50.0), (-126.0, -66.0)))
    total, count = (np.histogram2d(weather.lat, weather.lon, bins=(y, x), weights=w)[0] for w in (value, None))
    return x, y, np.ma.masked_where(count == 0, total / np.maximum(count, 1))


def _country(axes: Axes, lines: list[Floats]) -> None:
    for line in lines:
        axes.plot(line[:, 1], line[:, 0], color="0.6", linewidth=0.5)
    axes.set(xlim=(_WEST, _EAST), ylim=(_SOUTH, _NORTH), aspect=1.28, xticks=[], yticks=[])


def main() -> None:
    """Write the page, or the pictures of the package."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=OUT, help="folder of the page")
    parser.add_argument("--package", action="store_true", help="write the pictures that reports show instead")
    arguments = parser.parse_args()
    if not SHORE.is_file():
        parser.error(f"the outline of the country is not here: {SHORE}")
    weather = Weather(CELL_DEG if arguments.package else None)
    if arguments.package:
        np.savez(PACKAGED, **packaged(weather))
        print(f"{PACKAGED.name}: {PACKAGED.stat().st_size / 1000:.0f} kB")
        return
    write_page(arguments.out, weather)
    print(f"{arguments.out / 'page.html'}: {len(PICTURES)} pictures")


if __name__ == "__main__":
    main()
