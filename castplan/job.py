"""The choices of the shop."""

from dataclasses import fields

from castplan._frozen import record
from castplan.checks import Choice, check
from castplan.choices import CHOICES

# A hundred metres, as for every length that is typed.
_GAUGED = Choice("number", 0.0, 1e5, "mm")


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
class Gauge:
    """A length of the original that has to fit something.

    One of `tolerance_mm` (plus or minus) and `tolerance_class` (ISO 2768-1: f,
    m, c or v) may be given.
    """

    name: str
    length_mm: float
    tolerance_mm: float | None = None
    tolerance_class: str | None = None

    def __post_init__(self):
        check(Choice("text"), self.name, what="gauge")
        check(_GAUGED, self.length_mm, what="gauge")
        if self.tolerance_mm is not None:
            check(_GAUGED, self.tolerance_mm, what="gauge")


@record
class Pack:
    """One pack a supplier sells: both parts in the card's ratio, or one part alone."""

    name: str
    card: str
    part: str  # "kit", "A" or "B"
    mass_g: float
    price: float  # in the shop's currency
    shelf_life_months: float | None = None
    most: int | None = None  # no more than this many to be had


# A small cup is made up to the least mix that the card gives, or only to what the
# scale weighs within the ratio's tolerance, or not at all.
LEAST_MIXES = ("card", "scale", "none")


WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@record
class Shop:
    """The shop's own facts; None or empty where it has not said.

    `uses` pairs a kind of thing (clay, box, release, original, paint, gloves,
    rubber) with what the shop uses for it.
    """

    packs: tuple[Pack, ...] = ()
    currency: str = ""
    hourly_rate: float | None = None
    scale_step_g: float | None = None
    tare_g: float = 0.0  # of the cup; 0 when the scale is set to zero with the cup on it
    largest_cup_ml: float | None = None  # that goes into the vacuum chamber
    least_mix: str = "card"  # what a small cup is made up to: one of `LEAST_MIXES`
    day_start_h: float = 8.0
    day_end_h: float = 17.0
    free_days: tuple[str, ...] = ("sat", "sun")  # of the week, by `WEEKDAYS`
    holidays: tuple[str, ...] = ()  # YYYY-MM-DD
    uses: tuple[tuple[str, str], ...] = ()
    cut_colour: str | None = None  # of the layer CUT in drawings, #rrggbb
    engrave_colour: str | None = None


@record
class DrawWeights:
    """What a draw costs the shop, in minutes; all assumed, for the shop to change.

    The order of draws is steady against them: halving or doubling any one
    changes it only between directions that cost about the same.
    """

    trapped_min_per_ml: float = 30.0  # rubber to be worked free or cut, every copy
    pocket_min: float = 10.0
    bridge_min: float = 20.0  # a pin of rubber to be cut or plugged
    depth_min_per_mm: float = 1.0
    following_min: float = 20.0  # clay modelled instead of one level
    line_min_per_mm: float = 1.5  # for each mm that the line climbs
    height_min_per_mm: float = 0.1
    silicone_min_per_ml: float = 0.02  # its price in minutes
    show_seam_min_per_mm: float = 0.2  # dressing the seam where it shows
    face_seam_min_per_mm: float = 0.03  # and where no edge hides it
    unstable_min: float = 10.0  # propping a part that tips
    seam_min_per_mm: float = 0.01  # flash to trim and sand; weighed with the attitude


@record
class Job:
    """Every choice the shop can make, with its default.

    None means: castplan chooses and says what it chose.
    """

    mould: str = "auto"  # every kind compared; or one by name: two-part, open, loose, cut
    slides: str = "poured"  # of silicone, or printed: how loose pieces are made
    draw: tuple[float, float, float] | None = None
    up: tuple[float, float, float] | None = None
    show_face: tuple[float, float, float] | None = None  # the way the face that shows looks
    parting: str | None = None  # level, tilted, stepped or following
    parting_height_mm: float | None = None  # above the part's lowest point, for a level split
    n_directions: int = 400
    draw_weights: DrawWeights = DrawWeights()
    pitch_mm: float | None = None
    memory_mb: float = 400.0
    wall_mm: float | None = None
    over_mm: float = 12.0
    under_mm: float = 12.0
    box: str | None = None  # rectangle, round or outline
    box_step_mm: float = 1.0  # inside measures go up to whole steps
    board_mm: float = 12.0  # thickness of the box's boards
    kerf_mm: float = 0.0  # width of the cut; 0 draws the finished size
    key_mm: float | None = None  # by the wall
    key_pitch_mm: float = 13.0
    key_clearance_mm: float | None = None  # part to key, key to box; by the wall
    bed: str = "clay"  # or printed
    bed_clearance_mm: float = 0.3  # printed bed to part and box
    printer_mm: tuple[float, float, float] | None = None  # without it a printed bed is one piece
    pot_mm: tuple[float, float] | None = None  # inside of the pressure pot: diameter, height
    chamber_mm: tuple[float, float] | None = None  # inside of the vacuum chamber
    scale_max_g: float | None = None  # the most that the scale shows
    feed: str = "auto"  # or top: through a high point; riser: from below
    gate_mm: float | None = None  # bore of the gate
    cup_mm: float = 20.0  # mouth of the gate
    vent_mm: float = 2.5
    vent_min_height_mm: float = 0.5
    vent_min_air_ml: float = 0.02
    vent_pitch_mm: float = 25.0  # along a level roof
    max_vents: int = 12
    # Where the vents are to be, part frame, and no others; the gate comes on top.
    vents_at: tuple[tuple[float, float, float], ...] | None = None
    # Places that gate and vents keep off: x, y, z in the part frame, and how far round them.
    keep_off: tuple[tuple[float, float, float, float], ...] | None = None
    air_left_ml: float = 0.02  # vents are enough when less than this stays
    n_attitudes: int = 500
    air_weights: AirWeights = AirWeights()
    silicone: str = "silicone-tin-25a"
    resin: str = "polyurethane-fast-70d"
    copies: int = 1
    shop_temperature_c: float = 23.0
    paper: str = "A4"
    water_ml: float | None = None  # what the original pushes aside
    original_g: float | None = None
    original_density_g_ml: float | None = None
    brush_mm: float = 0.0  # a first coat from its own cup; 0 takes it from the pour's cup
    pigment_fraction: float = 0.0  # of A and B together, by weight
    filler: str = "chalk"  # the powder stirred into the resin, if any is
    filler_fraction: float = 0.0  # to A and B together, by weight
    inserts: int = 0  # threaded inserts in each casting
    gauges: tuple[Gauge, ...] = ()
    place: str | None = None  # where the part will live
    start: str | None = None  # YYYY-MM-DD HH:MM
    shop: Shop = Shop()

    # A stage that remembers reads these, and holds for kinds that are alike in it.
    @property
    def is_cut_open(self) -> bool:
        """Whether one block round the whole part is asked for, to be cut open."""
        return self.mould == "cut"

    @property
    def is_one_pour(self) -> bool:
        """Whether a mould is asked for whose silicone is poured at once."""
        return self.mould in ("open", "cut")

    @property
    def floor_mm(self) -> float:
        """Silicone under the part: none in an open mould, whose back lies on the board."""
        return 0.0 if self.mould == "open" else self.under_mm

    def __post_init__(self):
        for entry in fields(self):
            value = getattr(self, entry.name)
            if value is not None or entry.default is not None:
                check(CHOICES[entry.name], value, what=entry.name)
