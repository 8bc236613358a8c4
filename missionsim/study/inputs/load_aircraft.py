"""Load the candidates of a study: profile, changes, upgrades, price."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ValidationError

from missionsim.aircraft.classes import FLOWN_WORDS, KINDS, class_named, nearest_words
from missionsim.aircraft.figures import Range
from missionsim.aircraft.performance import performance_of
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.upgrades import apply_upgrades, catalogue, obstacle
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import Fault, InputError, NearMatches, ValidityError, near_match
from missionsim.study.inputs.faults import faults_of, shown
from missionsim.study.inputs.files import is_there, neighbour
from missionsim.study.inputs.kinds import refuse_study
from missionsim.study.inputs.overlays import Layers
from missionsim.study.inputs.schema import CandidateSpec
from missionsim.study.inputs.yaml_lines import KeyPath, read_yaml


@dataclass(frozen=True)
class Candidate:
    """One aircraft that takes part in a study.

    Parameters
    ----------
    name : str               Unique in the study.
    profile : Profile        With the study's changes, upgrades and price in it.
    file : str               The profile's file as the user named it.
    sha256 : str             Of that file.
    upgrades : tuple of str  Named upgrades built in.
    """

    name: str
    profile: Profile
    file: str
    sha256: str
    upgrades: tuple[str, ...] = ()


def load_profile(path: Path, name: str | None = None) -> tuple[Profile, str]:
    """Return a validated aircraft profile and the hash of its file.

    Raises
    ------
    InputError   All faults of the file, with lines.
    """
    document = read_yaml(path, name)
    try:
        return Profile.model_validate(document.data), document.file.sha256
    except ValidationError as error:
        refuse_study(document)
        raise InputError(faults_of(error, document, Profile)) from None


def load_candidate(layers: Layers, i: int, spec: CandidateSpec, assumptions: Assumptions,
                   known: dict[Path, tuple[Profile, str] | None], faults: list[Fault]) -> Candidate | None:
    """Return one candidate, or None with its faults added.

    Parameters
    ----------
    layers : Layers             The study, for lines and relative paths.
    i : int                     Place in its list of candidates.
    spec : CandidateSpec
    assumptions : Assumptions   The catalogue of upgrades.
    known : dict                Profiles read so far; a file used twice is read once and reports its faults once.
    faults : list of Fault      Collected here.
    """
    where: KeyPath = ("candidates", i, "aircraft")
    path, short = layers.resolve(where, spec.aircraft)
    if path not in known:
        known[path] = _read(layers, where, path, short, faults)
    found = known[path]
    if found is None:
        return None
    before = len(faults)
    profile = _changed(layers, i, spec, found[0], faults)
    profile = _upgraded(layers, i, spec, profile, assumptions, faults)
    if len(faults) == before:
        faults += fit_faults(short, profile, assumptions)
    return Candidate(spec.name or profile.name, profile, short, found[1], spec.upgrades) if len(faults) == before \
        else None


def load_rental(layers: Layers, named: str, assumptions: Assumptions, faults: list[Fault]) -> Candidate | None:
    """Return the aircraft that can be rented: one of a class in its words, or that of a file.

    Parameters
    ----------
    named : str             Key `rent_aircraft` of the study.
    faults : list of Fault  Collected here.
    """
    where: KeyPath = ("rent_aircraft",)
    if class_named(named) is not None:
        words = KINDS[class_named(named) or ""].words
        try:
            profile = Profile.model_validate({"name": f"rented {words}", "class": words})
        except ValidationError as error:
            text = "; ".join(str(e["msg"]) for e in error.errors())
            faults.append(layers.fault(where, f"{words!r} cannot be rented: {text}", "a class of aircraft flown here"))
            return None
        return Candidate(profile.name, profile, "class_figures.csv", "")
    path, short = layers.resolve(where, named)
    if not is_there(path):
        faults.append(layers.fault(where, f"{named!r} is neither a class nor a file", "an aircraft file, or a class in "
                                   f"words: {', '.join(FLOWN_WORDS)}", nearest_words(named) or neighbour(path)))
        return None
    found = _read(layers, where, path, short, faults)
    if found is None:
        return None
    more = fit_faults(short, found[0], assumptions)
    faults += more
    return None if more else Candidate(found[0].name, found[0], short, found[1])


def fit_faults(file: str, profile: Profile, assumptions: Assumptions) -> list[Fault]:
    """Return a fault where book figures are such that no aircraft can meet them together."""
    try:
        performance_of(profile, assumptions)
    except ValidityError as error:
        return [misfit(file, profile, error)]
    return []


def misfit(file: str, profile: Profile, error: ValidityError) -> Fault:
    """Return the fault of figures that cannot belong to one aircraft."""
    return Fault(file, "", f"{profile.name}: its figures cannot belong to one aircraft: {error}")


def _read(layers: Layers, where: KeyPath, path: Path, short: str, faults: list[Fault]) -> tuple[Profile, str] | None:
    if not is_there(path):
        faults.append(layers.fault(where, f"file {short!r} not found", "a path relative to the study file",
                                   neighbour(path)))
        return None
    try:
        return load_profile(path, short)
    except InputError as error:
        faults.extend(error.faults)
        return None


def _changed(layers: Layers, i: int, spec: CandidateSpec, profile: Profile, faults: list[Fault]) -> Profile:
    """Apply `price_usd` and the dotted keys under `changes` together, since some only fit with others."""
    where: dict[str, KeyPath] = {str(key): ("candidates", i, "changes", str(key)) for key in spec.changes}
    values: dict[str, Any] = {str(key): value for key, value in spec.changes.items()}
    if spec.price_usd is not None:
        where["prices.asking_price_usd"] = ("candidates", i, "price_usd")
        values["prices.asking_price_usd"] = spec.price_usd
    keys = _dotted_keys(Profile)
    unknown, nearest = [key for key in values if key not in keys], NearMatches()
    for key in unknown:
        faults.append(layers.fault(where[key], f"unknown key {key!r} of an aircraft profile", "a dotted key such as "
                                   "weights.max_takeoff_lb", nearest.of(key, keys)))
    absent = [key for key in values if key in keys and _absent(profile, key)]
    for key in absent:
        faults.append(layers.fault(where[key], "this profile has no such part", "a part that is there"))
    if unknown or absent or not values:
        return profile
    try:
        return profile.changed(values)
    except ValidationError as error:
        faults += [_fault_of_change(layers, i, dict(item), where) for item in error.errors(include_url=False)]
        return profile


def _absent(profile: Profile, key: str) -> bool:
    section, _, inner = key.partition(".")
    return bool(inner) and getattr(profile, section) is None


def _fault_of_change(layers: Layers, i: int, item: dict[str, Any], where: dict[str, KeyPath]) -> Fault:
    """Return a refusal of the changed profile as a fault at the change that caused it, if one can be named."""
    loc = [str(part) for part in item["loc"]]
    named = next((key for key in where if loc[:key.count(".") + 1] == key.split(".")), None)
    said, _, accepted = str(item["msg"]).partition("; accepted: ")
    if named is None:
        place = ".".join(loc) or "the profile"
        return layers.fault(("candidates", i, "changes"), f"with these changes {place} {said}", accepted)
    return layers.fault(where[named], f"is {shown(item.get('input'))}", accepted or said)


def _dotted_keys(model: type[BaseModel], prefix: str = "") -> list[str]:
    keys = []
    for name, field in model.model_fields.items():
        inner = field.annotation
        options = [inner, *getattr(inner, "__args__", ())]
        # A figure that may be a range is one value here, given as a number, a whole range or `unknown`.
        models = [o for o in options if isinstance(o, type) and issubclass(o, BaseModel) and o is not Range]
        section = models[0] if models else None
        is_list = getattr(inner, "__origin__", None) in (tuple, list)
        keys += [prefix + name] if section is None or is_list else _dotted_keys(section, f"{prefix}{name}.")
    return keys


def _upgraded(layers: Layers, i: int, spec: CandidateSpec, profile: Profile, assumptions: Assumptions,
              faults: list[Fault]) -> Profile:
    """Build in named upgrades; each that is unknown, doubled or senseless is a fault at its line."""
    if not spec.upgrades:
        return profile
    known = catalogue(assumptions)
    before = len(faults)
    for k, name in enumerate(spec.upgrades):
        where: KeyPath = ("candidates", i, "upgrades", k)
        if name not in known:
            faults.append(layers.fault(where, f"unknown upgrade {name!r}", ", ".join(known),
                                       near_match(name, list(known))))
        elif name in spec.upgrades[:k]:
            faults.append(layers.fault(where, f"upgrade {name!r} is named twice", "each upgrade once"))
        elif why := obstacle(profile, known[name]):
            faults.append(layers.fault(where, f"upgrade {name!r} makes no sense here: {why}", "another upgrade"))
    if len(faults) > before:
        return profile
    try:
        return apply_upgrades(profile, spec.upgrades, assumptions)
    except ValidationError as error:
        said = str(error.errors(include_url=False)[0]["msg"])
        faults.append(layers.fault(("candidates", i, "upgrades"), f"together they do not fit this aircraft: {said}"))
        return profile


def unique_names(candidates: list[Candidate], layers: Layers, faults: list[Fault]) -> None:
    """Add a fault for each name used by two candidates."""
    seen: set[str] = set()
    for i, candidate in enumerate(candidates):
        if candidate.name in seen:
            faults.append(layers.fault(("candidates", i), f"two candidates are named {candidate.name!r}",
                                       "a `name` of its own for each"))
        seen.add(candidate.name)


def as_flown(candidate: Candidate, mixture: Literal["rich", "lean"] | None,
             oxygen: Literal["yes", "no", "as_equipped"]) -> tuple[Candidate, str]:
    """Return a candidate with the study's mixture and oxygen, and a note where the aircraft cannot do it."""
    values: dict[str, Any] = {}
    note = ""
    if mixture == "lean" and not candidate.profile.can_lean:
        note = f"{candidate.name}: this engine is not run lean of peak; it flies rich"
    elif mixture is not None:
        values["cruise.mixture"] = mixture
    on_board = candidate.profile.panel.oxygen
    if oxygen == "yes" and on_board == "none":
        values["panel.oxygen"] = "portable"
    elif oxygen == "no":
        values["panel.oxygen"] = "none"
    return (replace(candidate, profile=candidate.profile.changed(values)) if values else candidate), note
