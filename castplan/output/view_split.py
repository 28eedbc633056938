"""The split in words and rows: directions, pockets, the four kinds of line, clay."""

from castplan import units
from castplan.materials.rubber import GENT_VALID_SHORE_A
from castplan.model import Plan
from castplan.output import formats, view

# How full a disc is says how much holds; the words stand beside it.
VERDICT_SIGNS = {
    "leaves freely": "○ leaves freely",
    "flexes out": "◔ flexes out",
    "may tear": "◕ may tear",
    "locked": "● locked",
    "none": "no rubber in it",
}
KINDS = {"pocket": "pocket", "bridge": "hole across", "sealed": "closed void"}
_KIND_WORDS = {
    "level": "level",
    "tilted": "tilted plane",
    "stepped": "steps",
    "following": "follows the part",
}
_PADDED = 9  # characters of an inch reading, so that short ones take a line of their own too
_MAX_THIN = 12  # thin places that are listed one by one


def above_board_mm(plan: Plan, *, z_mm: float) -> float:
    """Height above the base board of a height in the draw frame.

    A part with a flat back lies on the board; any other is held above it.
    """
    board_mm = plan.mould.low_mm[2]
    return z_mm - board_mm - (plan.mould.under_mm if view.is_flat_back(plan) else 0.0)


def from_corner_mm(plan: Plan, point_mm) -> tuple[float, float]:
    """x and y from the inside corner of the box, seen from above."""
    low = plan.mould.low_mm
    return float(point_mm[0] - low[0]), float(point_mm[1] - low[1])


def _error_mm(plan: Plan) -> float:
    return max(plan.sampling.pitch_mm, 0.1)


def _mm_over_inches(length_mm: float, *, error_mm: float) -> str:
    """``18.9 mm 3/4″``: a narrow cell breaks between the two."""
    inches = f"{units.inch_fraction(length_mm)}″".ljust(_PADDED).replace(" ", "\u00a0")
    return f"{formats.length_text(length_mm, error_mm=error_mm)} {inches}"


def _plain(text: str) -> str:
    """Without the basis letter, which the head of the column carries."""
    return text.removesuffix(" [c]")


def _trapped(volume_mm3: float) -> str:
    return _plain(formats.trapped_text(volume_mm3))


def candidate_reasons(plan: Plan) -> list[str]:
    """A sentence for each of the best directions: where it points, why it stands there."""
    return [
        f"{view.direction_words(candidate.direction)} ({candidate.origin}): {candidate.why}"
        + (f"; and {candidate.n_alike} more alike." if candidate.n_alike else ".")
        for candidate in plan.draw.candidates
    ]


def candidate_rows(plan: Plan) -> list[tuple[str, ...]]:
    """What each direction costs: a row for each thing, a column for each direction."""
    candidates = plan.draw.candidates
    rows = [
        ("held by the best level split [c]", [_trapped(c.trapped_mm3) for c in candidates]),
        ("of it, no split frees [c]", [_trapped(c.locked_mm3) for c in candidates]),
        ("pockets, holes across it", [f"{c.n_pockets}, {c.n_bridges}" for c in candidates]),
        ("deepest overhang [c]", [_overhang(c.depth_mm) for c in candidates]),
        ("mould height [c]", [f"{c.mould_height_mm:.0f} mm" for c in candidates]),
        ("silicone, both halves [c]", [f"{c.silicone_ml:.0f} ml" for c in candidates]),
        ("the line must climb [c]", [f"{c.line_climb_mm:.0f} mm" for c in candidates]),
        ("lies without tipping", ["yes" if c.is_stable else "no" for c in candidates]),
        ("all in minutes [a]", [f"{c.cost_min:.0f} min" for c in candidates]),
    ]
    if any(c.seam_on_show_mm is not None for c in candidates):
        lengths = [f"{c.seam_on_show_mm or 0.0:.0f} mm" for c in candidates]
        rows.insert(-2, ("seam on the face that shows [c]", lengths))
    return [(name, *cells) for name, cells in rows]


def _overhang(depth_mm: float) -> str:
    return f"{depth_mm:.1f} mm" if depth_mm > 0 else "none"


def weights_sentence(plan: Plan) -> str:
    """What the minutes of the directions are made of."""
    w = plan.job.draw_weights
    return (
        f"Minutes are assumed weights, for the shop to change: {w.trapped_min_per_ml:g} for each "
        f"ml that no split frees, {w.pocket_min:g} a pocket, {w.bridge_min:g} a hole across, "
        f"{w.depth_min_per_mm:g} for each mm of overhang, {w.following_min:g} and "
        f"{w.line_min_per_mm:g} for each mm of climb where a level split does not do, "
        f"{w.height_min_per_mm:g} for each mm of height, {w.silicone_min_per_ml:g} for each ml of "
        f"silicone, {w.show_seam_min_per_mm:g} for each mm of seam that shows, "
        f"{w.unstable_min:g} for a part that tips."
    )


def pocket_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Number, kind, volume, depth, neck and belly, stretch, verdict of each pocket."""
    flexes = {flex.number: flex for flex in plan.flex.pockets}
    rows = []
    for pocket in plan.undercuts.pockets:
        flex = flexes[pocket.number]
        depth = formats.error_text(pocket.depth_mm, error_mm=plan.flex.depth_error_mm)
        sections, stretch = "", ""
        if flex.verdict != "none":
            sections = f"{_digits(flex.neck_mm2)}, {_digits(flex.belly_mm2)} mm2"
            needs, forgives, limit = (
                f"{100 * share:.0f} %"
                for share in (flex.stretch_fraction, flex.allowed_fraction, flex.limit_fraction)
            )
            stretch = f"needs {needs}, forgiven {forgives}, limit {limit}"
        if flex.is_all_round:
            sections = f"{flex.narrow_mm:.0f}, {flex.wide_mm:.0f} mm across"
        rows.append(
            (
                str(pocket.number),
                KINDS[pocket.kind],
                _trapped(pocket.volume_mm3),
                depth if pocket.kind != "sealed" else "",
                sections,
                stretch,
                f"{VERDICT_SIGNS[flex.verdict]}{_round_it(pocket, flex)}",
            )
        )
    return rows


def _digits(value: float) -> str:
    """Two digits that count, without an exponent."""
    return formats.rounded(value, error=max(0.05 * value, 0.01))


def _round_it(pocket, flex) -> str:
    """Why it is held, where that is not a matter of stretch; else the rubber round it."""
    if pocket.kind == "pocket":
        return f", {flex.around_mm:.0f} mm of rubber round it"
    return f": {flex.why}" if pocket.kind == "bridge" else ""


def flex_sentence(plan: Plan) -> str:
    """How the verdicts come about, and what they leave out."""
    low, high = GENT_VALID_SHORE_A
    flex = plan.flex
    return (
        "Depth: sideways way out of the deepest tenth. Stretch: a lip all round (wide - narrow) / "
        "narrow, any other pocket its belly past its neck or its tongue bent out. Modulus "
        f"{flex.modulus_low_mpa:.2g} to {flex.modulus_high_mpa:.2g} MPa from Shore A (Gent 1958, "
        f"good for {low:.0f} to {high:.0f} A); limit: elongation at break / "
        f"{flex.safety_factor.value:g} {formats.mark(flex.safety_factor.basis)}. Friction and "
        "suction are not modelled: try it on the test patch."
    )


def remedy_rows(plan: Plan) -> list[tuple[str, str, str, str]]:
    """Pocket, what to do, what stays trapped, minutes; ranked within each pocket."""
    return [
        (
            str(remedy.pocket),
            remedy.text,
            _trapped(remedy.remaining_mm3),
            formats.time_text(round(remedy.minutes)),
        )
        for remedy in plan.remedies
    ]


def thin_rows(plan: Plan) -> list[tuple[str, str, str, str]]:
    """What is thin, how thin, how far it spreads, where; the first dozen."""
    rows = []
    for place in plan.flex.thin[:_MAX_THIN]:
        x, y = from_corner_mm(plan, place.centre_mm)
        height_mm = above_board_mm(plan, z_mm=place.centre_mm[2])
        rows.append(
            (
                "fin of rubber" if place.kind == "rubber" else "wall of the part",
                f"{place.thickness_mm:.1f} mm",
                f"{place.area_mm2 / 100:.2g} cm2",
                f"{x:.0f}, {y:.0f} mm from the corner, {height_mm:.0f} mm up",
            )
        )
    return rows


def thin_rest(plan: Plan) -> str:
    """A sentence on the thin places that are not listed; empty without such."""
    n_more = len(plan.flex.thin) - _MAX_THIN
    return f"And {n_more} more." if n_more > 0 else ""


def option_rows(plan: Plan) -> list[tuple[str, ...]]:
    """The four kinds of split: kind, trapped, heights, length, free or not, note."""
    rows = []
    for option in plan.line.options:
        low, high = (
            formats.rounded(above_board_mm(plan, z_mm=z_mm), error=_error_mm(plan))
            for z_mm in (option.low_mm, option.high_mm)
        )
        is_built = option.kind == plan.line.kind
        rows.append(
            (
                f"{'▶ ' if is_built else ''}{_KIND_WORDS[option.kind]}",
                _trapped(option.trapped_mm3),
                f"{low} mm" if low == high else f"{low} to {high} mm",
                f"{option.length_mm:.0f} mm",
                "yes" if option.is_free else "no",
                f"{option.note}{'; built' if is_built else ''}",
            )
        )
    return rows


def plug_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Hole, its place, its width, the heights that trap nothing, the height to set."""
    rows = []
    for plug in plan.line.plugs:
        x, y = from_corner_mm(plan, plug.centre_mm)
        low, high = (
            formats.rounded(above_board_mm(plan, z_mm=z_mm), error=_error_mm(plan))
            for z_mm in (plug.free_low_mm, plug.free_high_mm)
        )
        is_free = plug.free_low_mm <= plug.free_high_mm
        height_mm = above_board_mm(plan, z_mm=plug.height_mm)
        shape = "level"
        if plug.is_following:
            shape = f"to its rim, see strip {plug_name(plug.number)}; this is the mean"
        elif is_shut_by_board(plan, z_mm=plug.height_mm):
            shape = "none: the board shuts it"
        rows.append(
            (
                plug_name(plug.number),
                f"{x:.0f}, {y:.0f} mm",
                f"{plug.width_mm:.0f} mm",
                f"{low} to {high} mm" if is_free else "none",
                formats.both_lengths(height_mm, error_mm=_error_mm(plan)).replace(" [c]", ""),
                shape,
            )
        )
    return rows


def is_shut_by_board(plan: Plan, *, z_mm: float) -> bool:
    """Whether a plug that reaches to `z_mm` in the draw frame is the base board itself."""
    return view.is_flat_back(plan) and above_board_mm(plan, z_mm=z_mm) < _error_mm(plan)


def plug_name(number: int) -> str:
    """``H1``: told from a pocket's number by its letter."""
    return f"H{number}"


def station_cells(plan: Plan, station) -> tuple[str, str, str, str]:
    """Along the outline, x and y from the corner, height to set; both units each."""
    x, y = station.from_corner_mm
    # Clay is laid to a whole millimetre, and smoothed to a tenth.
    cells = (_mm_over_inches(at_mm, error_mm=1.0) for at_mm in (station.along_mm, x, y))
    return (*cells, _mm_over_inches(station.height_mm, error_mm=_error_mm(plan)))


def seam_sentence(plan: Plan) -> str:
    """How long the seam on the mesh is, and what of it shows."""
    seam = plan.seam
    shown = ""
    if seam.length_on_show_mm is not None:
        shown = f", {seam.length_on_show_mm:.0f} mm of it on the face that shows"
    count = len(seam.loops_mm)
    return (
        f"The seam is {seam.length_mm:.0f} mm [c] long in {count} "
        f"{'loop' if count == 1 else 'loops'}{shown}."
    )
