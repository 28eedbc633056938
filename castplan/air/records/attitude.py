"""How the mould stands at the pour."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import Frame, record
from castplan.texts.told import Told

LEVEL_DEG = 0.5  # (assumed)


@record
class AttitudeOption:
    """One way to stand the mould, and what it costs."""

    up: tuple[float, float, float]  # part frame, unit length
    rest: str  # face of the box that is up: "+z", "-x", ... of the draw frame; "" for none
    tilt_deg: float  # about that rest
    toward_deg: float  # which side is raised, counter-clockwise from x of the pour view
    caught_mm3: float  # with the gate as the only opening
    n_vents: int  # fewest that leave less than the job's limit, level roofs counted by length
    n_grooves: int  # of them, that lie in the parting
    left_mm3: float  # with as many vents as the job allows
    small_mm3: float  # besides, in points too small for a vent
    roof_mm: float  # longest level roof
    show_up_fraction: float  # 1 with the show face up, 0 with it level or down
    vents_min: float
    gate_min: float  # the cheaper of a gate on the highest point and a riser
    cost_min: float  # all of it, tilt, cradle, brace, show face and air that stays included
    why: Told

    @property
    def is_tilted(self) -> bool:
        """Whether it has to be propped up: a bench is no truer than half a degree."""
        return self.tilt_deg >= LEVEL_DEG


@record
class AttitudeResult:
    """The attitude at the pour, the next best, and the map over all directions.

    `frame` has +z up; `rest` is the frame of the box standing on its face,
    from which `frame` is tilted. Both are the same at no tilt.
    """

    frame: Frame
    rest: Frame
    options: tuple[AttitudeOption, ...]  # the chosen one first
    is_asked_for: bool
    map_up: np.ndarray  # (k, 3) part frame
    map_caught_mm3: np.ndarray  # (k,)
    map_n_vents: np.ndarray  # (k,) int64
    map_left_mm3: np.ndarray  # (k,)
    map_cost_min: np.ndarray  # (k,)

    def __post_init__(self):
        freeze(self, "map_up", shape=(None, 3))
        freeze(self, "map_caught_mm3", shape=(None,))
        freeze(self, "map_n_vents", shape=(None,), dtype=np.int64)
        freeze(self, "map_left_mm3", shape=(None,))
        freeze(self, "map_cost_min", shape=(None,))

    @property
    def chosen(self) -> AttitudeOption:
        """The attitude of the plan."""
        return self.options[0]
