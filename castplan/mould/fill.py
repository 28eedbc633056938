"""Filling the cavity: frames by level, caught air, spills, thin parts, bubbles."""

import numpy as np

from castplan.air.records import (
    Air,
    AirResult,
    FillFrame,
    FillResult,
    GatePlan,
    GateResult,
    SpillBasin,
    ThinRegion,
)
from castplan.columns import contours
from castplan.columns import field as columns
from castplan.columns.flood import Filling, climb, fill_field
from castplan.columns.narrows import find_narrows
from castplan.columns.views import sample_view
from castplan.geometry import directions
from castplan.job import Job
from castplan.materials.cards import pot_life_at
from castplan.materials.fillers import resin_of
from castplan.materials.flow import gap_reach_mm, pressed_fraction, smallest_riser_mm
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Frame, record

ACROSS = 192  # columns along the longest side
N_FRAMES = 12
THIN_MM = 3.0  # walls above this fill by themselves (assumed)
N_THIN = 6
THICK_FACTOR = 1.5  # of the card's viscosity, while it cures
MIN_SPILL_FRACTION = 0.002  # of the cavity
# Gauge pressures in use for pressure casting (common practice, no source).
POT_BAR = (2.8, 4.1)


@record
class Pouring:
    """How the mould stands and is opened, and how fast its gate feeds it."""

    air: Air
    gate: GateResult


@remembered
def fill_cavity(part: Part, pouring: Pouring, draw_frame: Frame, job: Job) -> FillResult:
    """Fill the cavity through its gate, air leaving by the planned openings.

    Parameters
    ----------
    part : Part
    pouring : Pouring
    draw_frame : Frame
    job : Job

    Returns
    -------
    FillResult
        Filled, caught and open volume add up to the cavity in every frame.
    """
    air, gate = pouring.air, pouring.gate
    frame = air.attitude.frame
    filling = flood_cavity(part, frame, air.openings, air.feed)
    field = filling.field
    levels = [filling.level_at(fraction=k / N_FRAMES) for k in range(1, N_FRAMES)]
    levels.append(np.nextafter(filling.high_mm, np.inf))
    cavity_ml = field.volume_mm3 / 1000
    frames = tuple(_frame(filling, float(level)) for level in levels)
    resin = resin_of(job)
    pot_life_min, _, _ = pot_life_at(resin, temperature_c=job.shop_temperature_c)
    way_mm = float(field.high_mm[2] - field.low_mm[2])
    time_s = max(60 * pot_life_min - gate.fill_high_s, 1.0)
    thick = THICK_FACTOR * resin.viscosity_mpa_s.value
    material = {"viscosity_mpa_s": thick, "density_g_ml": resin.density_g_ml.value}
    return FillResult(
        frames=frames,
        cavity_ml=cavity_ml,
        caught_ml=frames[-1].caught_ml,
        basins=_basins(filling, frame, draw_frame),
        thin=_thin(part, draw_frame, gate, 60 * pot_life_min, material),
        bubble_mm=smallest_riser_mm(way_mm, time_s=time_s, **material),
        bubble_way_mm=way_mm,
        bubble_time_s=time_s,
        pot_bar=POT_BAR,
        pot_fraction=tuple(pressed_fraction(bar) for bar in POT_BAR),
    )


def flood_cavity(part: Part, frame: Frame, air: AirResult, feed: GatePlan) -> Filling:
    """The cavity at every level of the resin, air leaving by the planned openings.

    Parameters
    ----------
    part : Part
    frame : Frame
        +z is up at the pour.
    air, feed : records
    """
    pitch_mm = directions.longest_mm(part) / ACROSS
    field = sample_view(
        part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=pitch_mm
    )
    openings = find_openings(field, frame, air, feed)
    mouths = [
        columns.interval_at(field, frame.to_frame(air.frame.to_part(np.array(place_mm))))
        for place_mm in feed.chosen.mouths_mm
    ]
    return fill_field(field, source=mouths[0], openings=openings, others=mouths[1:])


def find_openings(field, frame: Frame, air: AirResult, feed: GatePlan) -> np.ndarray:
    """Intervals under the openings that let air out, the gate's first, (k,) int64.

    A place found on another sampling is carried on to the nearest top. A further
    gate lets air out until resin stands in it.
    """
    places = [air.peaks[k].place_mm for k in air.opened]
    places += list(air.extra_vents_mm)
    # A riser lets resin in from below, and no air out.
    places += [gate.place_mm for gate in feed.chosen.further if gate.feed != "riser"]
    return intervals_under(field, frame.to_frame(air.frame.to_part(np.array(places))))


def intervals_under(field, points) -> np.ndarray:
    """Intervals whose air an opening at points (k, 3) of the field lets out, (k,) int64.

    From the nearest top the opening is carried on upward, as its air is.
    """
    middle = field.centre_mm(field.column_of)
    found = []
    for point in points:
        across = np.linalg.norm(middle - point[:2], axis=1)
        above = np.abs(field.top_mm - point[2])
        near = int(np.argmin(np.round(np.maximum(across, 1e-9) + above, 9)))
        found.append(
            climb(
                field.first,
                field.bottom_mm,
                field.top_mm,
                field.column_of,
                field.n_x,
                near,
                field.pitch_mm,
            )
        )
    return np.array(found, dtype=np.int64)


def _frame(filling, level_mm):
    field = filling.field
    wet = filling.wet_mm(level_mm=level_mm)
    caught = filling.caught_mm(level_mm=level_mm)
    filled_ml = float(wet.sum()) * field.cell_mm2 / 1000
    caught_ml = float(caught.sum()) * field.cell_mm2 / 1000
    return FillFrame(
        level_mm=float(min(level_mm, field.high_mm[2]) - field.low_mm[2]),
        filled_ml=filled_ml,
        caught_ml=caught_ml,
        resin=_rings(field, field.bottom_mm, field.bottom_mm + wet),
        air=_rings(field, field.top_mm - caught, field.top_mm),
    )


def _rings(field, low_mm, high_mm):
    """Rings round what lies between two heights, seen from the front."""
    members = np.flatnonzero(high_mm - low_mm > 0)
    if not members.size:
        return ()
    # The lattice stands askew, so neighbouring columns fall less than a pitch
    # apart here; cells of 1.5 pitches leave no stripes.
    cell_mm = 1.5 * field.pitch_mm
    across = field.centre_mm(field.column_of[members])[:, 0]
    x0, y0 = float(field.low_mm[0]) - cell_mm, float(field.low_mm[2])
    i = np.maximum(((across - x0) // cell_mm).astype(np.int64), 0)
    low = np.rint((low_mm[members] - y0) / cell_mm).astype(np.int64)
    high = np.maximum(np.rint((high_mm[members] - y0) / cell_mm).astype(np.int64), low + 1)
    low = np.maximum(low, 0)
    depth = np.zeros((int(high.max()) + 2, int(i.max()) + 2), dtype=np.int64)
    np.add.at(depth, (low, i), 1)
    np.add.at(depth, (high, i), -1)
    rings = contours.rings(np.cumsum(depth, axis=0) > 0, x0_mm=x0, y0_mm=0.0, pitch_mm=cell_mm)
    return tuple(rings)


def _basins(filling, frame, draw_frame):
    field = filling.field
    found = filling.basins(min_mm3=MIN_SPILL_FRACTION * field.volume_mm3)
    out = []
    for basin in found:
        x, y = field.centre_mm(field.column_of[[basin.interval]])[0]
        place = draw_frame.to_frame(
            frame.to_part(np.array([x, y, field.bottom_mm[basin.interval]]))
        )
        out.append(
            SpillBasin(
                place_mm=tuple(float(v) for v in place),
                sill_mm=basin.sill_mm - float(field.low_mm[2]),
                drop_mm=basin.depth_mm,
                volume_ml=basin.volume_mm3 / 1000,
            )
        )
    return tuple(out)


def _thin(part, draw_frame, gate, time_s, material):
    """The thin regions, worst first, seen along each axis of the draw frame."""
    pitch_mm = directions.longest_mm(part) / ACROSS
    x, y, z = draw_frame.rotation
    regions = []
    for rows in ((x, y, z), (y, z, x), (z, x, y)):
        rotation = np.stack(rows)
        field = sample_view(
            part.vertices_mm, part.faces, part.cap_faces, rotation, pitch_mm=pitch_mm
        )
        for thin in find_narrows(field, limit_mm=THIN_MM):
            reach_mm = gap_reach_mm(thin.gap_mm, head_mm=gate.head_mm, time_s=time_s, **material)
            place = draw_frame.rotation @ (thin.far_mm @ rotation)
            regions.append(
                ThinRegion(
                    place_mm=tuple(float(v) for v in place),
                    gap_mm=thin.gap_mm,
                    way_mm=thin.way_mm,
                    reach_mm=reach_mm,
                    area_mm2=thin.area_mm2,
                )
            )
    regions.sort(key=lambda region: (region.reach_mm / region.way_mm, region.place_mm))
    return tuple(regions[:N_THIN])
