"""All bodies of trim by name: the same name makes the same body."""

import zlib

import numpy as np
import trim_frames
import trim_panels
import trim_pieces
from trim_shapes import Trim

MAKERS = {
    maker.__name__: maker
    for family in (trim_panels, trim_frames, trim_pieces)
    for maker in family.BODIES
}


def make(name) -> Trim:
    """The body of a name, as `trim_shapes.Trim`; sizes vary by a seed out of the name."""
    return MAKERS[name](np.random.default_rng(zlib.crc32(name.encode())))
