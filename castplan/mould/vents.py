"""The way of each opening from the cavity out of the box, and when to make it."""

import numpy as np

from castplan.air.records import Route, VentsResult
from castplan.geometry import channels
from castplan.geometry.channels import Block
from castplan.mould.off_cups import gate_ends, lead_off
from castplan.mould.records import MouldResult
from castplan.texts.told import tell

# A straw stands out at least this far, so that it can be gripped (assumed).
LEAST_STRAW_MM = 5.0
# A channel that leaves less than this beside its place goes straight up (assumed).
STRAIGHT_MM = 0.5


def route_vents(
    block: Block, mould: MouldResult, *, cup_high_mm: float, cup_mm: float = 0.0
) -> VentsResult:
    """Find the way out of every port: groove, straight, slanted, sideways, riser, none.

    A groove in the parting needs no drilling, so it is taken where the high
    point touches the parting and the parting runs upward; a point beside it takes
    one that bends over, where straight up would leave a thin web of silicone.
    Otherwise the way is straight up as the box rests; where part or a key is in it, the least
    slant that is free; where none is, sideways along the parting and up
    outside. A gate that feeds from below goes the way it was planned. A vent that
    would come out in the cone or the cup of a gate leans aside.

    Parameters
    ----------
    block : Block
        The silicone, keys in it.
    mould : MouldResult
        Its ports are led out.
    cup_high_mm : float
        Rim of the cup over the top of the box, where the gate leaves it.
    cup_mm : float
        Inside of that cup.

    Returns
    -------
    VentsResult
        In the order of `mould.ports`.
    """
    found = [_find(block, port) for port in mould.ports]
    gates = gate_ends(block, mould, [path for _, path in found], cup_mm=cup_mm)
    found = [
        lead_off(block, port, way, gates) if port.kind == "vent" else way
        for port, way in zip(mould.ports, found, strict=True)
    ]
    found = [(name, path, _face(block, name, path)) for name, path in found]
    # Resin stands at one level in cup and straws, along true up at a tilt.
    rims = {}  # of the first gate of each cavity
    for port, (_, path, _) in zip(mould.ports, found, strict=True):
        if port.kind == "gate":
            rims.setdefault(port.cavity, path[-1] + np.array([0.0, 0.0, cup_high_mm]))
    over = np.array([0.0, 0.0, block.high[2] + cup_high_mm])
    return VentsResult(
        routes=tuple(
            _record(block, port, mould, *way, rim=rims.get(port.cavity, over))
            for port, way in zip(mould.ports, found, strict=True)
        )
    )


def _find(block, port):
    """Kind and path in the rest frame for a port."""
    if port.is_riser:
        return "riser", block.to_rest(port.path_mm)
    return block.way_out(np.asarray(port.place_mm), bore_mm=port.diameter_mm)


def _face(block, name, path):
    """Face of the box that a way leaves by."""
    return "top" if name == "riser" else block.leave(path[-2], path[-1] - path[-2])[1]


def _record(block, port, mould, name, path, face, *, rim):
    exit_mm = path[-1]
    way = path[-1] - path[-2]
    way = way / max(float(np.linalg.norm(way)), 1e-9)
    straw_mm = float((rim - exit_mm) @ block.true_up) / float(block.true_up[2])
    half = _half(block, path, name)
    pour = _pour(name, half, mould)
    is_pressed_in = mould.bedding.kind == "clay"
    return Route(
        label=port.label,
        route=name,
        slant_deg=float(np.degrees(np.arccos(np.clip(way[2], -1, 1)))),
        length_mm=channels.length_of(path),
        bore_mm=port.diameter_mm,
        half=half,
        path_mm=block.to_draw(path),
        is_straight_up=float(np.abs(path[-1, :2] - path[0, :2]).max()) < STRAIGHT_MM,
        exit_face=face,
        exit_from_corner_mm=block.on_face(face, exit_mm),
        straw_mm=0.0 if port.kind == "gate" else max(straw_mm, LEAST_STRAW_MM),
        pour=pour,
        when=_when(name, half, pour, port.kind, path, is_pressed_in=is_pressed_in),
        thin_web_mm=channels.thin_web_mm(block.sheet, block.to_draw(path), bore_mm=port.diameter_mm)
        if block.is_parted
        else None,
    )


def _half(block, path, name):
    if not block.is_parted:
        return "whole"
    if name in ("groove", "sideways") or (name == "riser" and block.is_upright):
        return "both"
    exit_mm = block.to_draw(path)[-1]
    return "upper" if exit_mm[2] > channels.parting_mm(block.sheet, exit_mm) else "lower"


def _pour(name, half, mould):
    if name == "none":
        return ""
    return "first" if half in ("both", "whole", *mould.pour_order[:1]) else "second"


def _when(name, half, pour, kind, path, *, is_pressed_in):
    if name == "none":
        return tell("vent_when.none")
    # Nothing can be pressed into a board or a print.
    bed = "" if is_pressed_in else "_stuck"
    if name == "groove" and len(path) > 2:
        return tell(f"vent_when.groove_bent{bed}")
    if name in ("groove", "sideways"):
        return tell(f"vent_when.{name}{bed}")
    if name == "riser" and half == "both":
        return tell(f"vent_when.riser{bed}")
    if name == "riser":
        return tell(f"vent_when.riser_{pour}{bed}")
    thing = "cone" if kind == "gate" else "stick"
    if half == "whole":
        return tell(f"vent_when.{thing}_{name}")
    if name == "slanted":
        return tell(f"vent_when.{thing}_{pour}_slanted")
    return tell(f"vent_when.{thing}_{pour}")
