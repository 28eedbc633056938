"""From the first pour to the second: turned over, release coats, sticks, silicone."""

import numpy as np

from castplan.bench.loose_steps import GRIP_MM
from castplan.step_pictures import bodies, marks
from castplan.step_pictures.bench import Act, Bench, arrow_up, beside
from castplan.step_pictures.first_half import first_holds
from castplan.step_pictures.kit import LEDGE_MM
from castplan.step_pictures.thing import Thing, plain

LONG = 2.5  # times as long as wide
OFF_MM = 6.0  # of a wall that is pulled off, from what it was on
COATS = "3\u00d7"  # as the step says


def turn(bench: Bench) -> Act:
    """Before on the left, after on the right, the turning between; what comes off lifts."""
    kit, first = bench.kit, bench.order[0]
    beside_mm = bench.size_mm[:2] / 2 + kit.board_mm + LEDGE_MM
    apart = (float(beside_mm @ np.abs(bench.right[:2])) + 8.0) * bench.right
    if beside_mm[0] > LONG * beside_mm[1]:  # what is long stands behind, not beside
        apart = np.array([0.0, beside_mm[1] + 0.6 * bench.size_mm[2] + 8.0, 0.0])
    before = bench.lying.moved(-apart)
    # On the walls, which stand on the bench now with their rims.
    after = kit.on_bench(bench.second_turn).moved(apart)
    sticks = bench.sticks("first")
    old = kit.filled(
        before,
        holds=first_holds(bench, is_poured=True),
        walls=bench.first_walls(),
        cut=bench.section(before),
        sticks=sticks,
    )
    kept = kit.filled(
        after,
        holds={bench.side(first): first},
        walls=bench.first_walls(),
        cut=bench.section(after),
        sticks=sticks,
        new=(first,),
    )
    lift = after.moved((0, 0, bench.step_mm + 8))
    things, drawn = [bench.slab(before, height_mm=bench.base_mm), old, kept], []
    if bench.bed:
        things.append(_bed_alone(bench, lift))
        top = lift.put(kit.block_between(low_mm=bench.base_mm, high_mm=kit.high_mm[2]).corners_mm)
    else:
        # The board would hide what matters: its edge alone.
        top = lift.put(kit.slab(bench.base_mm).corners_mm[:4])
        drawn.append(marks.Line(np.concatenate([top, top[:1]])))
    rise = arrow_up((*apart[:2], top[:, 2].max()), long_mm=0.5 * bench.step_mm + 12)
    drawn += _walls_off(bench, after)
    tops = max(old.corners_mm()[:, 2].max(), kept.corners_mm()[:, 2].max())
    return Act("turn", tuple(things), (*drawn, _turning(apart, tops), rise))


def _walls_off(bench, pose):
    """Edges of the walls that rods go through, pulled off along them, each with its hole."""
    kit, drawn = bench.kit, []
    frame = kit.plan.split.draw.frame
    ends_mm = np.array([kit.low_mm, kit.high_mm])
    ends_mm[:, :2] += np.array([[-1.0], [1.0]]) * kit.board_mm
    ends_mm[:, 2] = sorted(bench.first_walls())
    for piece in kit.plan.split.pieces:
        if piece.kind != "rod":
            continue
        way = frame.to_frame(np.array(piece.direction))
        axis = int(np.argmax(np.abs(way)))
        hole = np.column_stack([piece.mouth_mm, np.full(len(piece.mouth_mm), piece.end_mm)])
        hole = frame.to_frame(piece.frame.to_part(hole))
        wall = np.tile(ends_mm[0], (4, 1))
        beside = 1 - axis
        wall[1:3, beside], wall[2:, 2] = ends_mm[1, beside], ends_mm[1, 2]
        off_mm = kit.board_mm + GRIP_MM + OFF_MM  # clear of the rod's end
        wall[:, axis] = hole[:, axis] = hole[:, axis].mean() + off_mm * way[axis]
        for ring in (wall, hole):
            ring = pose.put(ring)
            drawn.append(marks.Line(np.concatenate([ring, ring[:1]])))
        start, along = pose.put(hole).mean(axis=0), pose.turn @ way
        drawn.append(marks.Arrow(np.stack([start, start + (bench.step_mm + OFF_MM) * along])))
    return drawn


def _turning(apart_mm, top_mm):
    """From what stands on the left over to what stands on the right."""
    sweep = np.radians(np.linspace(150, 25, 24))
    path = 0.8 * np.outer(np.cos(sweep), apart_mm)
    path[:, 2] = top_mm + 6 + 0.35 * np.linalg.norm(apart_mm) * np.sin(sweep)
    return marks.Arrow(path)


def _bed_alone(bench, pose):
    """Clay or printed bed without the original."""
    side = "under" if bench.side(bench.order[0]) == "over" else "over"
    whole = bench.kit.filled(pose, holds={side: bench.bed}, cut=bench.section(pose))

    def made(inside):
        found = whole.made(inside)
        return found if found == bench.bed else ""

    return Thing(whole.bodies, made, pose)


def second_holds(bench: Bench, *, is_poured: bool) -> dict:
    """What fills the box on either side of the parting about the second pour."""
    first, second = bench.order
    holds = {bench.side(first): first}
    if is_poured:
        holds[bench.side(second)] = second
    return holds


def coats(bench: Bench) -> Act:
    """Release agent on all bare silicone and on the original."""
    pose, kit = bench.turned, bench.kit
    block = kit.filled(
        pose,
        holds=second_holds(bench, is_poured=False),
        walls=bench.second_walls(),
        cut=bench.open_walls(pose),
        sticks=bench.sticks("first"),
    )
    face = bench.high_of(pose, draw_mm=kit.plan.split.line.box_height_mm)
    top = max(face, float(pose.put(kit.bounds_mm)[:, 2].max()))
    middle = pose.put(kit.bounds_mm).mean(axis=0)
    at = np.array([middle[0], middle[1], top + 8.0])
    lean = np.array([0.45 if bench.is_right else -0.45, 0.1, 0.9])
    brush = [
        plain(bodies.box(beside(at, x=-8, y=-3), beside(at, x=8, y=3, z=14)), "print", is_new=True),
        plain(bodies.box(beside(at, x=-9, y=-4, z=14), beside(at, x=9, y=4, z=20)), "tool"),
        plain(
            bodies.rod([beside(at, z=20), beside(at, z=20) + 38 * lean], diameter_mm=6.0), "board"
        ),
    ]
    reach = min(max(0.28 * bench.size_mm[0], 24.0), 45.0)
    arrows = [
        marks.Arrow(np.array([beside(at, x=s * 11, z=3), beside(at, x=s * (reach + 11), z=3)]))
        for s in (1, -1)
    ]
    dashed = bench.missing_walls(pose, bench.second_walls())
    times = marks.Letters({COATS: beside(at, z=30)}, is_square=True, lean=(-1.0, 0.6))
    things = (bench.slab(pose, height_mm=bench.end_mm), block, *brush)
    return Act("coats", things, (*dashed, *arrows, times))


def sticks(bench: Bench) -> Act:
    """Sticks that stand in the second half."""
    routes = bench.routes("second")
    pose, kit = bench.turned, bench.kit
    block = kit.filled(
        pose,
        holds=second_holds(bench, is_poured=False),
        walls=bench.second_walls(),
        cut=bench.open_walls(pose),
        sticks=bench.sticks("first", "second"),
        new=("stick",),
    )
    letters = bench.letters(lambda route: pose, labels=[route.label for route in routes])
    dashed = bench.missing_walls(pose, bench.second_walls())
    return Act("sticks", (bench.slab(pose, height_mm=bench.end_mm), block), (*dashed, *letters))


def second_pour(bench: Bench) -> Act:
    """The other silicone on the first, cut open."""
    pose, kit, second = bench.turned, bench.kit, bench.order[1]
    level = kit.low_mm[2] if second == "lower" else kit.high_mm[2]
    block = kit.filled(
        pose,
        holds=second_holds(bench, is_poured=True),
        walls=bench.second_walls(),
        cut=bench.section(pose),
        sticks=bench.sticks("first", "second"),
        new=(second,),
    )
    stream, arrows = bench.stream(pose, second, level_mm=bench.high_of(pose, draw_mm=level))
    return Act(
        "pour_second", (bench.slab(pose, height_mm=bench.end_mm), block, *stream), tuple(arrows)
    )
