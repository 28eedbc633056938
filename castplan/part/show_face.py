"""The face that shows, where the shop does not name it: guessed from the shape."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy import ndimage, sparse
from scipy.sparse import csgraph
from scipy.spatial import ConvexHull, QhullError

from castplan.columns.views import sample_view
from castplan.geometry import directions, frames, pose
from castplan.geometry.guard import Guard
from castplan.geometry.spread import spread_over
from castplan.geometry.standin import thin_out
from castplan.job import Job
from castplan.memory import remembered
from castplan.part.records import Part, ShowFace
from castplan.record import Frame

# A guess weighs half of what the shop says (assumed): enough to choose between
# places that cost about the same, too little to choose a draw that is minutes dearer.
GUESS_WEIGHT = 0.5
# A heavier mesh is looked at on a stand-in.
MAX_FACETS, N_STANDIN = 60_000, 40_000
ACROSS = 96  # columns along the longest side
N_POINTS = 8_000  # of the surface
# Of axes nearer to each other than this the one with the larger flat is tried.
SAME_DEG = 10.0
N_FLATS = 3
# Moments of inertia nearer than this leave the axes between them open.
ALIKE_FRACTION = 0.02
# Slopes between these are a crown, a round or a chamfer: less is flat, more a wall
# with its draft.
FLAT_COS, WALL_COS = 0.9994, 0.17
# A guess needs at least this strength, and this many times that of any other axis:
# by sampling an even body reaches 0.02.
LEAST_STRENGTH, CLEAR_TIMES = 0.08, 1.5
# Feet say little about the side opposite, ribs a little more (assumed).
FEET_STRENGTH, RIBS_STRENGTH = 0.1, 0.15
_NO_CAPS = np.empty((0, 3), dtype=np.int32)
FOOT_SHARE, NO_FLAT_SHARE = 0.02, 0.01


@remembered
def find_show_face(part: Part, job: Job) -> ShowFace:
    """The side that will be seen: as the job says, else as the shape tells.

    Three things speak for a side: the part is hollow on the other one (ribs and
    bosses stand in the hollow), its own edges are rounded or it is crowned where the
    other is plain, or the part stands on flat feet opposite to it. A sheet that was
    scanned from one side shows that side. Each is measured on the axes that the part
    has of itself, so that a turned part gives the turned side.

    Parameters
    ----------
    part : Part
    job : Job
        `show_face` needs no guess.

    Returns
    -------
    ShowFace
    """
    if job.show_face is not None:
        return _told(frames.unit(job.show_face), "given", "given", strength=1.0, weight=1.0)
    if part.check.scanned_side is not None:
        return _told(part.check.scanned_side, "guessed", "sheet", strength=1.0)
    signs = _read_axes(part)
    best = max(signs, key=lambda sign: round(abs(sign.strength), 6))
    strength = abs(best.strength)
    if strength < LEAST_STRENGTH:
        return _unknown("even", strength)
    rivals = [
        abs(sign.strength)
        for sign in signs
        if abs(sign.axis @ best.axis) < np.cos(np.radians(2 * SAME_DEG))
    ]
    if strength < CLEAR_TIMES * max(rivals, default=0.0):
        return _unknown("unclear", strength)
    return _told(best.side, "guessed", best.why, strength=strength)


def settle_show_face(part: Part, job: Job) -> tuple[ShowFace, Job, Guard]:
    """The side that will be seen, and what the other stages are to take it for.

    Parameters
    ----------
    part : Part
    job : Job

    Returns
    -------
    show : ShowFace
    job : Job
        As `with_show_face` gives it.
    guard : Guard
        Tells where an opening does harm.
    """
    show = find_show_face(part, job)
    job = with_show_face(job, show)
    return show, job, Guard(part, job)


def with_show_face(job: Job, show: ShowFace) -> Job:
    """The job as the stages are to take it: a guess named as the show face, at less weight.

    Parameters
    ----------
    job : Job
    show : ShowFace

    Returns
    -------
    Job
        The same where the shop named the side or none is known.
    """
    if show.basis != "guessed":
        return job
    draw, air = job.draw_weights, job.air_weights
    return replace(
        job,
        show_face=show.direction,
        draw_weights=replace(draw, show_seam_min_per_mm=show.weight * draw.show_seam_min_per_mm),
        air_weights=replace(
            air,
            show_up_min=show.weight * air.show_up_min,
            show_port_min=show.weight * air.show_port_min,
        ),
    )


def show_slope(frame: Frame, job: Job) -> float:
    """How far the show face looks up along a frame's z, -1 to 1; 0 where none is known."""
    return 0.0 if job.show_face is None else float(frame.up @ frames.unit(job.show_face))


def _told(direction, basis, why, *, strength, weight=GUESS_WEIGHT):
    return ShowFace(
        direction=tuple(float(v) for v in direction),
        basis=basis,
        why=why,
        strength=float(strength),
        weight=weight,
    )


def _unknown(why, strength):
    return ShowFace(direction=None, basis="unknown", why=why, strength=float(strength), weight=0.0)


@dataclass(frozen=True, eq=False)
class _Sign:
    """What one axis says: positive for the side it points to."""

    axis: np.ndarray
    by_why: dict  # strength by reason, signed

    @property
    def strength(self):
        return sum(self.by_why.values())

    @property
    def side(self):
        return np.copysign(1.0, self.strength) * self.axis

    @property
    def why(self):
        sense = np.sign(self.strength)
        return max(self.by_why, key=lambda why: sense * self.by_why[why])


def _read_axes(part):
    vertices, faces = part.vertices_mm, part.faces
    if len(faces) > MAX_FACETS:
        cell_mm = directions.longest_mm(part) / 512
        vertices, faces = thin_out(part, n_triangles=N_STANDIN, cell_mm=cell_mm)
    # Holes are taken as closed: what lies behind one cannot be told, nor need it be.
    elif len(part.cap_faces):
        faces = np.concatenate([faces, part.cap_faces])
    spread = spread_over(vertices, faces, count=N_POINTS)
    pitch_mm = directions.longest_mm(part) / ACROSS
    looks = []
    for axis in _own_axes(part):
        # A strip seen on edge falls between the columns of a share of its length.
        field = sample_view(vertices, faces, _NO_CAPS, frames.turn_to(axis), pitch_mm=pitch_mm)
        if field.column_of.size:
            looks.append(_Look(axis, field, spread))
    widest_mm2 = max((look.shadow_mm2 for look in looks), default=0.0)
    return [
        _Sign(
            look.axis,
            {why: look.shadow_mm2 / widest_mm2 * strength for why, strength in look.signs()},
        )
        for look in looks
    ]


def _own_axes(part):
    """Axes that the part has of itself: of its largest flats, and of its mass, (k, 3)."""
    axes = []

    def add(axis):
        if all(abs(axis @ other) < np.cos(np.radians(SAME_DEG)) for other in axes):
            axes.append(axis)

    try:
        hull = ConvexHull(frames.hull_points(part))
    except QhullError:
        return pose.inertia_axes(part)
    corners = hull.points[hull.simplices]
    area = 0.5 * np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    normals = hull.equations[:, :3]
    # Facets of one flat have the same normal but for rounding.
    flat = np.unique(np.round(normals, 4), axis=0, return_inverse=True)[1].ravel()
    sums = np.zeros((flat.max() + 1, 3))
    np.add.at(sums, flat, area[:, None] * normals)
    size = np.linalg.norm(sums, axis=1)
    for k in np.lexsort((np.arange(len(size)), -np.round(size, 3)))[: 4 * N_FLATS]:
        if len(axes) < N_FLATS:
            add(sums[k] / size[k])
    for axis in _inertia_axes(part):
        add(axis)
    return axes


def _inertia_axes(part):
    """Those of the main axes that the shape fixes; a round part leaves two of them open."""
    axes = pose.inertia_axes(part)
    corners = part.vertices_mm[part.faces]
    middle = corners.mean(axis=1)
    area = np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    spread = np.sqrt(
        np.average(
            ((middle - np.average(middle, axis=0, weights=area)) @ axes.T) ** 2,
            axis=0,
            weights=area,
        )
    )
    near = [abs(a - b) < ALIKE_FRACTION * max(a, b) for a, b in pairwise(spread)]
    is_open = np.array([near[0], near[0] or near[1], near[1]])
    return axes[~is_open]


class _Look:
    """A part seen along an axis, from both of its ends."""

    def __init__(self, axis, field, spread):
        self.axis, self.field = axis, field
        shape = (field.n_y, field.n_x)
        self.is_full = (np.diff(field.first) > 0).reshape(shape)
        self.shadow_mm2 = float(np.count_nonzero(self.is_full) * field.cell_mm2)
        self.height_mm = float(field.high_mm[2] - field.low_mm[2])
        up = _Side(self, spread, 1.0, field.highest_mm.reshape(shape))
        down = _Side(self, spread, -1.0, -field.lowest_mm.reshape(shape))
        self.up, self.down = up, down

    def signs(self):
        """Pairs of a reason and its signed strength."""
        up, down = self.up, self.down
        envelope_mm3 = self.field.volume_mm3 + up.hollow_mm3 + down.hollow_mm3
        yield "hollow", (down.hollow_mm3 - up.hollow_mm3) / envelope_mm3
        yield "rounded", up.sloped - down.sloped
        yield "feet", FEET_STRENGTH * (float(down.is_foot(up)) - float(up.is_foot(down)))
        yield "ribs", RIBS_STRENGTH * (float(down.has_ribs(up)) - float(up.has_ribs(down)))


class _Side:
    """One end of a look: what is seen from there."""

    def __init__(self, look, spread, sense, height_mm):
        field, self.look = look.field, look
        turn = field.rotation * sense
        slope = spread.normals @ turn[2]
        out = (spread.points_mm + field.pitch_mm * spread.normals) @ field.rotation.T
        over = height_mm.ravel()[field.columns_at(out[:, :2])]
        is_seen = (slope > 0) & (over < sense * out[:, 2] + 0.5 * field.pitch_mm)
        weight = np.where(is_seen, slope, 0.0)
        total = max(float(weight.sum()), 1e-9)
        self.sloped = float(weight[(slope > WALL_COS) & (slope < FLAT_COS)].sum()) / total
        end_mm = float(field.high_mm[2] if sense > 0 else -field.low_mm[2])
        self.tolerance_mm = max(0.1, 0.01 * look.height_mm)
        is_flat = slope >= FLAT_COS
        is_end = spread.points_mm @ turn[2] > end_mm - self.tolerance_mm
        self.flat_end = float(weight[is_flat & is_end].sum()) / total
        self.height_mm = np.where(look.is_full, height_mm, -np.inf)
        self.hollow_mm3 = _hollow_mm(self.height_mm, look.is_full) * field.cell_mm2

    def is_foot(self, other):
        """Whether the part can stand on this side and on no flat of the other."""
        return self.flat_end > FOOT_SHARE and other.flat_end < NO_FLAT_SHARE

    def has_ribs(self, other):
        """Whether walls taller than the plate below stand on this side of a flat plate.

        Letters and ornaments are lower than their plate is thick; a single piece, or
        one that is rounded, is more likely a hook or a knob.
        """
        if other.flat_end < 1 - FOOT_SHARE or self.sloped > FOOT_SHARE:
            return False
        heights = self.height_mm[self.look.is_full]
        thick_mm = heights + float(other.height_mm[self.look.is_full].max())
        plate_mm = float(np.median(thick_mm))
        is_raised = np.zeros(self.height_mm.shape, dtype=bool)
        is_raised[self.look.is_full] = thick_mm > 2 * plate_mm - self.tolerance_mm
        _, n_pieces = ndimage.label(is_raised, structure=np.ones((3, 3)))
        return n_pieces > 1


def _hollow_mm(height_mm, is_full):
    """Heights of liquid that would stand on the seen side, summed over its columns.

    What runs off leaves by the outline; a hole through the part is no way out, or a
    panel with openings would not be hollow. The least height at which each column
    drains is the bottleneck of its way to the outside, and that is the way in a
    minimum spanning tree (Hu 1961, Operations Research 9(6) 898-900).
    """
    ground = float(height_mm[is_full].min()) - 1.0
    z = np.where(is_full, height_mm, ground).ravel() - ground + 1.0
    index = np.arange(z.size).reshape(is_full.shape)
    a = np.concatenate([index[:, :-1].ravel(), index[:-1].ravel()])
    b = np.concatenate([index[:, 1:].ravel(), index[1:].ravel()])
    graph = sparse.csr_matrix((np.maximum(z[a], z[b]), (a, b)), shape=(z.size, z.size))
    tree = csgraph.minimum_spanning_tree(graph)
    order, before = csgraph.breadth_first_order(tree, 0, directed=False)
    level = z.tolist()
    for k, j in zip(order[1:].tolist(), before[order[1:]].tolist(), strict=True):
        level[k] = max(level[k], level[j])
    return float((np.array(level) - z)[is_full.ravel()].sum())
