"""Field values of events as JSON: what each kind is checked for, and how the schema describes it."""

from __future__ import annotations

import math
from dataclasses import fields
from enum import StrEnum
from typing import Any

from sensors.habit import NAMES, Habit, Known
from sensors.trim import Trim

_VECTOR = {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3}
_MATRIX = {"type": "array", "items": _VECTOR, "minItems": 3, "maxItems": 3}


class BadValue(Exception):
    """The value is not what its field holds."""


def value_of(raw: object, kind: type) -> object:
    """Read a JSON value back as `kind`: a StrEnum, `str`, `int`, `float`, `bool` or `Trim`. Raises `BadValue`."""
    if issubclass(kind, StrEnum):
        # str(): a number is no member either, and ends in the same place.
        try:
            return kind(str(raw))
        except ValueError as error:
            raise BadValue(repr(raw)) from error
    if kind is float:
        return _number(raw)
    if kind is Trim:
        return _trim(raw)
    if kind is Habit:
        return _habit(raw)
    if kind is bool:
        if not isinstance(raw, bool):
            raise BadValue(repr(raw))
        return raw
    if not isinstance(raw, kind) or isinstance(raw, bool):
        raise BadValue(repr(raw))
    return raw


def schema_of(kind: type) -> dict[str, Any]:
    """JSON Schema of a value of `kind`."""
    if issubclass(kind, StrEnum):
        return {"type": "string", "enum": [member.value for member in kind]}
    if kind is Trim:
        shapes = {field.name: _trim_schema(field.name) for field in fields(Trim)}
        return {"type": "object", "properties": shapes}
    if kind is Habit:
        known = {"type": "object", "properties": {"value": {"type": "number"}, "sd": {"type": "number"}}}
        return {"type": "object", "properties": dict.fromkeys(NAMES, known), "required": list(NAMES)}
    return {"type": {int: "integer", float: "number", bool: "boolean"}.get(kind, "string")}


def _number(raw: object) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw):
        raise BadValue(repr(raw))
    return float(raw)


def _vector(raw: object) -> tuple[float, ...]:
    if not isinstance(raw, list) or len(raw) != 3:
        raise BadValue(repr(raw))
    return tuple(_number(value) for value in raw)


def _trim(raw: object) -> Trim:
    """Fields that are missing keep the value of an untrimmed sensor; unknown ones are passed over."""
    if not isinstance(raw, dict):
        raise BadValue(repr(raw))
    known: dict[str, Any] = {}
    for field in fields(Trim):
        if field.name not in raw:
            continue
        value = raw[field.name]
        shape = _trim_schema(field.name)
        if shape is _MATRIX:
            if not isinstance(value, list) or len(value) != 3:
                raise BadValue(repr(value))
            known[field.name] = tuple(_vector(row) for row in value)
        else:
            known[field.name] = _vector(value) if shape is _VECTOR else _number(value)
    return Trim(**known)


def _habit(raw: object) -> Habit:
    """Every figure must be there, with a standard deviation above zero; unknown ones are passed over."""
    if not isinstance(raw, dict):
        raise BadValue(repr(raw))
    return Habit(**{name: _known(raw.get(name)) for name in NAMES})


def _known(raw: object) -> Known:
    if not isinstance(raw, dict):
        raise BadValue(repr(raw))
    value, sd = _number(raw.get("value")), _number(raw.get("sd"))
    if sd <= 0:
        raise BadValue(repr(raw))
    return Known(value=value, sd=sd)


def _trim_schema(name: str) -> dict[str, Any]:
    if name.endswith("_matrix"):
        return _MATRIX
    return _VECTOR if "_offset_" in name else {"type": "number"}
