"""The mould opened: peeled apart, what comes out of it, and the picture of the whole."""

import numpy as np

from castplan.step_pictures import marks
from castplan.step_pictures.bench import Act, Bench, about_x, arrow_up
from castplan.step_pictures.clay_and_pieces import pulled
from castplan.step_pictures.thing import Pose, Thing

_OPEN_DEG = 105.0


def open_mould(bench: Bench) -> Act:
    """The second half is peeled off the first, and the original lifted out."""
    if len(bench.order) == 1:
        return _open_one(bench)
    pose = bench.turned
    below = bench.kit.half(bench.order[0], pose)
    above = bench.kit.half(bench.order[1], _hinged(bench, pose), is_new=True)
    part, lift = _lifted(bench, pose)
    apart, pulls, names = pulled(bench, pose)
    letters = [marks.Letters(names, is_square=True)] if names else []
    drawn = (*pulls, lift, _peel(bench, pose, below), *letters)
    return Act("open", (below, above, part, *apart), drawn)


def overview(bench: Bench) -> Act:
    """The opened mould with the original between its halves, its openings marked."""
    if len(bench.order) == 1:
        opened = _open_one(bench)
        return Act("overview", opened.things, opened.marks)
    pose = bench.kit.on_bench()
    lid = _hinged(bench, pose)
    below, above = bench.kit.half("lower", pose), bench.kit.half("upper", lid)
    part, _ = _lifted(bench, pose)
    poses = {"upper": lid}
    letters = bench.letters(lambda route: poses.get(route.half, pose), is_inside=True)
    return Act("overview", (below, above, part), tuple(letters))


def casting_out(bench: Bench) -> Act:
    """The casting, with what was in gate and vents still on it."""
    kit = bench.kit
    if bench.block.is_open:
        part = bench.part_at(bench.lying, is_new=True, material="resin")
        return Act("out", (part,))
    casting = Thing(
        {
            "part": kit.part,
            "channels": kit.rods((), is_void=True),
            "box": kit.block_between(low_mm=kit.low_mm[2], high_mm=kit.high_mm[2]),
        },
        lambda inside: "resin" if "part" in inside or {"channels", "box"} <= inside else "",
        bench.lying,
        ("resin",),
    )
    return Act("out", (casting,), tuple(bench.letters(lambda route: bench.lying)))


def _hinged(bench, pose: Pose) -> Pose:
    """The half that is on top, opened about its far long side."""
    kit = bench.kit
    points = pose.put(kit.block_between(low_mm=kit.low_mm[2], high_mm=kit.high_mm[2]).corners_mm)
    face = bench.high_of(pose, draw_mm=kit.plan.split.line.box_height_mm)
    place = np.array([0.0, points[:, 1].max() + 4.0, face])
    return pose.hinged(place, about_x(-_OPEN_DEG))


def _lifted(bench, pose):
    """The original over its cavity, and the arrow that lifts it."""
    high_mm = 0.5 * np.ptp(bench.kit.bounds_mm[:, 2]) + 0.4 * bench.step_mm
    part = bench.part_at(pose.moved((0, 0, high_mm)), is_new=True)
    corners = part.corners_mm()
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return part, arrow_up((middle[0], middle[1], corners[:, 2].max() + 3), long_mm=bench.step_mm)


def _peel(bench, pose, below):
    """The way of the front edge when the upper half is opened."""
    corners = below.corners_mm()
    low, high = corners.min(axis=0), corners.max(axis=0)
    side = low[0] - 10 if bench.is_right else high[0] + 10
    sweep = np.radians(np.linspace(0, 75, 20))
    reach = 0.85 * (high[1] - low[1])
    face = bench.high_of(pose, draw_mm=bench.kit.plan.split.line.box_height_mm)
    path = [np.full(20, side), high[1] - reach * np.cos(sweep), face + reach * np.sin(sweep)]
    return marks.Arrow(np.column_stack(path))


def _open_one(bench):
    """A block of one pour, its cavity up, the original over it."""
    pose = bench.kit.on_bench(bench.second_turn)
    block = bench.kit.half(bench.order[0], pose)
    high_mm = float(np.ptp(bench.kit.bounds_mm[:, 2])) + bench.step_mm
    part = bench.part_at(pose.moved((0, 0, high_mm)), is_new=True)
    corners = part.corners_mm()
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    lift = arrow_up((middle[0], middle[1], corners[:, 2].max() + 3), long_mm=bench.step_mm)
    return Act("open", (block, part), (lift,))
