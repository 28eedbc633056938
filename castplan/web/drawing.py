"""The plan's line drawings as SVG, for the cards."""

from castplan.model import Plan

_MARGIN_MM = 2.0


def sketch_svg(plan: Plan, name: str) -> str:
    """One of the plan's sketches as an SVG element, scaled by the page.

    Parameters
    ----------
    plan : Plan
    name : {"draw", "front", "side", "pour"}

    Returns
    -------
    str
        Colours come from the page's style, by class.
    """
    sketch = next(each for each in plan.sketches if each.name == name)
    points = [point for ring in sketch.outline for point in ring]
    low = [min(point[k] for point in points) - _MARGIN_MM for k in (0, 1)]
    high = [max(point[k] for point in points) + _MARGIN_MM for k in (0, 1)]
    parts = [
        _path(sketch.outline, "outline", is_closed=True),
        _path(sketch.lines, "edge", is_closed=False),
    ]
    parts.append(_path([ring for _, ring in sketch.pockets], "held", is_closed=True))
    box = f"{low[0]:.2f} {-high[1]:.2f} {high[0] - low[0]:.2f} {high[1] - low[1]:.2f}"
    return f'<svg viewBox="{box}" role="img" aria-label="the part, {name}">{"".join(parts)}</svg>'


def _path(lines, kind, *, is_closed):
    drawn = "".join(
        "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in line) + ("Z" if is_closed else "")
        for line in lines
    )
    return f'<path class="{kind}" d="{drawn}"/>'
