"""What the mould weighs, and whether it goes into pot, chamber and onto the scale."""

import numpy as np
import shapely

from castplan.bench.records import AmountsResult, EquipmentResult, Fit
from castplan.job import Job
from castplan.materials.said import said_number
from castplan.mould.records import BoardsResult, MouldResult
from castplan.record import record
from castplan.split.records import BoxResult

WAYS = ("x", "y", "draw")


def _board_density():
    return said_number(
        "build_number.board_density", value=0.75, unit="g/ml", basis="standard", low=0.6, high=0.8
    )


@record
class Boxed:
    """The mould in its box."""

    box: BoxResult
    boards: BoardsResult
    block: MouldResult
    up: np.ndarray  # (3,) draw frame, as the box rests at the pour


def check_equipment(boxed: Boxed, amounts: AmountsResult, job: Job) -> EquipmentResult:
    """Hold the mould against the shop's pot, chamber and scale.

    Into the pressure pot goes the rubber block between two boards of its own
    size, any side up; into the vacuum chamber the filled box on its base
    board, upright.

    Parameters
    ----------
    boxed : Boxed
    amounts : AmountsResult
    job : Job
        `pot_mm`, `chamber_mm`, `scale_max_g`; what is None is not checked.

    Returns
    -------
    EquipmentResult
    """
    box, boards, mould = boxed.box, boxed.boards, boxed.block
    outline = shapely.Polygon(box.outline_mm)
    size = np.array(box.high_mm) - np.array(box.low_mm)
    as_poured = WAYS[int(np.argmax(np.abs(boxed.up)))]
    fits = []
    if job.pot_mm is not None:
        block = size + np.array([0.0, 0.0, 2 * boards.thickness_mm])
        fits.append(_fit("pressure pot", job.pot_mm, block, outline, WAYS, as_poured))
    if job.chamber_mm is not None:
        base = next(board for board in boards.boards if board.name == "base board")
        standing = np.array([*base.size_mm, size[2] + boards.rim_mm + boards.thickness_mm])
        corners = shapely.box(0, 0, *base.size_mm)
        fits.append(_fit("vacuum chamber", job.chamber_mm, standing, corners, WAYS[2:], "draw"))
    density, board_density = amounts.mixes[0].density_g_ml, _board_density()
    silicone_g = (mould.lower_ml + mould.upper_ml) * density
    resin_g = (mould.part_ml + mould.ports_ml) * amounts.mixes[-1].density_g_ml
    boards_ml = (
        sum(b.count * b.size_mm[0] * b.size_mm[1] for b in boards.boards)
        * boards.thickness_mm
        / 1000
    )
    heaviest_g = max(mix.mass_g for mix in amounts.mixes)
    return EquipmentResult(
        block_g=silicone_g + resin_g,
        boxed_g=silicone_g + boards_ml * board_density.value,
        fits=tuple(fits),
        heaviest_cup_g=heaviest_g,
        is_scale_enough=None if job.scale_max_g is None else heaviest_g <= job.scale_max_g,
    )


def _fit(name, inner_mm, size, outline, ways, as_poured):
    """Best way to stand `size` in a round vessel: as poured if that fits."""
    found = []
    for way in ways:
        k = WAYS.index(way)
        if way == "draw":
            diameter = 2 * float(shapely.minimum_bounding_radius(outline))
        else:
            diameter = float(np.hypot(*np.delete(size, k)))
        height = float(size[k])
        is_fitting = diameter <= inner_mm[0] and height <= inner_mm[1]
        found.append((not is_fitting, way != as_poured, diameter, height, way))
    misses, is_other, diameter, height, way = min(found)
    return Fit(
        name=name,
        inner_mm=inner_mm,
        mould_mm=tuple(float(v) for v in size),
        is_fitting=not misses,
        way=way,
        is_as_poured=not is_other,
        need_mm=(diameter, height),
    )
