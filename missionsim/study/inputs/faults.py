"""Turn what a validated model refuses into faults: file, line, key path, value, what is accepted, a near match."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from missionsim.base.errors import Fault, NearMatches
from missionsim.study.inputs.overlays import Located
from missionsim.study.inputs.units import unit_hint
from missionsim.study.inputs.yaml_lines import KeyPath

T = TypeVar("T")

_KINDS = {
    "string_type": "text (in quotes where it looks like a number, a date or yes and no)",
    "float_type": "a number", "int_type": "a whole number", "int_from_float": "a whole number",
    "bool_type": "true or false", "tuple_type": "a list", "list_type": "a list", "dict_type": "a table of keys",
    "model_type": "a table of keys", "model_attributes_type": "a table of keys", "finite_number": "a finite number",
    "float_parsing": "a number", "int_parsing": "a whole number", "bool_parsing": "true or false",
    "invalid_key": "text as key", "int_parsing_size": "a smaller number", "mapping_type": "a table of keys",
}
_RANGES = {"greater_than", "greater_than_equal", "less_than", "less_than_equal"}
_PATTERNS = {
    r"^[A-Za-z0-9-]+$": "an airport identifier of letters and digits, such as KGRI",
    r"^[0-9]{1,2}[LCR]?/[0-9]{1,2}[LCR]?$": "both ends of a runway, such as 17/35",
}
_MOST_SHOWN = 30


def faults_of(error: ValidationError, document: Located, model: type[BaseModel]) -> list[Fault]:
    """Return one fault for each thing a model refused, in the order of the file.

    Parameters
    ----------
    error : ValidationError
    document : YamlDocument or Layers   Where the data came from.
    model : type                The model that refused it, for accepted keys and limits.

    Returns
    -------
    list of Fault
    """
    seen: dict[tuple[KeyPath, str], Fault] = {}
    errors = error.errors(include_url=False)
    above = {item["loc"][:cut] for item in errors for cut in range(len(item["loc"]))}
    nearest = NearMatches()
    for path, item in _in_order(errors, document):
        if item["type"] in ("too_short", "too_long") and item["loc"] in above:
            continue  # entries that were refused do not count, so their number says nothing
        what, accepted, near = _words(item, model, nearest)
        fault = document.fault(path, what, accepted, near)
        key = (path, what)
        if key in seen and accepted not in seen[key].accepted:
            both = f"{seen[key].accepted}, or {accepted}"
            fault = document.fault(path, what, both, near or seen[key].near)
        seen[key] = fault if key not in seen or accepted not in seen[key].accepted else seen[key]
    return list(seen.values())


def _in_order(errors: Iterable[Any], document: Located) -> list[tuple[KeyPath, dict[str, Any]]]:
    """Return what a model refused, each with the path the user wrote, in the order of the file."""
    def place(pair: tuple[KeyPath, dict[str, Any]]) -> tuple[int, str]:
        fault = document.fault(pair[0], "")
        return fault.line or 0, fault.key
    return sorted(((_written_path(document.data, item["loc"]), dict(item)) for item in errors), key=place)


def salvaged(kind: type[T], value: Any) -> T | None:
    """Return a part of a study that is valid by itself, so that the file it names is checked although others fail.

    What is not is reported with its line when the study as a whole is validated.
    """
    try:
        return TypeAdapter(kind).validate_python(value)
    except ValidationError:
        return None


def _written_path(data: Any, loc: Sequence[Any]) -> KeyPath:
    """Return the parts of a model's location that the user wrote; names of validators and branches fall out."""
    path: list[str | int] = []
    for i, part in enumerate(loc):
        last = i == len(loc) - 1
        if isinstance(data, Mapping):
            if part in data or (last and part != "[key]"):
                path.append(str(part))
                data = data.get(part)
        elif isinstance(data, list | tuple) and isinstance(part, int) and part < len(data):
            path.append(part)
            data = data[part]
    return tuple(path)


def _words(item: dict[str, Any], model: type[BaseModel], nearest: NearMatches) -> tuple[str, str, str]:
    """Return what is wrong, what is accepted and a near match."""
    kind, value, context = item["type"], item.get("input"), item.get("ctx") or {}
    if kind == "extra_forbidden":
        keys = accepted_keys(model, item["loc"][:-1])
        return _unknown_key(str(item["loc"][-1]), value, keys, model, nearest)
    if kind == "invalid_key" and isinstance(value, int) and not isinstance(value, bool):
        return f"the comma before {value:03d} parts two keys here", "numbers without commas in { }, such as 3900", ""
    if kind in ("missing", "missing_argument"):
        return "is missing", _limits(model, item["loc"]), ""
    if kind == "literal_error":
        words = [str(w) for w in _literals(model, item["loc"])]
        accepted = _listing(words) if words else str(context.get("expected", ""))
        return f"is {shown(value)}", accepted, nearest.of(value, words) if isinstance(value, str) else ""
    return (*_refused(kind, value, context, item, model), "")


def _unknown_key(word: str, value: Any, keys: list[str], model: type[BaseModel], nearest: NearMatches,
                 ) -> tuple[str, str, str]:
    """Return what is wrong with a key nobody knows, naming the slip where it is a common one."""
    what = f"unknown key {word!r}"
    name, colon, rest = word.partition(":")
    if value is None and colon and rest:
        return f"{what}: a blank is missing after the colon", f"{name}: {rest}", ""
    near = nearest.of(word, keys)
    homes = [] if near.casefold() == word.casefold() and near else _sections(model).get(word, ())
    if homes:
        return f"{what} here", "under " + " or ".join(f"`{home}`" if home else "no section, at the left margin"
                                                     for home in homes[:3]), ""
    return what, _listing(keys), near


@cache
def _sections(model: type[BaseModel]) -> Mapping[str, list[str]]:
    """Return the dotted sections of a model that take each key, the outermost as an empty string."""
    found: dict[str, list[str]] = {}
    waiting: list[tuple[str, type[BaseModel]]] = [("", model)]
    seen: set[type[BaseModel]] = set()
    while waiting:
        here, part = waiting.pop(0)
        if part in seen:
            continue
        seen.add(part)
        for name, field in part.model_fields.items():
            found.setdefault(field.alias or name, []).append(here)
            below = f"{here}.{name}" if here else name
            waiting += [(below, inner) for inner in _models_in(field.annotation)]
    return found


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    """Return the models a type is made of: itself, or the parts of an option, a list or a table."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in typing.get_args(annotation) for model in _models_in(part)]


def _refused(kind: str, value: Any, context: Mapping[str, Any], item: Mapping[str, Any],
             model: type[BaseModel]) -> tuple[str, str]:
    what, limits = f"is {shown(value)}", _limits(model, item["loc"])
    message = str(item["msg"]).removeprefix("Value error, ")
    if "; accepted: " in message:
        said, accepted = message.split("; accepted: ", 1)
        hint = unit_hint(str(item["loc"][-1]), value) if isinstance(value, str) and item["loc"] else ""
        return said, f"{accepted}; {hint}" if hint else accepted
    if kind == "string_type" and value is not None:
        return what, _KINDS[kind]
    if kind in _RANGES or kind in _KINDS:
        hint = unit_hint(str(item["loc"][-1]), value) if isinstance(value, str) and item["loc"] else ""
        return what, "; ".join(t for t in (limits or _KINDS.get(kind, message), hint) if t)
    if kind in ("too_short", "too_long"):
        what = f"has {context.get('actual_length', 'too many')} entries"
    elif kind in ("string_too_short", "string_too_long"):
        length = len(value) if isinstance(value, str) else 0
        what = f"is {length} characters long" if length else "is empty"
    elif kind == "string_pattern_mismatch":
        limits = _PATTERNS.get(str(context.get("pattern")), f"text like {context.get('pattern')}")
    elif kind == "value_error" and isinstance(value, Mapping | BaseModel):
        what, limits = "its parts do not fit together", message
    else:
        limits = message
    return what, limits


def shown(value: Any) -> str:
    """Return a user's value for a message, cut short where it is long."""
    if value is None:
        return "empty"
    if isinstance(value, bool):
        return "true" if value else "false"
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


def _listing(words: Sequence[str]) -> str:
    more = f", ... ({len(words)} in all)" if len(words) > _MOST_SHOWN else ""
    return ", ".join(words[:_MOST_SHOWN]) + more


def accepted_keys(model: type[BaseModel], loc: Sequence[Any]) -> list[str]:
    """Return the keys a model takes at a place."""
    annotation, _ = _at(model, loc)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [field.alias or name for name, field in annotation.model_fields.items()]
    return []


def _literals(model: type[BaseModel], loc: Sequence[Any]) -> tuple[Any, ...]:
    annotation, _ = _at(model, loc)
    return typing.get_args(annotation) if typing.get_origin(annotation) is typing.Literal else ()


def _limits(model: type[BaseModel], loc: Sequence[Any]) -> str:
    """Return in words what a place takes: both limits of a number, the length of a list or text."""
    annotation, metadata = _at(model, loc)
    low, high = _constraint(metadata, "ge", "gt"), _constraint(metadata, "le", "lt")
    if annotation in (float, int) and low is not None and high is not None:
        kind = "a whole number" if annotation is int else "a number"
        return f"{kind} from {low:,} to {high:,}"
    if annotation in (float, int):
        kind = "a whole number" if annotation is int else "a number"
        return kind + (f" above {low:,}" if low is not None else "") + (f" below {high:,}" if high is not None else "")
    shortest, longest = _constraint(metadata, "min_length"), _constraint(metadata, "max_length")
    if shortest is None and longest is None:
        return ""
    if annotation is str:
        return f"text of {shortest or 0} to {longest:,} characters" if longest else f"at least {shortest} characters"
    kind = "a table" if typing.get_origin(annotation) is dict else "a list"
    return f"{kind} of {shortest or 0} to {longest:,} entries" if longest else f"{kind} of at least {shortest} entries"


def _constraint(metadata: Sequence[Any], *names: str) -> Any:
    return next((getattr(m, n) for m in metadata for n in names if getattr(m, n, None) is not None), None)


def _at(model: type[BaseModel], loc: Sequence[Any]) -> tuple[Any, list[Any]]:
    """Return the type and constraints a model has at a location; parts that are no place in it are passed over."""
    annotation: Any = model
    metadata: list[Any] = []
    for part in loc:
        origin, args = typing.get_origin(annotation), typing.get_args(annotation)
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            field = _field(annotation, str(part))
            if field is None:
                return None, []
            annotation, metadata = _plain(field.annotation, list(field.metadata))
        elif origin in (tuple, list):
            inner = args[part] if isinstance(part, int) and len(args) > part and args[-1] is not Ellipsis else args[0]
            annotation, metadata = _plain(inner, [])
        elif origin is dict:
            annotation, metadata = _plain(args[0] if part == "[key]" else args[1], [])
    return annotation, metadata


def _field(model: type[BaseModel], name: str) -> FieldInfo | None:
    return next((f for n, f in model.model_fields.items() if name in (n, f.alias)), None)


def _plain(annotation: Any, metadata: list[Any]) -> tuple[Any, list[Any]]:
    """Strip `Annotated` and `| None` from a type, collecting constraints."""
    while True:
        origin, args = typing.get_origin(annotation), typing.get_args(annotation)
        if origin is typing.Annotated:
            for extra in args[1:]:
                metadata = metadata + (list(extra.metadata) if isinstance(extra, FieldInfo) else [extra])
            annotation = args[0]
        elif origin in (typing.Union, types.UnionType) and len(kept := [a for a in args if a is not type(None)]) == 1:
            annotation = kept[0]
        else:
            return annotation, metadata
