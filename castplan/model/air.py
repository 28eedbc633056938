"""High points of the cavity and their openings."""

from castplan.model.base import Frame, record


@record
class Peak:
    """A high point of the cavity, where air stays when resin rises.

    `rise_mm` is the height above the saddle to the next higher point (its
    persistence); `air_mm3` the cavity's volume above that saddle, which is
    what stays unfilled without a vent. The highest point of each separate
    body has no saddle: its rise is the body's height, its air what is left
    once nothing lets air out.
    """

    number: int
    place_mm: tuple[float, float, float]  # pour frame
    rise_mm: float
    air_mm3: float
    roof_mm2: float  # level area at the top
    is_highest: bool


@record
class AirResult:
    """Where air stays at the pour, and which high points get an opening.

    `gate` and `vents` index `peaks`; `extra_vents_mm` are further vents on
    the gate's own roof, so that the gate is never the only opening.
    """

    frame: Frame  # pour frame
    peaks: tuple[Peak, ...]
    gate: int
    vents: tuple[int, ...]
    extra_vents_mm: tuple[tuple[float, float, float], ...]
    n_small: int
    small_mm3: float
    min_height_mm: float
    min_air_mm3: float
