"""Several parts, each turned and moved to its place, as one part."""

from dataclasses import replace

import numpy as np

from castplan.part.records import MeshCheck, Part
from castplan.texts.told import tell


def compose(parts, turns, shifts_mm, *, name: str) -> Part:
    """One part of several, their surfaces side by side; nothing is welded or checked anew.

    Parameters
    ----------
    parts : sequence of Part
    turns : sequence of (3, 3)
        Rotation of each.
    shifts_mm : sequence of (3,)
        Where each one's origin comes to.
    name : str

    Returns
    -------
    Part
        Volumes, areas and counts are the sums of theirs; open where one of them is.
    """
    points = [
        part.vertices_mm @ np.asarray(turn).T + np.asarray(shift)
        for part, turn, shift in zip(parts, turns, shifts_mm, strict=True)
    ]
    counts = [part.check.n_vertices for part in parts]
    hubs = [len(part.vertices_mm) - n for part, n in zip(parts, counts, strict=True)]
    starts = np.cumsum([0, *counts])
    hub_starts = starts[-1] + np.cumsum([0, *hubs])
    surfaces = [part.faces + start for part, start in zip(parts, starts, strict=False)]
    # The middles of capped holes stand behind all corners of surface.
    caps = [
        np.where(part.cap_faces < n, part.cap_faces + start, part.cap_faces - n + hub_start)
        for part, n, start, hub_start in zip(parts, counts, starts, hub_starts, strict=False)
    ]
    vertices_mm = np.concatenate(
        [own[:n] for own, n in zip(points, counts, strict=True)]
        + [own[n:] for own, n in zip(points, counts, strict=True)]
    )
    return Part(
        name=name,
        vertices_mm=vertices_mm,
        faces=np.concatenate(surfaces),
        cap_faces=np.concatenate(caps),
        check=_summed(parts, np.ptp(vertices_mm[: starts[-1]], axis=0)),
    )


_ADDED = (
    *("n_triangles", "n_vertices", "n_merged_vertices", "n_dropped_triangles", "n_bodies"),
    *("n_inner_shells", "n_open_edges", "n_nonmanifold_edges", "n_holes", "hole_mm2"),
    *("doubt_mm3", "volume_mm3", "area_mm2"),
)


def _summed(parts, extent_mm) -> MeshCheck:
    """What the meshes hold, together."""
    checks = [part.check for part in parts]
    units = {check.unit for check in checks}
    stated = {check.file_unit for check in checks}
    scales = {check.mm_per_unit for check in checks}
    told = []
    for part in parts:
        told += [
            tell("nest.change", part=part.name, change=change) for change in part.check.changes
        ]
    return replace(
        checks[0],
        **{name: sum(getattr(check, name) for check in checks) for name in _ADDED},
        join_mm=max(check.join_mm for check in checks),
        largest_hole_mm2=max(check.largest_hole_mm2 for check in checks),
        is_watertight=all(check.is_watertight for check in checks),
        is_one_sided=any(check.is_one_sided for check in checks),
        is_winding_consistent=all(check.is_winding_consistent for check in checks),
        is_inverted=any(check.is_inverted for check in checks),
        extent_mm=tuple(float(side) for side in extent_mm),
        # Files of several units are all in millimetres by now.
        file_unit=stated.pop() if len(stated) == 1 else None,
        unit=units.pop() if len(units) == 1 else "mm",
        mm_per_unit=scales.pop() if len(scales) == 1 else 1.0,
        changes=tuple(dict.fromkeys(told)),
        n_parts=len(parts),
        scanned_side=None,
    )
