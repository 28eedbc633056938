"""JSON that was told to castplan: an object that can be stored and told again, or none."""

import json


def object_in(data: bytes) -> dict | None:
    """The JSON object that these bytes are.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    dict or None
        None where they are no object, or one that cannot be told again: numbers
        beyond any, halves of signs (lone surrogates), nesting without end.
    """
    try:
        told = json.loads(data)
        json.dumps(told, allow_nan=False, ensure_ascii=False).encode("utf-8")
    except (ValueError, RecursionError):
        return None
    return told if isinstance(told, dict) else None
