"""From a finished comparison to files."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from missionsim.report.folder import OutputError, result_files, write_folder
from missionsim.report.page import figures, report_html
from missionsim.report.plate import Plate
from missionsim.report.sections import further_sections
from missionsim.study.compare import Comparison


def publish(comparison: Comparison, out: Path, figures_folder: str | None = None) -> None:
    """Write the folder of results, whole or not at all, and the figures by themselves when a folder is named."""
    plates = figures(comparison)
    sections = further_sections(comparison)
    write_folder(out, result_files(comparison, report_html(comparison, plates, sections)))
    if figures_folder is not None:
        more = {p.name: p for s in sections for p in s.plates}
        write_figures(Path(figures_folder), plates | more)


def write_figures(folder: Path, plates: Mapping[str, Plate]) -> None:
    """Write each figure as an SVG file of its own, over an earlier one of the same name."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, plate in plates.items():
            (folder / f"{name}.svg").write_text(plate.svg + "\n", encoding="utf-8", newline="\n")
    except OSError as error:
        msg = f"{folder}: figures cannot be written ({(error.strerror or 'error').lower()})"
        raise OutputError(msg) from None
