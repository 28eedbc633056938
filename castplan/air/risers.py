"""Ways for a riser: a channel down beside the part that opens into it low, at the parting."""

from dataclasses import dataclass

import numpy as np
import shapely

from castplan.air.site import GateSite
from castplan.geometry.channels import CLEAR_MM, Block, lay_on

N_STATIONS = 32  # places tried round an outline
# Of an upright outline only what lies this low is an entry from below.
LOW_SHARE = 0.35
# How far the foot may lie under the entry, and off the part, beyond what it must.
DIPS_MM = (0.0, 3.0, 6.0)
# From the part to a riser's bore; the columns need a little over what must stay.
OFF_MM = CLEAR_MM + 0.5
# Silicone left between a riser and the box's wall (assumed).
TO_WALL_MM = 1.0
INSIDE_MM = 1.5  # where under the entry the part's thickness is read


@dataclass(frozen=True, kw_only=True, eq=False)
class Riser:
    """One way: from the part out of the box, and how thick the part is at its mouth."""

    path_mm: np.ndarray  # (k, 3) draw frame
    width_mm: float


def list_risers(block: Block, site: GateSite, *, bore_mm: float) -> list[Riser]:
    """Every way worth a look; none is checked against the part yet.

    Where the parting stands upright the whole way lies in it: up beside the
    part, and across to it at the foot. Where it lies level the foot lies in it
    and the riser goes up through a half.

    Parameters
    ----------
    block : Block
    site : GateSite
        Its outlines along the parting, and its box.
    bore_mm : float

    Returns
    -------
    list of Riser
    """
    field, box = site.drawn, site.box
    inside, z_mm = shapely.Polygon(box.outline_mm), (box.low_mm[2], box.high_mm[2])
    radius = 0.5 * bore_mm
    inner = inside.buffer(-(radius + TO_WALL_MM), join_style="mitre")
    up = block.draw.rotation @ block.rest.up
    found = []
    rims = np.concatenate([rim.points_mm for rim in site.line.outlines])
    for rim in site.outlines:
        out = _outward(rim.points_mm)
        for k in _stations(rim, block.draw.rotation @ block.rest.to_part(block.true_up)):
            entry = np.array([*rim.points_mm[k], rim.line_mm[k]])
            width_mm = _thickness_mm(field, entry, out[k])
            if width_mm <= 0:
                continue
            if block.is_upright:
                flats = _beside(entry[:2], up[:2], rims, inside, inner, radius)
                paths = [lay_on(block.sheet, flat) for flat in flats]
            else:
                paths = _over(block, entry, out[k], up, inner, z_mm, radius)
            for path in paths:
                path[0] = entry
                found.append(Riser(path_mm=path, width_mm=width_mm))
    return found


def _stations(rim, true_up):
    """Rows of an outline: evenly spread, and its lowest."""
    n = len(rim.points_mm)
    height = np.column_stack([rim.points_mm, rim.line_mm]) @ true_up
    even = np.unique(np.linspace(0, n - 1, min(n, N_STATIONS)).astype(int))
    return np.unique(np.append(even, int(np.argmin(height))))


def _outward(points):
    """Unit normals of a closed outline, away from what it encloses, (k, 2)."""
    along = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    x, y = points.T
    is_clockwise = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) < 0
    length = np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
    return (-normal if is_clockwise else normal) / length


def _thickness_mm(field, entry, out):
    """Of the part along the draw, a little inside an entry; 0 where there is none."""
    x, y = entry[:2] - INSIDE_MM * out
    column = field.column_at(x_mm=float(x), y_mm=float(y))
    a, b = field.first[column], field.first[column + 1]
    slack = field.pitch_mm
    holds = (field.bottom_mm[a:b] - slack <= entry[2]) & (field.top_mm[a:b] + slack >= entry[2])
    return float((field.top_mm[a:b] - field.bottom_mm[a:b])[holds].max(initial=0.0))


def _beside(entry, up, rims, inside, inner, radius):
    """Ways in an upright parting: entry, foot, exit, each (3, 2)."""
    up = up / np.linalg.norm(up)
    side = np.array([-up[1], up[0]])
    height, across = rims @ up, rims @ side
    here = float(entry @ up)
    if here > height.min() + LOW_SHARE * np.ptp(height):
        return []
    far = float(np.ptp(shapely.get_coordinates(inside), axis=0).sum())
    found = []
    for dip_mm in DIPS_MM:
        foot_mm = here - dip_mm
        passed = height >= foot_mm - radius - CLEAR_MM
        for sense in (1.0, -1.0):
            reach = float((sense * across[passed]).max()) + OFF_MM + radius
            foot = foot_mm * up + sense * reach * side
            if not inner.contains(shapely.Point(foot)):
                continue
            ray = shapely.LineString([foot, foot + far * up])
            ends = shapely.get_coordinates(shapely.intersection(ray, inside.exterior))
            if not len(ends):
                continue
            end = ends[np.argmax(ends @ up)]
            last = end - 2 * (radius + TO_WALL_MM) * up
            if inner.contains(shapely.LineString([foot, last])):
                found.append(np.array([entry, foot, end]))
    return found


def _over(block, entry, out, up, inner, z_mm, radius):
    """Ways along a level parting and up through a half, each (k, 3)."""
    found = []
    for more_mm in DIPS_MM:
        foot = entry[:2] + (OFF_MM + radius + more_mm) * out
        if not inner.contains(shapely.Point(foot)):
            continue
        along = lay_on(block.sheet, [entry[:2], foot])
        z = float(along[-1, 2])
        if not z_mm[0] + radius + TO_WALL_MM < z < z_mm[1] - radius - TO_WALL_MM:
            continue
        end = along[-1] + up * (z_mm[1 if up[2] > 0 else 0] - z) / up[2]
        if inner.contains(shapely.Point(end[:2])):
            found.append(np.vstack([along, end]))
    return found
