"""Write a commented study, two aircraft and a trip list for a newcomer to edit."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from missionsim.base.errors import Fault, InputError
from missionsim.base.owned_files import write_new_files
from missionsim.study.inputs.files import demo_folder, home_expanded, is_there

AIRCRAFT = ("retractable_260.yaml", "carrier_230.yaml")
"""Two that differ as much as the demo's four do."""


def write_starter(folder: Path | str) -> tuple[Path, ...]:
    """Write `study.yaml`, `trips.csv` and `aircraft/` into a folder, which is made if need be.

    Parameters
    ----------
    folder : path

    Returns
    -------
    tuple of Path     The files written, the study first.

    Raises
    ------
    InputError        A file is there already (nothing is written then), or the folder cannot be written.
    """
    return write_texts(folder, _texts())


def write_texts(folder: Path | str, texts: Mapping[str, str]) -> tuple[Path, ...]:
    """Write new files into a folder, all or none of them.

    Parameters
    ----------
    folder : path
    texts : mapping   Name below the folder to text.

    Raises
    ------
    InputError        A file is there already (nothing is written then), or the folder cannot be written.
    """
    folder = home_expanded(str(folder))
    taken = [name for name in texts if is_there(folder / name) or _is_link(folder / name)]
    if taken:
        raise InputError([Fault(str(folder / name), "", "is there already and is not overwritten",
                                "a new folder, or that file moved away") for name in taken])
    try:
        return write_new_files(folder, texts)
    except (OSError, ValueError) as error:
        what = f"cannot be written: {getattr(error, 'strerror', None) or error}"
        raise InputError([Fault(f"{folder!s:.100}", "", what, "a folder you may write to")]) from None


def _is_link(path: Path) -> bool:
    try:
        return path.is_symlink()
    except (OSError, ValueError):
        return False


def _texts() -> dict[str, str]:
    demo = demo_folder()
    aircraft = {f"aircraft/{name}": (demo / "aircraft" / name).read_text(encoding="utf-8") for name in AIRCRAFT}
    trips = (demo / "trips" / "farm_dealer.csv").read_text(encoding="utf-8")
    return {"study.yaml": _study((demo / "studies" / "buyer.yaml").read_text(encoding="utf-8")), "trips.csv": trips,
            **aircraft}


def _study(text: str) -> str:
    """Return the demo study with paths that fit the starter's folder, and without the aircraft that are not in it."""
    kept = [line for line in text.splitlines()
            if not line.startswith("  - ../aircraft/") or line.removeprefix("  - ../aircraft/").strip() in AIRCRAFT]
    text = "\n".join(kept) + "\n"
    return (text.replace("../trips/farm_dealer.csv", "trips.csv").replace("../aircraft/", "aircraft/")
            .replace("compare buyer.yaml", "compare study.yaml").replace("study: farm dealer", "study: my year")
            .replace("Which of four used aircraft", "Which of these used aircraft")
            .replace("which of four aircraft suits", "which of these aircraft suits"))
