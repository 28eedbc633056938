"""What to do about a pocket that does not leave: computed, ranked by minutes."""

import numpy as np

from castplan import units
from castplan.columns.field import sample
from castplan.columns.gaps import rows_by_number
from castplan.geometry import directions as ways
from castplan.geometry import frames
from castplan.geometry.standin import thin_out
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.part.study import HeldPockets
from castplan.split.records import DrawResult, FlexResult, Remedy
from castplan.texts.told import tell

ACROSS = 128
N_LATTICE = 160  # half of the sphere; each is tried both ways
N_POINTS = 1500
# A piece this free comes out; the rest is sampling at its skin.
FREE_FRACTION = 0.95
SAME_WAY = np.cos(np.radians(10.0))  # pulls this near are one
# Minutes a remedy costs in a small shop (assumed).
LOOSE_PIECE_MIN = 60.0
CLAY_FILL_MIN = 15.0
CLAY_FILL_MIN_PER_ML = 10.0  # recutting and dressing it in every copy
CLAY_UP_MIN = 5.0
CUT_MIN = 10.0


@remembered
def find_remedies(
    part: Part, draw: DrawResult, held: HeldPockets, flex: FlexResult
) -> tuple[Remedy, ...]:
    """Ways to free the pockets that do not leave, each with what stays trapped after it.

    A loose piece is the rubber of the pocket pulled out on its own after the
    halves are off: free along a direction when no point of it meets the part
    on the way out, tried over the whole sphere.

    Parameters
    ----------
    part : Part
    draw : DrawResult
    held : HeldPockets
    flex : FlexResult

    Returns
    -------
    tuple of Remedy
        By group of pockets, then minutes; one set for all that are alike.
    """
    judged = {f.number: f for f in flex.pockets}
    groups = [g for g in flex.groups if judged[g.numbers[0]].verdict in ("may tear", "locked")]
    if not groups:
        return ()
    pockets = {p.number: p for p in held.undercuts.pockets}
    rows = rows_by_number(held.of_gap, n=len(pockets) + 1)
    numbers = [n for group in groups for n in group.numbers]
    points = {n: _points_in(held.field, held.gaps, rows[n]) for n in numbers}
    pulls = _best_pulls(part, draw, {n: p for n, p in points.items() if len(p)})
    now = draw.candidates[0]
    remedies = []
    for group in groups:
        options = []
        for other in draw.candidates[1:]:
            if other.locked_mm3 < 0.5 * now.locked_mm3:
                text = tell("remedy.other_draw", direction=_words(other.direction), why=other.why)
                extra_min = max(0.0, other.cost_min - now.cost_min)
                options.append(("other draw", text, other.locked_mm3, extra_min, other.direction))
                break
        options += _on_the_spot([pockets[n] for n in group.numbers], pulls)
        options.sort(key=lambda option: (option[2] > 0, option[3]))
        for kind, text, left, minutes, direction in options:
            remedies.append(
                Remedy(
                    pocket=group.numbers[0],
                    n_pockets=len(group.numbers),
                    kind=kind,
                    text=text,
                    remaining_mm3=float(left),
                    minutes=float(minutes),
                    direction=direction,
                )
            )
    return tuple(remedies)


def _on_the_spot(alike, pulls):
    """Ways to deal with each of some like pockets: (kind, text, left, minutes, direction)."""
    n, first = len(alike), alike[0]
    ml = sum(pocket.volume_mm3 for pocket in alike) / 1000
    if first.kind == "web":
        # Clay there makes it the other half's: nothing to cut again in any copy.
        text = tell("remedy.clay_up", n=n, volume=units.digits(ml, 2))
        cut = tell("remedy.cut_web", n=n)
        return [
            ("clay up", text, 0.0, n * CLAY_UP_MIN, None),
            ("cut", cut, 0.0, n * CUT_MIN, None),
        ]
    options = []
    found = [pulls[p.number] for p in alike if p.number in pulls]
    if len(found) == n and min(free for _, free in found) >= 0.5:
        direction = found[0][0]
        left = sum(
            0.0 if free >= FREE_FRACTION else (1 - free) * pocket.volume_mm3
            for pocket, (_, free) in zip(alike, found, strict=True)
        )
        is_one_way = all(np.dot(direction, other) > SAME_WAY for other, _ in found)
        key = "remedy.loose_piece" if is_one_way else "remedy.loose_pieces"
        text = tell(key, n=n, direction=_words(direction))
        options.append(("loose piece", text, left, n * LOOSE_PIECE_MIN, direction))
    text = tell("remedy.clay_fill", n=n, volume=units.digits(ml, 2))
    minutes = n * CLAY_FILL_MIN + CLAY_FILL_MIN_PER_ML * ml
    options.append(("clay fill", text, 0.0, minutes, None))
    if first.kind == "bridge":
        text = tell("remedy.cut_pin", n=n)
    else:
        text = tell("remedy.slit", n=n, depth=f"{max(first.depth_mm, 1.0):.0f}")
    options.append(("cut", text, 0.0, n * CUT_MIN, None))
    return options


def _words(direction):
    x, y, z = (round(v, 2) + 0.0 for v in direction)
    return tell("plan.of_the_file_s_axes", numbers=f"{x:g}, {y:g}, {z:g}")


def _points_in(field, gaps, members):
    """Points well inside a pocket's gaps, draw frame turned back to the part's: (k, 3)."""
    length = (gaps.top_mm - gaps.bottom_mm)[members]
    members = members[length > 3 * field.pitch_mm]
    if not members.size:
        return np.empty((0, 3))
    members = members[:: max(1, members.size * 3 // N_POINTS)]
    xy = field.centre_mm(gaps.column[members])
    low, high = gaps.bottom_mm[members], gaps.top_mm[members]
    layers = [np.column_stack([xy, low + share * (high - low)]) for share in (0.2, 0.5, 0.8)]
    return np.concatenate(layers) @ field.rotation


def _best_pulls(part, draw, points):
    """For each pocket the direction in which most of it is free, and how much."""
    if not points:
        return {}
    pitch_mm = ways.longest_mm(part) / ACROSS
    vertices, faces = thin_out(part, n_triangles=20_000, cell_mm=0.5 * pitch_mm)
    no_faces = np.empty((0, 3), dtype=np.int32)
    own, _ = ways.own_directions(part)
    tried = np.concatenate([draw.frame.rotation, own, ways.lattice(count=N_LATTICE)])
    # All pockets at once: their points stand one after the other.
    every = np.concatenate(list(points.values()))
    count = np.array([len(xyz) for xyz in points.values()])
    begin = np.cumsum(count) - count
    best_way = np.zeros((len(count), 3))
    best_free = np.full(len(count), -np.inf)
    for direction in tried:
        rotation = frames.turn_to(direction)
        field = sample(vertices, faces, no_faces, rotation, pitch_mm=pitch_mm)
        turned = every @ rotation.T
        column = field.columns_at(turned[:, :2])
        skin = 0.5 * pitch_mm
        ways_out = (
            (field.highest_mm[column] <= turned[:, 2] + skin, 1.0),
            (field.lowest_mm[column] >= turned[:, 2] - skin, -1.0),
        )
        for is_free, sign in ways_out:
            free = np.add.reduceat(is_free.astype(np.int64), begin) / count
            # A later direction must be clearly better: the part's own come first.
            is_better = free > best_free + 0.01
            best_free[is_better], best_way[is_better] = free[is_better], sign * direction
    return {
        n: (tuple(float(v) for v in way), float(free))
        for n, way, free in zip(points, best_way, best_free, strict=True)
    }
