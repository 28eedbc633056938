"""What the mould goes into."""

from castplan.record import record


@record
class Fit:
    """Whether the mould goes into one round vessel.

    `way` is the side that is up: draw, x or y of the draw frame; the way of
    the pour where that fits, else the one that needs the least diameter.
    """

    name: str
    inner_mm: tuple[float, float]  # diameter, height
    mould_mm: tuple[float, float, float]  # what goes in, draw frame
    is_fitting: bool
    way: str
    is_as_poured: bool
    need_mm: tuple[float, float]  # diameter and height that way


@record
class EquipmentResult:
    """What the mould weighs, and what it goes into."""

    block_g: float  # silicone and resin
    boxed_g: float  # in its box, on its board
    fits: tuple[Fit, ...]
    heaviest_cup_g: float
    is_scale_enough: bool | None  # None: the job names no scale
