"""How the mould stands at the pour."""

import numpy as np

from castplan._arrays import freeze
from castplan.model.base import Frame, record


@record
class AirWeights:
    """What the shop pays for air, in minutes of handwork.

    Assumed, no source: change them to what your bench knows. They decide
    which attitude is recommended and how draws and attitudes are compared.
    """

    vent_min: float = 6.0  # one vent: stick or drill, and its stub to cut and sand
    groove_min: float = 3.0  # one vent that lies in the parting: no drilling
    left_min_per_ml: float = 60.0  # air that stays: a void to fill and sand in every cast
    tilt_min: float = 8.0  # wedges, and checking the angle
    cradle_min: float = 25.0  # an attitude that no face of the box gives
    brace_min: float = 6.0  # a box standing higher than it is steady
    tall_min_per_mm: float = 0.05  # of a box higher than a bench is worked at: steps, clamps, leaks
    show_up_min: float = 20.0  # the show face up at the pour: bubbles rise to it; the gate in it
    show_port_min: float = 20.0  # an opening in the show face: its stub dressed out of sight
    worked_port_min: float = 25.0  # in a knurled or toothed face: its pattern to be recut
    tip_port_min: float = 20.0  # on a tip hardly wider than a gate, a snap hook's: recut to size
    keep_off_min: float = 60.0  # at a place that the shop wants kept free
    riser_min: float = 8.0  # a second channel that lies in the parting, to lay and to cut off
    riser_bored_min: float = 14.0  # one that also goes up through a half
    slant_min: float = 3.0  # a stick to be set askew
    thin_gate_min: float = 6.0  # a gate wider than the part: its stub dressed on both sides
    drop_min_per_mm: float = 0.05  # resin that falls free folds air in
    resin_min_per_ml: float = 0.05  # the price of resin left in a channel
    riser_min_per_mm: float = 0.03  # of a riser: a long rod to bed, draw and clean, easily torn


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
    why: str


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
    map_pitch_mm: float

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
