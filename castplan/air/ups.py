"""What an upward direction does with the air in the cavity; many directions at once."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from castplan._arrays import freeze
from castplan.columns.cover import choose_points, cover_tree
from castplan.columns.peaks import find_peaks, level_depth_mm, roof_of, roofs_of
from castplan.columns.threads import n_threads
from castplan.columns.views import sample_view
from castplan.geometry import frames
from castplan.job import Job
from castplan.record import record

# A hundredth of a millimetre is rounding of the mesh, not a high point.
ROUNDING_MM = 0.01
# How far under an opening the part must be wider than a gate: as deep as a usual gate is wide.
TIP_DEPTH_MM = 6.0
# Sections wider than this need no measuring: twice what makes a tip and more.
WIDE_MM2 = 50.0
CHUNK = 6  # directions handed to a thread at a time


@dataclass(frozen=True, eq=False)
class Score:
    """What one direction does with the air."""

    caught_mm3: float
    n_vents: int
    left_mm3: float
    small_mm3: float  # in points too small for a vent
    roof_mm: float
    height_mm: float  # of the part along up
    places_mm: np.ndarray  # (k, 3) of the openings, part frame
    # (k,) of the part `TIP_DEPTH_MM` under them; about `WIDE_MM2` where it is as wide or wider.
    sections_mm2: np.ndarray


def judge_field(field, job: Job) -> Score:
    """Score a field sampled along the upward direction.

    The gate takes one of the openings; it is never the only one. A level roof
    takes one more vent for every `job.vent_pitch_mm` of its length.
    """
    tree = find_peaks(field, min_rise_mm=ROUNDING_MM)
    rows = choose_points(
        tree, min_rise_mm=job.vent_min_height_mm, min_air_mm3=1000 * job.vent_min_air_ml
    )
    cover = cover_tree(tree, rows, n_most=rows.size)
    n_open = max(cover.fewest(limit_mm3=1000 * job.air_left_ml), 1)
    opened = cover.choice(n_open)
    places_mm, roofs_mm = _level_roofs(field, tree, opened)
    extra = int((roofs_mm // job.vent_pitch_mm).sum())
    n_allowed = min(job.max_vents + 1, cover.left_mm3.size - 1)
    is_kept = np.zeros(tree.top_mm.size, dtype=bool)
    is_kept[rows] = True
    # Air of a small point that a larger one does not already count.
    is_small = ~is_kept & ((tree.parent < 0) | is_kept[np.maximum(tree.parent, 0)])
    return Score(
        caught_mm3=float(cover.left_mm3[1]),
        n_vents=max(n_open - 1 + extra, 1),
        left_mm3=float(cover.left_mm3[n_allowed]),
        small_mm3=float(tree.air_mm3[is_small].sum()),
        roof_mm=float(roofs_mm.max()),
        height_mm=float(field.high_mm[2] - field.low_mm[2]),
        places_mm=places_mm @ field.rotation,
        sections_mm2=_sections_mm2(field, tree, opened),
    )


def section_mm2(field, tree, row) -> float:
    """Area, seen from above, of what lies within `TIP_DEPTH_MM` under a high point."""
    under = roof_of(field, tree, row, depth_mm=TIP_DEPTH_MM)
    return float(under.size * field.cell_mm2)


def _sections_mm2(field, tree, rows):
    """`section_mm2` of several points, (k,), not followed beyond what is wide."""
    n_wide = int(np.ceil(WIDE_MM2 / field.cell_mm2))
    members, begins = roofs_of(field, tree, rows, depth_mm=TIP_DEPTH_MM, n_most=n_wide)
    return np.diff(np.append(begins, members.size)) * field.cell_mm2


def _level_roofs(field, tree, rows):
    """Middles (k, 3) and lengths (k,) of what is level with each point of a roof."""
    members, begins = roofs_of(field, tree, rows, depth_mm=level_depth_mm(field))
    n = np.diff(np.append(begins, members.size))
    xy = field.centre_mm(field.column_of[members])
    points = np.column_stack([xy, field.top_mm[members]])
    span = np.maximum.reduceat(xy, begins) - np.minimum.reduceat(xy, begins)
    return np.add.reduceat(points, begins) / n[:, None], span.max(axis=1)


@record
class Grid:
    """How a surface is sampled, whatever direction it is looked at from."""

    pitch_mm: float
    turn: np.ndarray  # (3, 3) axes of the columns

    def __post_init__(self):
        freeze(self, "turn", shape=(3, 3))


def score_ups(surface, ups: np.ndarray, job: Job, grid: Grid) -> list[Score]:
    """Score upward directions (k, 3) of a closed surface, on as many threads as cores.

    With left-handed axes all is seen in the mirror, so that a part in the mirror is
    seen alike.

    Parameters
    ----------
    surface : (vertices_mm, faces, cap_faces)
    ups : (k, 3) float64
    job : Job
    grid : Grid
    """
    (vertices_mm, faces, cap_faces), turn = surface, grid.turn
    if np.linalg.det(turn) < 0:
        faces, cap_faces = faces[:, ::-1], cap_faces[:, ::-1]
    closed = vertices_mm, np.ascontiguousarray(faces), np.ascontiguousarray(cap_faces)

    def some(begin):
        return [
            judge_field(
                sample_view(*closed, frames.turn_to(turn @ up) @ turn, pitch_mm=grid.pitch_mm), job
            )
            for up in ups[begin : begin + CHUNK]
        ]

    with ThreadPoolExecutor(max_workers=n_threads()) as pool:
        return [score for part in pool.map(some, range(0, len(ups), CHUNK)) for score in part]


def sphere_lattice(*, count: int) -> np.ndarray:
    """Nearly even directions over the sphere, (count, 3).

    The golden-angle spiral (Gonzalez, Mathematical Geosciences 42 (2010) 49-64).
    """
    k = np.arange(count)
    z = 1 - (2 * k + 1) / count
    angle = k * np.pi * (3 - np.sqrt(5))
    radius = np.sqrt(1 - z**2)
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), z], axis=1)
