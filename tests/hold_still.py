"""One body given in many ways, and what a plan says of it, told in the body's own place.

A body is turned, mirrored, cut into other triangles, listed in another order,
rounded to float32 in inches or moved by a millionth of its size. What changes is
how it was written down and not what it is, so the verdicts must be the same. A
symmetric body may be answered by any of its symmetric answers: which symmetries it
has is asked of manifold3d, from the volume that the body and its image do not share.
"""

from dataclasses import dataclass
from itertools import permutations, product

import bodies
import bodies_split
import numpy as np
import shapes
import trim_bodies
import trimesh

from castplan.part.load import part_from_arrays
from castplan.planning import build_plan
from castplan.records import Job
from castplan.split.draw import tie_volume_mm3

NOISE = 1e-6  # of the body's size
INCH_MM = 25.4
# How far two answers may lie apart and still be one: the draw by less than a bench
# sets it by hand, the pouring position by a step and a half of the tilts, openings by some
# columns of the finest sampling (size over 256), weights by the sampling of a
# plan, 0.5 % of the box being far under the smallest step of a cup.
DRAW_DEG, UP_DEG = 1.0, 8.0
PLACE_SHARE, PLACE_MM = 0.02, 3.0
WEIGHT_SHARE = 0.01
# A volume of a pocket by sampling, and what counts as nothing.
POCKET_SHARE, POCKET_TIES = 0.15, 2.0
# Volume not shared with its image, under which a body has that symmetry: what a plan
# samples of a volume is as good as that, and an even form in uneven facets no less even.
SAME_SHARE = 1e-3


@dataclass(frozen=True)
class Verdict:
    """What a plan says, in the place where the body was made."""

    draw: np.ndarray  # (3,)
    kind: str
    pockets: list  # of (volume_mm3, verdict, centre (3,)), over the tie
    up: np.ndarray  # (3,)
    openings_mm: np.ndarray  # (k, 3), gate first
    silicone_g: float
    resin_g: float
    is_told: bool = False  # whether the plan says that a choice lies within what it can tell


# -- bodies --------------------------------------------------------------------------------

# Small ones of every kind, quick to plan.
TRIM = (
    "panel_u_down", "panel_boss_up", "panel_small", "panel_crowned", "ribbed_cover",
    "both_sides", "steps_of_holes", "blind_holes", "escutcheon_both_countersunk",
    "bezel_with_lip", "rib_over_hole", "undercut_lip", "slats_3_open", "slats_5_touching",
    "slats_7_square", "grid_two_levels", "snap_clip", "snap_clip_slotted", "corner_bracket",
    "cross_holes", "dovetail", "handle", "hinge_leaf", "leaf_ornament", "noise_ball",
)  # fmt: skip
PLAIN = {
    "hook": shapes.hook,
    "staircase": shapes.staircase,
    "two_towers": shapes.two_towers,
    "t_slot": shapes.t_slot,
    "saddle_plate": lambda: bodies_split.saddle_plate(n_cells=24),
}
BODIES = (*TRIM, *PLAIN)


def make(name):
    """Vertices (n, 3), faces (m, 3) and the choices of a job that come with a body."""
    if name in PLAIN:
        body = PLAIN[name]()
        return np.array(body.vertices_mm), np.array(body.faces), {}
    body = trim_bodies.make(name)
    # A draw or a face that is named would be no verdict.
    choices = {k: v for k, v in body.choices.items() if k not in ("draw", "show_face")}
    return body.vertices_mm, body.faces, choices


# -- the same body in other words ------------------------------------------------------------


def _turned(seed):
    def change(vertices, faces):
        turn = shapes.rotation(seed)
        return vertices @ turn.T, faces, turn

    return change


def _mirrored(vertices, faces):
    return (*shapes.mirrored(vertices, faces), np.diag([-1.0, 1.0, 1.0]))


def _shuffled(vertices, faces):
    return (*shapes.shuffled(vertices, faces, seed=5), np.eye(3))


def _subdivided(vertices, faces):
    mesh = trimesh.Trimesh(vertices, faces, process=False).subdivide()
    return np.array(mesh.vertices), np.array(mesh.faces), np.eye(3)


def _triangulated(vertices, faces):
    """Longer edges split and flats drawn together by manifold3d, which moves nothing."""
    size_mm = float(np.ptp(vertices, axis=0).max())
    solid = bodies.solid_of(vertices, faces).refine_to_length(size_mm / 9)
    return (*bodies.arrays(solid.simplify(1e-7 * size_mm)), np.eye(3))


def _in_inches(vertices, faces):
    return (vertices / INCH_MM).astype(np.float32).astype(float) * INCH_MM, faces, np.eye(3)


def _noisy(vertices, faces):
    size_mm = float(np.ptp(vertices, axis=0).max())
    noise = np.random.default_rng(11).uniform(-1, 1, size=vertices.shape)
    return vertices + NOISE * size_mm * noise, faces, np.eye(3)


CHANGES = {
    "noisy": _noisy,
    "subdivided": _subdivided,
    "turned_1": _turned(1),
    "mirrored": _mirrored,
    "triangulated": _triangulated,
    "inches": _in_inches,
    "shuffled": _shuffled,
    "turned_2": _turned(2),
    "turned_3": _turned(3),
}


# -- verdicts ----------------------------------------------------------------------------------


def judge(vertices, faces, choices, turn=None) -> Verdict:
    """Plan a body that was moved by `turn` (3, 3), and tell the answer where it came from."""
    turn = np.eye(3) if turn is None else turn
    part = part_from_arrays(vertices, np.asarray(faces, dtype=np.int32), name="still")
    plan = build_plan(part, Job(**choices))
    frame, rest = plan.split.draw.frame, plan.air.openings.frame
    verdict_of = {pocket.number: pocket.verdict for pocket in plan.split.flex.pockets}
    pockets = [
        (p.volume_mm3, verdict_of.get(p.number, ""), frame.to_part(np.array(p.centre_mm)) @ turn)
        for p in plan.split.undercuts.pockets
        if p.volume_mm3 > POCKET_TIES * tie_volume_mm3(part)
    ]
    place = {peak.number: peak.place_mm for peak in plan.air.openings.peaks}
    places = [place[k] for k in (plan.air.openings.gate, *plan.air.openings.vents) if k in place]
    places += list(plan.air.openings.extra_vents_mm)
    return Verdict(
        draw=frame.up @ turn,
        kind=plan.split.line.kind,
        pockets=pockets,
        up=np.array(plan.air.attitude.frame.up) @ turn,
        openings_mm=rest.to_part(np.array(places).reshape(-1, 3)) @ turn,
        silicone_g=plan.bench.amounts.silicone_g,
        resin_g=plan.bench.amounts.resin_g,
        is_told=any(finding.code == "even-choices" for finding in plan.findings),
    )


def symmetries(vertices, faces):
    """Turns and mirrors along its axes that leave a body as it is, with its middle: (k, 3, 3)."""
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    middle = 0.5 * (low + high)
    solid = bodies.solid_of(vertices, faces)
    size = high - low
    found = []
    for order in permutations(range(3)):
        for signs in product((1.0, -1.0), repeat=3):
            turn = np.diag(signs)[:, order]
            if not np.allclose(np.abs(turn) @ size, size, rtol=1e-6):
                continue
            moved = (vertices - middle) @ turn.T + middle
            other = faces if np.linalg.det(turn) > 0 else faces[:, ::-1]
            left = (solid - bodies.solid_of(moved, other)).volume()
            if left < SAME_SHARE * solid.volume() or np.allclose(turn, np.eye(3)):
                found.append(turn)
    return np.array(found), middle


def _angle_deg(a, b):
    return float(np.degrees(np.arccos(np.clip(a @ b, -1.0, 1.0))))


def _same_places(ours, theirs, within_mm):
    """Whether each place has one of its own on the other side."""
    if len(ours) != len(theirs):
        return False
    left = list(range(len(theirs)))
    for place in ours:
        away = [float(np.linalg.norm(place - theirs[k])) for k in left]
        if min(away) > within_mm:
            return False
        left.pop(int(np.argmin(away)))
    return True


def _same_pockets(ours, theirs, turn, middle, within_mm):
    if len(ours) != len(theirs):
        return False
    left = list(theirs)
    for volume, verdict, centre in ours:
        for k, (other_mm3, other, place) in enumerate(left):
            near = np.linalg.norm((centre - middle) @ turn.T + middle - place) < within_mm
            if verdict == other and near and abs(volume / other_mm3 - 1) < POCKET_SHARE:
                left.pop(k)
                break
        else:
            return False
    return True


def flips(one: Verdict, two: Verdict, found) -> list[str]:
    """What differs between two verdicts of a body, `found` being of `symmetries`.

    Of the body's symmetries the one is taken under which least differs.
    """
    turns, middle = found
    size_mm = 2 * float(np.abs(one.openings_mm - middle).max(initial=1.0))
    within_mm = max(PLACE_MM, PLACE_SHARE * size_mm)
    best = None
    for turn in turns:
        differs = []
        if _angle_deg(turn @ one.draw, two.draw) > DRAW_DEG:
            is_turned = _angle_deg(turn @ one.draw, -two.draw) <= DRAW_DEG
            differs.append("draw turned" if is_turned else "draw")
        if one.kind != two.kind:
            differs.append(f"kind {one.kind} {two.kind}")
        if not _same_pockets(one.pockets, two.pockets, turn, middle, within_mm):
            differs.append(f"pockets {len(one.pockets)} {len(two.pockets)}")
        if _angle_deg(turn @ one.up, two.up) > UP_DEG:
            differs.append(f"up {_angle_deg(turn @ one.up, two.up):.0f}")
        moved = (one.openings_mm - middle) @ turn.T + middle
        if len(moved) != len(two.openings_mm):
            differs.append(f"openings {len(moved)} {len(two.openings_mm)}")
        elif not _same_places(moved, two.openings_mm, within_mm):
            differs.append("openings moved")
        for name in ("silicone_g", "resin_g"):
            ratio = getattr(two, name) / getattr(one, name)
            if abs(ratio - 1) > WEIGHT_SHARE:
                differs.append(f"{name[:-2]} {100 * (ratio - 1):+.1f} %")
        if best is None or len(differs) < len(best):
            best = differs
    return best
