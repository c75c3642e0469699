"""What stands of a broken table: the fields, rows and entries that are valid, and None for each that is not.

In: a pydantic model, and the data of a file that does not fit it. Out: a value of the model, built without its
checks. With this value, the file can be checked against other files although a part of it is broken: so all faults
are reported in one go.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

_MODEL = TypeVar("_MODEL", bound=BaseModel)


def standing(model: type[_MODEL], data: dict[str, Any], context: object = None) -> _MODEL:
    """Return what stands of a table; `context` is pydantic's, passed to the checks.

    >>> class Row(BaseModel):
    ...     id: str
    ...     frames: int = 1
    >>> standing(Row, {"frames": "x"})
    Row(id=None, frames=None)
    """
    fields = {}
    for name, field in model.model_fields.items():
        key = field.alias or name
        if key in data:
            fields[name] = _standing(_kind_of(field), data[key], context)
        else:
            fields[name] = None if field.is_required() else field.get_default(call_default_factory=True)
    given = {name for name, field in model.model_fields.items() if (field.alias or name) in data}
    return model.model_construct(given, **fields)


def _kind_of(field: FieldInfo) -> Any:
    return Annotated[(field.annotation, *field.metadata)] if field.metadata else field.annotation


def _standing(kind: Any, value: Any, context: object) -> Any:
    try:
        return TypeAdapter(kind).validate_python(value, strict=True, context=context)
    except ValidationError:
        pass
    inside = get_args(kind)
    if get_origin(kind) is tuple and inside[-1] is Ellipsis and isinstance(value, tuple):
        return tuple(_standing(inside[0], item, context) for item in value)
    if get_origin(kind) is Mapping and isinstance(value, dict):
        return {key: _standing(inside[1], item, context) for key, item in value.items()}
    if isinstance(kind, type) and issubclass(kind, BaseModel) and isinstance(value, dict):
        return standing(kind, value, context)
    return None
