"""A copy of the tree that can be spoiled, and the tests run in it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.mistakes import NEAREST, Mistake

_COPIED = ("missionsim", "tests", "profiles", "pyproject.toml", "README.md")
_MOST_S = 1_800.0
"""A mistake may make a loop endless; a test run that takes so long has noticed."""


@dataclass(frozen=True, slots=True)
class Tree:
    """A folder with a copy of the package and its tests."""

    folder: Path

    def holds(self, mistake: Mistake) -> bool:
        """Tell whether the right text stands in the module, once."""
        path = self._path(mistake)
        return path.exists() and path.read_text(encoding="utf-8").count(mistake.right) == 1

    def tests_of(self, mistake: Mistake) -> tuple[str, ...]:
        """Return the files and folders of tests nearest to a module, those that are there."""
        nearest = max((n for n in NEAREST if mistake.module.startswith(n)), key=len)
        return tuple(t for t in NEAREST[nearest] if (self.folder / t).exists())

    def result(self, mistake: Mistake, also_slow: bool = False) -> str:
        """Put a mistake in, run its tests, take it out again; return `killed` or `survived`."""
        path = self._path(mistake)
        right = path.read_text(encoding="utf-8")
        _write(path, right.replace(mistake.right, mistake.wrong))
        try:
            return "survived" if self.passes(self.tests_of(mistake), also_slow) else "killed"
        finally:
            _write(path, right)

    def passes(self, tests: tuple[str, ...], also_slow: bool = False) -> bool:
        """Tell whether tests pass as the tree is now."""
        marks = "not benchmark and not browser" + ("" if also_slow else " and not slow")
        environment = os.environ | {"PYTHONPATH": str(self.folder)}
        try:
            done = subprocess.run([sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-m", marks, *tests],
                                  cwd=self.folder, env=environment, capture_output=True, check=False, timeout=_MOST_S)
        except subprocess.TimeoutExpired:
            return False
        return done.returncode == 0

    def _path(self, mistake: Mistake) -> Path:
        return self.folder / "missionsim" / mistake.module


def _write(path: Path, text: str) -> None:
    """Write a module and throw away what was compiled of it: another of that length and second would pass for it."""
    path.write_text(text, encoding="utf-8")
    for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
        compiled.unlink()


@contextmanager
def copied_tree(top: Path) -> Iterator[Tree]:
    """Yield a copy of what tests need, gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="missionsim-mistakes-") as name:
        folder = Path(name)
        for part in _COPIED:
            if (top / part).is_dir():
                shutil.copytree(top / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(top / part, folder / part)
        yield Tree(folder)
