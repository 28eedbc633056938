"""The parting line and the surface it spans."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record
from castplan.texts.told import Told


@record
class PartingSurface:
    """Height of the parting over the whole floor of the box, draw frame.

    Bilinear between nodes: node (r, i) stands at x0_mm + i step_x_mm,
    y0_mm + r step_y_mm; the nodes at the edge lie on the inside of the box.
    Under the part it carries the line inward: there the parting runs in the
    solid, as near to that height as it lets (`geometry/shutoff.py`). In a hole
    through the part it is the height of the plug.
    """

    x0_mm: float
    y0_mm: float
    step_x_mm: float
    step_y_mm: float
    heights_mm: np.ndarray  # (n_y, n_x)

    def __post_init__(self):
        freeze(self, "heights_mm", shape=(None, None))

    @property
    def x_mm(self) -> np.ndarray:
        """x of the nodes, (n_x,)."""
        return self.x0_mm + self.step_x_mm * np.arange(self.heights_mm.shape[1])

    @property
    def y_mm(self) -> np.ndarray:
        """y of the nodes, (n_y,)."""
        return self.y0_mm + self.step_y_mm * np.arange(self.heights_mm.shape[0])


@record
class RimLoop:
    """One closed outline of the part seen along the draw, station by station.

    At each station a split between `low_mm` and `high_mm` traps nothing;
    `line_mm` is where the split is laid. Stations are evenly spaced.
    """

    points_mm: np.ndarray  # (k, 2) draw frame
    low_mm: np.ndarray  # (k,)
    high_mm: np.ndarray  # (k,)
    line_mm: np.ndarray  # (k,)
    length_mm: float  # around the loop

    def __post_init__(self):
        freeze(self, "points_mm", shape=(None, 2))
        for name in ("low_mm", "high_mm", "line_mm"):
            freeze(self, name, shape=(None,))


@record
class HolePlug:
    """A hole through the part along the draw: the clay in it sets the shut-off.

    No level frees the rim where `free_low_mm` lies over `free_high_mm`; the
    plug's top is then modelled to `rim.line_mm` where a level one traps more
    than nothing.
    """

    number: int
    centre_mm: tuple[float, float]  # draw frame
    area_mm2: float
    width_mm: float  # of the widest circle that fits
    free_low_mm: float  # shut-off heights that trap nothing
    free_high_mm: float
    height_mm: float  # top of the plug, its mean if it follows the rim
    trapped_mm3: float  # by a level plug at that height
    is_following: bool
    rim: RimLoop


@record
class PartingOption:
    """One kind of split, with what it costs."""

    kind: str  # level, tilted, stepped, following
    trapped_mm3: float
    low_mm: float  # of the line
    high_mm: float
    length_mm: float  # of the line round the outline, in space
    is_free: bool  # traps no more than what no split frees, within the tie
    cost_min: float  # rubber to work free and clay to model, by the weights of the draw
    note: Told


@record
class ClayStation:
    """Where to set the clay beside the part, and how high above the base board."""

    along_mm: float  # round the outline from its first station
    from_corner_mm: tuple[float, float]  # inside corner of the box, draw view
    height_mm: float
    low_mm: float  # heights that trap nothing there, above the base board
    high_mm: float


@record
class ClayStrip:
    """The clay round one outline of the part: every 10 mm, and at the end."""

    outline: int  # counted from 1, longest first
    length_mm: float
    stations: tuple[ClayStation, ...]


@record
class PartingLine:
    """The split that is built: its kind, its line, and the surface outside the part.

    Heights are in the draw frame, z of the part's own coordinates.
    `box_height_mm` is the level the clay has at the walls of the box.
    """

    kind: str  # level, tilted, stepped or following
    is_asked_for: bool
    options: tuple[PartingOption, ...]  # by effort at the bench
    plane: tuple[float, float, float]  # z = a + b x + c y; b = c = 0 unless tilted
    outlines: tuple[RimLoop, ...]  # of the part, longest first
    plugs: tuple[HolePlug, ...]
    strips: tuple[ClayStrip, ...]  # one for each outline
    surface: PartingSurface
    box_height_mm: float
    trapped_mm3: float
    part_below_mm3: float  # solid and sealed voids under the surface as carried on
    part_above_mm3: float
    filled_above_mm3: float  # void under it that the parting leaves to the upper half (bowls)
    filled_below_mm3: float  # void over it that the parting leaves to the lower half (domes)
