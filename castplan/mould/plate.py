"""How far a board bends under a liquid: plate theory for thin plates."""

import numpy as np

from castplan.record import record

N_TERMS = 20
N_ACROSS = 201


@record
class Plate:
    """A board between its supports."""

    length_mm: float
    height_mm: float
    thickness_mm: float
    modulus_mpa: float
    poisson: float


def bulge_mm(plate: Plate, *, bottom_kpa: float, top_kpa: float) -> float:
    """Largest deflection of an upright board under a pressure that falls evenly upward.

    Both ends and the lower edge are simply supported, the upper edge is free.
    M. Levy's solution: a sine series along the length, whose terms meet the
    conditions at the lower and the free edge exactly (Timoshenko and
    Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., ch. 5, from
    memory; checked against Roark's tables). Thin plates, deflections under half
    the thickness.

    Parameters
    ----------
    plate : Plate
    bottom_kpa, top_kpa : float
        Pressure at the lower and at the upper edge.

    Returns
    -------
    float
    """
    length_mm, height_mm, poisson = plate.length_mm, plate.height_mm, plate.poisson
    stiffness = plate.modulus_mpa * plate.thickness_mm**3 / (12 * (1 - poisson**2))
    y = np.linspace(0, height_mm, N_ACROSS)
    # 1 kPa is 1e-3 N/mm2.
    bottom, top = 1e-3 * bottom_kpa, 1e-3 * top_kpa
    total = np.zeros_like(y)
    for k in range(N_TERMS):
        m = 2 * k + 1
        a = m * np.pi / length_mm
        scale = 4 / (m * np.pi) / (stiffness * a**4)
        slope = scale * (top - bottom) / height_mm
        ends = np.array([0.0, height_mm])
        f = _basis(a, ends, height_mm)
        rows = np.stack(
            [
                f[0][:, 0],
                f[2][:, 0],
                f[2][:, 1] - poisson * f[0][:, 1],
                f[3][:, 1] - (2 - poisson) * f[1][:, 1],
            ]
        )
        # Derivatives are in units of a, hence the slope over a.
        right = np.array([-scale * bottom, 0.0, poisson * scale * top, (2 - poisson) * slope / a])
        weight = np.linalg.solve(rows, right)
        shape = weight @ _basis(a, y, height_mm)[0] + scale * (
            bottom + (top - bottom) * y / height_mm
        )
        total += (-1) ** k * shape
    return float(np.abs(total).max())


def _basis(a, y, height):
    """Four solutions of the homogeneous plate equation and three derivatives, in units of a.

    Each decays away from one edge, so that long boards do not overflow.
    """
    s, t = a * y, a * (height - y)
    e, g = np.exp(-s), np.exp(-t)
    return (
        np.stack([e, s * e, g, t * g]),
        np.stack([-e, (1 - s) * e, g, -(1 - t) * g]),
        np.stack([e, (s - 2) * e, g, (t - 2) * g]),
        np.stack([-e, (3 - s) * e, g, -(3 - t) * g]),
    )
