"""Thin fins of rubber and thin walls of the part, seen along three axes."""

import math

import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField, sample
from castplan.columns.narrows import smooth_patches
from castplan.geometry import directions
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Frame
from castplan.split.records import ThinPlace

# Resin walls of 1.0 mm cast well, 0.5 only on tiny areas; rubber tears where
# a slot is narrow against its depth (common practice, no source; the
# limit for rubber is assumed).
THIN_PART_MM, TINY_PART_MM = 1.0, 0.5
THIN_RUBBER_MM = 1.5
# A place counts when it spreads this many times its thickness, and reaches that
# far from where it is thick: the rim of a body is thin over a hair's breadth.
SPREAD = 3.0
ACROSS = 256
# Thinner than any wall or slot that is cast or scanned: surfaces of a mesh that
# cross or lie on each other.
LEAST_MM = 0.05
STEEPEST = 2.0  # columns a wall may rise by from one to the next

_AXES = {
    "x": np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]]),
    "y": np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]]),
    "z": np.eye(3),
}


@remembered
def find_thin(part: Part, frame: Frame) -> tuple[ThinPlace, ...]:
    """Look along the draw frame's axes for what is thin against its spread.

    Rubber is looked at across the draw only: along it a thin void is a pocket.

    Parameters
    ----------
    part : Part
    frame : Frame
        The draw frame.

    Returns
    -------
    tuple of ThinPlace
        Thinnest first.
    """
    pitch_mm = directions.longest_mm(part) / ACROSS
    found = []
    for name, turn in _AXES.items():
        field = sample(
            part.vertices_mm,
            part.faces,
            part.cap_faces,
            turn @ frame.rotation,
            pitch_mm=pitch_mm,
        )
        ends = field.first, field.bottom_mm, field.top_mm, field.column_of
        found += _places(field, ends, turn, "part", THIN_PART_MM, name)
        if name != "z":
            found += _places(field, _voids(field), turn, "rubber", THIN_RUBBER_MM, name)
    found.sort(key=lambda place: (place.kind, place.thickness_mm, place.centre_mm))
    return tuple(found)


def _voids(field: ColumnField):
    """What lies between surfaces: first, bottom, top and column, like a field's."""
    inner = np.flatnonzero(np.diff(field.column_of) == 0)
    n = np.maximum(np.diff(field.first) - 1, 0)
    first = np.concatenate([[0], np.cumsum(n)])
    return first, field.top_mm[inner], field.bottom_mm[inner + 1], field.column_of[inner]


def _places(field: ColumnField, ends, turn, kind, limit_mm, name):
    """Connected walls of columns whose length stays under the limit."""
    _, bottom, top, columns = ends
    length = top - bottom
    is_thin = length < limit_mm
    # Where the thin comes from: thick part, or the open beside a slot.
    is_root = np.zeros(field.n_x * field.n_y, dtype=bool)
    is_root[columns[~is_thin]] = True
    if kind == "rubber":
        is_root |= np.diff(field.first) == 0
    places = []
    least = math.ceil(SPREAD**2)
    for members in smooth_patches(field, ends, is_thin, least=least, steepest=STEEPEST):
        thickness_mm = float(np.median(length[members]))
        if thickness_mm < LEAST_MM:
            continue
        area_mm2 = float(members.size * field.cell_mm2)
        spread_mm = SPREAD * max(thickness_mm, field.pitch_mm)
        if area_mm2 < spread_mm**2 or not _reaches(field, columns[members], is_root, spread_mm):
            continue
        xy = field.centre_mm(columns[members]).mean(axis=0)
        centre = np.array([*xy, 0.5 * (top + bottom)[members].mean()]) @ turn
        places.append(
            ThinPlace(
                kind=kind,
                thickness_mm=thickness_mm,
                area_mm2=area_mm2,
                centre_mm=tuple(float(v) for v in np.round(centre, 9)),
                across=name,
            )
        )
    return places


def _reaches(field, columns, is_root, spread_mm):
    """Whether a patch goes so far from where it is thick or open; no such place is far."""
    pad = math.ceil(spread_mm / field.pitch_mm) + 1
    mask, (row, i) = field.mask_of(columns)
    mask = np.pad(mask, pad)
    # Nothing further off can be nearer than what is asked.
    rows = np.arange(row - pad, row - pad + mask.shape[0])
    across = np.arange(i - pad, i - pad + mask.shape[1])
    inside = ((rows >= 0) & (rows < field.n_y))[:, None] & (across >= 0) & (across < field.n_x)
    place = rows.clip(0, field.n_y - 1)[:, None] * field.n_x + across.clip(0, field.n_x - 1)
    root = is_root[place] & inside & ~mask
    if not root.any():
        return True
    away = ndimage.distance_transform_edt(~root)
    return float(away[mask].max()) * field.pitch_mm >= spread_mm
