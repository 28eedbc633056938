"""Whether the rubber leaves each pocket: sections, stretch, verdict."""

from dataclasses import replace

import numpy as np
from scipy import ndimage

from castplan.columns import contours
from castplan.columns.gaps import rows_by_number
from castplan.columns.room import find_room
from castplan.job import Job
from castplan.materials import rubber
from castplan.materials.cards import get_card
from castplan.memory import remembered
from castplan.part.study import HeldPockets
from castplan.record import record
from castplan.split.alike import group_alike
from castplan.split.records import RUBBER_VERDICTS, FlexResult, PocketFlex, ThinPlace
from castplan.texts.told import tell

# A quarter of what is forgiven is not felt at the bench; four times as much is
# beyond a careful hand (both assumed).
FREELY_SHARE = 0.25
LOCKED_TIMES = 4.0
# A third to twice what the rule says, as more or less wall may bend (judged by
# finite elements, see `rubber.eased_stretch_fraction`).
EASED_SPREAD = (0.33, 2.0)
PRESSED_SPREAD = (0.67, 1.5)  # and of what is pulled straight
# Rubber under this volume, a cube of 3.7 mm, tears off without harm (assumed).
TEARS_OFF_MM3 = 50.0
# A web of the parting up to this, a cube of 8 mm, tears out of the way and spoils
# no casting (assumed).
WEB_TEARS_MM3 = 500.0
# What is this shallow, or a pin through so thin a web, has hardly a length that could
# hold (assumed).
SHORT_MM = 1.0
# 13 mm of 20 A rubber flexes, 76 mm does not (common practice, no source);
# between them the pull grows and the verdict goes one step down.
FLEXES_UP_TO_MM = 40.0
N_SECTIONS = 24
SAME_SECTION = 1.25  # sections that differ less differ by the sampling


@record
class Skin:
    """What the part's own surface adds to the verdicts."""

    thin: tuple[ThinPlace, ...]
    noise_mm: float | None = None  # standard deviation of a scan: widens the interval of depths


@remembered
def judge_pockets(pockets: HeldPockets, job: Job, skin: Skin, *, ends_mm) -> FlexResult:
    """Set what each pocket asks of the rubber against what the rubber gives.

    A lip all round stretches the ring of rubber from its narrow to its wide
    diameter; a core of rubber is drawn long until it is thin enough for its
    mouth. Elsewhere the rubber in the pocket is a tongue that must come out
    sideways past its neck while the wall bends aside. Friction and suction are
    not modelled.

    Parameters
    ----------
    pockets : HeldPockets
    job : Job
    skin : Skin
    ends_mm : (low, high), (3,) array_like each
        Inside of the box, draw frame.

    Returns
    -------
    FlexResult
    """
    field, gaps, undercuts = pockets.field, pockets.gaps, pockets.undercuts
    card = get_card(job.silicone, kind="silicone")
    low_mpa, high_mpa = rubber.modulus_range_mpa(card)
    allowed = rubber.forgiven_fraction(shore_a=card.shore.value)
    safety_factor = rubber.safety_factor()
    limit = rubber.working_limit_fraction(card)
    # A wall on either side of the depth, each off by the noise, and a column.
    depth_error_mm = float(np.sqrt(field.pitch_mm**2 + 2 * (skin.noise_mm or 0.0) ** 2))
    measured = {}
    rows = rows_by_number(pockets.of_gap, n=len(undercuts.pockets) + 1)
    for pocket in undercuts.pockets:
        members = rows[pocket.number]
        around_mm = _around_mm(pocket, *ends_mm)
        measured[pocket.number] = _measure(field, gaps, members, pocket, around_mm)
    groups = group_alike(undercuts.pockets, measured, depth_error_mm=depth_error_mm)
    judged, told = {}, []
    for group in groups:
        alike = [undercuts.pockets[number - 1] for number in group.numbers]
        steps = [_step(p, measured[p.number], allowed, limit) for p in alike]
        # What is alike gets one verdict; sampling must not tell equals apart.
        step = max(steps)
        told.append(replace(group, is_trifle=_is_trifle(group, alike[0], step)))
        for pocket in alike:
            shape = measured[pocket.number]
            verdict, why = _verdict(pocket, shape, allowed, limit, step)
            judged[pocket.number] = PocketFlex(
                number=pocket.number,
                group=group.numbers[0],
                allowed_fraction=_allowed(shape, allowed, limit),
                limit_fraction=limit,
                verdict=verdict,
                why=why,
                **shape,
            )
    return FlexResult(
        pockets=tuple(judged[number] for number in sorted(judged)),
        groups=tuple(told),
        thin=skin.thin,
        safety_factor=safety_factor,
        elongation_fraction=card.elongation_fraction,
        tensile_mpa=card.tensile_mpa,
        tear_n_mm=card.tear_n_mm,
        modulus_low_mpa=low_mpa,
        modulus_high_mpa=high_mpa,
        depth_error_mm=depth_error_mm,
    )


def _measure(field, gaps, members, pocket, around_mm):
    """Sections and stretch of one pocket."""
    bottom, top = gaps.bottom_mm[members], gaps.top_mm[members]
    length = top - bottom
    depth = gaps.depth_mm[members]
    weight = length * field.cell_mm2
    thick = float((length * weight).sum() / weight.sum())
    shape = {
        "is_all_round": False,
        "is_core": False,
        "wide_mm": None,
        "narrow_mm": None,
        "neck_mm2": 0.0,
        "belly_mm2": 0.0,
        "thick_mm": thick,
        "around_mm": around_mm,
        "room_mm": None,
        "slope": 0.0,
        "stretch_fraction": 0.0,
        "stretch_low_fraction": 0.0,
        "stretch_high_fraction": 0.0,
        "pulled_fraction": 0.0,
    }
    if pocket.kind == "sealed":
        return shape
    neck, belly, neck_high, belly_high = _sections(depth, length, field)
    slope = _slope(pocket, bottom, top, depth, weight)
    ring = _ring(field, gaps.column[members], depth, weight)
    room = find_room(field, gaps, members) if ring is None else None
    pulled = rubber.pulled_stretch_fraction(
        depth_mm=pocket.depth_mm,
        wall_mm=around_mm,
        slope=slope,
        is_held_round=ring is not None or room is not None,
    )
    if ring is None:
        widens = belly_high / neck_high
        if room is None:
            stretch = rubber.eased_stretch_fraction(
                depth_mm=pocket.depth_mm, thick_mm=thick, wall_mm=around_mm, slope=slope
            )
            spread = EASED_SPREAD
        else:
            stretch = rubber.pressed_stretch_fraction(
                depth_mm=pocket.depth_mm, across_mm=room[1], room_mm=room[0]
            )
            spread = PRESSED_SPREAD
        stretch += rubber.squeezed_stretch_fraction(belly_over_neck=widens)
        # What widens along the mouth squeezes from both sides towards its middle.
        along = belly / neck / widens
        stretch += np.sqrt(along) - 1 if along > SAME_SECTION else 0.0
        shape["room_mm"] = None if room is None else room[0]
        if room is None and pulled < stretch:
            # Its face falls away: it slips off by itself before the wall has to give.
            stretch, spread = pulled, PRESSED_SPREAD
        low, high = spread[0] * stretch, spread[1] * stretch
    else:
        wide, narrow, is_core = ring
        measure = rubber.core_stretch_fraction if is_core else rubber.lip_stretch_fraction
        off = field.pitch_mm
        stretch = measure(wide_mm=wide, narrow_mm=narrow)
        low = max(measure(wide_mm=wide - off, narrow_mm=narrow + off), 0.0)
        high = measure(wide_mm=wide + off, narrow_mm=max(narrow - off, off))
        shape |= {"is_all_round": True, "is_core": is_core, "wide_mm": wide, "narrow_mm": narrow}
    return shape | {
        "neck_mm2": neck,
        "belly_mm2": belly,
        "slope": slope,
        "stretch_fraction": float(stretch),
        "stretch_low_fraction": float(low),
        "stretch_high_fraction": float(high),
        "pulled_fraction": float(max(pulled, stretch)),
    }


def _slope(pocket, bottom, top, depth, weight):
    """How far the part's face that holds the tongue falls away from it, mm per mm of depth.

    The upper half is held by what lies over its rubber, the lower by what lies
    under it; where both hold, the worse counts.
    """
    away = depth - np.average(depth, weights=weight)
    spread = float((weight * away**2).sum())
    if spread <= 0:
        return 0.0
    falls = [-float((weight * away * top).sum()), float((weight * away * bottom).sum())]
    by_half = {"upper": falls[:1], "lower": falls[1:], "both": falls}
    return float(np.clip(min(by_half[pocket.held_by]) / spread, -1.0, 1.0))


def _sections(depth, length, field):
    """Smallest section on the way out and the largest behind it, mm2, and their heights, mm.

    The section at a depth is how fast the volume grows with depth there; its
    height is the mean of the rubber along the draw.
    """
    deepest = float(depth.max())
    n = int(np.clip(deepest / (2 * field.pitch_mm), 1, N_SECTIONS))
    columns, edges = np.histogram(depth, bins=n, range=(0.0, deepest))
    weight = length * field.cell_mm2
    volume, _ = np.histogram(depth, bins=n, range=(0.0, deepest), weights=weight)
    section = volume / (edges[1] - edges[0])
    high = volume / (np.maximum(columns, 1) * field.cell_mm2)
    if n < 3 or not section[:-1].any():
        largest = int(np.argmax(section))
        return float(section[largest]), float(section[largest]), 1.0, 1.0
    # The last bin is the tapering end of the pocket, not a section of it.
    section = section[:-1] if n > 3 else section
    belly = int(np.argmax(section))
    # Depths that no column has are gaps of the sampling.
    neck = int(np.argmin(np.where(section > 0, section, np.inf)[: belly + 1]))
    neck_high, belly_high = float(high[neck]), float(high[belly])
    return float(section[neck]), float(section[belly]), neck_high, max(belly_high, neck_high)


def _ring(field, columns, depth, weight):
    """(wide, narrow, is core) of a pocket closed all round, mean diameters, else None.

    It is a core of rubber that must pass a mouth where the way out leads
    inward, else a ring of rubber round a neck of the part.
    """
    mask, corner = field.mask_of(columns)
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
        where = {"x0_mm": 0.0, "y0_mm": 0.0, "corner": corner}
        ring = contours.rings(shape, pitch_mm=field.pitch_mm, **where)[0]
        return float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() / np.pi)

    row, i = np.divmod(columns, field.n_x)
    from_core = ndimage.distance_transform_edt(~core)[row - corner[0], i - corner[1]]
    away = depth - np.average(depth, weights=weight)
    is_core = bool((weight * away * from_core).sum() > 0)
    return mean_diameter(filled), mean_diameter(core), is_core


def _around_mm(pocket, box_low_mm, box_high_mm):
    """Least rubber from the pocket to the outside of the mould, mm."""
    below = np.asarray(pocket.low_mm) - np.asarray(box_low_mm)
    above = np.asarray(box_high_mm) - np.asarray(pocket.high_mm)
    return float(min(below.min(), above.min()))


def _slips(shape):
    """Whether it slips off a face that falls away before its wall has to give."""
    is_free = shape["room_mm"] is None and not shape["is_all_round"]
    return is_free and shape["pulled_fraction"] <= shape["stretch_fraction"]


def _allowed(shape, allowed, limit):
    """What the hardness allows, in the stretch that is told of the pocket."""
    if _slips(shape):
        return max(0.5 * limit, allowed)  # only its edge stretches
    return rubber.core_allowed_fraction(allowed_fraction=allowed) if shape["is_core"] else allowed


def _is_trifle(group, pocket, step):
    """Too little to be told one by one, and no trouble."""
    is_small = group.volume_mm3 < len(group.numbers) * TEARS_OFF_MM3
    is_easy = step == 0 or (step == 1 and group.depth_mm <= SHORT_MM)
    return pocket.kind != "sealed" and is_small and is_easy


def _step(pocket, shape, allowed, limit):
    """Place of the verdict in `RUBBER_VERDICTS`, by depth, neck, stretch and volume together."""
    if pocket.kind == "sealed":
        return 0
    stretch, allowed = shape["stretch_fraction"], _allowed(shape, allowed, limit)
    is_strong = shape["pulled_fraction"] <= limit
    if stretch <= FREELY_SHARE * allowed and is_strong:
        step = 0
    elif stretch <= allowed:
        step = 1
    elif stretch <= min(LOCKED_TIMES * allowed, max(limit, allowed)):
        step = 2
    else:
        step = 3
    if shape["around_mm"] > FLEXES_UP_TO_MM:
        step = min(step + 1, 3)
    is_small, is_short = pocket.volume_mm3 < TEARS_OFF_MM3, pocket.depth_mm <= SHORT_MM
    if pocket.kind == "web":
        return 2 if pocket.volume_mm3 < WEB_TEARS_MM3 else 3
    if pocket.kind == "bridge":
        return 2 if is_small or (is_short and step <= 2) else 3
    # So little rubber costs a corner of the mould, not the casting.
    return min(step, 1 if is_short else 2) if is_small else step


def _verdict(pocket, shape, allowed, limit, step):
    """The verdict and why, in words."""
    if pocket.kind == "sealed":
        return "none", tell("flex_why.closed")
    if pocket.kind == "web":
        return RUBBER_VERDICTS[step], tell("flex_why.web")
    if pocket.kind == "bridge":
        key = "flex_why.pin" if step == 3 else "flex_why.short_pin"
        return RUBBER_VERDICTS[step], tell(key, depth=f"{pocket.depth_mm:.1f}")
    allowed = _allowed(shape, allowed, limit)
    kind = "tongue" if shape["room_mm"] is None else "pressed"
    if _slips(shape):
        kind = "slips"
    if shape["is_all_round"]:
        kind = "core" if shape["is_core"] else "ring"
    why = tell(
        f"flex_why.{kind}",
        needed=f"{100 * shape['stretch_fraction']:.0f}",
        low=f"{100 * shape['stretch_low_fraction']:.0f}",
        high=f"{100 * shape['stretch_high_fraction']:.0f}",
        pulled=_pulled_words(shape["pulled_fraction"]),
        allowed=f"{100 * allowed:.0f}",
    )
    if shape["around_mm"] > FLEXES_UP_TO_MM:
        why = tell("flex_why.thick", need=why, around=f"{shape['around_mm']:.0f}")
    is_small = pocket.volume_mm3 < TEARS_OFF_MM3
    if is_small and step < 3 and shape["stretch_fraction"] > allowed:
        why = tell("flex_why.small", need=why)
    return RUBBER_VERDICTS[step], why


def _pulled_words(fraction):
    if fraction >= rubber.TORN_FRACTION:
        return tell("flex_why.over", percent=f"{100 * rubber.TORN_FRACTION:.0f}")
    # To a tenth of a doubling or so: the fit is good to 1.5 times.
    return tell("flex_why.about", percent=f"{round(10 * fraction) * 10:.0f}")
