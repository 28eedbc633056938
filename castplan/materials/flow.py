"""Slow flow of resin: pipes, gaps, bubbles; each within the range it holds for.

Laminar pipe: Hagen and Poiseuille. Gap between plates: Washburn's balance of
constant pressure against viscous drag, for parallel plates. Bubble: Stokes for
a rigid sphere, Hadamard and Rybczynski for a clean one; real small bubbles lie
between. Pressure: Boyle. All from textbooks of fluid mechanics (from memory);
checked in the tests against published worked examples.
"""

import math

from castplan.record import record

G_M_S2 = 9.81
# What is poured from a cup, ml a minute (assumed).
POUR_RATE_ML_MIN = {"silicone": 150.0, "resin": 300.0}
# Pipe flow stays laminar up to here (textbook value; 2000 to 2300 are in use).
LAMINAR_REYNOLDS = 2000.0
# Stokes' law is within a few per cent up to here (textbook value).
CREEPING_REYNOLDS = 0.3
ATMOSPHERE_BAR = 1.01325


@record
class PipeFlow:
    """Flow through a pipe under its own head."""

    rate_ml_s: float
    reynolds: float
    is_laminar: bool


def reynolds_in_pipe(
    rate_ml_s: float, *, diameter_mm: float, viscosity_mpa_s: float, density_g_ml: float
) -> float:
    """Reynolds number of flow through a pipe: 4 rho Q / (pi mu d)."""
    return (
        4
        * (density_g_ml * 1000)
        * (rate_ml_s * 1e-6)
        / (math.pi * (viscosity_mpa_s / 1000) * (diameter_mm / 1000))
    )


def pipe_flow(
    *,
    diameter_mm: float,
    length_mm: float,
    head_mm: float,
    viscosity_mpa_s: float,
    density_g_ml: float,
) -> PipeFlow:
    """Flow through an upright pipe under a head of the same resin.

    Viscous drag and the resin's own speed share the head: rho g h =
    128 mu L Q / (pi d^4) + rho v^2 / 2. With drag alone it is Hagen and
    Poiseuille's law, with speed alone Torricelli's. Beyond `LAMINAR_REYNOLDS`
    it is an upper bound.

    Parameters
    ----------
    diameter_mm, length_mm : float
        Of the pipe.
    head_mm : float
        Surface in the cup above the surface that the pipe runs into; 0 or less
        gives no flow.
    viscosity_mpa_s, density_g_ml : float
        Of the mixed resin.

    Returns
    -------
    PipeFlow
    """
    if head_mm <= 0:
        return PipeFlow(rate_ml_s=0.0, reynolds=0.0, is_laminar=True)
    area_m2 = math.pi / 4 * (diameter_mm / 1000) ** 2
    density = density_g_ml * 1000
    drag = 8 * (viscosity_mpa_s / 1000) * (length_mm / 1000) * math.pi / area_m2**2
    speed = density / (2 * area_m2**2)
    push = density * G_M_S2 * head_mm / 1000
    # speed Q^2 + drag Q = push, solved without cancelling digits away.
    rate = 2 * push / (drag + math.sqrt(drag**2 + 4 * speed * push))
    rate_ml_s = rate * 1e6
    reynolds = reynolds_in_pipe(
        rate_ml_s,
        diameter_mm=diameter_mm,
        viscosity_mpa_s=viscosity_mpa_s,
        density_g_ml=density_g_ml,
    )
    return PipeFlow(rate_ml_s=rate_ml_s, reynolds=reynolds, is_laminar=reynolds <= LAMINAR_REYNOLDS)


def fill_time_s(volumes_ml, heads_mm, *, most_ml_s: float = math.inf, **pipe) -> float:
    """Time to fill a cavity through a pipe whose head falls as the level rises, s.

    The levels are taken one by one, each at its own steady flow.

    Parameters
    ----------
    volumes_ml : sequence of float
        Of the cavity, level by level.
    heads_mm : sequence of float
        Cup's surface above the level, or above the pipe's mouth while that lies higher.
    most_ml_s : float
        What is poured: more does not run through, however wide the pipe.
    **pipe
        As for `pipe_flow`.

    Returns
    -------
    float
        inf where a level has no head left.
    """
    time_s = 0.0
    for volume_ml, head_mm in zip(volumes_ml, heads_mm, strict=True):
        if volume_ml > 0:
            rate_ml_s = pipe_flow(head_mm=head_mm, **pipe).rate_ml_s
            if rate_ml_s <= 0:
                return math.inf
            time_s += volume_ml / min(rate_ml_s, most_ml_s)
    return time_s


def gap_reach_mm(
    gap_mm: float, *, head_mm: float, time_s: float, viscosity_mpa_s: float, density_g_ml: float
) -> float:
    """How far resin runs into a thin gap: sqrt(b^2 dp t / (6 mu)) [mm].

    Parameters
    ----------
    gap_mm : float
        Width b of a gap between parallel walls.
    head_mm : float
        Of resin above it; surface tension is left out.
    time_s : float
    viscosity_mpa_s, density_g_ml : float
    """
    push_pa = density_g_ml * 1000 * G_M_S2 * max(head_mm, 0.0) / 1000
    return 1000 * math.sqrt((gap_mm / 1000) ** 2 * push_pa * time_s / (6 * viscosity_mpa_s / 1000))


def smallest_riser_mm(
    path_mm: float, *, time_s: float, viscosity_mpa_s: float, density_g_ml: float
) -> tuple[float, float] | None:
    """Diameters of the smallest bubble that rises a path in time: clean, rigid [mm].

    Parameters
    ----------
    path_mm, time_s : float
    viscosity_mpa_s, density_g_ml : float

    Returns
    -------
    tuple of float or None
        None where so slow a rise needs a bubble too fast for Stokes' law.
    """
    density, viscosity = density_g_ml * 1000, viscosity_mpa_s / 1000
    speed_m_s = path_mm / 1000 / time_s
    rigid_m = math.sqrt(18 * viscosity * speed_m_s / (density * G_M_S2))
    if density * speed_m_s * rigid_m / viscosity > CREEPING_REYNOLDS:
        return None
    return 1000 * rigid_m / math.sqrt(1.5), 1000 * rigid_m


def pressed_fraction(pressure_bar: float) -> float:
    """Share of a bubble's volume that is left under a gauge pressure (Boyle).

    Examples
    --------
    >>> round(pressed_fraction(4.1), 3)
    0.198
    """
    return ATMOSPHERE_BAR / (ATMOSPHERE_BAR + pressure_bar)
