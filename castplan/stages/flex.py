"""Whether the rubber leaves each pocket: sections, stretch, verdict."""

import numpy as np
from scipy import ndimage

from castplan.columns import contours
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps
from castplan.materials import rubber
from castplan.materials.cards import get_card
from castplan.model import FlexResult, Job, PocketFlex, ThinPlace, UndercutResult
from castplan.model.memory import remembered
from castplan.texts import say

# A quarter of what is forgiven is not felt at the bench (assumed).
FREELY_SHARE = 0.25
# 13 mm of 20 A rubber flexes, 76 mm does not (mould makers' public pages);
# between them the pull grows and the verdict goes one step down.
FLEXES_UP_TO_MM = 40.0
N_SECTIONS = 24


@remembered
def judge_pockets(
    field: ColumnField,
    gaps: Gaps,
    undercuts: UndercutResult,
    pocket_of_gap: np.ndarray,
    job: Job,
    *,
    box_low_mm,
    box_high_mm,
    thin: tuple[ThinPlace, ...],
    noise_mm: float | None = None,
) -> FlexResult:
    """Set what each pocket asks of the rubber against what the rubber gives.

    A lip all round stretches the ring of rubber from its narrow to its wide
    diameter. Elsewhere the rubber in the pocket is a tongue that must come
    out sideways past its neck. Friction and suction are not modelled.

    Parameters
    ----------
    field, gaps : ColumnField, Gaps
        Along the draw.
    undercuts : UndercutResult
    pocket_of_gap : (g,) int64
        Number of the listed pocket, 0 for none.
    job : Job
    box_low_mm, box_high_mm : (3,) array_like
        Inside of the box, draw frame.
    thin : tuple of ThinPlace
    noise_mm : float, optional
        Standard deviation of the scan's surface; widens the interval of depths.

    Returns
    -------
    FlexResult
    """
    card = get_card(job.silicone, kind="silicone")
    low_mpa, high_mpa = rubber.modulus_range_mpa(card)
    allowed = rubber.forgiven_fraction(shore_a=card.shore.value)
    safety_factor = rubber.safety_factor()
    limit = card.elongation_fraction.value / safety_factor.value
    judged = []
    for pocket in undercuts.pockets:
        members = np.flatnonzero(pocket_of_gap == pocket.number)
        shape = _measure(field, gaps, members, pocket)
        around = _around_mm(pocket, box_low_mm, box_high_mm)
        verdict, why = _verdict(pocket, shape, allowed, limit, around)
        stress = [
            rubber.stretch_stress_mpa(modulus_mpa=e, stretch_fraction=shape["stretch_fraction"])
            for e in (low_mpa, high_mpa)
        ]
        judged.append(
            PocketFlex(
                number=pocket.number,
                around_mm=around,
                allowed_fraction=allowed,
                limit_fraction=limit,
                stress_low_mpa=stress[0],
                stress_high_mpa=stress[1],
                pull_n=stress[1] * shape["neck_mm2"],
                verdict=verdict,
                why=why,
                **shape,
            )
        )
    return FlexResult(
        pockets=tuple(judged),
        thin=thin,
        safety_factor=safety_factor,
        modulus_low_mpa=low_mpa,
        modulus_high_mpa=high_mpa,
        # A wall on either side of the depth, each off by the noise, and a column.
        depth_error_mm=float(np.sqrt(field.pitch_mm**2 + 2 * (noise_mm or 0.0) ** 2)),
    )


def _measure(field, gaps, members, pocket):
    """Sections and stretch of one pocket."""
    length = (gaps.top_mm - gaps.bottom_mm)[members]
    depth = gaps.depth_mm[members]
    weight = length * field.cell_mm2
    thick = float((length * weight).sum() / weight.sum())
    if pocket.kind == "sealed":
        return {
            "is_all_round": False,
            "wide_mm": None,
            "narrow_mm": None,
            "neck_mm2": 0.0,
            "belly_mm2": 0.0,
            "thick_mm": thick,
            "stretch_fraction": 0.0,
        }
    neck, belly = _sections(depth, weight, field.pitch_mm)
    wide = narrow = None
    ring = _ring_diameters(field, gaps.column[members])
    if ring is not None:
        wide, narrow = ring
        stretch = rubber.lip_stretch_fraction(wide_mm=wide, narrow_mm=narrow)
    else:
        # A bottle shape must also squeeze its belly through its neck.
        squeeze = np.sqrt(belly / neck) - 1 if neck > 0 else 0.0
        tongue = rubber.tongue_stretch_fraction(depth_mm=pocket.depth_mm, thick_mm=thick)
        stretch = float(max(squeeze, tongue))
    return {
        "is_all_round": ring is not None,
        "wide_mm": wide,
        "narrow_mm": narrow,
        "neck_mm2": neck,
        "belly_mm2": belly,
        "thick_mm": thick,
        "stretch_fraction": stretch,
    }


def _sections(depth, weight, pitch_mm):
    """Smallest section on the way out and the largest behind it, mm2.

    The section at a depth is how fast the volume grows with depth there.
    """
    deepest = float(depth.max())
    n = int(np.clip(deepest / (2 * pitch_mm), 1, N_SECTIONS))
    volume, edges = np.histogram(depth, bins=n, range=(0.0, deepest), weights=weight)
    section = volume / (edges[1] - edges[0])
    if n < 3:
        return float(section.max()), float(section.max())
    # The last bin is the tapering end of the pocket, not a section of it.
    section = section[:-1] if n > 3 else section
    belly = int(np.argmax(section))
    return float(section[: belly + 1].min()), float(section[belly])


def _ring_diameters(field, columns):
    """(wide, narrow) mean diameters of a pocket closed all round, else None."""
    mask = np.zeros(field.n_x * field.n_y, dtype=bool)
    mask[columns] = True
    mask = mask.reshape(field.n_y, field.n_x)
    filled = ndimage.binary_fill_holes(mask)
    core = filled & ~mask
    label, n = ndimage.label(core)
    if not n:
        return None
    size = np.bincount(label.ravel())[1:]
    # A real core, not a pinhole left by sampling in a solid pocket.
    if size.max() < max(16, 0.05 * mask.sum()):
        return None
    core = label == 1 + int(np.argmax(size))

    def mean_diameter(shape):
        ring = contours.rings(shape, x0_mm=0.0, y0_mm=0.0, pitch_mm=field.pitch_mm)[0]
        return float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() / np.pi)

    return mean_diameter(filled), mean_diameter(core)


def _around_mm(pocket, box_low_mm, box_high_mm):
    """Least rubber from the pocket to the outside of the mould, mm."""
    below = np.asarray(pocket.low_mm) - np.asarray(box_low_mm)
    above = np.asarray(box_high_mm) - np.asarray(pocket.high_mm)
    return float(min(below.min(), above.min()))


def _verdict(pocket, shape, allowed, limit, around_mm):
    if pocket.kind == "sealed":
        return "none", say("flex_why.closed")
    if pocket.kind == "bridge":
        return "locked", say("flex_why.pin")
    stretch = shape["stretch_fraction"]
    steps = ("leaves freely", "flexes out", "may tear", "locked")
    if stretch <= FREELY_SHARE * allowed:
        step, key = 0, "flex_why.needs"
    elif stretch <= allowed:
        step, key = 1, "flex_why.needs"
    elif stretch <= limit:
        step, key = 2, "flex_why.within_limit"
    else:
        step, key = 3, "flex_why.over_limit"
    need = say(
        key,
        needed=f"{100 * stretch:.0f}",
        forgiven=f"{100 * allowed:.0f}",
        limit=f"{100 * limit:.0f}",
    )
    if around_mm > FLEXES_UP_TO_MM and step < 3:
        step += 1
        need = say("flex_why.thick", need=need, around=f"{around_mm:.0f}")
    return steps[step], need
