"""The split in words and rows: directions, pockets, the four kinds of line, clay."""

from collections.abc import Sequence

from castplan import units
from castplan.materials.rubber import GENT_VALID_SHORE_A, TORN_FRACTION
from castplan.materials.wording import listed_numbers
from castplan.plan_record import Plan
from castplan.split.records import DrawCandidate
from castplan.texts import say
from castplan.words import formats
from castplan.words import plan as view

# How full a disc is says how much holds; the words stand beside it.
_VERDICT_SIGNS = {
    "leaves freely": "split.leaves_freely",
    "flexes out": "split.flexes_out",
    "may tear": "split.may_tear",
    "locked": "split.locked",
    "none": "split.no_rubber_in_it",
}
_KINDS = {
    **{"pocket": "split.pocket", "bridge": "split.hole_across"},
    **{"web": "split.web", "sealed": "split.closed_void"},
}
_HELD_AT_BOTH_ENDS = ("bridge", "web")
_KIND_WORDS = {
    "level": "split.level",
    "tilted": "split.tilted_plane",
    "stepped": "split.steps",
    "following": "split.follows_the_part",
}
_PADDED = 9  # characters of an inch reading, so that short ones take a line of their own too
_MAX_THIN = 12  # thin places that are listed one by one


def verdict_sign(verdict: str) -> str:
    """What the rubber does at a pocket, with a disc as full as it holds."""
    return say(_VERDICT_SIGNS[verdict])


def above_board_mm(plan: Plan, *, z_mm: float) -> float:
    """Height above the base board of a height in the draw frame.

    A part with a flat back lies on the board; any other is held above it.
    """
    return z_mm - plan.mould.block.bedding.board_mm


def from_corner_mm(plan: Plan, point_mm) -> tuple[float, float]:
    """x and y from the inside corner of the box, seen from above."""
    low = plan.mould.block.low_mm
    return float(point_mm[0] - low[0]), float(point_mm[1] - low[1])


def _error_mm(plan: Plan) -> float:
    return max(plan.sampling.pitch_mm, 0.1)


def _mm_over_inches(length_mm: float, *, error_mm: float) -> str:
    """``18.9 mm 3/4″``: a narrow cell breaks between the two."""
    inches = f"{units.inch_fraction(length_mm)}″".ljust(_PADDED).replace(" ", "\u00a0")
    return f"{formats.length_text(length_mm, error_mm=error_mm)} {inches}"


def candidate_reasons(plan: Plan, candidates: Sequence[DrawCandidate] = ()) -> list[str]:
    """A sentence for each direction, the plan's best ones or others: where it points, and why."""
    return [
        say(
            "split.direction_alike" if candidate.n_alike else "split.direction",
            direction=view.direction_words(candidate.direction, plan),
            origin=say(f"draw_origin.{candidate.origin}"),
            why=candidate.why,
            n=candidate.n_alike,
        )
        for candidate in candidates or plan.split.draw.candidates
    ]


def _silicone_head(plan):
    return "cut.silicone_of_all" if plan.split.is_one_pour else "split.silicone_both_halves_c"


def candidate_rows(plan: Plan) -> list[tuple[str, ...]]:
    """What each direction costs: a row for each thing, a column for each direction."""
    candidates = plan.split.draw.candidates
    rows = [
        (
            say("split.held_by_the_best_level"),
            [formats.trapped_plain(c.trapped_mm3) for c in candidates],
        ),
        (
            say("split.of_it_no_split_frees"),
            [formats.trapped_plain(c.locked_mm3) for c in candidates],
        ),
        (
            say("split.pockets_holes_across_it"),
            [f"{c.n_pockets}, {c.n_bridges}" for c in candidates],
        ),
        (say("split.deepest_overhang_c"), [_overhang(c.depth_mm) for c in candidates]),
        (say("split.mould_height_c"), [f"{c.mould_height_mm:.0f} mm" for c in candidates]),
        (say(_silicone_head(plan)), [f"{c.silicone_ml:.0f} ml" for c in candidates]),
        (say("split.the_line_must_climb_c"), [f"{c.line_climb_mm:.0f} mm" for c in candidates]),
        (
            say("split.line_across_a_face"),
            [f"{c.seam_on_face_mm:.0f} mm" for c in candidates],
        ),
        (
            say("split.lies_without_tipping"),
            [say("split.yes") if c.is_stable else say("split.no") for c in candidates],
        ),
        (say("split.all_in_minutes_a"), [f"{c.cost_min:.0f}" for c in candidates]),
    ]
    if any(c.seam_on_show_mm is not None for c in candidates):
        lengths = [f"{c.seam_on_show_mm or 0.0:.0f} mm" for c in candidates]
        rows.insert(-2, (say("split.seam_on_the_face_that"), lengths))
    return [(name, *cells) for name, cells in rows]


def _overhang(depth_mm: float) -> str:
    return f"{depth_mm:.1f} mm" if depth_mm > 0 else say("number.none")


def weights_sentence(plan: Plan) -> str:
    """What the minutes of the directions are made of."""
    w = plan.job.draw_weights
    return say(
        "split.minutes_are_assumed_weights_for",
        trapped_min_per=f"{w.trapped_min_per_ml:g}",
        pocket=f"{w.pocket_min:g}",
        bridge=f"{w.bridge_min:g}",
        depth_min_per=f"{w.depth_min_per_mm:g}",
        following=f"{w.following_min:g}",
        line_min_per=f"{w.line_min_per_mm:g}",
        height_min_per=f"{w.height_min_per_mm:g}",
        silicone_min_per=f"{w.silicone_min_per_ml:g}",
        face_seam_min_per=f"{w.face_seam_min_per_mm:g}",
        show_seam_min_per=f"{w.show_seam_min_per_mm:g}",
        unstable=f"{w.unstable_min:g}",
    )


# On sheet and page, with widths on paper in mm.
POCKET_HEADS = (
    ("column.number", 17, True),
    ("split.kind", 22),
    ("split.holds_c", 21),
    ("split.deep_c", 26),
    ("split.neck_belly_c", 28),
    ("split.stretch_c", 36),
    ("split.the_rubber", 36),
)


def pocket_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Numbers, kind, volume, depth, neck and belly, stretch, verdict: a row for pockets alike."""
    flexes = {flex.number: flex for flex in plan.split.flex.pockets}
    pockets = {pocket.number: pocket for pocket in plan.split.undercuts.pockets}
    rows = []
    for group in (group for group in plan.split.flex.groups if not group.is_trifle):
        pocket, flex = pockets[group.numbers[0]], flexes[group.numbers[0]]
        n = len(group.numbers)
        volume = formats.trapped_plain(group.volume_mm3 / n)
        depth = formats.error_text(group.depth_mm, error_mm=plan.split.flex.depth_error_mm)
        sections, stretch = "", ""
        if flex.verdict != "none":
            sections = f"{_digits(flex.neck_mm2)}, {_digits(flex.belly_mm2)} mm2"
            # What is held at both ends does not come out by stretching.
            stretch = "" if pocket.kind in _HELD_AT_BOTH_ENDS else _stretch(flex)
        if flex.is_all_round:
            sections = say(
                "split.mm_across", narrow=f"{flex.narrow_mm:.0f}", wide=f"{flex.wide_mm:.0f}"
            )
        rows.append(
            (
                str(listed_numbers(group.numbers)),
                say(_KINDS[pocket.kind], n=n),
                say("split.each", n=n, volume=volume),
                depth if pocket.kind != "sealed" else "",
                sections,
                stretch,
                _verdict(pocket, flex),
            )
        )
    trifles = [group for group in plan.split.flex.groups if group.is_trifle]
    if trifles:
        numbers = sorted(n for group in trifles for n in group.numbers)
        volume = formats.trapped_plain(sum(group.volume_mm3 for group in trifles))
        deepest = max(group.depth_mm for group in trifles)
        rows.append(
            (
                str(listed_numbers(numbers)),
                say("split.small", n=len(numbers)),
                say("split.together", n=len(numbers), volume=volume),
                say("split.up_to_mm", deepest=f"{deepest:.1f}"),
                "",
                "",
                say("split.comes_out_easily"),
            )
        )
    return rows


def _stretch(flex) -> str:
    """What it needs with its spread, and what the hardness usually allows."""
    shares = (
        flex.stretch_fraction,
        flex.stretch_low_fraction,
        flex.stretch_high_fraction,
        flex.allowed_fraction,
    )
    if flex.stretch_low_fraction >= TORN_FRACTION:
        return say("split.needs_over", needs=f"{100 * TORN_FRACTION:.0f}")
    needs, low, high, allows = (f"{100 * share:.0f}" for share in shares)
    return say("split.needs_allows", needs=needs, low=low, high=high, allows=allows)


def _digits(value: float) -> str:
    """Two digits that count, without an exponent."""
    return formats.rounded(value, error=max(0.05 * value, 0.01))


def _verdict(pocket, flex) -> str:
    """The verdict; why, where that is not a matter of stretch, else the rubber round it."""
    verdict = verdict_sign(flex.verdict)
    if pocket.kind == "pocket":
        return say("split.rubber_round_it", verdict=verdict, around=f"{flex.around_mm:.0f}")
    if pocket.kind in _HELD_AT_BOTH_ENDS:
        return say("split.verdict_why", verdict=verdict, why=flex.why)
    return verdict


def flex_sentence(plan: Plan) -> str:
    """How the verdicts come about, and what they leave out."""
    low, high = GENT_VALID_SHORE_A
    flex = plan.split.flex
    told = say(
        "split.depth_sideways_way_out_of",
        modulus_low_mpa=units.digits(flex.modulus_low_mpa, 2),
        modulus_high_mpa=units.digits(flex.modulus_high_mpa, 2),
        low=f"{low:.0f}",
        high=f"{high:.0f}",
        value=f"{flex.safety_factor.value:g}",
        basis=formats.behind(flex.safety_factor.basis),
    )
    strength = {
        "elongation": _on_card(flex.elongation_fraction, times=100),
        "tensile": _on_card(flex.tensile_mpa),
        "tear": _on_card(flex.tear_n_mm),
    }
    if None in strength.values():  # the shop's sheet says less
        return told
    return f"{told} {say('split.strength', **strength)}"


def _on_card(number, *, times=1):
    return number and f"{units.digits(times * number.value, 3)}{formats.behind(number.basis)}"


def remedy_rows(plan: Plan) -> list[tuple[str, str, str, str]]:
    """Pockets, what to do, what stays trapped, minutes; ranked within pockets alike."""
    numbers = {group.numbers[0]: group.numbers for group in plan.split.flex.groups}
    return [
        (
            str(listed_numbers(numbers[remedy.pocket])),
            str(remedy.text),
            formats.trapped_plain(remedy.remaining_mm3),
            formats.time_text(round(remedy.minutes)),
        )
        for remedy in plan.split.remedies
    ]


def thin_rows(plan: Plan) -> list[tuple[str, str, str, str]]:
    """What is thin, how thin, how far it spreads, where; the first dozen."""
    rows = []
    for place in plan.split.flex.thin[:_MAX_THIN]:
        x, y = from_corner_mm(plan, place.centre_mm)
        height_mm = above_board_mm(plan, z_mm=place.centre_mm[2])
        rows.append(
            (
                say("split.fin_of_rubber")
                if place.kind == "rubber"
                else say("split.wall_of_the_part"),
                f"{place.thickness_mm:.1f} mm",
                f"{units.digits(place.area_mm2 / 100, 2)} cm2",
                say(
                    "split.mm_from_the_corner_mm",
                    x=f"{x:.0f}",
                    y=f"{y:.0f}",
                    height=f"{height_mm:.0f}",
                ),
            )
        )
    return rows


def thin_rest(plan: Plan) -> str:
    """A sentence on the thin places that are not listed; empty without such."""
    n_more = len(plan.split.flex.thin) - _MAX_THIN
    return say("split.and_more", n_more=n_more) if n_more > 0 else ""


def option_rows(plan: Plan) -> list[tuple[str, ...]]:
    """The four kinds of split: kind, trapped, heights, length, free or not, note."""
    rows = []
    for option in plan.split.line.options:
        low, high = (
            formats.rounded(above_board_mm(plan, z_mm=z_mm), error=_error_mm(plan))
            for z_mm in (option.low_mm, option.high_mm)
        )
        is_built = option.kind == plan.split.line.kind
        rows.append(
            (
                f"{'▶ ' if is_built else ''}{say(_KIND_WORDS[option.kind])}",
                formats.trapped_plain(option.trapped_mm3),
                f"{low} mm" if low == high else say("split.to_mm", low=low, high=high),
                f"{option.length_mm:.0f} mm",
                say("split.yes") if option.is_free else say("split.no"),
                _note(plan, option, is_built=is_built),
            )
        )
    return rows


def _note(plan, option, *, is_built):
    """At the bench: of a block that is cut open only what is done, as the rest is of clay."""
    if plan.split.is_cut:
        return say("cut.built") if is_built else ""
    return _built(plan, option.note) if is_built else str(option.note)


def _built(plan: Plan, note: str) -> str:
    """What the split that is built takes at the bench: the notes are those of clay."""
    kind = plan.mould.block.bedding.kind
    if kind == "clay":
        return say("split.built", note=note)
    return say("split.built_flat_back" if kind == "flat-back" else "split.built_printed_bed")


def plug_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Hole, its place, its width, the heights that trap nothing, the height to set."""
    rows = []
    for plug in plan.split.line.plugs:
        x, y = from_corner_mm(plan, plug.centre_mm)
        low, high = (
            formats.rounded(above_board_mm(plan, z_mm=z_mm), error=_error_mm(plan))
            for z_mm in (plug.free_low_mm, plug.free_high_mm)
        )
        is_free = plug.free_low_mm <= plug.free_high_mm
        height_mm = above_board_mm(plan, z_mm=plug.height_mm)
        shape = say("split.level_top")
        if plug.is_following:
            shape = say("split.to_its_rim_see_strip", number=plug_name(plug.number))
        elif plug.number in plan.mould.block.bedding.shut_holes:
            shape = say("split.none_the_board_shuts_it")
        rows.append(
            (
                plug_name(plug.number),
                f"{x:.0f}, {y:.0f} mm",
                f"{plug.width_mm:.0f} mm",
                say("split.to_mm", low=low, high=high) if is_free else say("number.none"),
                formats.both_lengths(height_mm, error_mm=_error_mm(plan)),
                shape,
            )
        )
    return rows


def holes_sentence(plan: Plan) -> str:
    """That no clay goes into the holes through the part; empty where it does, or without any."""
    bedding = plan.mould.block.bedding
    if not plan.split.line.plugs or bedding.clay_holes:
        return ""
    if bedding.kind == "printed-bed":
        return say("split.the_printed_bed_plugs_the")
    return say("split.the_base_board_shuts_the")


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
    seam = plan.split.seam
    count = len(seam.loops_mm)
    told = {"length": f"{seam.length_mm:.0f}", "count": count, "n": count}
    if seam.length_on_show_mm is None:
        return say("split.the_seam_is_mm_c", **told)
    return say("split.the_seam_on_show", **told, length_on_show=f"{seam.length_on_show_mm:.0f}")
