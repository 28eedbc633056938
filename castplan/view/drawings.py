"""The plan's drawings as SVG within the page: what stays to see where there is no 3D picture."""

from html import escape

import numpy as np

from castplan.part.records import Sketch
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import formats

_ROOM = 0.05  # round a drawing, as a share of its longer side
_MAX_NUMBERED = 24


def drawing(plan: Plan, name: str) -> str:
    """One drawing in its frame, with a caption; empty where the plan has none of that name.

    Parameters
    ----------
    plan : Plan
    name : {"draw", "front", "side", "pour"}
    """
    sketch = next((one for one in plan.sketches if one.name == name), None)
    if sketch is None:
        return ""
    box = _box(plan, name)
    low, high = box.min(axis=0), box.max(axis=0)
    room = _ROOM * float((high - low).max())
    size = high - low + 2 * room
    type_mm = 0.035 * float(size.max())
    origin = np.array([low[0] - room, high[1] + room])
    body = [_path([box], "box", origin), *_silicone(plan, name, origin)]
    body.append(_path(sketch.outline, "part", origin))
    body.append(_path(sketch.lines, "edge", origin, is_closed=False))
    body += _pockets(sketch, origin, type_mm)
    if name == "pour":
        body += _openings(plan, origin, type_mm)
    seen = say(f"drawing.{name}")
    title = escape(say("drawing.of_part", part=plan.part.name, seen=seen))
    return (
        f'<figure class="drawing"><svg viewBox="0 0 {size[0]:.2f} {size[1]:.2f}" role="img" '
        f'aria-label="{title}">\n' + "\n".join(body) + f"\n</svg>"
        f"<figcaption>{escape(formats.capital(seen))}</figcaption></figure>"
    )


def _box(plan, name):
    if name == "pour":
        return plan.mould.block.box_view_mm
    low, high = plan.mould.block.low_mm, plan.mould.block.high_mm
    a, b = {"draw": (0, 1), "front": (0, 2), "side": (1, 2)}[name]
    if name == "draw":
        return plan.split.box.outline_mm
    return np.array([(low[a], low[b]), (high[a], low[b]), (high[a], high[b]), (low[a], high[b])])


def _silicone(plan, name, origin):
    """The split on the wall towards the eye."""
    surface = plan.split.line.surface
    if name == "front":
        line = np.column_stack([surface.x_mm, surface.heights_mm[0]])
    elif name == "side":
        line = np.column_stack([surface.y_mm, surface.heights_mm[:, -1]])
    else:
        return []
    return [_path([line], "split", origin, is_closed=False)]


def _pockets(sketch: Sketch, origin, type_mm):
    out, numbered = [], {}
    for number, ring in sketch.pockets:
        out.append(_path([ring], "pocket", origin))
        largest = numbered.get(number)
        if largest is None or np.ptp(ring, axis=0).sum() > np.ptp(largest, axis=0).sum():
            numbered[number] = ring
    for number, ring in list(numbered.items())[:_MAX_NUMBERED]:
        middle = 0.5 * (ring.min(axis=0) + ring.max(axis=0))
        out.append(_label(middle, str(number), "square", origin, type_mm))
    return out


def _openings(plan, origin, type_mm):
    """Labels where the channels leave the box."""
    out = []
    for port, path_mm in air_view.port_ways(plan)[:_MAX_NUMBERED]:
        mouth = air_view.as_it_rests(plan, path_mm)[-1]
        out.append(_label(mouth, port.label, "round", origin, type_mm))
    return out


def _label(place, text, shape, origin, type_mm):
    x, y = place[0] - origin[0], origin[1] - place[1]
    high = 1.35 * type_mm
    wide = high + 0.6 * type_mm * (len(text) - 1)
    corner = high / 2 if shape == "round" else 0
    return (
        f'<rect class="plate {shape}" x="{x - wide / 2:.2f}" y="{y - high / 2:.2f}" '
        f'width="{wide:.2f}" height="{high:.2f}" rx="{corner:.2f}"/>'
        f'<text x="{x:.2f}" y="{y + 0.36 * type_mm:.2f}" font-size="{type_mm:.2f}" '
        f'text-anchor="middle">{escape(text)}</text>'
    )


def _path(rings, kind, origin, *, is_closed=True):
    """One path of rings; points that fall together at a tenth of a millimetre once."""
    if not len(rings):
        return ""
    # All at once: a dense mesh has thousands of short lines.
    points = np.concatenate(rings)
    points = np.round(np.column_stack([points[:, 0] - origin[0], origin[1] - points[:, 1]]), 1)
    first = np.cumsum([0, *map(len, rings[:-1])])
    is_first = np.zeros(len(points), dtype=bool)
    is_first[first] = True
    kept = is_first | (points != np.roll(points, 1, axis=0)).any(axis=1)
    close = "Z" if is_closed else ""
    parts = [
        f"{close if k else ''}M{x:g} {y:g}" if begins else f"L{x:g} {y:g}"
        for k, ((x, y), begins) in enumerate(
            zip((points[kept] + 0.0).tolist(), is_first[kept].tolist(), strict=True)
        )
    ]
    return f'<path class="{kind}" d="{"".join(parts)}{close}"/>'
