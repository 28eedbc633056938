"""One loose piece along a way: its section, how far in it goes, how it widens, what it takes."""

import numpy as np
import shapely
from scipy import ndimage

from castplan.columns import contours
from castplan.columns.field import ColumnField, to_xy
from castplan.geometry import frames, slide
from castplan.part.study import Study
from castplan.record import Frame, record
from castplan.split.records import BoxResult
from castplan.split.records.loose import LoosePiece

# A piece goes on so far beyond a hole, into a seat of silicone (common practice, no source).
SEAT_MM = 6.0
LEAST_SKIN_MM = 3.0  # of silicone left round it
# Slope of the end that widens, each side; more on its upper side, so that it goes in
# one way round only (5 degrees as draft, common practice; the other assumed).
TAPER_TAN, UPPER_TAN = np.tan(np.radians([5.0, 20.0]))
LEAST_HEAD_MM = 3.0  # of the piece outside the part
# A hole of which so much is seen through is one through the part; a rod fills more of it.
THROUGH_SHARE, ROD_SHARE = 0.1, 0.6
ROUND_FRACTION = 0.03  # of a radius that corners of a round hole may stand off it
SEGMENTS = 48
LEAST_CORNERS = 8  # of the mesh on the wall of a round hole: at either mouth four and more
# Its corners stand so far out beside the circle of its area: of a hexagon 1.10 times its
# radius, of a square 1.25 times (closed forms).
OFF_ROUND = 1.15
SPECK_CELLS = 4


@record
class Site:
    """The part seen along a way of pulling, in its box."""

    study: Study
    draw: Frame
    box: BoxResult
    frame: Frame  # of the piece
    field: ColumnField


@record
class Freed:
    """Rubber that leaves along a way."""

    points_mm: np.ndarray  # (k, 3) piece frame
    section: shapely.Geometry  # of all of it
    through: shapely.Geometry  # of it, where no part stands at all
    volume_mm3: float
    n_pockets: int

    @property
    def is_through(self) -> bool:
        """Whether it is a hole through the part."""
        return self.through.area >= THROUGH_SHARE * self.section.area

    @property
    def width_mm(self) -> float:
        """Widest circle in the narrowest finger."""
        return min(
            2 * shapely.maximum_inscribed_circle(finger, tolerance=0.05).length
            for finger in shapely.get_parts(self.section)
        )


def mask_of(site: Site, points_mm, *, volume_mm3: float, step_mm: float) -> Freed:
    """The rubber at points (k, 3) of the piece's frame, and its section.

    Parameters
    ----------
    site : Site
    points_mm : (k, 3) float64
    volume_mm3 : float
    step_mm : float
        From point to point.
    """
    field = site.field
    mask = np.zeros(field.n_x * field.n_y, dtype=bool)
    mask[field.columns_at(points_mm[:, :2])] = True
    mask = mask.reshape(field.n_y, field.n_x)
    # Columns between those that the other lattice's points met.
    reach = 1 + int(np.ceil(step_mm / field.pitch_mm))
    mask = ndimage.binary_closing(np.pad(mask, reach), np.ones((3, 3)), iterations=reach)
    mask = mask[reach:-reach, reach:-reach]
    is_empty = ~np.isfinite(field.highest_mm).reshape(mask.shape)
    return Freed(
        points_mm=points_mm,
        section=_shape(field, mask),
        through=_shape(field, mask & is_empty),
        volume_mm3=volume_mm3,
        n_pockets=1,
    )


def join_masks(site: Site, found: list[Freed]) -> Freed:
    """Several as one; void between them that is open along the way is filled too."""
    field = site.field
    points = np.concatenate([freed.points_mm for freed in found])
    section = shapely.union_all([freed.section for freed in found])
    through = shapely.union_all([freed.through for freed in found])
    between = section.convex_hull
    xy = field.centre_mm(np.arange(field.n_x * field.n_y))
    low = float(np.percentile(points[:, 2], 2)) + field.pitch_mm
    is_void = shapely.contains_xy(between, xy) & (field.highest_mm <= low)
    is_empty = is_void & ~np.isfinite(field.highest_mm)
    shapes = [_shape(field, each.reshape(field.n_y, field.n_x)) for each in (is_void, is_empty)]
    grow = field.pitch_mm
    return Freed(
        points_mm=points,
        section=_tidy(section.union(shapes[0].buffer(grow)).intersection(between), grow),
        through=_tidy(through.union(shapes[1].buffer(grow)).intersection(between), grow),
        volume_mm3=sum(freed.volume_mm3 for freed in found),
        n_pockets=sum(freed.n_pockets for freed in found),
    )


def _tidy(shape, grow):
    kept = [
        shapely.Polygon(piece.exterior)
        for piece in shapely.get_parts(shape.buffer(-grow).buffer(grow))
        if piece.geom_type == "Polygon" and piece.area > SPECK_CELLS * grow**2
    ]
    return shapely.union_all(kept)


def _shape(field, mask):
    rings = contours.rings(mask, x0_mm=field.u0_mm, y0_mm=field.v0_mm, pitch_mm=field.pitch_mm)
    pieces = [shapely.Polygon(to_xy(ring)).buffer(0) for ring in rings]
    least = SPECK_CELLS * field.cell_mm2
    return shapely.union_all([piece for piece in pieces if piece.area >= least])


def round_hole(site: Site, freed: Freed):
    """Middle (2,) and radius of a round hole through the part; None of any other.

    Parameters
    ----------
    site : Site
    freed : Freed

    Returns
    -------
    ((2,) float64, float) or None
        From the corners of the mesh on the hole's wall where they lie on one circle.
    """
    shape, pitch = freed.through, site.field.pitch_mm
    if shape.area < ROD_SHARE * freed.section.area or shape.geom_type != "Polygon":
        return None
    middle = shapely.get_coordinates(shape.centroid)[0]
    radius = float(np.sqrt(shape.area / np.pi))
    circle = shapely.Point(middle).buffer(radius, quad_segs=SEGMENTS // 4)
    if shapely.hausdorff_distance(circle.exterior, shape.exterior) > max(
        1.6 * pitch, 0.06 * radius
    ):
        return None
    points = site.frame.to_frame(frames.used_points(site.study.part))
    away = np.linalg.norm(points[:, :2] - middle, axis=1)
    low, high = np.percentile(freed.points_mm[:, 2], (1, 99))
    is_near = np.abs(away - radius) <= max(1.5 * pitch, 0.05 * radius)
    is_near &= (points[:, 2] >= low - 2 * pitch) & (points[:, 2] <= high + 2 * pitch)
    wall = points[is_near, :2]
    # A small square looks round to columns; its corners stand off the circle of its area.
    if len(wall) < LEAST_CORNERS or np.median(away[is_near]) > OFF_ROUND * radius:
        return None
    fitted, size = _circle(wall)
    off = np.abs(np.linalg.norm(wall - fitted, axis=1) - size)
    if off.max() <= ROUND_FRACTION * size and np.hypot(*(fitted - middle)) < pitch:
        return fitted, size
    return middle, radius


def _circle(points):
    """The circle of least squares through points (k, 2): x2 + y2 + ax + by + c = 0."""
    left = np.column_stack([points, np.ones(len(points))])
    a, b, c = np.linalg.lstsq(left, -(points**2).sum(axis=1), rcond=None)[0]
    middle = np.array([-a / 2, -b / 2])
    return middle, float(np.sqrt(max(middle @ middle - c, 0.0)))


def make_piece(site: Site, freed: Freed, *, label: str) -> LoosePiece | None:
    """The piece for what is freed; None where no room is left for its end.

    Parameters
    ----------
    site : Site
    freed : Freed
    label : str
    """
    field, pitch = site.field, site.field.pitch_mm
    hole = round_hole(site, freed)
    far_mm = float(freed.points_mm[:, 2].min())
    if hole is not None:
        middle, radius = hole
        section = shapely.Point(middle).buffer(radius, quad_segs=SEGMENTS // 4)
        inner = section
    else:
        section = freed.section
        # Half a column out, so that its wall lies in the part and not beside it.
        section = shapely.simplify(section, 0.5 * pitch).buffer(0.75 * pitch, join_style="mitre")
        inner = shapely.box(*section.bounds)
    middle = np.append(shapely.get_coordinates(inner.centroid)[0], far_mm)
    seat_mm, low_mm = 0.0, far_mm - 0.5 * pitch
    if freed.is_through:
        back = slide.leaves_at(site.frame, site.draw, site.box, middle[None], sense=-1.0)[0]
        seat_mm = float(np.clip(far_mm - back - LEAST_SKIN_MM, 0.0, SEAT_MM))
        low_mm = far_mm - seat_mm
    base = shapely.get_coordinates(shapely.orient_polygons(inner).exterior)[:-1]
    near = inner.buffer(UPPER_TAN * site.box.wall_mm)
    xy = field.centre_mm(np.arange(field.n_x * field.n_y))
    over = field.highest_mm[shapely.contains_xy(near, xy)]
    face_mm = float(over[np.isfinite(over)].max(initial=low_mm))
    ends = _ends(site, base, face_mm)
    # Nothing in the box is farther from its wall; past a corner a way may miss it for long.
    most_mm = face_mm + float(np.linalg.norm(np.subtract(site.box.high_mm, site.box.low_mm)))
    # Beside the box at an angle, or too near its wall.
    if ends.max() > most_mm or ends.min() - face_mm < LEAST_HEAD_MM:
        return None
    mouth = base if hole is not None else _mouth(site, base, face_mm, float(ends.max()))
    wide = _ends(site, mouth, face_mm)
    end_mm = float(np.append(ends, wide[wide <= most_mm]).max())
    out = np.append(middle[:2], _ends(site, middle[None, :2], face_mm)[0])
    out_mm = site.draw.to_frame(site.frame.to_part(out))
    return LoosePiece(
        label=label,
        kind="slide" if hole is None else "rod",
        frame=site.frame,
        pitch_mm=pitch,
        section_mm=tuple(
            shapely.get_coordinates(shapely.orient_polygons(finger).exterior)[:-1]
            for finger in shapely.get_parts(section)
        ),
        base_mm=base,
        mouth_mm=mouth,
        low_mm=low_mm,
        face_mm=face_mm,
        end_mm=end_mm,
        diameter_mm=None if hole is None else 2 * hole[1],
        seat_mm=seat_mm,
        length_mm=float(out[2]) - low_mm,
        width_mm=freed.width_mm if hole is None else 2 * hole[1],
        volume_ml=0.0,
        upper_ml=0.0,
        side=_side(site.draw.to_frame(site.frame.up)),
        out_mm=tuple(float(v) for v in out_mm),
        n_pockets=freed.n_pockets,
        freed_mm3=freed.volume_mm3,
        blocked_mm3=0.0,
    )


def _ends(site, points_mm, face_mm):
    """Where ways out from points (k, 2) at the face leave the box, (k,)."""
    start = np.column_stack([points_mm, np.full(len(points_mm), face_mm)])
    return slide.leaves_at(site.frame, site.draw, site.box, start)


def _mouth(site, base, face_mm, end_mm):
    """The base wider by the taper, more on its upper side as far as the box has room."""
    deep = end_mm - face_mm
    (x0, y0), (x1, y1) = base.min(axis=0), base.max(axis=0)
    wide = TAPER_TAN * deep
    turn = site.draw.rotation @ site.frame.rotation.T
    high = (turn @ np.array([0.5 * (x0 + x1), y1, end_mm]))[2]
    room = (site.box.high_mm[2] - LEAST_SKIN_MM - high) / max(turn[2, 1], 0.5)
    more = float(np.clip(UPPER_TAN * deep, wide, max(room, wide)))
    return np.array(
        [
            (x0 - wide, y0 - wide),
            (x1 + wide, y0 - wide),
            (x1 + wide, y1 + more),
            (x0 - wide, y1 + more),
        ]
    )


def _side(way):
    names = ("right", "back") if max(way[:2], key=abs) > 0 else ("left", "front")
    return names[int(abs(way[1]) > abs(way[0]))]
