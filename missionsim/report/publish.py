"""From a finished comparison to files."""

from __future__ import annotations

from pathlib import Path

from missionsim.report.folder import result_files, write_folder
from missionsim.study.compare import Comparison


def publish(comparison: Comparison, out: Path, figures: str | None = None) -> None:
    """Write the folder of results, whole or not at all, and the figures by themselves when a folder is named."""
    write_folder(out, result_files(comparison, "<!doctype html><title>report</title>"))
