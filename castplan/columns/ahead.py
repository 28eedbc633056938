"""Kernels that a plan compiles, for a second process while the first plan ever is under way.

A plan calls its kernels one after the other, each compiled at its first call
and kept for later starts. The process (`step_pictures/ahead.py`) works through them
from the last to the first; where both meet, the plan finds the rest already kept.
"""

from numba import types

from castplan.columns import (
    cover,
    flood,
    gaps,
    held,
    levels,
    narrows,
    outline,
    peaks,
    raster,
    rim,
    room,
    shutoff,
    thickness,
    views,
    voids,
)

# Capitals are arrays: of integers, floats, booleans, the shares of openings, and
# what is sealed (points or a rotation, facets); small letters are single values.
_TYPES = {
    "I": types.int64[::1],
    "F": types.float64[::1],
    "B": types.boolean[::1],
    "S": types.int16[:, ::1],
    "W": types.float64[:, ::1],
    "P": types.Array(types.float64, 2, "C", readonly=True),
    "T": types.Array(types.int32, 2, "C", readonly=True),
    "i": types.int64,
    "f": types.float64,
    "b": types.boolean,
}
# In the order in which a plan first calls them.
KERNELS = (
    (views._measure, "PTW"),
    (raster._sample_closed, "PTPPf"),
    (levels.void_and_least_trapped, "IFFiiffi"),
    (outline._walk, "IFFBiiii"),
    (gaps._list_gaps, "IFF"),
    (gaps._join, "IIFFi"),
    (gaps._touch_free, "IFFIFFi"),
    (gaps._join_contacts, "IIIIFFii"),
    (gaps._march, "IIFFIif"),
    (held._without, "IFFB"),
    (held._holds, "IFFFb"),
    (held._slabs, "IFFFbf"),
    (peaks._sweep, "IFFIiIIf"),
    (cover._link, "IIIFF"),
    (cover._fill_tables, "IIFii"),
    (cover._collect, "IISiii"),
    (peaks._reach_all, "IFFIiIFi"),
    (levels.overflow, "FBii"),
    (flood.label_joined, "IFFIiB"),
    (narrows._patch_of, "IIIIFiif"),
    (rim.taut_line, "FFFfi"),
    (shutoff._spread, "FBBif"),
    (peaks.spread_level, "IFFIiif"),
    (flood.climb, "IFFIiif"),
    (flood.escape_levels, "IFFIiI"),
    (flood.run_down, "IFFIii"),
    (flood.entry_levels, "IFFIii"),
    (narrows._distance, "IFFIiBf"),
    (voids._invert, "IFFFF"),
    (thickness._measure_held, "IFFIFfffF"),
    (shutoff._choose, "IFFBFFFFF"),
    (room._look_out, "IFIFFi"),
)


def types_of(letters: str) -> tuple:
    """Types of a kernel's arguments, by the letters of `KERNELS`."""
    return tuple(_TYPES[letter] for letter in letters)
