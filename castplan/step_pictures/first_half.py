"""Up to the first pour: the original lies, clay, box, keys and sticks, silicone."""

import numpy as np

from castplan.step_pictures import marks
from castplan.step_pictures.bench import Act, Bench, arrow_down, arrow_up, beside
from castplan.step_pictures.thing import Thing

DOWN = "\u25bc"  # marks the side that lies down


def lie(bench: Bench) -> Act:
    """The original over its place on the board, its down side marked."""
    pose = bench.lying
    part = bench.part_at(pose.moved((0, 0, bench.step_mm)), is_new=True, has_pieces=True)
    corners = part.corners_mm()
    low, high = corners.min(axis=0), corners.max(axis=0)
    middle = (low + high) / 2
    board_mm = bench.high_of(pose, draw_mm=bench.base_mm)
    feet = [(x, y) for x in (low[0], high[0]) for y in (low[1], high[1])]
    drops = [marks.Line(np.array([(*foot, low[2]), (*foot, board_mm)])) for foot in feet]
    press = arrow_down((middle[0], middle[1], high[2] + 4), long_mm=0.5 * bench.step_mm + 14)
    foot = corners[np.argmin(np.round(corners[:, 2] + 0.02 * corners[:, 1], 6))]
    flag = marks.Letters({DOWN: foot}, is_square=True, lean=(0.0, -1.0))
    shadow = bench.kit.footprint(pose, height_mm=bench.base_mm)
    things = (bench.slab(pose, height_mm=bench.base_mm), shadow, part)
    return Act("lie", things, (*drops, press, flag))


def bed(bench: Bench) -> Act:
    """Clay up to the line, or the printed bed, with the original in it."""
    pose = bench.lying
    side = "under" if bench.order[0] == "upper" else "over"
    holds = {side: bench.bed}
    is_printed = bench.bed == "print"
    block = bench.kit.filled(pose, holds=holds, keys=is_printed, new=(bench.bed,))
    ends = pose.put(
        bench.kit.block_between(low_mm=bench.kit.low_mm[2], high_mm=bench.kit.high_mm[2]).corners_mm
    )
    low, high = ends.min(axis=0), ends.max(axis=0)
    line_mm = bench.high_of(pose, draw_mm=bench.kit.plan.split.line.box_height_mm)
    foot = np.array([(low[0] + high[0]) / 2, low[1] - 7.0, 0.0])
    arrow = arrow_up(foot, long_mm=line_mm)
    return Act("bed", (bench.slab(pose, height_mm=bench.base_mm), block), (arrow,))


def first_holds(bench: Bench, *, is_poured: bool) -> dict:
    """What fills the box on either side of the parting about the first pour."""
    below, above = ("under", "over") if bench.order[0] == "upper" else ("over", "under")
    holds = {below: bench.bed} if bench.bed else {}
    if is_poured:
        holds[above] = bench.order[0]
    return holds


def box(bench: Bench) -> Act:
    """Walls go round."""
    pose, kit = bench.lying, bench.kit
    standing = kit.filled(
        pose,
        holds=first_holds(bench, is_poured=False),
        walls=bench.first_walls(),
        cut=bench.open_walls(pose),
        keys=bench.bed == "print",
        new=("board",),
    )
    dashed = bench.missing_walls(pose, bench.first_walls())
    ends = np.concatenate([line.path_mm for line in dashed])
    low, high = ends.min(axis=0), ends.max(axis=0)
    long_mm = bench.step_mm
    front = np.array([(low[0] + high[0]) / 2, low[1] - 2.0, 0.5 * (low[2] + high[2])])
    side_x = high[0] + 2.0 if bench.is_right else low[0] - 2.0
    side = np.array([side_x, (low[1] + high[1]) / 2, 0.5 * (low[2] + high[2])])
    out = np.array([long_mm if bench.is_right else -long_mm, 0, 0])
    arrows = [
        marks.Arrow(np.array([front - (0, long_mm, 0), front])),
        marks.Arrow(np.array([side + out, side])),
    ]
    return Act("box", (bench.slab(pose, height_mm=bench.base_mm), standing), (*dashed, *arrows))


def keys(bench: Bench) -> Act:
    """Keys, as they are set before the first pour."""
    return _keys_and_rods(bench, has_rods=False)


def rods(bench: Bench) -> Act:
    """Sticks and rods, as they stand before the first pour."""
    return _keys_and_rods(bench, has_rods=True)


def _keys_and_rods(bench, *, has_rods):
    pose, kit = bench.lying, bench.kit
    record = kit.plan.mould.keys
    things = [
        bench.slab(pose, height_mm=bench.base_mm),
        kit.filled(
            pose,
            holds=first_holds(bench, is_poured=False),
            walls=bench.first_walls(),
            cut=bench.open_walls(pose),
            sticks=bench.sticks("first") if has_rods else (),
            new=("stick",) if has_rods else (),
        ),
    ]
    arrows, letters = [], []
    if len(record.places_mm) and record.is_raised and not bench.bed:
        things.append(_raised_keys(bench, pose, is_new=not has_rods))
    if has_rods:
        labels = [route.label for route in bench.routes("first")]
        letters = bench.letters(lambda route: pose, labels=labels)
    else:
        places = pose.put(record.places_mm)
        lean = (0.3 if bench.is_right else -0.3, -1.0, 0.0)
        nearest = places[np.argmax(np.round(places @ lean, 6))]
        top = record.diameter_mm / 2 if record.is_raised else 0.0
        arrows.append(arrow_down(beside(nearest, z=top + 2.0), long_mm=bench.step_mm))
    dashed = bench.missing_walls(pose, bench.first_walls())
    return Act("rods" if has_rods else "keys", tuple(things), (*dashed, *arrows, *letters))


def _raised_keys(bench, pose, *, is_new):
    """Half-round keys that stand on the board."""

    def made(inside):
        return "stick" if "keys" in inside and "under" not in inside else ""

    return Thing(
        {"keys": bench.kit.keys, "under": bench.kit.under}, made, pose, ("stick",) if is_new else ()
    )


def first_pour(bench: Bench) -> Act:
    """Silicone in a thin stream into a corner, up to the mark; cut open."""
    pose, kit = bench.lying, bench.kit
    first = bench.order[0]
    level = kit.high_mm[2] if first == "upper" else kit.low_mm[2]
    block = kit.filled(
        pose,
        holds=first_holds(bench, is_poured=True),
        walls=bench.first_walls(),
        cut=bench.section(pose),
        sticks=bench.sticks("first"),
        new=(first,),
    )
    stream, arrows = bench.stream(pose, first, level_mm=bench.high_of(pose, draw_mm=level))
    return Act(
        "pour_first", (bench.slab(pose, height_mm=bench.base_mm), block, *stream), tuple(arrows)
    )
