"""JSON as every command prints and writes it."""

import json


def json_text(value: object, *, compact: bool = False) -> str:
    """Strict JSON (RFC 8259) in ASCII: inf and nan, which it has no words for, raise ValueError, so
    that whoever makes the figures says null where there is no number."""
    if compact:
        return json.dumps(value, allow_nan=False, separators=(",", ":"))
    return json.dumps(value, allow_nan=False, indent=1)
