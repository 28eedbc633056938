"""The records passed between stages: frozen, with units in every name.

Two frames occur. The *part frame* is the mesh file's own axes in millimetres.
A `Frame` turns it: in the *draw frame* +z is the way the upper half leaves
the part, in the *pour frame* +z is up while the resin is poured. Both are
pure rotations, so a volume or a length means the same in each.
"""

from dataclasses import dataclass, field

import numpy as np

from castplan._arrays import freeze

record = dataclass(frozen=True, kw_only=True, eq=False)

BASES = (
    "measured",
    "computed",
    "data sheet",
    "handbook",
    "standard",
    "common practice",
    "from memory",
    "assumed",
)
SEVERITIES = ("stop", "warn", "note")


@record
class Sourced:
    """A number that does not come from the mesh, with where it comes from.

    `basis` is one of `BASES`; `source` names the page, table or rule.
    `low` and `high` give the usual range where the source gives one.
    """

    value: float
    unit: str
    basis: str
    source: str
    low: float | None = None
    high: float | None = None

    def __post_init__(self):
        if self.basis not in BASES:
            raise ValueError(f"basis: {self.basis!r}, need one of {BASES}")


@record
class Finding:
    """Something the shop should know before the first clay.

    `where_mm` is a point in the part frame, or None.
    """

    code: str
    severity: str
    stage: str
    message: str
    do: str
    where_mm: tuple[float, float, float] | None = None

    def __post_init__(self):
        if self.severity not in SEVERITIES:
            raise ValueError(f"severity: {self.severity!r}, need one of {SEVERITIES}")


@record
class Frame:
    """A rotation of the part: row k of `rotation` is axis k of the new frame."""

    rotation: np.ndarray  # (3, 3)

    def __post_init__(self):
        freeze(self, "rotation", shape=(3, 3))

    @property
    def up(self) -> np.ndarray:
        """The frame's +z in the part frame, (3,)."""
        return self.rotation[2]

    def to_frame(self, points_mm: np.ndarray) -> np.ndarray:
        """Turn points (n, 3) or one point (3,) from the part frame into this one."""
        return points_mm @ self.rotation.T

    def to_part(self, points_mm: np.ndarray) -> np.ndarray:
        """Turn points (n, 3) or one point (3,) from this frame into the part frame."""
        return points_mm @ self.rotation


@record
class MeshCheck:
    """What the mesh file holds, before anything is planned on it."""

    n_triangles: int
    n_vertices: int
    n_merged_vertices: int
    n_dropped_triangles: int
    n_bodies: int
    n_open_edges: int
    n_holes: int
    is_watertight: bool
    is_winding_consistent: bool
    is_inverted: bool
    volume_mm3: float
    area_mm2: float
    extent_mm: tuple[float, float, float]
    file_unit: str | None
    unit: str
    mm_per_unit: float


@record
class Part:
    """A checked mesh in millimetres.

    `cap_faces` close the holes of an open scan with fans from each hole's
    middle (extra vertices at the end of `vertices_mm`). They are not surface:
    they only mark which columns a hole makes doubtful.
    """

    name: str
    vertices_mm: np.ndarray  # (n, 3)
    faces: np.ndarray  # (m, 3) int32, normals point out of the part
    cap_faces: np.ndarray  # (k, 3) int32
    check: MeshCheck

    def __post_init__(self):
        freeze(self, "vertices_mm", shape=(None, 3))
        freeze(self, "faces", shape=(None, 3), dtype=np.int32)
        freeze(self, "cap_faces", shape=(None, 3), dtype=np.int32)


@record
class Job:
    """Every choice the shop can make, with its default.

    None means: castplan chooses and says what it chose.
    """

    draw: tuple[float, float, float] | None = None
    up: tuple[float, float, float] | None = None
    n_directions: int = 256
    pitch_mm: float | None = None
    memory_mb: float = 400.0
    wall_mm: float | None = None
    over_mm: float = 12.0
    under_mm: float = 12.0
    gate_mm: float = 8.0
    vent_mm: float = 2.5
    vent_min_height_mm: float = 0.5
    vent_min_air_ml: float = 0.02
    silicone: str = "silicone-tin-25a"
    resin: str = "polyurethane-fast-70d"
    copies: int = 1
    shop_temperature_c: float = 23.0
    paper: str = "A4"


@record
class DrawCandidate:
    """One way to pull the halves, with what it costs."""

    direction: tuple[float, float, float]  # part frame, unit length
    origin: str  # what proposed it: file axis, flat face, inertia axis, search, asked for
    trapped_mm3: float  # at its best level split
    locked_mm3: float  # between surfaces of the part: no split along it frees this
    mould_height_mm: float
    silicone_ml: float
    why: str


@record
class DrawResult:
    """The draw, and the best directions it was chosen from (best first)."""

    frame: Frame
    direction: tuple[float, float, float]
    candidates: tuple[DrawCandidate, ...]
    n_directions: int
    search_pitch_mm: float
    is_asked_for: bool


@record
class PartingResult:
    """The level split that traps least, and how every other height compares.

    Heights are in the draw frame, z of the part's own coordinates.
    """

    heights_mm: np.ndarray  # (k,) ascending
    trapped_mm3: np.ndarray  # (k,) silicone trapped by a level split there
    height_mm: float
    free_low_mm: float  # the heights that trap no more than the best does
    free_high_mm: float
    trapped_at_mm3: float
    locked_mm3: float
    part_below_mm3: float
    part_above_mm3: float
    filled_above_mm3: float  # void below the height that belongs to the upper half (bowls)
    filled_below_mm3: float  # void above the height that belongs to the lower half (domes)

    def __post_init__(self):
        freeze(self, "heights_mm", shape=(None,))
        freeze(self, "trapped_mm3", shape=(None,))


@record
class Pocket:
    """One connected volume that part surface closes off both ways along the draw.

    `depth_mm` is the sideways travel from the deepest tenth of the pocket to
    the open (90th percentile by volume); `depth_mid_mm` the median.
    """

    number: int
    kind: str  # "pocket", "bridge" or "sealed"
    n_mouths: int
    volume_mm3: float
    depth_mm: float
    depth_mid_mm: float
    centre_mm: tuple[float, float, float]  # draw frame
    low_mm: tuple[float, float, float]  # draw frame bounding box
    high_mm: tuple[float, float, float]
    held_by: str  # "upper", "lower" or "both" halves


@record
class UndercutResult:
    """Pockets above the noise limit, largest first, and what was left out."""

    pockets: tuple[Pocket, ...]
    min_volume_mm3: float
    n_small: int
    small_mm3: float
    sealed_mm3: float


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


@record
class Port:
    """A gate or a vent: where it stands and how long it is.

    `from_corner_mm` is measured in the pour view from the datum corner.
    """

    label: str  # "G", "1", "2", ...
    kind: str  # "gate" or "vent"
    place_mm: tuple[float, float, float]  # pour frame, on the cavity
    from_corner_mm: tuple[float, float]
    height_mm: float  # of the place above the lowest point of the part
    length_mm: float  # straight up through silicone to the top of the box
    diameter_mm: float
    air_ml: float
    is_blocked: bool  # part stands in the way


@record
class MouldResult:
    """The box and what fills it. `low_mm`, `high_mm` are the inside, draw frame."""

    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    wall_mm: float
    over_mm: float
    under_mm: float
    box_ml: float
    part_ml: float  # solid of the part, sealed voids included
    lower_ml: float  # silicone below the parting, closed
    upper_ml: float
    bounding_box_ml: float  # box less bounding box: the usual guess, for comparison
    sampling_fraction: float  # error of the two halves, from the column pitch
    ports: tuple[Port, ...]
    datum_mm: tuple[float, float]  # pour view, the corner ports are measured from
    box_view_mm: np.ndarray  # (k, 2) outline of the box in the pour view
    ports_ml: float  # resin in gate and vents

    def __post_init__(self):
        freeze(self, "box_view_mm", shape=(None, 2))


@record
class Mix:
    """One cup: what goes in, in which order, and by when it must be out."""

    name: str
    card: str
    net_ml: float
    waste_fraction: float
    volume_ml: float
    mass_g: float
    a_g: float
    b_g: float
    density_g_ml: float
    pot_life_min: float  # at the shop's temperature
    pour_by_min: float
    demould_h: float
    times: int  # how often this cup is mixed
    half: str | None = None  # silicone: "upper" or "lower" half of the mould; None for resin


@record
class AmountsResult:
    """Everything to weigh out, and to buy.

    `mixes` are in the order of pouring: the half of the silicone poured first
    is the upper one (the part lies in clay up to the parting), then the lower
    one, then the resin. `bounding_box_g` is the usual guess for the silicone,
    box less bounding box, for comparison. Each assumption's `source` says
    first what the number is.
    """

    mixes: tuple[Mix, ...]
    silicone_g: float
    resin_g: float
    bounding_box_g: float
    assumptions: tuple[Sourced, ...]


@record
class Step:
    """One thing to do. A hold point is signed before the next step."""

    number: int
    text: str
    hands_on_min: float
    wait_min: float
    is_hold: bool
    cautions: tuple[str, ...]


@record
class ScheduleResult:
    """The steps in order."""

    steps: tuple[Step, ...]
    hands_on_min: float
    wait_min: float
    basis: str


@record
class Sketch:
    """A line drawing of the part seen along one direction, in view coordinates.

    `outline` are closed rings (holes too), `lines` open polylines of visible
    edges; each an (n, 2) array. `pockets` are rings per pocket number.
    """

    name: str  # "draw" (from above), "front" and "side" in the draw frame; "pour"
    pitch_mm: float
    outline: tuple[np.ndarray, ...]
    lines: tuple[np.ndarray, ...]
    pockets: tuple[tuple[int, np.ndarray], ...]

    def __post_init__(self):
        def fix(points):
            ring = np.array(points, dtype=np.float64)
            ring.setflags(write=False)
            return ring

        object.__setattr__(self, "outline", tuple(fix(r) for r in self.outline))
        object.__setattr__(self, "lines", tuple(fix(r) for r in self.lines))
        object.__setattr__(self, "pockets", tuple((n, fix(r)) for n, r in self.pockets))


@record
class Sampling:
    """How finely the part was sampled, and how well that fits its exact volume."""

    pitch_mm: float
    n_columns: int
    n_unclosed: int
    n_decided: int  # columns decided by the generalised winding number
    volume_mm3: float
    volume_difference_fraction: float | None  # against the exact volume; None if open


@record
class Plan:
    """Everything the outputs show. Holds no clock and no path."""

    version: str
    part: Part
    job: Job
    sampling: Sampling
    draw: DrawResult
    undercuts: UndercutResult
    parting: PartingResult
    air: AirResult
    mould: MouldResult
    amounts: AmountsResult
    schedule: ScheduleResult
    sketches: tuple[Sketch, ...]
    findings: tuple[Finding, ...] = field(default=())
