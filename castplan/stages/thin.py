"""Thin fins of rubber and thin walls of the part, seen along three axes."""

import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField, sample
from castplan.model import Frame, Part, ThinPlace

# Resin walls of 1.0 mm cast well, 0.5 only on tiny areas; rubber tears where
# a slot is narrow against its depth (mould makers' public pages; the limit
# for rubber is assumed).
THIN_PART_MM = 1.0
THIN_RUBBER_MM = 1.5
# A place counts when it spreads this many times its thickness: the rim of a
# round body is thin only over a hair's breadth.
SPREAD = 3.0
ACROSS = 256
STEEPEST = 2.0  # columns a wall may rise by from one to the next

_AXES = {
    "x": np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]]),
    "y": np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]]),
    "z": np.eye(3),
}


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
    pitch_mm = max(part.check.extent_mm) / ACROSS
    found = []
    for name, turn in _AXES.items():
        field = sample(
            part.vertices_mm,
            part.faces,
            part.cap_faces,
            turn @ frame.rotation,
            pitch_mm=pitch_mm,
        )
        solid = field.top_mm - field.bottom_mm
        middle = 0.5 * (field.top_mm + field.bottom_mm)
        found += _places(field, field.column_of, solid, middle, turn, "part", THIN_PART_MM, name)
        if name != "z":
            inner = np.flatnonzero(np.diff(field.column_of) == 0)
            void = field.bottom_mm[inner + 1] - field.top_mm[inner]
            middle = 0.5 * (field.bottom_mm[inner + 1] + field.top_mm[inner])
            columns = field.column_of[inner]
            found += _places(field, columns, void, middle, turn, "rubber", THIN_RUBBER_MM, name)
    found.sort(key=lambda place: (place.kind, place.thickness_mm, place.centre_mm))
    return tuple(found)


def _places(field: ColumnField, columns, length, middle, turn, kind, limit_mm, name):
    """Connected patches of columns whose length stays under the limit."""
    is_thin = length < limit_mm
    if not is_thin.any():
        return []
    shape = (field.n_y, field.n_x)
    height = np.full(field.n_x * field.n_y, np.nan)
    height[columns[is_thin]] = middle[is_thin]
    height = height.reshape(shape)
    # A wall goes on from column to column; where the ray grazes a rough face,
    # slivers jump. The comparison fails beside a hole in the patch as well.
    with np.errstate(invalid="ignore"):
        steps = [np.abs(np.roll(height, 1, axis=k) - height) for k in (0, 1)]
        goes_on = (steps[0] < STEEPEST * field.pitch_mm) & (steps[1] < STEEPEST * field.pitch_mm)
    # Opened by one column: a line of single columns is an edge, not a wall.
    label, n = ndimage.label(ndimage.binary_opening(goes_on, np.ones((3, 3))))
    label = label.ravel()[columns]
    places = []
    for k in range(1, n + 1):
        members = np.flatnonzero(is_thin & (label == k))
        if not members.size:
            continue
        thickness_mm = float(np.median(length[members]))
        area_mm2 = members.size * field.cell_mm2
        if area_mm2 < (SPREAD * max(thickness_mm, field.pitch_mm)) ** 2:
            continue
        xy = field.centre_mm(columns[members]).mean(axis=0)
        centre = np.array([*xy, middle[members].mean()]) @ turn
        places.append(
            ThinPlace(
                kind=kind,
                thickness_mm=thickness_mm,
                area_mm2=float(area_mm2),
                centre_mm=tuple(float(v) for v in np.round(centre, 9)),
                across=name,
            )
        )
    return places
