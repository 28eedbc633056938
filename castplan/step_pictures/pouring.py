"""The mould closed and standing as it is poured; the open one on its back."""

import numpy as np
import shapely

from castplan.step_pictures import bodies, marks
from castplan.step_pictures.bench import Act, Bench, arrow_down, beside
from castplan.step_pictures.body import Body
from castplan.step_pictures.thing import Thing, plain

_BAND_MM, _OFF_MM, _WEDGE_MM = 5.0, 1.2, 26.0
_STRAW_WALL_MM = 0.8
_CUP_WALL_MM, _LEAST_CUP_MM, _CUP_FULL = 1.5, 8.0, 0.75


def stand(bench: Bench) -> Act:
    """Closed between boards, propped as it is tilted, its cup on the gate."""
    return _standing(bench, is_poured=False)


def stand_and_pour(bench: Bench) -> Act:
    """The same while resin is poured."""
    return _standing(bench, is_poured=True)


def _standing(bench, *, is_poured):
    kit, plan = bench.kit, bench.kit.plan
    name = "cast" if is_poured else "close"
    if bench.block.is_open:
        return _open_mould(bench, name, is_poured=is_poured)
    turn = plan.air.attitude.frame.rotation @ plan.split.draw.frame.rotation.T
    low, high = kit.low_mm[2], kit.high_mm[2]
    is_upright = abs(turn[2, 2]) < 0.7
    t = kit.board_mm
    pose = kit.on_bench(turn, low_mm=low - t * is_upright, high_mm=high + t * is_upright)
    things = [_closed(kit, pose)]
    if is_upright:
        for ends in ((low - t, low), (high, high + t)):
            things.append(
                plain(kit.block_between(low_mm=ends[0], high_mm=ends[1]), "board", pose=pose)
            )
        things += _bands(kit, pose)
    wedge, angle = _wedge(bench, pose, beyond_mm=t * is_upright)
    things += wedge
    things.append(_bench_top(things[0], t))
    up = pose.take(np.array([[0, 0, 1.0]]))[0] - pose.take(np.zeros((1, 3)))[0]
    gates = [port for port in bench.block.ports if port.cup_mm > 0]
    arrows = []
    for number, port in enumerate(gates):
        mouth = np.asarray(kit.path_of(port))[-1]
        cup, top = _cup(kit, mouth, up, port, pose, is_full=is_poured)
        things.append(cup)
        if not number and is_poured:
            head = pose.put(top[None])[0]
            things.append(
                plain(
                    bodies.rod([head, beside(head, z=34.0)], diameter_mm=2.5), "resin", is_new=True
                )
            )
            arrows.append(arrow_down(beside(head, x=-13, z=10), long_mm=30.0))
    for route in plan.mould.vents.routes:
        if route.is_open and route.straw_mm > 0:
            things.append(_straw(route, up, pose))
    tips = {
        route.label: np.asarray(route.path_mm)[-1] + max(route.straw_mm, 0.0) * up
        for route in plan.mould.vents.routes
        if route.is_open
    }
    letters = [marks.Letters({k: pose.put(tip[None])[0] for k, tip in tips.items()})]
    return Act(name, tuple(things), (*arrows, *letters, *angle))


def _bench_top(mould, thick_mm):
    """The bench under the mould, so that a tilt is seen."""
    corners = mould.corners_mm()
    low, high = corners.min(axis=0) - 26.0, corners.max(axis=0) + 26.0
    return plain(bodies.box((*low[:2], -thick_mm), (*high[:2], 0.0)), "board")


def _closed(kit, pose):
    """Both halves on each other, the parting seen as a line."""
    channels = kit.rods((), is_void=True)
    whole = {
        "box": kit.block_between(low_mm=kit.low_mm[2], high_mm=kit.high_mm[2]),
        "under": kit.under,
        "keys": kit.keys,
        "channels": channels,
    }

    def made(inside):
        if "box" not in inside or "channels" in inside:
            return ""
        return "lower" if kit.is_under(inside) else "upper"

    return Thing(whole, made, pose)


def _bands(kit, pose):
    """Two bands round boards and mould, level at the pour."""
    axis = int(np.argmax(np.abs(pose.turn[2])))  # of the draw frame, that stands upright
    beyond = kit.board_mm + _OFF_MM
    around = kit.block_between(
        low_mm=kit.low_mm[2] - beyond, high_mm=kit.high_mm[2] + beyond, grown_mm=_OFF_MM
    )
    low, high = around.corners_mm.min(axis=0), around.corners_mm.max(axis=0)
    made = []
    for share in (0.28, 0.72):
        ends = np.stack([low - 1.0, high + 1.0])
        middle = low[axis] + share * (high[axis] - low[axis])
        ends[:, axis] = middle - _BAND_MM / 2, middle + _BAND_MM / 2
        band = {"around": around, "level": bodies.box(*ends)}
        made.append(Thing(band, lambda inside: "tool" if len(inside) == 2 else "", pose, ("tool",)))
    return made


def _wedge(bench, pose, *, beyond_mm):
    """What props the raised side up, where the box is tilted, and the angle beside it."""
    option = bench.kit.plan.air.attitude.chosen
    if not option.is_tilted:
        return [], []
    kit = bench.kit
    toward, tilt = np.radians(option.toward_deg), np.tan(np.radians(option.tilt_deg))
    ahead = np.array([np.cos(toward), np.sin(toward)])
    aside = np.array([-ahead[1], ahead[0]])
    low_mm, high_mm = kit.low_mm[2] - beyond_mm, kit.high_mm[2] + beyond_mm
    corners = pose.put(kit.block_between(low_mm=low_mm, high_mm=high_mm).corners_mm)
    below = corners[np.argsort(corners[:, 2], kind="stable")[: len(corners) // 2]]
    along = below[:, :2] @ ahead
    first = along.min()
    base = (below[:, :2].mean(axis=0) @ aside) * aside
    # Under the middle of the raised side: tilts are rarely square to the box.
    way = shapely.LineString([base + at * ahead for at in (first, along.max())])
    inside = shapely.MultiPoint(below[:, :2]).convex_hull.intersection(way)
    far = float((shapely.get_coordinates(inside) @ ahead).max()) - 0.5 * _WEDGE_MM
    ring = []
    for at, side in ((far - _WEDGE_MM, -1), (far, -1), (far, 1), (far - _WEDGE_MM, 1)):
        high = max((at - first) * tilt, 0.5)
        ring.append([*(base + at * ahead + 0.5 * side * _WEDGE_MM * aside), high])
    ring = np.array(ring)
    facets = bodies.prism([(0, 0), (1, 0), (1, 1), (0, 1)], low_mm=0, high_mm=1).facets
    body = Body(np.concatenate([ring * (1, 1, 0), ring]), facets)
    angle = marks.Letters({f"{option.tilt_deg:.0f}\u00b0": ring[1] * (1, 1, 0.5)}, is_square=True)
    return [plain(body, "board", is_new=True)], [angle]


def _cup(kit, mouth, up, port, pose, *, is_full):
    """A cup on the mouth of a gate, partly full, and the place where its resin stands."""
    top = mouth + max(kit.plan.mould.gate.cup_high_mm, _LEAST_CUP_MM) * up
    level = mouth + _CUP_FULL * (top - mouth)
    wall = 2 * _CUP_WALL_MM

    def made(inside):
        if "resin" in inside and is_full:
            return "resin"
        return "tool" if "outer" in inside and "inner" not in inside else ""

    cup = {
        "outer": bodies.rod([mouth, top], diameter_mm=port.cup_mm + wall),
        "inner": bodies.rod([mouth, top + up], diameter_mm=port.cup_mm),
        "resin": bodies.rod([mouth, level], diameter_mm=port.cup_mm),
    }
    return Thing(cup, made, pose, ("tool", "resin")), level


def _straw(route, up, pose):
    foot = np.asarray(route.path_mm)[-1]
    top = foot + route.straw_mm * up
    tube = {
        "outer": bodies.rod([foot, top], diameter_mm=route.bore_mm + 2 * _STRAW_WALL_MM),
        "inner": bodies.rod([foot - up, top + up], diameter_mm=route.bore_mm),
    }
    return Thing(
        tube, lambda inside: "stick" if "outer" in inside and "inner" not in inside else "", pose
    )


def _open_mould(bench, name, *, is_poured):
    kit = bench.kit
    pose, filled = kit.on_bench(bench.second_turn), "resin" if is_poured else ""
    block = Thing(
        {"box": kit.block_between(low_mm=kit.low_mm[2], high_mm=kit.high_mm[2]), "part": kit.part},
        lambda inside: filled if {"part", "box"} <= inside else "upper" if "box" in inside else "",
        pose,
        ("resin",) if is_poured else ("upper",),
    )
    if not is_poured:
        t = kit.board_mm
        return Act(name, (block, _bench_top(block, t)))
    rim = bench.high_of(pose, draw_mm=bench.base_mm)
    low = _pour_place(kit)
    place = pose.put(np.array([[*low, 0.0]]))[0]
    foot = np.array([place[0], place[1], rim])
    stream = plain(bodies.rod([foot, beside(foot, z=45.0)], diameter_mm=2.5), "resin", is_new=True)
    arrow = arrow_down(beside(foot, x=-13, z=8), long_mm=30.0)
    return Act(name, (block, stream), (arrow,))


def _pour_place(kit):
    """Middle of a place of the original that lies flat on the board, (2,)."""
    points, faces = kit.part.corners_mm, kit.part.facets
    flat = faces[np.ptp(points[faces][:, :, 2], axis=1) < 0.05]
    base = kit.bounds_mm[0, 2]
    flat = flat[points[flat][:, :, 2].max(axis=1) < base + 0.1]
    if not len(flat):
        return kit.bounds_mm.mean(axis=0)[:2]
    rings = shapely.unary_union(shapely.polygons(points[flat][:, :, :2]).tolist())
    inside = shapely.get_parts(rings)
    widest = max(inside, key=lambda one: round(one.area, 3))
    place = widest.representative_point()
    return np.array([place.x, place.y])
