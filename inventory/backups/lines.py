"""A row of a table as a line of JSON, back again, and the schema that says what it holds.

Every column by its own name, as the database has it: numbers and texts as JSON has them,
sums of money as text with all their decimals, dates and times by ISO 8601. The keys are
sorted, so that one row is one line on either engine.
"""

import json
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from inspect import cleandoc
from typing import Any

from django.db.models import Field, ForeignKey, Model

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_INTEGER, _TEXT = {"type": "integer"}, {"type": "string"}
# What JSON Schema calls what a column holds; a key holds what the other table's key does.
_SHAPES: dict[str, Mapping[str, object]] = {
    "BooleanField": {"type": "boolean"},
    "FloatField": {"type": "number"},
    "DecimalField": _TEXT | {"pattern": r"^-?\d+(\.\d+)?$"},
    "DateField": _TEXT | {"format": "date"},
    "DateTimeField": _TEXT | {"format": "date-time"},
    "UUIDField": _TEXT | {"format": "uuid"},
    "JSONField": {},
}


def line(row: Model) -> str:
    """A row as one line, without its end."""
    values = {each.attname: getattr(row, each.attname) for each in columns(type(row))}
    return json.dumps(values, sort_keys=True, default=_said, ensure_ascii=False)


def _said(value: object) -> str:
    if isinstance(value, Decimal):
        return f"{value:f}"
    return value.isoformat() if isinstance(value, datetime | date) else str(value)


def row_of(model: type[Model], text: str) -> Model:
    """The row that a line tells of, not in any database yet."""
    said = json.loads(text)
    return model(
        **{each.attname: each.to_python(said[each.attname]) for each in columns(model)}
    )


def columns(model: type[Model]) -> list["Field[Any, Any]"]:
    """A table's columns, in its own order."""
    return list(model._meta.concrete_fields)


def schema(model: type[Model]) -> dict[str, object]:
    """The JSON Schema of a table's lines."""
    about = cleandoc(model.__doc__ or "")
    return {
        "$schema": DIALECT,
        "title": model._meta.db_table,
        "description": "" if about.startswith(f"{model.__name__}(") else about,
        "type": "object",
        "properties": {each.attname: _shape(each) for each in columns(model)},
        "required": [each.attname for each in columns(model)],
        "additionalProperties": False,
    }


def _shape(column: "Field[Any, Any]") -> dict[str, object]:
    found: dict[str, Any] = dict(_kind(column))
    if column.null and "type" in found:
        found["type"] = [found["type"], "null"]
    if column.choices:
        found["oneOf"] = [
            {"const": value, "title": str(words)} for value, words in column.flatchoices
        ]
        if column.null or column.blank:
            found["oneOf"].append({"enum": [None, ""]})
    if column.help_text:
        found["description"] = str(column.help_text)
    if isinstance(column, ForeignKey):
        key = column.target_field
        found["$comment"] = f"the {key.name} of a row of {key.model._meta.db_table}"
    return found


def _kind(column: "Field[Any, Any]") -> Mapping[str, object]:
    """What a column holds, by JSON Schema's words."""
    if isinstance(column, ForeignKey):
        return _kind(column.target_field)
    kind = column.get_internal_type()
    if kind in _SHAPES:
        return _SHAPES[kind]
    return _INTEGER if "Integer" in kind or "Auto" in kind else _TEXT
