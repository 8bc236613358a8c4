"""Fly used-aircraft candidates through a year of your own trips and compare them.

Planning estimates only: the flight manual, the weather briefing, the regulations and the pilot in command decide.

    import missionsim
    study = missionsim.load_study("my_study.yaml")
    found = missionsim.compare(study, replications=100)
    found.summary(), found.by_replication("net_cost_usd"), found.plot.cost()
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_FRONT = {
    "load_study": "missionsim.study.inputs.load_study",
    "Study": "missionsim.study.inputs.load_study",
    "read_advertisement": "missionsim.study.inputs.advertisement.propose",
    "make_study": "missionsim.study.inputs.make_study",
    "compare": "missionsim.report.notebook",
    "Found": "missionsim.report.notebook",
    "Comparison": "missionsim.study.compare.compare",
    "with_refusals": "missionsim.report.refusals",
    "refusal_of": "missionsim.study.explain.refusals",
    "InputError": "missionsim.base.errors",
    "MissionsimError": "missionsim.base.errors",
}

__all__ = ["Comparison", "Found", "InputError", "MissionsimError", "Study", "__version__", "compare", "load_study",
           "make_study", "read_advertisement", "refusal_of", "with_refusals"]


def __getattr__(name: str) -> Any:
    """Import the front door's names when asked for, so that `missionsim --help` loads neither numpy nor pandas."""
    if name in _FRONT:
        return getattr(import_module(_FRONT[name]), name)
    raise AttributeError(f"module 'missionsim' has no attribute {name!r}")
