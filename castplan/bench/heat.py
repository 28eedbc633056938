"""How hot the resin can get, where the part is thick, and what its place does to it."""

import math

import numpy as np
from scipy import special

from castplan.bench.records import HeatResult, WeighResult
from castplan.columns.field import sample
from castplan.columns.thickness import length_through, points_inside
from castplan.errors import InputError
from castplan.geometry import directions, frames
from castplan.job import Job
from castplan.materials.cards import Card, demould_at, pot_life_at
from castplan.materials.fillers import resin_of
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Sourced
from castplan.split.records import DrawResult
from castplan.texts import code_key
from castplan.texts.told import tell

# Of a flat surface in full sun: sunshine [W/m2] (IEC 60068-2-5, from memory), what a light
# and a dark one gain of it [m2 K/W], and what goes to the sky [C] (sol-air temperature,
# ASHRAE Handbook, Fundamentals, from memory).
SUN_W_M2 = 1120.0
GAIN_LIGHT_M2K_W, GAIN_DARK_M2K_W = 0.026, 0.052
TO_THE_SKY_C = 3.9
SHADE_C = 45.0


def sun_c(air_c: float, *, gain_m2k_w: float) -> float:
    """Sol-air temperature of a flat surface in full sun [C]: the warmest it gets.

    Parameters
    ----------
    air_c : float
        [C]
    gain_m2k_w : float
        Absorptance over the coefficient of heat transfer [m2 K/W].

    Examples
    --------
    >>> round(sun_c(45.0, gain_m2k_w=0.026), 1)
    70.2
    """
    return air_c + gain_m2k_w * SUN_W_M2 - TO_THE_SKY_C


_DECK_C = tuple(sun_c(SHADE_C, gain_m2k_w=gain) for gain in (GAIN_LIGHT_M2K_W, GAIN_DARK_M2K_W))
# Where a part may live, and how warm it gets there: value, low, high [C], basis; the
# texts of the numbers say the standards.
PLACES = {
    "indoors": (40.0, None, None, "from memory"),
    "shade": (SHADE_C, None, None, "from memory"),
    "cabin": (55.0, None, None, "from memory"),
    "behind-glass": (70.0, 70.0, 71.0, "from memory"),
    "on-deck": (sum(_DECK_C) / 2, *_DECK_C, "computed"),
}
# Of resins and of silicone, k / (rho c): 0.2 W/(m K), 1050 kg/m3, 1800 J/(kg K)
# (conductivities of unfilled polymers lie at 0.15 to 0.25; from memory).
DIFFUSIVITY_MM2_S = 0.106
THIN_MM = 3.0
N_AGES = 48  # of heat, over which its mean is taken; 0.1 % of the share
# What still air and radiation take from a cup (5 to 15 are in use; from memory).
STILL_AIR_W_M2K = 10.0
# Points across the longest side when thickness is sampled, and cells of the map.
SAMPLES_ACROSS = 96
MOST_POINTS = 60_000
# Lines through each point, in the draw frame: its axes, then the diagonals of a
# cube's faces and of the cube. Where two walls meet in a corner every axis runs
# along a wall, and only a diagonal tells how thick the corner is.
WAYS_THROUGH = (
    (0, 0, 1),
    (1, 0, 0),
    (0, 1, 0),
    *((a, b, 0) for a, b in ((1, 1), (1, -1))),
    *((a, 0, b) for a, b in ((1, 1), (1, -1))),
    *((0, a, b) for a, b in ((1, 1), (1, -1))),
    *((1, a, b) for a in (1, -1) for b in (1, -1)),
)
CELLS_ACROSS = 48


def adiabatic_rise(card: Card) -> Sourced | None:
    """Temperature rise if no heat leaves: heat of reaction over specific heat.

    A ceiling: a real section loses heat to the mould.

    Parameters
    ----------
    card : Card

    Returns
    -------
    Sourced or None
        [C]; None where the card gives no heat of reaction.
    """
    heat, capacity = card.reaction_heat_kj_kg, card.specific_heat_j_kg_k
    if heat is None or capacity is None:
        return None

    def end(number, name):
        stated = getattr(number, name)
        return number.value if stated is None else stated

    return Sourced(
        value=1000 * heat.value / capacity.value,
        low=1000 * end(heat, "low") / end(capacity, "high"),
        high=1000 * end(heat, "high") / end(capacity, "low"),
        unit="C",
        basis="computed",
        source=tell(
            "bench_number.rise_without_loss",
            heat_source=heat.source,
            capacity_source=capacity.source,
        ),
    )


def kept_share(*, thickness_mm: float, minutes: float) -> float:
    """Share of the rise without loss that the middle of a section keeps.

    A slab whose heat comes evenly over a time, in a mould that conducts as it
    does: at an age s its middle keeps erf(L / (4 sqrt(a s))) of what it was
    given (Carslaw and Jaeger, Conduction of Heat in Solids, the instantaneous
    slab source; from memory), and the mean of that over the time is closed.

    Parameters
    ----------
    thickness_mm : float
        L, of the section.
    minutes : float
        Over which the heat comes.
    """
    a = thickness_mm / 4 / math.sqrt(60 * DIFFUSIVITY_MM2_S)
    if a <= 0:
        return 0.0
    x = a / math.sqrt(minutes)
    tail = 2 * x / math.sqrt(math.pi) * math.exp(-(x**2))
    return math.erf(x) + tail - 2 * x**2 * math.erfc(x)


def kept_by_block(*, sides_mm: tuple[float, float, float], minutes: float) -> float:
    """Share of the rise without loss that the middle of a block keeps.

    As `kept_share`, with the product of the three slabs for a block (Carslaw and
    Jaeger; from memory), its mean over the time by Gauss and Legendre.

    Parameters
    ----------
    sides_mm : (float, float, float)
        A side of infinite length makes a bar or a slab of it.
    minutes : float
        Over which the heat comes.
    """
    at, weight = np.polynomial.legendre.leggauss(N_AGES)
    # Early on nothing is lost, so ages lie closer at the end: evenly in their root.
    root = (at + 1) / 2 * math.sqrt(60 * minutes)
    kept = np.ones_like(root)
    for side_mm in sides_mm:
        kept *= special.erf(side_mm / (4 * math.sqrt(DIFFUSIVITY_MM2_S) * root))
    return float((weight / 2 * kept * 2 * root).sum() / math.sqrt(60 * minutes))


def kept_in_cup(*, mass_g: float, minutes: float, card: Card) -> float:
    """Share of the rise without loss that a cup left standing keeps.

    A cylinder as high as wide, warm all through, cooled all round by still air:
    tau / t (1 - exp(-t / tau)) for heat that comes evenly over t.

    Parameters
    ----------
    mass_g : float
    minutes : float
        Over which the heat comes.
    card : Card
    """
    if mass_g <= 0:
        return 0.0
    volume_m3 = mass_g / card.density_g_ml.value * 1e-6
    area_m2 = 1.5 * math.pi * (4 * volume_m3 / math.pi) ** (2 / 3)
    tau_s = mass_g / 1000 * card.specific_heat_j_kg_k.value / (STILL_AIR_W_M2K * area_m2)
    lost = 60 * minutes / tau_s
    return -math.expm1(-lost) / lost


def _times_min(card, job):
    """Value, slow and fast end of the time over which heat comes: pot life, or until demould."""
    fast_min = pot_life_at(card, temperature_c=job.shop_temperature_c)[0]
    slow_min = max(60 * demould_at(card, temperature_c=job.shop_temperature_c)[0], fast_min)
    return math.sqrt(fast_min * slow_min), slow_min, fast_min


def _warmed(rise, shares, job, source):
    value, low, high = (
        job.shop_temperature_c + share * end
        for share, end in zip(shares, (rise.value, rise.low, rise.high), strict=True)
    )
    return Sourced(value=value, low=low, high=high, unit="C", basis="computed", source=source)


def warmth_of(place: str) -> Sourced:
    """How warm it gets at a place.

    Parameters
    ----------
    place : str
        A key of `PLACES`.

    Returns
    -------
    Sourced
        [C]
    """
    value, low, high, basis = PLACES[place]
    source = tell(f"bench_number.place_{code_key(place)}")
    return Sourced(value=value, low=low, high=high, unit="C", basis=basis, source=source)


def find_heat(part: Part, draw: DrawResult, weigh: WeighResult, job: Job) -> HeatResult:
    """Ceilings of temperature, the map of thickness, and the place of the part.

    Parameters
    ----------
    part, draw, weigh : records
    job : Job

    Returns
    -------
    HeatResult

    Raises
    ------
    InputError
        The card is unknown, or the place is none of `PLACES`.
    """
    if job.place is not None and job.place not in PLACES:
        raise InputError(
            "place",
            found=repr(job.place),
            need=f"one of {', '.join(PLACES)}",
            do="Take the warmest of them that the part will see.",
        )
    card = resin_of(job)
    rise = adiabatic_rise(card)
    points_mm, volume_mm3, thickness_mm, axes_mm = _thickness(part, draw.frame)
    limit_mm = None if card.max_section_mm is None else card.max_section_mm.value
    over = 0.0
    if limit_mm is not None:
        over = float(volume_mm3[thickness_mm > limit_mm].sum() / volume_mm3.sum())
    thickest = int(np.argmax(thickness_mm))
    thick_mm = float(thickness_mm[thickest])
    sides_mm = tuple(float(side) for side in axes_mm[thickest])
    grid_mm, cell_mm, low_mm = _map(points_mm, thickness_mm)
    resin_cups = [cup for cup in weigh.cups if cup.card == card.card_id]
    cup = thin = peak = None
    largest_cup_g = max((cup.mass_g for cup in resin_cups), default=0.0)
    if rise is not None:
        times_min = _times_min(card, job)
        cup_shares = [
            kept_in_cup(mass_g=largest_cup_g, minutes=time_min, card=card) for time_min in times_min
        ]
        cup = _warmed(
            rise, cup_shares, job, tell("bench_number.cup_peak", mass=f"{largest_cup_g:.0f}")
        )
        walls = ((THIN_MM, (THIN_MM, math.inf, math.inf)), (thick_mm, sides_mm))
        thin, peak = (
            _warmed(
                rise,
                [
                    min(
                        kept_share(thickness_mm=wall_mm, minutes=time_min),
                        kept_by_block(sides_mm=block_mm, minutes=time_min),
                    )
                    for time_min in times_min
                ],
                job,
                tell("bench_number.section_peak", thickness=f"{wall_mm:.0f}"),
            )
            for wall_mm, block_mm in walls
        )
    return HeatResult(
        rise_c=rise,
        peak_c=peak,
        thin_c=thin,
        cup_c=cup,
        cast_g=float(volume_mm3.sum()) / 1000 * card.density_g_ml.value,
        largest_cup_g=largest_cup_g,
        limit_mm=limit_mm,
        limit_basis=None if card.max_section_mm is None else card.max_section_mm.basis,
        thickest_mm=thick_mm,
        thickest_at_mm=tuple(float(v) for v in draw.frame.to_part(points_mm[thickest])),
        over_limit_fraction=over,
        thickness_mm=grid_mm,
        cell_mm=cell_mm,
        low_mm=low_mm,
        softens_c=card.heat_limit_c,
        place=job.place,
        place_c=None if job.place is None else warmth_of(job.place),
    )


@remembered
def _thickness(part, frame):
    """Points in the draw frame, their volumes, the shortest solid length through each.

    And the solid lengths along the frame's axes, of which the shortest is one.
    """
    fine_mm = directions.longest_mm(part) / SAMPLES_ACROSS
    # A solid block has room for far more points than a shell of the same size.
    pitch_mm = max(fine_mm, (abs(part.check.volume_mm3) / MOST_POINTS) ** (1 / 3))
    mesh = part.vertices_mm, part.faces, part.cap_faces
    upright = sample(*mesh, frame.rotation, pitch_mm=pitch_mm)
    points_mm, volume_mm3 = points_inside(upright)
    shortest_mm = length_through(upright, points_mm)
    axes_mm = [shortest_mm]
    in_part_mm = frame.to_part(points_mm)
    for direction in WAYS_THROUGH[1:]:
        rotation = frames.turn_to(frame.to_part(np.asarray(direction, dtype=float)))
        field = sample(*mesh, rotation, pitch_mm=pitch_mm)
        length_mm = length_through(field, in_part_mm @ rotation.T)
        shortest_mm = np.minimum(shortest_mm, length_mm)
        if np.count_nonzero(direction) == 1:
            axes_mm.append(length_mm)
    return points_mm, volume_mm3, shortest_mm, np.column_stack(axes_mm)


def _map(points_mm, thickness_mm):
    """Greatest thickness per cell, seen along the draw."""
    low = points_mm[:, :2].min(axis=0)
    size = np.ptp(points_mm[:, :2], axis=0)
    cell_mm = float(max(size.max(), 1e-6)) / CELLS_ACROSS
    shape = np.maximum(1, np.ceil(size / cell_mm)).astype(int)
    at = np.minimum(((points_mm[:, :2] - low) / cell_mm).astype(int), shape - 1)
    grid_mm = np.zeros((shape[1], shape[0]))
    np.maximum.at(grid_mm, (at[:, 1], at[:, 0]), thickness_mm)
    return grid_mm, cell_mm, (float(low[0]), float(low[1]))
