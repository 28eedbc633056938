"""Clay in the holes through the original, and the loose pieces that fill what no half could."""

import numpy as np

from castplan.step_pictures import bodies, marks
from castplan.step_pictures.bench import Act, Bench, arrow_down, beside
from castplan.step_pictures.first_half import first_holds
from castplan.step_pictures.thing import Pose, Thing, plain


def stop(bench: Bench) -> Act:
    """Clay in the holes that lead through the original, up to their heights."""
    pose, kit = bench.lying, bench.kit
    line, bedding = kit.plan.split.line, bench.block.bedding
    filled = [plug for plug in line.plugs if plug.number in bedding.clay_holes]
    things = [bench.slab(pose, height_mm=bench.base_mm)]
    if bench.bed:
        things.append(kit.filled(pose, holds=first_holds(bench, is_poured=False), keys=False))
    else:
        things.append(bench.part_at(pose, has_pieces=True))
    for plug in filled:
        low, high = sorted((bench.base_mm, plug.height_mm))
        body = bodies.prism(plug.rim.points_mm[:, :2], low_mm=low, high_mm=high)
        things.append(plain(body, "clay", pose=pose, is_new=True))
    tops = {
        f"H{plug.number}": pose.put(np.array([[*plug.centre_mm, plug.height_mm]]))[0]
        for plug in filled
    }
    return Act("stop", tuple(things), (*_down(bench, tops), marks.Letters(tops)))


def plug(bench: Bench) -> Act:
    """Clay in the holes across the draw."""
    pose, plan = bench.lying, bench.kit.plan
    places = {
        str(pocket.number): pose.put(np.array([pocket.centre_mm]))[0]
        for pocket in plan.split.undercuts.pockets
        if pocket.kind == "bridge"
    }
    things = (
        bench.slab(pose, height_mm=bench.base_mm),
        bench.part_at(pose, has_pieces=True),
    )
    return Act("plug", things, (marks.Letters(places, is_square=True),))


def _down(bench, places):
    return [arrow_down(beside(place, z=2.0), long_mm=bench.step_mm) for place in places.values()]


def pieces(bench: Bench) -> Act:
    """The loose pieces on their way into the original."""
    pose = bench.lying
    apart, arrows, names = pulled(bench, pose, is_in=True)
    things = (bench.part_at(pose), *apart)
    return Act("pieces", things, (*arrows, marks.Letters(names, is_square=True)))


def pulled(bench: Bench, pose: Pose, *, is_in: bool = False) -> tuple[list[Thing], list, dict]:
    """Each loose piece drawn out of its place, an arrow along its way, and its letters.

    Parameters
    ----------
    bench : Bench
    pose : Pose
        Of the mould or the original.
    is_in : bool
        The arrow leads inward.
    """
    frame, things, arrows, names = bench.kit.plan.split.draw.frame, [], [], {}
    for piece, body in zip(bench.kit.plan.split.pieces, bench.kit.piece_bodies, strict=True):
        way = pose.turn @ frame.to_frame(np.array(piece.direction)[None])[0]
        out = pose.moved((piece.end_mm - piece.low_mm + 6.0) * way)
        thing = plain(body, "stick", pose=out, is_new=True)
        things.append(thing)
        corners = thing.corners_mm()
        far = corners[np.argmax(np.round(corners @ way, 6))]
        middle = corners.mean(axis=0)
        end = middle + way * float((far - middle) @ way)
        path = np.stack([end + 4.0 * way, end + (4.0 + bench.step_mm) * way])
        arrows.append(marks.Arrow(path[::-1] if is_in else path))
        names[piece.label] = middle
    return things, arrows, names
