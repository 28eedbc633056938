"""Arrays on their way to a picture: narrow, deflated, and known by their sums."""

import base64
import hashlib
import zlib
from dataclasses import dataclass

import numpy as np

_TYPES = {"u1": np.uint8, "u2": np.uint16, "u4": np.uint32, "i2": np.int16}
_SUM_BYTES = 12
# A file is written once and kept; an answer of the page is waited for.
FOR_KEEPS, FOR_NOW = 6, 1


@dataclass(frozen=True)
class Packed:
    """Whole numbers in the narrowest type that holds them, little-endian."""

    kind: str  # of `_TYPES`
    data: bytes

    @property
    def sum(self) -> str:
        """The same for the same numbers, and for no others."""
        digest = hashlib.blake2b(self.data, digest_size=_SUM_BYTES, person=self.kind.encode())
        return digest.hexdigest()


def packed(values) -> Packed:
    """Whole numbers, any shape, as one row.

    Parameters
    ----------
    values : array_like of int
    """
    values = np.asarray(values).astype(np.int64).ravel()
    low, high = int(values.min(initial=0)), int(values.max(initial=0))
    kind = next(
        name
        for name, dtype in _TYPES.items()
        if np.iinfo(dtype).min <= low and high <= np.iinfo(dtype).max
    )
    return Packed(kind, values.astype(np.dtype(_TYPES[kind]).newbyteorder("<")).tobytes())


def spelled(told, *, level: int = FOR_KEEPS, known: frozenset[str] | None = None):
    """All that is told with its arrays spelled for JSON: ``{"type", "data"}``, base64.

    Parameters
    ----------
    told : dict, list, Packed or anything that JSON holds
    level : int
        How hard to deflate.
    known : frozenset of str, optional
        Sums of arrays that the reader has: those come without their data. Where it is
        given, every array tells its sum.
    """
    if isinstance(told, dict):
        return {key: spelled(value, level=level, known=known) for key, value in told.items()}
    if isinstance(told, list):
        return [spelled(value, level=level, known=known) for value in told]
    if not isinstance(told, Packed):
        return told
    entry = {"type": told.kind}
    if known is not None:
        entry["sum"] = told.sum
        if entry["sum"] in known:
            return entry
    return entry | {"data": base64.b64encode(zlib.compress(told.data, level)).decode("ascii")}
