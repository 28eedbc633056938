"""Where a knife opens a block that was poured in one round the whole part.

The cut runs along the parting, from one side of the block inward to the part and on
past it on both sides, and stops at a hinge of silicone. In front of the hinge the two
lips are bent apart; what silicone lies behind it must slide off the part toward the
opening.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely

from castplan.air.records import Air
from castplan.geometry import frames
from castplan.geometry.channels import parting_mm
from castplan.materials import rubber
from castplan.materials.cards import get_card
from castplan.memory import remembered
from castplan.mould.records import SIDES, SLIT_VERDICTS, MouldResult, Slit, SlitSide
from castplan.part.records import Part
from castplan.part.study import Study, sample_part
from castplan.record import Frame, record
from castplan.split.records import BoxResult, PartingLine, Split

# All from memory of common practice, no source.
HINGE_MM = 10.0  # of silicone left uncut, at the least
PAST_MM, PAST_FRACTION = 3.0, 0.1  # past the widest place, and of the part's length along the cut
CLEAR_MM = 3.0  # of straight cut before the part
ZIGZAG_WALL_FRACTION, ZIGZAG_MM = 0.3, (2.0, 5.0)  # up and down, by the wall
PITCH_TIMES = 4.0  # of the height of the zig-zag up and down: flanks at 45 degrees
HAND_N = 150.0  # that a hand pulls with for a while
# Of the part's volume: so little silicone behind the cut bends out of the way (assumed).
CAP_FRACTION = 0.003
STUB_MIN = 5.0  # one stub that stands across the way out and breaks off (assumed)

ROUNDING = 1e-9
ACROSS = 192  # columns along the longest side
ACROSS_COS = 0.5  # a side within 60 degrees of the way that the sticks stand has their mouths


@record
class Lips:
    """What is bent apart: the block over the parting and under it."""

    box: BoxResult
    line: PartingLine
    part_low_mm: float  # draw frame, along the draw
    part_high_mm: float
    modulus_mpa: float  # the stiffer of what is published
    limit_fraction: float

    def reaches_mm(self) -> tuple[float, float]:
        """How far the upper and the lower lip must open at their edge."""
        height = self.line.box_height_mm
        return (max(self.part_high_mm - height, 0.0), max(height - self.part_low_mm, 0.0))

    def thick_mm(self) -> tuple[float, float]:
        """Of the upper and of the lower lip beside the part, where it is thickest."""
        height = self.line.box_height_mm
        return (self.box.high_mm[2] - height, height - self.box.low_mm[2])

    def bent(self, *, length_mm: float) -> tuple[float, float, float, float]:
        """Strain at the outside, opening, radius and thickness of the lip that is bent most.

        A lip of some length that opens by `reach` at its edge is an arc of radius
        length^2 / (2 reach); its outside is stretched by thickness / (2 radius).
        """
        found = []
        for reach, thick in zip(self.reaches_mm(), self.thick_mm(), strict=True):
            radius = length_mm**2 / (2 * max(reach, 1e-6))
            found.append((thick / (2 * radius), reach, radius, thick))
        return max(found)

    def force_n(self, *, length_mm: float, width_mm: float) -> float:
        """What bends the stiffer lip open at its edge: a cantilever of full section, at most.

        Deflection of a cantilever under a load at its end, F l^3 / (3 E w t^3 / 12).
        """
        return max(
            self.modulus_mpa * width_mm * thick**3 * reach / (4 * length_mm**3)
            for reach, thick in zip(self.reaches_mm(), self.thick_mm(), strict=True)
        )

    def least_mm(self, *, width_mm: float) -> float:
        """The length from which a hand bends the lips open, and none is stretched too far."""
        stretched_mm2 = self.bent(length_mm=1.0)[0] / self.limit_fraction
        return max(
            (self.force_n(length_mm=1.0, width_mm=width_mm) / HAND_N) ** (1 / 3),
            stretched_mm2**0.5,
        )

    def verdict(self, *, strain: float, force_n: float) -> str:
        """One of `SLIT_VERDICTS`."""
        if strain > self.limit_fraction * (1 + ROUNDING):
            return SLIT_VERDICTS[2]
        return SLIT_VERDICTS[int(force_n > HAND_N * (1 + ROUNDING))]


def plan_slit(study: Study, split: Split, air: Air, block: MouldResult) -> Slit:
    """Choose the side that the knife starts from and how far it goes.

    Of each side the shortest cut that opens: past the place from which the part only
    narrows, so that the silicone behind slides off it, and so far that a hand bends the
    lips open within the stretch that the silicone stands. The side where gate and vents have
    their mouths, the base board of the pour, is left out.

    Parameters
    ----------
    study : Study
    split : Split
    air : Air
        Its way up is the way that the sticks stand.
    block : MouldResult
        With gate and vents.

    Returns
    -------
    Slit
    """
    box, line = split.box, split.line
    card = get_card(study.job.silicone, kind="silicone")
    field = study.seen.pockets.field
    lips = Lips(
        box=box,
        line=line,
        part_low_mm=float(field.low_mm[2]),
        part_high_mm=float(field.high_mm[2]),
        modulus_mpa=rubber.modulus_range_mpa(card)[1],
        limit_fraction=rubber.working_limit_fraction(card),
    )
    up = split.draw.frame.rotation @ air.attitude.rest.up
    inside, beside = _in_cut(block.ports, split, up)
    sides = []
    for side in SIDES:
        way = _way(side)
        if way @ up < ACROSS_COS:
            # Sticks that stand along the way out slide out with the part.
            stubs = len(beside) if abs(way @ up) < ACROSS_COS else 0
            sides.append(_judge(study, split, lips, side, n_across=stubs))
    sides.sort(key=lambda each: (SLIT_VERDICTS.index(each.verdict), round(each.cost_min, 3)))
    slit = _slit(tuple(sides), lips, split)
    met = [port.label for port in inside if port.path_mm[0] @ np.array(slit.way) > slit.stop_mm]
    return replace(slit, channels=tuple(met))


def _in_cut(ports, split, up):
    """Of the openings that run along the parting: those that it cuts open, and the others."""
    if abs(up[2]) > ACROSS_COS:
        return [], []  # the upper lip slides off them along the draw
    inside, beside = [], []
    for port in ports:
        if port.is_blocked:
            continue
        start = port.path_mm[0]
        away_mm = abs(start[2] - float(parting_mm(split.line.surface, start)))
        (inside if away_mm <= 0.5 * port.diameter_mm else beside).append(port)
    return inside, beside


def _way(side):
    way = np.zeros(3)
    way["xy".index(side[1])] = 1.0 if side[0] == "+" else -1.0
    return way


def _judge(study, split, lips, side, *, n_across):
    """The shortest cut from one side that opens; the deepest where none does."""
    way, job, box = _way(side), study.job, split.box
    ends = np.sort([np.array(box.low_mm) @ way, np.array(box.high_mm) @ way])
    nothing_mm3 = max(study.tie_mm3, CAP_FRACTION * study.seen.part_mm3)
    free_mm, held = _cap(study.part, split.draw.frame, side, nothing_mm3=nothing_mm3)
    part_low, part_high = held[0][0], held[0][-1]
    past_mm = max(PAST_MM, PAST_FRACTION * (part_high - part_low))
    deepest = max(ends[0] + HINGE_MM, part_low - PAST_MM)
    shortest = max(min(free_mm - past_mm, part_high - past_mm), deepest)
    across = 1 - "xy".index(side[1])
    width_mm = box.high_mm[across] - box.low_mm[across]
    # The longer the lips the softer they are: no longer than that takes, if there is room.
    stop = max(min(shortest, float(ends[1]) - lips.least_mm(width_mm=width_mm)), deepest)
    depth_mm = float(ends[1] - stop)
    strain = lips.bent(length_mm=depth_mm)[0]
    force_n = lips.force_n(length_mm=depth_mm, width_mm=width_mm)
    verdict = lips.verdict(strain=strain, force_n=force_n)
    cap_mm3 = float(np.interp(stop, *held))
    if cap_mm3 > nothing_mm3:
        verdict = SLIT_VERDICTS[2]
    seams, _ = _seams(split.line, way, stop)
    seam_mm, show_mm = _lengths(seams), _shown(split, job, way, stop)
    weights = job.draw_weights
    return SlitSide(
        side=side,
        depth_mm=depth_mm,
        hinge_mm=float(stop - ends[0]),
        seam_mm=seam_mm,
        seam_on_show_mm=show_mm,
        strain_fraction=strain,
        force_n=force_n,
        cap_mm3=cap_mm3 if cap_mm3 > nothing_mm3 else 0.0,
        n_across=n_across,
        verdict=verdict,
        cost_min=weights.seam_min_per_mm * seam_mm
        + weights.show_seam_min_per_mm * show_mm
        + STUB_MIN * n_across,
    )


@remembered
def _cap(part: Part, draw: Frame, side: str, *, nothing_mm3: float):
    """How far up along a side's way silicone slides off the part, and what is held over that.

    Silicone below a height that has part below itself is in the way of the part as
    it leaves upward. Returns the greatest height at which that is nothing, and a
    curve of heights and volumes.
    """
    way = _way(side)
    across = Frame(rotation=frames.turn_to(draw.rotation.T @ way))
    low, high = _ends(part, across)
    field = sample_part(part, across, pitch_mm=max(part.check.extent_mm) / ACROSS)
    full = np.isfinite(field.lowest_mm)
    heights = np.linspace(low, high, ACROSS)
    below = [
        np.clip(h - field.lowest_mm[full], 0, None).sum()
        - np.clip(h - field.bottom_mm, 0, field.top_mm - field.bottom_mm).sum()
        for h in heights
    ]
    held_mm3 = np.maximum.accumulate(np.array(below) * field.cell_mm2)
    is_free = held_mm3 <= nothing_mm3
    free_mm = float(heights[is_free][-1]) if is_free.any() else low
    return free_mm, (heights, held_mm3)


def _ends(part, frame):
    along = part.vertices_mm @ frame.up
    return float(along.min()), float(along.max())


def _seams(line, way, stop_mm):
    """The parting line on the part in front of the stop, (k, 3) pieces, and its whole length."""
    pieces, whole = [], 0.0
    for rim in line.outlines:
        ring = np.column_stack([rim.points_mm, rim.line_mm])
        ring = np.vstack([ring, ring[:1]])
        whole += float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())
        pieces += _in_front(ring, way, stop_mm, is_ring=True)
    return pieces, whole


def _in_front(path, way, stop_mm, *, is_ring):
    """Pieces of a path (k, 3) that lie beyond a height along a way, ends interpolated."""
    ahead = path @ way - stop_mm
    if (ahead >= 0).all():
        return [path]
    pieces, piece = [], []
    for (a, b), (s, t) in zip(pairwise(path), pairwise(ahead), strict=True):
        if s >= 0 and not piece:
            piece = [a]
        if (s >= 0) != (t >= 0):
            piece.append(a + s / (s - t) * (b - a))
        if t >= 0:
            piece.append(b)
        elif s >= 0:
            pieces.append(piece)
            piece = []
    if piece:
        # A ring that starts in front of the stop goes on where it ends.
        is_split = is_ring and pieces and np.allclose(pieces[0][0], piece[-1])
        pieces = [piece + pieces[0][1:], *pieces[1:]] if is_split else [*pieces, piece]
    return [np.array(found) for found in pieces if len(found) > 1]


def _lengths(paths):
    return float(sum(np.linalg.norm(np.diff(path, axis=0), axis=1).sum() for path in paths))


def _shown(split, job, way, stop_mm):
    """Length of seam in front of the stop that looks the show face's way, mm."""
    if job.show_face is None:
        return 0.0
    show = split.draw.frame.to_frame(frames.unit(job.show_face))
    total = 0.0
    for rim in split.line.outlines:
        ring = np.column_stack([rim.points_mm, rim.line_mm])
        legs = np.roll(ring, -1, axis=0) - ring
        length = np.linalg.norm(legs, axis=1)
        # Rings run counter-clockwise, the part to their left.
        outward = np.column_stack([legs[:, 1], -legs[:, 0], np.zeros(len(legs))])
        turned = shapely.LinearRing(rim.points_mm).is_ccw
        outward /= np.maximum(np.linalg.norm(outward, axis=1), 1e-9)[:, None]
        looks = (1.0 if turned else -1.0) * outward @ show > 0.5
        total += float(length[looks & ((ring + 0.5 * legs) @ way > stop_mm)].sum())
    return total


def _slit(sides, lips, split):
    chosen = sides[0]
    way = _way(chosen.side)
    ends = np.sort([np.array(split.box.low_mm) @ way, np.array(split.box.high_mm) @ way])
    stop_mm = float(ends[1] - chosen.depth_mm)
    seams, whole_mm = _seams(split.line, way, stop_mm)
    _, reach_mm, radius_mm, thick_mm = lips.bent(length_mm=chosen.depth_mm)
    amplitude_mm = float(np.clip(ZIGZAG_WALL_FRACTION * split.box.wall_mm, *ZIGZAG_MM))
    middle_mm, teeth = _zigzag(split, way, stop_mm, amplitude_mm)
    plugs = [plug for plug in split.line.plugs if np.array([*plug.centre_mm, 0.0]) @ way > stop_mm]
    return Slit(
        options=sides,
        way=tuple(float(v) for v in way),
        stop_mm=stop_mm,
        outline_fraction=chosen.seam_mm / whole_mm if whole_mm > 0 else 0.0,
        reach_mm=reach_mm,
        radius_mm=radius_mm,
        thick_mm=thick_mm,
        limit_fraction=lips.limit_fraction,
        hand_n=HAND_N,
        amplitude_mm=amplitude_mm,
        pitch_mm=PITCH_TIMES * amplitude_mm,
        clear_mm=CLEAR_MM,
        outside_mm=middle_mm + teeth,
        middle_mm=middle_mm,
        seams_mm=tuple(seams),
        holes=tuple(plug.number for plug in plugs),
        channels=(),
    )


def _zigzag(split, way, stop_mm, amplitude_mm):
    """The parting on the outside of the block from one end of the cut to the other, and teeth.

    Both (k, 3); their sum is the knife's line.
    """
    ring = shapely.get_coordinates(shapely.LinearRing(split.box.outline_mm))
    flat = np.column_stack([ring, np.zeros(len(ring))])
    pieces = _in_front(flat, way, stop_mm, is_ring=True)
    path = shapely.LineString(max(pieces, key=lambda piece: _lengths([piece]))[:, :2])
    # Whole teeth, so that both ends lie on the parting.
    n = max(round(path.length / (PITCH_TIMES * amplitude_mm / 2)), 2)
    along = np.linspace(0, path.length, n + 1)
    # The corners of the box as well, or the line would leave it.
    corners = [path.project(shapely.Point(xy)) for xy in path.coords]
    stations = np.unique(np.concatenate([along, corners]).round(6))
    teeth = amplitude_mm * np.array([0.0, *((-1.0) ** k for k in range(n - 1)), 0.0])
    xy = shapely.get_coordinates(shapely.line_interpolate_point(path, stations))
    middle = np.column_stack([xy, parting_mm(split.line.surface, xy)])
    return middle, np.interp(stations, along, teeth)[:, None] * (0.0, 0.0, 1.0)
