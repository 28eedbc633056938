"""Thin fins of rubber and thin walls of the part, seen along three axes."""

import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField, sample
from castplan.columns.flood import label_joined
from castplan.mesh import directions
from castplan.model import Frame, Part, ThinPlace
from castplan.model.memory import remembered

# Resin walls of 1.0 mm cast well, 0.5 only on tiny areas; rubber tears where
# a slot is narrow against its depth (mould makers' public pages; the limit
# for rubber is assumed).
THIN_PART_MM = 1.0
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
    first, bottom, top, columns = ends
    length = top - bottom
    is_thin = length < limit_mm
    # Where the thin comes from: thick part, or the open beside a slot.
    is_root = np.zeros(field.n_x * field.n_y, dtype=bool)
    is_root[columns[~is_thin]] = True
    if kind == "rubber":
        is_root |= np.diff(field.first) == 0
    label, n = label_joined(first, bottom, top, columns, field.n_x, is_thin)
    order = np.argsort(label, kind="stable")
    bounds = np.searchsorted(label[order], np.arange(n + 1))
    places = []
    for k in np.flatnonzero(np.diff(bounds) * field.cell_mm2 >= (SPREAD * field.pitch_mm) ** 2):
        group = order[bounds[k] : bounds[k + 1]]
        patch, n_patches = _patches(field, columns[group], 0.5 * (top + bottom)[group])
        for m in range(1, n_patches + 1):
            members = group[patch[columns[group]] == m]
            thickness_mm = float(np.median(length[members]))
            if thickness_mm < LEAST_MM:
                continue
            area_mm2 = float(members.size * field.cell_mm2)
            spread_mm = SPREAD * max(thickness_mm, field.pitch_mm)
            if area_mm2 < spread_mm**2 or _reach_mm(field, patch == m, is_root) < spread_mm:
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


def _patches(field, columns, middle):
    """Smooth patches of one thin group, by column (n_columns,), and their number."""
    shape = (field.n_y, field.n_x)
    height = np.full(field.n_x * field.n_y, np.nan)
    height[columns] = middle
    height = height.reshape(shape)
    # A wall goes on from column to column; where the ray grazes a rough face,
    # slivers jump. The comparison fails beside a hole in the patch as well.
    with np.errstate(invalid="ignore"):
        steps = [np.abs(np.roll(height, 1, axis=k) - height) for k in (0, 1)]
        goes_on = (steps[0] < STEEPEST * field.pitch_mm) & (steps[1] < STEEPEST * field.pitch_mm)
    # Opened by one column: a line of single columns is an edge, not a wall.
    label, n = ndimage.label(ndimage.binary_opening(goes_on, np.ones((3, 3))))
    return label.ravel(), n


def _reach_mm(field, is_patch, is_root):
    """How far a patch reaches from where it is thick or open; inf if it is not."""
    root = (is_root & ~is_patch).reshape(field.n_y, field.n_x)
    if not root.any():
        return np.inf
    away = ndimage.distance_transform_edt(~root).ravel()
    return float(away[is_patch].max()) * field.pitch_mm
