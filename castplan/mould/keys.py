"""Keys on the flange, so that the halves go together one way only."""

from itertools import pairwise

import numpy as np
import shapely

from castplan.columns import surface as surfaces
from castplan.columns.field import ColumnField
from castplan.geometry import flange, frames, slide
from castplan.job import Job
from castplan.memory import remembered
from castplan.mould.records import KeysResult, MouldResult
from castplan.split.records import PartingSurface, Split

# Less than half its diameter, or the rubber would have to be torn off it.
SUNK_FRACTION = 0.4
# Silicone left between a key and a bore.
TO_PORT_MM = 3.0


@remembered
def lay_out_keys(field: ColumnField, split: Split, mould: MouldResult, job: Job) -> KeysResult:
    """Place the keys along the box's wall, clear of part, gate, vents and loose pieces.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.
    split : Split
        Its box and the surface of its line.
    mould : MouldResult
        Its ports are kept clear; only clay takes sunk keys.
    job : Job

    Returns
    -------
    KeysResult
        Without keys where there is no room or no layout that fits one way.
    """
    outline, surface = shapely.Polygon(split.box.outline_mm), split.line.surface
    key_mm, clearance_mm = frames.keys_for(job, wall_mm=split.box.wall_mm)
    if split.is_one_pour:
        return _no_keys(job, key_mm, clearance_mm)
    sizes = {"key_mm": key_mm, "clearance_mm": clearance_mm}
    covered = flange.filled(flange.shadow_of(field))
    blocked = shapely.union_all(
        [_port_shadows(mould, surface, key_mm), _piece_shadows(split, surface, key_mm)]
    )
    room = flange.room_for_keys(outline, covered, blocked, **sizes)
    places = flange.lay_keys(outline, room, pitch_mm=job.key_pitch_mm, **sizes)
    misfit_mm, pitch_mm = None, job.key_pitch_mm
    if len(places):
        misfit = flange.misfit_mm(outline, places)
        misfit_mm = misfit if np.isfinite(misfit) else None
        away = np.linalg.norm(places[:, None] - places[None], axis=2)
        pitch_mm = float(away[away > 0].min())
    heights = read_heights(surface, places)
    return KeysResult(
        places_mm=np.column_stack([places, heights]),
        diameter_mm=key_mm,
        depth_mm=SUNK_FRACTION * key_mm,
        clearance_mm=clearance_mm,
        pitch_mm=pitch_mm,
        is_raised=mould.bedding.kind in ("flat-back", "printed-bed"),
        misfit_mm=misfit_mm,
    )


def _no_keys(job, key_mm, clearance_mm):
    """Those of a mould of one pour, which has no second half to find its place."""
    return KeysResult(
        places_mm=np.zeros((0, 3)),
        diameter_mm=key_mm,
        depth_mm=SUNK_FRACTION * key_mm,
        clearance_mm=clearance_mm,
        pitch_mm=job.key_pitch_mm,
        is_raised=True,
        misfit_mm=None,
    )


def read_heights(surface: PartingSurface, points_mm: np.ndarray) -> np.ndarray:
    """Height of the parting at points (k, 2), mm, (k,)."""
    n_y, n_x = surface.heights_mm.shape
    x = surface.x0_mm + surface.step_x_mm * np.arange(n_x)
    y = surface.y0_mm + surface.step_y_mm * np.arange(n_y)
    return surfaces.read(x, y, surface.heights_mm, points_mm)


def _port_shadows(mould, surface, key_mm):
    """Where channels pass the parting at a key's height, widened by what a key keeps off."""
    reach = SUNK_FRACTION * key_mm + TO_PORT_MM
    low, high = surface.heights_mm.min() - reach, surface.heights_mm.max() + reach
    shadows = []
    for port in mould.ports:
        for start, end in pairwise(port.path_mm):
            n = max(2, int(np.linalg.norm(end - start)))
            way = start + np.linspace(0, 1, n)[:, None] * (end - start)
            near = (way[:, 2] > low - port.diameter_mm) & (way[:, 2] < high + port.diameter_mm)
            if near.any():
                line = shapely.LineString(np.repeat(way[near][:, :2], 2, axis=0))
                shadows.append(line.buffer(0.5 * (port.diameter_mm + key_mm) + TO_PORT_MM))
    return shapely.union_all(shadows)


def _piece_shadows(split, surface, key_mm):
    """Where loose pieces pass the parting at a key's height, widened likewise."""
    balls = np.array(slide.balls_of(split.pieces, split.draw.frame)).reshape(-1, 4)
    reach = SUNK_FRACTION * key_mm + TO_PORT_MM
    away = np.abs(balls[:, 2] - read_heights(surface, balls[:, :2]))
    near = balls[away < balls[:, 3] + reach]
    spots = shapely.points(near[:, :2])
    return shapely.union_all(shapely.buffer(spots, near[:, 3] + 0.5 * key_mm + TO_PORT_MM))
