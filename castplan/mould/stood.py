"""The box of a block that is cut open, as it stands for its silicone.

The side that is up at the pour of resin is the base board: on it stand the sticks of
gate and vents, and on these the part.
"""

from dataclasses import replace

import numpy as np
import shapely

from castplan.air.records import Route
from castplan.geometry import directions
from castplan.mould.boards import LEDGE_MM, cut_boards, without_turning
from castplan.mould.records import BoardsResult
from castplan.part.study import Study, sample_part
from castplan.record import Frame
from castplan.split.records import BoxResult, PartingSurface, Split

ACROSS = 256  # columns along the longest side
N_ROUND = 24  # corners of a stick's mark
TURNED = np.diag([1.0, -1.0, -1.0])  # half a turn about x


def stood_frame(rest: Frame) -> Frame:
    """The frame of the box as it stands for the silicone, half a turn from the pour of resin."""
    return Frame(rotation=TURNED @ rest.rotation)


def stood_box(box: BoxResult, draw: Frame, stood: Frame) -> BoxResult:
    """The inside of the box in another frame that is square to it."""
    ends = np.array([box.low_mm[2], box.high_mm[2]])
    flat = np.repeat(box.outline_mm, 2, axis=0)
    rings = np.column_stack([flat, np.tile(ends, len(box.outline_mm))])
    points = stood.to_frame(draw.to_part(rings))
    hull = shapely.MultiPoint(np.round(points[:, :2], 6)).convex_hull
    if box.shape == "outline":  # lies along the draw, and is hollow in places
        hull = shapely.Polygon(points[::2, :2])
    ring = shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]
    low, high = points.min(axis=0), points.max(axis=0)
    return replace(
        box,
        outline_mm=ring,
        low_mm=tuple(float(v) for v in low),
        high_mm=tuple(float(v) for v in high),
    )


def stand_boards(
    study: Study, split: Split, rest: Frame, routes: tuple[Route, ...]
) -> BoardsResult:
    """Boards of the box as it stands: the base board carries the places of the sticks.

    Parameters
    ----------
    study : Study
    split : Split
    rest : Frame
        Of the box at the pour of resin.
    routes : tuple of Route
        Of gate and vents.
    """
    part, job = study.part, study.job
    stood = stood_frame(rest)
    box = stood_box(split.box, split.draw.frame, stood)
    field = sample_part(part, stood, pitch_mm=directions.longest_mm(part) / ACROSS)
    # All of the silicone is one pour that begins on the board.
    floor = PartingSurface(
        x0_mm=box.low_mm[0],
        y0_mm=box.low_mm[1],
        step_x_mm=box.high_mm[0] - box.low_mm[0],
        step_y_mm=box.high_mm[1] - box.low_mm[1],
        heights_mm=np.full((2, 2), box.low_mm[2]),
    )
    made = without_turning(cut_boards(field, box, floor, job))
    outer = shapely.Polygon(box.outline_mm).buffer(job.board_mm, join_style="mitre")
    corner = np.array(outer.bounds[:2]) - LEDGE_MM
    angle = np.linspace(0, 2 * np.pi, N_ROUND, endpoint=False)
    around = np.column_stack([np.cos(angle), np.sin(angle)])
    sticks = []
    for route in routes:
        if route.is_open:
            foot = stood.to_frame(split.draw.frame.to_part(np.array(route.exit_mm)))[:2]
            sticks.append(foot + 0.5 * route.bore_mm * around - corner)
    boards = tuple(
        replace(board, marks_mm=(*board.marks_mm, *sticks)) if board.name == "base board" else board
        for board in made.boards
    )
    return replace(made, boards=boards, second_pour_mm=0.0)
