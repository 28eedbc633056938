"""What the view draws, packed: meshes on a grid of 16 bits, values per facet, lines, numbers."""

import numpy as np

from castplan import palette
from castplan.columns.contours import crease_edges
from castplan.geometry.block import cup_depth_mm
from castplan.memory import remembered
from castplan.part.faces import name_faces
from castplan.part.records import Part
from castplan.plan_record import Plan
from castplan.view.pack import packed
from castplan.view.records import Scene
from castplan.view.shade import open_fraction
from castplan.view.surface_maps import shown_part
from castplan.words import air as air_view
from castplan.words import scene as scene_view
from castplan.words.scene import MapClass

_GRID = 65535  # steps of 16 bits
_FINE = {"mm": 0.01, "deg": 0.01, "": 1.0}  # what a value per facet is told to
_SHARE = 65534  # steps of a height in the film; one more is past all
_SLACK = 1e-6
_OPEN = 127  # steps of the light that comes to a facet
_LINE_DIGITS = 2
_LEAST_WAY_MM = 1e-3
# Edges that bend more than this are drawn; on a scan only those that span this
# share of its longest side, and none where there are too many.
_SHARP_DEG = 28.0
_TEXTURE_FRACTION = 0.08
_DENSE_TRIANGLES = 10_000
_MOST_EDGES = 20_000
# Rubber is drawn lighter than its colour on paper, so that hatches show.
_HALVES = {"upper half": "upper", "lower half": "lower", "mould": "upper"}
_HALVES |= {"upper lip": "upper", "lower lip": "lower"}

_LOOKS = {
    "colours": {
        "part": palette.PART,
        "upper": palette.UPPER,
        "lower": palette.LOWER,
        "loose": palette.LOOSE,
        "ports": "#7fb2d6",
        "keys": palette.CLAY,
        "ink": palette.INK,
    },
    "cuts": {
        "cutPart": {"colour": palette.PART, "hatch": 0},
        "cutUpper": {"colour": "#a9d8f3", "hatch": 2},
        "cutLower": {"colour": "#f3cf85", "hatch": 5},
        "cutLoose": {"colour": "#9fd8c6", "hatch": 3},
        "cutPorts": {"colour": "#cfe3f2", "hatch": 4},
        "level": {"colour": "#c3baa6", "hatch": 6},
    },
}


def bare_data(part: Part) -> dict:
    """What `CastView` takes of a part alone, while its plan is made.

    Parameters
    ----------
    part : Part

    Returns
    -------
    dict
        As `view_data`, in the file's own axes, with nothing but the part.
    """
    vertices_mm, faces, _ = shown_part(part)
    none = packed(np.zeros(len(faces)))
    texture_mm = _TEXTURE_FRACTION * max(part.check.extent_mm)
    mesh = _mesh(vertices_mm, faces, texture_mm if len(faces) > _DENSE_TRIANGLES else 0.0)
    return {
        "meshes": {"part": mesh},
        "facets": {
            "basin": none,
            "floor": none,
            "cutOff": none,
            "open": packed(np.rint(_OPEN * open_fraction(vertices_mm, faces))),
        },
        "maps": [],
        "film": None,
        "box": None,
        "keys": {"places": [], "isRaised": True},
        "ports": [],
        "faces": [],
        "show": None,
        "pieces": [],
        "parting": [],
        **_LOOKS,
    }


def view_data(plan: Plan, scene: Scene) -> dict:
    """Everything that `CastView` takes; `spelled` makes it ready for JSON.

    Parameters
    ----------
    plan : Plan
    scene : Scene

    Returns
    -------
    dict
        Lengths in mm, draw frame. Arrays are `Packed`; points of a mesh are
        ``low + step * number``.
    """
    surface, film = scene.surface, scene.film
    check = plan.part.check
    is_dense = check.n_triangles > _DENSE_TRIANGLES
    texture_mm = _TEXTURE_FRACTION * max(check.extent_mm) if is_dense else 0.0
    meshes = {"part": _mesh(surface.vertices_mm, surface.faces, texture_mm)}
    for half in scene.halves:
        meshes[_HALVES.get(half.name, half.name.removeprefix("loose "))] = _mesh(
            half.vertices_mm, half.faces, texture_mm
        )
    span = max(float(film.level_mm[-1]), 1e-3)
    return {
        "meshes": meshes,
        "isCut": plan.split.is_cut,
        "facets": {
            "caught": packed(surface.is_caught),
            "basin": packed(surface.basin),
            "floor": packed(_heights(surface.air_floor_mm / span)),
            "cutOff": packed(_heights(surface.cut_off_mm / span)),
            "open": packed(np.rint(_OPEN * surface.open_fraction)),
            "pocket": packed(surface.pocket),
            "peak": packed(surface.peak),
        },
        "maps": [_map(surface, one) for one in scene_view.surface_maps(plan, scene)],
        "film": {
            "up": list(film.up),
            "low": film.low_mm,
            "span": span,
            "levels": np.round(film.level_mm, 3).tolist(),
            "rising": np.round(film.rising_mm, 3).tolist(),
            "basins": np.round(film.basin_mm, 3).tolist(),
            "sills": np.round(film.sill_mm, 3).tolist(),
            "classes": [_class(one) for one in scene_view.film_classes()],
        },
        "box": {
            "outline": np.round(plan.split.box.outline_mm, 3).tolist(),
            "low": plan.split.box.low_mm[2],
            "high": plan.split.box.high_mm[2],
        },
        "keys": {
            "places": np.round(plan.mould.keys.places_mm, 3).tolist(),
            "diameter": plan.mould.keys.diameter_mm,
            "depth": plan.mould.keys.depth_mm,
            "isRaised": plan.mould.keys.is_raised,
        },
        "ports": _ports(plan),
        "faces": [
            {"name": str(face.name), "way": _in_draw(plan, face.direction)}
            for face in name_faces(plan.part, plan.split.draw.frame).faces
        ],
        "show": None if plan.show.direction is None else _in_draw(plan, plan.show.direction),
        "pieces": [
            {
                "name": piece.label,
                "way": _in_draw(plan, piece.direction),
                "far": round(piece.end_mm - piece.low_mm, 2),
            }
            for piece in plan.split.pieces
        ],
        "parting": _parting(plan),
        **_LOOKS,
    }


@remembered
def _mesh(vertices_mm, faces, texture_mm):
    """Points and facets, and the edges worth a line."""
    edges = crease_edges(vertices_mm, faces, angle_deg=_SHARP_DEG, shortest_mm=texture_mm)
    if len(edges) > _MOST_EDGES:
        edges = edges[:0]
    low = vertices_mm.min(axis=0)
    step = np.maximum(np.ptp(vertices_mm, axis=0), 1e-6) / _GRID
    points = np.rint((vertices_mm - low) / step).astype(np.uint16)
    return {
        "low": low.tolist(),
        "step": step.tolist(),
        "points": packed(points),
        "faces": packed(faces),
        "edges": packed(edges),
    }


def _parting(plan):
    """The split round the part and round its holes, as closed lines."""
    rims = [*plan.split.line.outlines, *(plug.rim for plug in plan.split.line.plugs)]
    lines = [np.column_stack([rim.points_mm, rim.line_mm]) for rim in rims]
    return [np.round(np.vstack([line, line[:1]]), _LINE_DIGITS).tolist() for line in lines]


def _map(surface, one):
    step = _FINE[one.unit]
    return {
        "key": one.key,
        "unit": one.unit,
        "step": step,
        "values": packed(np.rint(getattr(surface, one.field) / step).astype(np.int64)),
        "classes": [_class(item) for item in one.classes],
    }


def _class(item: MapClass):
    return {
        "letter": item.letter,
        "mm": item.mm,
        "inch": item.inch,
        "colour": item.colour,
        "hatch": item.hatch,
        "from": item.low,
    }


def _in_draw(plan, direction):
    """A direction of the part in the draw frame."""
    return np.round(plan.split.draw.frame.to_frame(np.asarray(direction)), 6).tolist()


def _heights(share):
    """Heights as steps of the film's; one past all where nothing happens."""
    steps = np.rint(_SHARE * np.clip(share, 0, 1))
    return np.where(share > 1 + _SLACK, _SHARE + 1, steps)


def _ports(plan):
    """The channels of gate and vents as they run, from the cavity outward."""
    shut = {route.label for route in plan.mould.vents.routes if route.route == "none"}
    ports = []
    for port, path_mm in air_view.port_ways(plan):
        deep_mm = cup_depth_mm(port)
        if port.label in shut or np.linalg.norm(path_mm[-1] - path_mm[0]) < _LEAST_WAY_MM:
            continue
        ports.append(
            {
                "label": port.label,
                "path": np.round(path_mm, 3).tolist(),
                "bore": port.diameter_mm,
                "cup": {"deep": deep_mm, "wide": port.cup_mm} if deep_mm > 0 else None,
            }
        )
    return ports
