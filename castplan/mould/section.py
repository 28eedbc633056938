"""Cuts through the assembly for its pictures."""

from itertools import pairwise

import numpy as np
import shapely

from castplan.columns import surface as surfaces
from castplan.geometry.block import cup_depth_mm
from castplan.memory import remembered
from castplan.mould.cut import Cut
from castplan.mould.records import Section, Slit
from castplan.mould.section_pieces import piece_cuts
from castplan.part.records import Part

N_ACROSS = 161  # points of the parting at least
STRAIGHT_MM = 0.01
# A cut with less of the part than this share of the middle one shows nothing.
SHOWS_FRACTION = 0.3
GRAZES = 0.03  # of the part's length, from an end of it (assumed)
# Shares of the part's length at which a cut is tried, and by how much more of the surface it
# must cut there to be told instead of the one through the gate (assumed).
TRIED = (0.5, 0.35, 0.65, 0.2, 0.8)
SHOWS_MORE = 1.5


@remembered
def cut_sections(part: Part, cut: Cut, slit: Slit | None = None) -> tuple[Section, ...]:
    """Cut along x and along y, through the gate where the part shows there, else midway.

    One of the two goes where much more of the part is cut, as through its slats.

    Parameters
    ----------
    part : Part
    cut : Cut
        As solids are cut by it.
    slit : Slit, optional
        Of a block that is cut open: all of its silicone is told as the upper half's,
        and for the parting only what the knife cuts.

    Returns
    -------
    tuple of Section
        "front" and "side".
    """
    surface, box, keys = cut.surface, cut.box, cut.keys
    points = part.vertices_mm @ cut.frame.rotation.T
    faces = np.concatenate([part.faces, part.cap_faces])
    middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
    # An open mould has no gate.
    way = next((_way_of(cut, port) for port in cut.ports if port.kind == "gate"), middle[None])
    sections = []
    places = _places(points, faces, way, cut)
    for name, along, across in (("front", 0, 1), ("side", 1, 0)):
        at = places[across]
        walls = _wall_cut(box, along, at)
        step_mm = (surface.step_x_mm, surface.step_y_mm)[along]
        n = max(N_ACROSS, int(2 * (walls[1] - walls[0]) / step_mm))
        run = np.linspace(*walls, n)
        xy = np.empty((n, 2))
        xy[:, along], xy[:, across] = run, at
        part_rings = plane_cut(points, faces, axis=across, at_mm=at)
        parting = _thinned(np.column_stack([run, _heights(surface, xy)]))
        bores = _bores(cut, along, across, at)
        key_rings = _key_cuts(keys, along, across, at)
        block = shapely.box(walls[0], box.low_mm[2], walls[1], box.high_mm[2])
        loose = piece_cuts(part, cut, along=along, at_mm=at)
        taken = [ring for _, ring in (*bores, *loose)]
        upper, lower = _halves(block, parting, part_rings, taken, key_rings, keys.is_raised)
        if slit is not None:
            upper, lower = _joined(upper, lower), ()
            parting = _knifed(parting, slit, along, at)
        sections.append(
            Section(
                name=name,
                at_mm=at,
                part_mm=tuple(part_rings),
                parting_mm=parting,
                low_corner_mm=(walls[0], box.low_mm[2]),
                high_corner_mm=(walls[1], box.high_mm[2]),
                upper_mm=upper,
                lower_mm=lower,
                ports_mm=bores,
                keys_mm=key_rings,
                loose_mm=tuple(loose),
            )
        )
    return tuple(sections)


def _where(points, faces, across, gate_mm):
    """The gate's place, unless the cut there barely meets the part or grazes an end of it."""
    low_mm, high_mm = float(points[:, across].min()), float(points[:, across].max())
    middle_mm = 0.5 * (low_mm + high_mm)
    if min(gate_mm - low_mm, high_mm - gate_mm) < GRAZES * (high_mm - low_mm):
        return middle_mm
    areas = [
        sum(shapely.Polygon(ring).area for ring in plane_cut(points, faces, axis=across, at_mm=at))
        for at in (gate_mm, middle_mm)
    ]
    return gate_mm if areas[0] >= SHOWS_FRACTION * areas[1] else middle_mm


def _way_of(cut, port):
    """The way that a port really runs, (k, 3)."""
    routes = {route.label: np.asarray(route.path_mm) for route in cut.routes}
    return routes.get(port.label, np.asarray(port.path_mm))


def _places(points, faces, way_mm, cut):
    """Where the two cuts stand, across x and across y: through the gate, but for one of them
    where another place shows much more, or a loose piece; not the one that the gate runs
    along."""
    found, gains = {}, {}
    aside_mm = np.ptp(way_mm[:, :2], axis=0)
    for across in (0, 1):
        found[across] = _where(points, faces, across, float(way_mm[0, across]))
        if aside_mm[across] < aside_mm[1 - across]:
            continue
        low, high = points[:, across].min(), points[:, across].max()
        tried = [float(low + share * (high - low)) for share in TRIED]
        own_mm, *lengths = (
            _cut_mm(points, faces, across, at_mm) for at_mm in (found[across], *tried)
        )
        gains[across] = max(lengths) / max(own_mm, 1e-9), tried[int(np.argmax(lengths))]
    for piece in cut.pieces[:1]:  # along it, from the side that it is pulled out of
        across = int(np.argmin(np.abs(cut.frame.to_frame(np.asarray(piece.direction))[:2])))
        if across in gains:
            return found | {across: float(piece.out_mm[across])}
    across = max(gains, key=lambda each: round(gains[each][0], 6))
    if gains[across][0] > SHOWS_MORE:
        found[across] = gains[across][1]
    return found


def _cut_mm(points, faces, axis, at_mm):
    """Length of all that a plane cuts of a surface."""
    start, end = _lines_cut(points, faces, axis=axis, at_mm=at_mm).transpose(1, 0, 2)
    return float(np.linalg.norm(end - start, axis=1).sum())


def _lines_cut(points, faces, *, axis, at_mm):
    """Where a plane cuts facets, in the two other axes, (k, 2, 2)."""
    # A vertex on the plane counts as above it, so that no edge is cut in two.
    above = points[:, axis] >= at_mm
    crossed = faces[above[faces].any(axis=1) & ~above[faces].all(axis=1)]
    edges = np.stack([crossed, np.roll(crossed, -1, axis=1)], axis=2)
    is_cut = above[edges[..., 0]] != above[edges[..., 1]]
    ends = np.sort(edges[is_cut].reshape(-1, 2), axis=1)  # one order, so both facets agree
    low, high = points[ends[:, 0]], points[ends[:, 1]]
    t = (at_mm - low[:, axis]) / (high[:, axis] - low[:, axis])
    return np.delete(low + t[:, None] * (high - low), axis, axis=1).reshape(-1, 2, 2)


def plane_cut(points_mm, faces, *, axis: int, at_mm: float) -> list[np.ndarray]:
    """Rings of a closed surface cut square to an axis.

    Parameters
    ----------
    points_mm : (n, 3)
    faces : (m, 3)
    axis : int
    at_mm : float

    Returns
    -------
    list of (k, 2) float64
        In the two other axes, in their order; first point not repeated.
    """
    cut = _lines_cut(points_mm, faces, axis=axis, at_mm=at_mm)
    if not len(cut):
        return []
    area = _area_within(shapely.linestrings(cut))
    return [
        shapely.get_coordinates(ring)[:-1]
        for piece in shapely.get_parts(area)
        for ring in (piece.exterior, *piece.interiors)
    ]


def _area_within(lines):
    """What cut edges enclose, even-odd."""
    try:
        return shapely.build_area(shapely.GeometryCollection(list(lines)))
    except shapely.GEOSException:
        # A mesh that passes through itself: its cut edges cross between their ends.
        return shapely.build_area(shapely.union_all(lines))


def _halves(block, parting, part_rings, bores, key_rings, is_raised):
    """Rings of the silicone of both halves in the cut."""
    x0, bottom, x1, _ = block.bounds
    under = shapely.Polygon([(x0, bottom - 1.0), *parting, (x1, bottom - 1.0)]).buffer(0)
    keys = shapely.union_all([shapely.Polygon(ring) for ring in key_rings])
    under = under.union(keys) if is_raised else under.difference(keys)
    part = shapely.Polygon()
    for ring in part_rings:
        part = part.symmetric_difference(shapely.Polygon(ring).buffer(0))
    void = block.difference(part)
    drill = shapely.union_all([shapely.Polygon(ring) for ring in bores])
    sides = (void.difference(under), void.intersection(under))
    return tuple(_rings(side.difference(drill)) for side in sides)


def _joined(upper, lower):
    """Rings of both halves as one, without the line between them."""
    shapes = [_even_odd(rings).buffer(STRAIGHT_MM) for rings in (upper, lower)]
    return _rings(shapely.union_all(shapes).buffer(-STRAIGHT_MM))


def _even_odd(rings):
    shape = shapely.Polygon()
    for ring in rings:
        shape = shape.symmetric_difference(shapely.Polygon(ring).buffer(0))
    return shape


def _knifed(parting, slit, along, at):
    """What the knife cuts of the line of the parting, (k, 2); nothing behind where it stops."""
    axis = int(np.argmax(np.abs(slit.way)))
    sense = slit.way[axis]
    if axis != along:
        return parting if sense * at >= slit.stop_mm else parting[:0]
    end = sense * slit.stop_mm
    at_end = (end, float(np.interp(end, *parting.T)))
    kept = parting[sense * parting[:, 0] > slit.stop_mm]
    return np.vstack([[at_end], kept] if sense > 0 else [kept, [at_end]])


def _pieces(shape):
    return [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon" and p.area > 1e-3]


def _rings(shape):
    return tuple(
        shapely.get_coordinates(ring)[:-1]
        for piece in _pieces(shape)
        for ring in (piece.exterior, *piece.interiors)
    )


def _wall_cut(box, along, at):
    """Where the line of the cut enters and leaves the box."""
    low, high = np.array(box.low_mm[:2]), np.array(box.high_mm[:2])
    ends = np.array([low, high])
    ends[:, 1 - along] = at
    inside = shapely.Polygon(box.outline_mm).intersection(shapely.LineString(ends))
    bounds = inside.bounds
    return float(bounds[along]), float(bounds[2 + along])


def _thinned(line):
    """A line without the points that lie straight between others, ends kept."""
    return shapely.get_coordinates(shapely.LineString(line).simplify(STRAIGHT_MM))


def _heights(surface, xy):
    n_y, n_x = surface.heights_mm.shape
    x = surface.x0_mm + surface.step_x_mm * np.arange(n_x)
    y = surface.y0_mm + surface.step_y_mm * np.arange(n_y)
    return surfaces.read(x, y, surface.heights_mm, xy)


def _bores(cut, along, across, at):
    """Channels that the cut meets, each as far as it runs in the cut."""
    routes = {route.label: route for route in cut.routes}
    found = []
    for port in cut.ports:
        if port.label in routes and routes[port.label].route == "none":
            continue
        path = routes[port.label].path_mm if port.label in routes else port.path_mm
        radius = 0.5 * port.diameter_mm
        inside = [
            piece
            for start, end in pairwise(path)
            if (piece := _in_slab(start, end, across, at, radius)) is not None
        ]
        if not inside:
            continue
        shapes = [_bar(piece[:, [along, 2]], radius) for piece in inside]
        shapes += [
            shapely.Point(bend[[along, 2]]).buffer(radius)
            for bend in path[1:-1]
            if abs(bend[across] - at) <= radius
        ]
        shape = shapely.union_all(shapes)
        cup_mm = cup_depth_mm(port)
        if cup_mm > 0 and abs(path[-1, across] - at) <= radius:
            shape = shape.union(_cup(port, path, cup_mm, along))
        found += [
            (port.label, shapely.get_coordinates(piece.exterior)[:-1])
            for piece in shapely.get_parts(shape)
            if piece.geom_type == "Polygon"
        ]
    return tuple(found)


def _bar(flat, radius):
    """A leg in the cut; the round of its bore where it runs square to it."""
    leg = shapely.LineString(flat)
    return leg.buffer(radius, cap_style="flat" if leg.length > radius else "round")


def _in_slab(start, end, across, at, radius):
    """The piece of a leg within a bore's radius of the cut, (2, 3); None if none is."""
    a, b = start[across] - at, end[across] - at
    if abs(b - a) < 1e-9:
        return np.stack([start, end]) if abs(a) <= radius else None
    t0, t1 = sorted(((-radius - a) / (b - a), (radius - a) / (b - a)))
    t0, t1 = max(t0, 0.0), min(t1, 1.0)
    return np.stack([start + t * (end - start) for t in (t0, t1)]) if t0 < t1 else None


def _cup(port, path, deep_mm, along):
    """The cone of the gate's cup in the cut."""
    flat = path[-2:, [along, 2]]
    way = flat[1] - flat[0]
    length = float(np.hypot(*way))
    if length < 1e-9:
        return shapely.Polygon()
    way = way / length
    side = np.array([-way[1], way[0]])
    foot = flat[1] - deep_mm * way
    narrow, wide = 0.5 * port.diameter_mm * side, 0.5 * port.cup_mm * side
    return shapely.Polygon([foot - narrow, flat[1] - wide, flat[1] + wide, foot + narrow])


def _key_cuts(keys, along, across, at):
    """Outlines of the keys that the cut meets."""
    radius = (0.25 * keys.diameter_mm**2 + keys.depth_mm**2) / (2 * keys.depth_mm)
    sign = 1.0 if keys.is_raised else -1.0
    rings = []
    for place in keys.places_mm:
        off = place[across] - at
        half = 0.25 * keys.diameter_mm**2 - off**2
        if half <= 0:
            continue
        run = np.linspace(-np.sqrt(half), np.sqrt(half), 17)
        rise = np.sqrt(radius**2 - off**2 - run**2) - (radius - keys.depth_mm)
        rings.append(np.column_stack([place[along] + run, place[2] + sign * rise]))
    return tuple(rings)
