"""What the part lies in for the first pour of silicone."""

import numpy as np

from castplan.air.records import Air
from castplan.geometry.boxes import ON_BOARD_MM
from castplan.job import Job
from castplan.mould.records import Bedding
from castplan.split.records import PartingLine, Split


def choose_bedding(line: PartingLine, job: Job, *, ends_mm, upper_ml: float) -> Bedding:
    """Flat on the board, in clay or in a printed bed, and who fills the holes through the part.

    Parameters
    ----------
    line : PartingLine
    job : Job
        Whether a bed is printed, and how far the part is held over the board.
    ends_mm : (low, high)
        Bottom and top of the box's inside, draw frame.
    upper_ml : float
        Silicone over the parting. Without any, the part stands on the face that
        would have been up, and the lower half is all there is.

    Returns
    -------
    Bedding
    """
    low_mm, high_mm = ends_mm
    lowest_mm = low_mm + job.floor_mm
    is_on_board = line.kind == "level" and line.box_height_mm - lowest_mm < ON_BOARD_MM
    if upper_ml <= 0:
        kind, board_mm, mark_mm = "flat-back", line.box_height_mm, line.box_height_mm - low_mm
    elif job.bed == "printed":
        # It carries keys and plugs even where the part could lie on the board.
        kind, board_mm, mark_mm = "printed-bed", low_mm, high_mm - low_mm
    elif is_on_board:
        kind, board_mm, mark_mm = "flat-back", lowest_mm, high_mm - line.box_height_mm
    else:
        kind, board_mm, mark_mm = "clay", low_mm, high_mm - low_mm
    shut = [
        plug.number
        for plug in line.plugs
        if kind == "flat-back"
        and not plug.is_following
        and abs(plug.height_mm - board_mm) < ON_BOARD_MM
    ]
    filled = [plug.number for plug in line.plugs if plug.number not in shut]
    return Bedding(
        kind=kind,
        board_mm=float(board_mm),
        height_mm=0.0 if kind == "flat-back" else float(line.box_height_mm - low_mm),
        mark_mm=float(mark_mm),
        clay_holes=() if kind == "printed-bed" else tuple(filled),
        shut_holes=tuple(shut),
    )


def on_sticks(air: Air, split: Split) -> Bedding:
    """Standing on the sticks of gate and vents, clear of the board, in a block that is cut open."""
    box, up = split.box, split.draw.frame.rotation @ air.attitude.rest.up
    axis = int(np.argmax(np.abs(up)))
    return Bedding(
        kind="sticks",
        board_mm=float(box.low_mm[2]),
        height_mm=0.0,
        mark_mm=float(box.high_mm[axis] - box.low_mm[axis]),
        clay_holes=(),
        shut_holes=(),
    )
