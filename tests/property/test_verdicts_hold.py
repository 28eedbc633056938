"""Laws of the split: space is shared out, halves leave, and verdicts do not hang on
the pitch or on a scan's noise.

The samples are the program's own; what they hold is in their cards, in closed form.
"""

from dataclasses import dataclass
from pathlib import Path

import bodies
import bodies_split
import numpy as np
import pytest
import shapes
import trimesh
from scipy import ndimage

from castplan.columns import surface
from castplan.part.load import load_part
from castplan.records import Job
from castplan.split.draw import find_draw

SAMPLES = Path(__file__).resolve().parents[2] / "sample_parts"
KINDS = ("level", "tilted", "stepped", "following")
BODIES = {
    "tray": shapes.tray,
    "t_slot": shapes.t_slot,
    "lipped_cup": shapes.lipped_cup,
    "cross_hole": shapes.cross_hole_plate,
    "saddle": lambda: bodies_split.saddle_plate(n_cells=24),
    "torus": shapes.torus,
    "nested": lambda: bodies_split.nested_cups(4.0),
}
# Direction along which each sample is drawn, from its card.
DRAWS = {
    "coat_hook": (1, 0, 0),
    "drawer_pull": (0, 1, 0),
    "lamp_bezel": (0, 0, 1),
    "louvre_grille": (0, 0, 1),
    "posts": (0, 0, 1),
    "sliding_catch": (0, 0, 1),
}
# And one that holds something, to have verdicts to compare.
ACROSS = {
    "coat_hook": (0, 0, 1),
    "drawer_pull": (1, 0, 0),
    "lamp_bezel": (1, 0, 0),
    "louvre_grille": (0, 1, 0),
    "posts": (0, 1, 0),
    "sliding_catch": (1, 0, 0),
}


def frame_for(way):
    return bodies.frame_up(np.array(way, dtype=float))


def sample(name):
    return load_part(SAMPLES / f"{name}.stl", unit="mm")


# -- the halves, as intervals of columns -----------------------------------------------


@dataclass
class Halves:
    """All void of a mould's columns, by whom it belongs to: mm3."""

    part: float
    upper: float
    lower: float
    held_upper: float  # of the upper half, part above it in the same column
    held_lower: float
    box: float


def share_out(made):
    """Give every stretch of void in every column of the box to a half, by hand.

    Under the surface is the lower half's, over it the upper's; but a bowl that
    the surface crosses without reaching it from outside belongs to the half
    that reaches in: the whole of the void over the part, where no clay lies.
    """
    field, line, box = made.field, made.line, made.box
    low, high = box.low_mm[2], box.high_mm[2]
    n = field.n_x * field.n_y
    every = np.arange(n)
    plane = line.surface
    base = surface.read(plane.x_mm, plane.y_mm, plane.heights_mm, field.centre_mm(every))
    clay_over, clay_under = _laid(field, made, base)
    out = Halves(0.0, 0.0, 0.0, 0.0, 0.0, n * (high - low))
    for c in every:
        z = [low]
        for k in range(field.first[c], field.first[c + 1]):
            z += [field.bottom_mm[k], field.top_mm[k]]
            out.part += field.top_mm[k] - field.bottom_mm[k]
        z.append(high)
        stretches = list(zip(z[0::2], z[1::2], strict=True))
        for k, (a, b) in enumerate(stretches):
            part_below, part_above = k > 0, k < len(stretches) - 1
            cut = min(max(base[c], a), b)
            if not part_above and part_below and not clay_over[c]:
                cut = a  # a bowl: the upper half's, all of it
            if not part_below and part_above and not clay_under[c]:
                cut = b
            out.lower += cut - a
            out.upper += b - cut
            out.held_lower += (cut - a) * part_below
            out.held_upper += (b - cut) * part_above
    for name in ("part", "upper", "lower", "held_upper", "held_lower", "box"):
        setattr(out, name, getattr(out, name) * field.cell_mm2)
    return out


def _laid(field, made, base):
    """Columns of the part on which clay or its cast lies: joined to the outside, or to
    the plug of a hole, over part that stands lower than the surface (two masks)."""
    is_part = np.diff(field.first) > 0
    shape = (field.n_y, field.n_x)
    if made.line.kind in ("stepped", "following"):
        # Laid to a line on the part, not flowing up against it: none lies over it.
        return [np.zeros(is_part.size, dtype=bool)] * 2
    masks = []
    for reach in (field.highest_mm < base, field.lowest_mm > base):
        open_to = (~is_part | (is_part & reach)).reshape(shape)
        label, _ = ndimage.label(open_to)
        voids = np.unique(label[(~is_part).reshape(shape) & open_to])
        masks.append((np.isin(label, voids) & open_to).ravel() & is_part)
    return masks


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", BODIES)
def test_halves_and_part_fill_the_box_and_leave_but_for_the_pockets(name, kind):
    part = bodies_split.part_of(BODIES[name]())
    made = bodies_split.split(part, job=Job(parting=kind), pitch_mm=0.5)
    halves = share_out(made)
    # Law: nothing lost, nothing twice.
    assert halves.part + halves.upper + halves.lower == pytest.approx(halves.box, rel=1e-9)
    assert halves.part == pytest.approx(made.field.volume_mm3)
    # Each half, moved along its way, meets the part only where the record says:
    # in the pockets, and where the surface lays clay on the part.
    held_mm3 = halves.held_lower + halves.held_upper
    assert held_mm3 == pytest.approx(made.line.trapped_mm3, rel=0.01, abs=2.0)
    pockets_mm3 = sum(p.volume_mm3 for p in made.undercuts.pockets)
    if made.options[kind].is_free:
        assert held_mm3 == pytest.approx(pockets_mm3, rel=0.01, abs=made.tie_mm3)
    # Shares of the part are those of the record.
    line = made.line
    assert line.part_below_mm3 + line.part_above_mm3 == pytest.approx(halves.part)


# -- samples -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["coat_hook", "lamp_bezel", "louvre_grille", "sliding_catch"])
def test_free_samples_have_as_many_seams_as_holes_and_one(name):
    # Genus from the card: 0, 1, 7, 1.
    genus = {"coat_hook": 0, "lamp_bezel": 1, "louvre_grille": 7, "sliding_catch": 1}[name]
    made = bodies_split.split(sample(name), frame_for(DRAWS[name]))
    assert len(made.seam.loops_mm) == made.seam.n_expected == genus + 1
    assert len(made.line.plugs) == genus
    assert made.line.kind == "level" and made.undercuts.pockets == ()


def verdicts(made):
    """What the shop acts on: the kind of line, and kind, mouths and verdict of pockets.

    Of pockets that matter: more than the tie, and not such as leave by themselves.
    """
    return (
        made.line.kind,
        sorted(
            (p.kind, p.n_mouths, f.verdict)
            for p, f in zip(made.undercuts.pockets, made.flex.pockets, strict=True)
            if p.volume_mm3 > made.tie_mm3 and f.verdict != "leaves freely"
        ),
    )


@pytest.mark.parametrize(
    "way",
    [pytest.param(DRAWS, id="draw"), pytest.param(ACROSS, id="across", marks=pytest.mark.long)],
)
@pytest.mark.parametrize("name", DRAWS)
def test_half_the_pitch_changes_no_verdict(name, way):
    part = sample(name)
    coarse_mm = max(part.check.extent_mm) / 192
    coarse, fine = (
        bodies_split.split(part, frame_for(way[name]), pitch_mm=pitch_mm)
        for pitch_mm in (coarse_mm, coarse_mm / 2)
    )
    assert verdicts(coarse) == verdicts(fine)
    is_free = [made.options[made.line.kind].is_free for made in (coarse, fine)]
    assert is_free[0] == is_free[1]


def roughened(part, *, sigma_mm, seed):
    """Facets of about 1 mm, each corner moved along its normal as a scan's would be.

    Refined by manifold3d, which splits an edge alike on both its sides.
    """
    solid = bodies.solid_of(part.vertices_mm, part.faces).refine_to_length(1.2)
    mesh = trimesh.Trimesh(*bodies.arrays(solid), process=False)
    noise = np.random.default_rng(seed).normal(scale=sigma_mm, size=len(mesh.vertices))
    rough = shapes.part_of(
        mesh.vertices + noise[:, None] * mesh.vertex_normals, mesh.faces.astype(np.int32)
    )
    assert rough.check.is_watertight
    return rough


@pytest.mark.parametrize("name", [pytest.param("posts", marks=pytest.mark.long), "sliding_catch"])
def test_noise_of_a_scan_changes_neither_verdict_nor_draw(name):
    clean = sample(name)
    rough = roughened(clean, sigma_mm=0.05, seed=3)
    one, two = (find_draw(part, Job(n_directions=64)) for part in (clean, rough))
    apart = np.degrees(np.arccos(min(1.0, abs(np.dot(one.direction, two.direction)))))
    assert apart < 1.0
    before = bodies_split.split(clean, one.frame.rotation)
    after = bodies_split.split(rough, one.frame.rotation)
    assert verdicts(before) == verdicts(after)
    # Upright walls hold what lies behind the farthest bump of a column: of the few
    # facets over each other there, at most twice the noise's deviation on average.
    mesh = trimesh.Trimesh(clean.vertices_mm, clean.faces, process=False)
    walls_mm2 = mesh.area_faces[np.abs(mesh.face_normals @ one.frame.up) < 0.1].sum()
    more_mm3 = after.line.trapped_mm3 - before.line.trapped_mm3
    assert more_mm3 < 2 * 0.05 * walls_mm2
