"""High points of the cavity and their openings."""

from castplan.record import Frame, record

# On the face that shows, on a tip, on a knurled or toothed face, where the shop wants none.
HARMS = ("show", "tip", "worked", "marked")


@record
class Peak:
    """A high point of the cavity, where air stays when resin rises.

    `rise_mm` is the height above the saddle to the next higher point (its
    persistence); `air_mm3` the cavity's volume above that saddle, which is
    what stays unfilled without a vent. The highest point of each separate
    body has no saddle: its rise is the body's height, its air what is left
    once nothing lets air out. Heights are along up, whatever the tilt.
    """

    number: int
    place_mm: tuple[float, float, float]  # rest frame; on the mesh
    height_mm: float  # along up, above the lowest point of the part
    rise_mm: float
    air_mm3: float
    roof_mm2: float  # level area at the top
    roof_mm: float  # its length
    width_mm: float  # widest circle that fits just under the top
    section_mm2: float  # of the part a usual gate's width under it
    bore_mm: float  # a vent for that width
    is_on_mesh: bool  # the place is a corner of the mesh, else the middle of a level roof
    cavity: int = 1  # that it is a high point of; resin does not run from one to another


@record
class PortHarm:
    """A vent that stands where it does harm, for want of a better place."""

    label: str  # as the port's
    code: str  # one of `HARMS`
    place_mm: tuple[float, float, float]  # rest frame


@record
class AirResult:
    """Where air stays at the pour, and which high points get an opening.

    `gate` and `vents` index `peaks`; there is no gate among them where a riser
    feeds the cavity from below. `extra_vents_mm` are further vents along level
    roofs, and one on the gate's own roof, so that the gate is never the only
    opening. With several cavities it is the first one's gate, `gates_too` are those of
    the others. `left_mm3` is what listed points keep that have no opening:
    the least for so many vents, or under the job's limit, and what points keep
    whose opening the shop's marks forbid.
    """

    frame: Frame  # of the box as it rests; equals the pour frame at no tilt
    up: tuple[float, float, float]  # part frame
    peaks: tuple[Peak, ...]
    gate: int | None
    vents: tuple[int, ...]
    extra_vents_mm: tuple[tuple[float, float, float], ...]  # rest frame
    left_mm3: float
    n_wanted: int  # openings that would leave less than the job's limit
    n_small: int
    small_mm3: float
    min_height_mm: float
    min_air_mm3: float
    kept_off: tuple[int, ...] = ()  # points that want an opening where the shop wants none
    harms: tuple[PortHarm, ...] = ()
    gates_too: tuple[int, ...] = ()  # points with a gate of another cavity
    extra_cavities: tuple[int, ...] = ()  # of the extra vents, with several cavities

    @property
    def opened(self) -> tuple[int, ...]:
        """Points with an opening, the gate's first if it stands on one."""
        gates = self.gates_too if self.gate is None else (self.gate, *self.gates_too)
        return (*gates, *self.vents)
