"""Line drawings of the part for paper: outline, visible edges, pockets."""

import numpy as np

from castplan.columns import contours, raster
from castplan.columns.field import grid_shape, to_xy
from castplan.columns.gaps import rows_by_number
from castplan.memory import remembered
from castplan.part.records import Part, Sketch
from castplan.part.study import HeldPockets
from castplan.record import Frame

# Cells along the longest side of a drawing: printed at 1:1, or small on a job sheet.
ACROSS = {"draw": 1024, "pour": 1024, "front": 512, "side": 512}
CREASE_DEG = 25.0
# On a mesh as dense as a scan, creases that span less of the longest side are
# texture; a model drawn by hand keeps all of its edges.
TEXTURE_FRACTION = 0.08
DENSE_TRIANGLES = 10_000
# A mesh with more creases than this is texture or scan noise: outline only.
MAX_CREASES = 12_000

# Rows are right, up, and towards the eye, in the draw frame.
VIEWS = {
    "draw": np.array([[1.0, 0, 0], [0, 1, 0], [0, 0, 1]]),
    "front": np.array([[1.0, 0, 0], [0, 0, 1], [0, -1, 0]]),
    "side": np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]]),
}


@remembered
def draw_sketches(
    part: Part, draw_frame: Frame, pour_frame: Frame, pockets: HeldPockets
) -> tuple[Sketch, ...]:
    """Draw the part from above, front and side in the draw frame, and at the pour.

    Parameters
    ----------
    part : Part
    draw_frame, pour_frame : Frame
    pockets : HeldPockets

    Returns
    -------
    tuple of Sketch
        "draw", "front", "side", "pour".
    """
    edges = contours.crease_edges(
        part.vertices_mm,
        part.faces,
        angle_deg=CREASE_DEG,
        shortest_mm=_texture_mm(part),
    )
    if len(edges) > MAX_CREASES:
        edges = edges[:0]
    field = pockets.field
    longest_mm = float((field.high_mm - field.low_mm).max())
    sketches = [
        _draw(
            part,
            edges,
            view @ draw_frame.rotation,
            name,
            longest_mm / ACROSS[name],
            _pocket_rings(name, field, pockets.gaps, pockets.of_gap),
        )
        for name, view in VIEWS.items()
    ]
    pour_mm = longest_mm / ACROSS["pour"]
    sketches.append(_draw(part, edges, pour_frame.rotation, "pour", pour_mm, ()))
    return tuple(sketches)


def draw_file_views(part: Part, names, *, has_noise: bool) -> tuple[Sketch, ...]:
    """Draw the part from above, front and right along the file's axes.

    Parameters
    ----------
    part : Part
    names : sequence of 3 str
    has_noise : bool
        Creases would be noise: draw outlines only.
    """
    edges = contours.crease_edges(
        part.vertices_mm,
        part.faces,
        angle_deg=CREASE_DEG,
        shortest_mm=_texture_mm(part),
    )
    if has_noise or len(edges) > MAX_CREASES:
        edges = edges[:0]
    pitch_mm = max(part.check.extent_mm) / ACROSS["front"]
    return tuple(
        _draw(part, edges, view, name, pitch_mm, ())
        for view, name in zip(VIEWS.values(), names, strict=True)
    )


def _texture_mm(part):
    is_dense = part.check.n_triangles > DENSE_TRIANGLES
    return TEXTURE_FRACTION * max(part.check.extent_mm) if is_dense else 0.0


def _draw(part, edges, rotation, name, pitch_mm, pockets):
    low, high = raster.turned_bounds(part.vertices_mm, rotation)
    x0, y0, n_x, n_y = grid_shape(low, high, pitch_mm=pitch_mm)
    grid = raster.to_grid(part.vertices_mm, rotation, x0, y0, pitch_mm)
    faces = np.concatenate([part.faces, part.cap_faces])
    start, z, _ = raster.find_crossings(grid, faces, n_x, n_y)
    full = np.diff(start) > 0
    height = np.full(n_x * n_y, -np.inf)
    height[full] = z[start[1:][full] - 1]
    height = height.reshape(n_y, n_x)
    where = {"x0_mm": float(x0), "y0_mm": float(y0), "pitch_mm": pitch_mm}
    pieces = ()
    if len(edges):
        points = part.vertices_mm @ rotation.T
        pieces = tuple(contours.visible_pieces(points, edges, height, **where))
    return Sketch(
        name=name,
        pitch_mm=pitch_mm,
        outline=tuple(contours.rings(full.reshape(n_y, n_x), **where)),
        lines=pieces,
        pockets=pockets,
    )


def _pocket_rings(name, field, gaps, pocket_of_gap):
    rings = []
    rows = rows_by_number(pocket_of_gap, n=int(pocket_of_gap.max(initial=0)) + 1)
    for number, members in enumerate(rows[1:], start=1):
        if name == "draw":
            mask, corner = field.mask_of(gaps.column[members])
            found = contours.rings(
                mask,
                corner=corner,
                x0_mm=field.u0_mm,
                y0_mm=field.v0_mm,
                pitch_mm=field.pitch_mm,
            )
            found = [to_xy(ring) for ring in found]
        else:
            found = _side_rings(int(name == "side"), gaps, members, field)
        rings += [(number, ring) for ring in found]
    return tuple(rings)


def _side_rings(axis, gaps, members, field):
    """Rings round gaps seen along the other horizontal axis."""
    # The lattice stands askew, so neighbouring columns fall less than a pitch
    # apart here; cells of 1.5 pitches leave no stripes.
    cell_mm = 1.5 * field.pitch_mm
    across_mm = field.centre_mm(gaps.column[members])[:, axis]
    x0_mm = float(across_mm.min()) - cell_mm
    y0_mm = float(gaps.bottom_mm[members].min()) - cell_mm
    i = ((across_mm - x0_mm) // cell_mm).astype(np.int64)
    low = np.rint((gaps.bottom_mm[members] - y0_mm) / cell_mm).astype(np.int64)
    high = np.rint((gaps.top_mm[members] - y0_mm) / cell_mm).astype(np.int64)
    depth = np.zeros((int(high.max()) + 2, int(i.max()) + 2), dtype=np.int64)
    np.add.at(depth, (low, i), 1)
    np.add.at(depth, (high, i), -1)
    return contours.rings(np.cumsum(depth, axis=0) > 0, x0_mm=x0_mm, y0_mm=y0_mm, pitch_mm=cell_mm)
