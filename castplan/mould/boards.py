"""The boards of the box: what to cut, and how far the silicone bends them."""

from dataclasses import replace

import numpy as np
import shapely

from castplan.columns.field import ColumnField
from castplan.geometry import flange
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.said import said_number
from castplan.mould.plate import Plate, bulge_mm
from castplan.mould.records import Board, BoardsResult
from castplan.split.records import BoxResult, PartingSurface

# Board above the silicone, so that it can be poured to a line.
RIM_MM = 10.0
# Base board that stands out beside the walls, for glue and clamps.
LEDGE_MM = 20.0
BULGE_LIMIT_MM = 0.5
GRAVITY_M_S2 = 9.81
POISSON = 0.3


def _modulus():
    return said_number(
        "build_number.modulus",
        value=2500.0,
        unit="MPa",
        basis="from memory",
        low=2200.0,
        high=9000.0,
    )


def cut_boards(
    field: ColumnField, box: BoxResult, surface: PartingSurface, job: Job
) -> BoardsResult:
    """Cut list of the box and the check of its walls.

    Butt joints: the two long boards cover the ends of the short ones. Base
    board and turning board are alike; the base board carries the part's
    outline. A round box is a pipe on boards; a wall along the outline is one
    strip, as long as the inside is round.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.
    box : BoxResult
    surface : PartingSurface
    job : Job

    Returns
    -------
    BoardsResult
    """
    inside = shapely.Polygon(box.outline_mm)
    height = box.high_mm[2] - box.low_mm[2] + RIM_MM
    x_mm, y_mm = (box.high_mm[k] - box.low_mm[k] for k in (0, 1))
    t = job.board_mm
    if box.shape == "rectangle":
        long_mm, short_mm = max(x_mm, y_mm), min(x_mm, y_mm)
        walls = [
            _board("long side", 2, shapely.box(0, 0, long_mm + 2 * t, height), (), job),
            _board("short side", 2, shapely.box(0, 0, short_mm, height), (), job),
        ]
    elif box.shape == "outline":
        walls = [_board("wall strip", 1, shapely.box(0, 0, inside.length, height), (), job)]
    else:
        walls = []
    outer = inside.buffer(t, join_style="mitre")
    x0, y0, x1, y1 = outer.bounds
    base = shapely.box(x0 - LEDGE_MM, y0 - LEDGE_MM, x1 + LEDGE_MM, y1 + LEDGE_MM)
    marks = [ring.exterior for ring in (inside, outer)]
    shadow = flange.shadow_of(field)
    part_marks = [
        ring
        for piece in shapely.get_parts(shadow)
        if piece.geom_type == "Polygon"
        for ring in (piece.exterior, *piece.interiors)
    ]
    boards = (
        *walls,
        _board("base board", 1, base, [*marks, *part_marks], job),
        _board("turning board", 1, base, marks, job),
    )
    density = get_card(job.silicone, kind="silicone").density_g_ml.value
    deep_mm = box.high_mm[2] - box.low_mm[2]
    pressure_kpa = density * GRAVITY_M_S2 * deep_mm / 1000
    bulge, modulus = None, _modulus()
    if box.shape == "rectangle":
        plate = Plate(
            length_mm=max(x_mm, y_mm),
            height_mm=deep_mm,
            thickness_mm=t,
            modulus_mpa=modulus.value,
            poisson=POISSON,
        )
        bulge = bulge_mm(plate, bottom_kpa=pressure_kpa, top_kpa=0.0)
    edge = np.concatenate(
        [surface.heights_mm[[0, -1]].ravel(), surface.heights_mm[:, [0, -1]].ravel()]
    )
    return BoardsResult(
        boards=boards,
        thickness_mm=t,
        kerf_mm=job.kerf_mm,
        rim_mm=RIM_MM,
        pressure_kpa=pressure_kpa,
        bulge_mm=bulge,
        bulge_limit_mm=BULGE_LIMIT_MM,
        modulus_mpa=modulus,
        first_pour_mm=float(box.high_mm[2] - edge.min()),
        second_pour_mm=float(edge.max() - box.low_mm[2]),
    )


def beyond_corner_mm(box: BoxResult, boards: BoardsResult, side: str) -> float | None:
    """How far the board of a side reaches beyond the corner inside; None where it has no ends.

    Parameters
    ----------
    box : BoxResult
    boards : BoardsResult
        Cut for it.
    side : str
        ``front``, ``right``, ``back`` or ``left``.
    """
    if box.shape != "rectangle":
        return None
    x_mm, y_mm = (box.high_mm[k] - box.low_mm[k] for k in (0, 1))
    is_long = (x_mm >= y_mm) == (side in ("front", "back"))
    return boards.thickness_mm if is_long else 0.0


def without_turning(boards: BoardsResult) -> BoardsResult:
    """The same where no second pour stands on a board of its own.

    Parameters
    ----------
    boards : BoardsResult
    """
    left = tuple(board for board in boards.boards if board.name != "turning board")
    return replace(boards, boards=left)


def _board(name, count, shape, marks, job):
    x0, y0, x1, y1 = shape.bounds
    corner = np.array([x0, y0])

    def ring(line):
        return shapely.get_coordinates(line)[:-1] - corner

    shape = shapely.orient_polygons(shape)
    cut = shapely.orient_polygons(shape.buffer(0.5 * job.kerf_mm, join_style="mitre"))
    return Board(
        name=name,
        count=count,
        size_mm=(x1 - x0, y1 - y0),
        outline_mm=ring(shape.exterior),
        cut_mm=ring(cut.exterior),
        marks_mm=tuple(ring(mark) for mark in marks),
    )
