"""Fly used-aircraft candidates through a year of your own trips and compare them.

Planning estimates only: the flight manual, the weather briefing, the regulations and the pilot in command decide.

    import missionsim
    study = missionsim.load_study("my_study.yaml")
    found = missionsim.compare(study, replications=100)
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_FRONT = {
    "load_study": "missionsim.study.inputs.load_study",
    "Study": "missionsim.study.inputs.load_study",
    "read_advertisement": "missionsim.study.inputs.advertisement.propose",
    "compare": "missionsim.study.compare.compare",
    "Comparison": "missionsim.study.compare.compare",
    "InputError": "missionsim.base.errors",
    "MissionsimError": "missionsim.base.errors",
}

__all__ = ["Comparison", "InputError", "MissionsimError", "Study", "__version__", "compare", "load_study",
           "read_advertisement"]


def __getattr__(name: str) -> Any:
    """Import the front door's names when asked for, so that `missionsim --help` loads neither numpy nor pandas."""
    if name in _FRONT:
        return getattr(import_module(_FRONT[name]), name)
    msg = f"module 'missionsim' has no attribute {name!r}"
    raise AttributeError(msg)
