"""What to do about a member or parameter that a call does not take as it is."""

from collections.abc import Mapping
from typing import Any

from marshmallow import Schema

from sawready.readers.fault import nearest


def remedy_of(schema: Schema, name: str, fault: Mapping[str, Any]) -> str:
    """The remedy of a fault in the shape of a body or of parameters.

    Args:
        schema: what the call takes.
        name: the member or parameter; empty for the body as a whole.
        fault: as ``order_schema.fault`` makes it.
    Example:
        >>> from sawready.web.desk_schemas import ReleaseRequestSchema
        >>> remedy_of(ReleaseRequestSchema(), "digest", {"reason": "value-missing"})
        'State it: digest of the result that the factory holds.'
        >>> remedy_of(ReleaseRequestSchema(), "digset", {"reason": "field-unknown"})
        'Leave it out, or write digest if that is meant.'
    """
    if fault.get("remedy"):
        return str(fault["remedy"])
    known = schema.load_fields
    field = known.get(name)
    if field is None and not name:
        return f"Send an object with {', '.join(each for each in known if known[each].required)}."
    if field is None:
        near = nearest(name, known)
        return (
            f"Leave it out; there are {', '.join(known)}."
            if near is None
            else f"Leave it out, or write {near} if that is meant."
        )
    meaning = str(field.metadata.get("description", "a value."))
    meaning = meaning[:1].lower() + meaning[1:]
    return f"State it: {meaning}" if fault["reason"] == "value-missing" else f"What is due: {meaning}"
