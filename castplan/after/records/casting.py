"""What happened at the bench: logged pours, their defects, and what takes them back."""

import re
from datetime import date

from castplan.checks import is_line
from castplan.record import record

MOST_SIGNS = 1000  # of a note

# What can be wrong with a copy.
DEFECTS = (
    "void",
    "dimple",
    "pinholes",
    "short-fill",
    "soft",
    "flash",
    "step",
    "torn-mould",
    "warp",
    "off-size",
)
POURS = ("copy", "upper", "lower")  # of resin; of silicone for either half
RESULTS = ("good", "usable", "scrap")


@record
class Defect:
    """Something wrong with a copy.

    `where_mm` is in the part frame, None where no place was told; `told` is
    the place in the words of who logged it. `part` is a number of `Placed`: in a log
    the place is then in the axes of that part's own file.
    """

    kind: str  # one of `DEFECTS`
    where_mm: tuple[float, float, float] | None = None
    told: str = ""
    size_mm: float | None = None  # across
    part: int | None = None  # of several in one box

    def __post_init__(self):
        if self.kind not in DEFECTS:
            raise ValueError(f"defect {self.kind!r}, need one of {', '.join(DEFECTS)}")


@record
class Size:
    """A length measured on a copy, give or take `error_mm`."""

    name: str
    length_mm: float
    error_mm: float
    part: int | None = None  # of several in one box: the number of the one measured

    def __post_init__(self):
        if not (self.length_mm > 0 and self.error_mm > 0):
            raise ValueError(f"size {self.name!r}, need a length and an error above 0")


@record
class PartResult:
    """How one of several parts in a box came out, where that is not how the pour did."""

    part: int  # number of a `Placed`
    result: str

    def __post_init__(self):
        _check_known("result", self.result, RESULTS)


@record
class LoggedPour:
    """One pour as it was done; None where nothing was written down.

    Minutes count from the start of mixing, hours from then too. `shot_g` is
    what came out of the mould, gate and vents on it.
    """

    number: int  # of its line in the log
    date: str  # YYYY-MM-DD, as told
    mould: str = "1"
    pour: str = "copy"
    material: str = ""  # id of a card
    lots: tuple[str, ...] = ()
    temperature_c: float | None = None
    humidity_fraction: float | None = None
    a_g: float | None = None
    b_g: float | None = None
    scale_step_g: float | None = None
    poured_min: float | None = None
    thick_min: float | None = None
    opened_h: float | None = None
    shot_g: float | None = None
    pressure_bar: float | None = None
    is_degassed: bool | None = None
    force_n: float | None = None  # that opened the mould
    result: str = "good"
    parts: tuple[PartResult, ...] = ()  # those that came out otherwise
    is_mould_done: bool = False
    defects: tuple[Defect, ...] = ()
    sizes: tuple[Size, ...] = ()
    photos: tuple[str, ...] = ()
    note: str = ""

    def __post_init__(self):
        for name, known in (("pour", POURS), ("result", RESULTS)):
            _check_known(name, getattr(self, name), known)
        is_date = re.fullmatch(r"\d{4}-\d\d-\d\d", self.date)
        if not is_date or date.fromisoformat(self.date) is None:
            raise ValueError(f"date {self.date!r}, need YYYY-MM-DD")
        for name in ("mould", "lots", "photos", "note"):
            _check_lines(name, getattr(self, name))


@record
class Withdrawal:
    """A later line that takes an earlier one back, be that a withdrawal itself."""

    number: int
    of: int
    why: str = ""

    def __post_init__(self):
        if not 0 < self.of < self.number:
            raise ValueError(f"withdraws line {self.of}, need one before line {self.number}")
        _check_lines("why", self.why)


def _check_known(name, told, known):
    if told not in known:
        raise ValueError(f"{name} {told!r}, need one of {', '.join(known)}")


def _check_lines(name, told):
    for line in (told,) if isinstance(told, str) else told:
        if line and not is_line(line, most=MOST_SIGNS):
            raise ValueError(f"{name} {line[:40]!r}, need one line of at most {MOST_SIGNS} signs")


@record
class CastLog:
    """Every line of a log, in order; nothing is ever taken out of it."""

    lines: tuple[LoggedPour | Withdrawal, ...] = ()
    is_torn: bool = False  # the last line was cut off while it was written

    @property
    def withdrawn(self) -> frozenset[int]:
        """Numbers of the lines that a later one takes back."""
        gone = set()
        for line in reversed(self.lines):
            if isinstance(line, Withdrawal) and line.number not in gone:
                gone.add(line.of)
        return frozenset(gone)

    @property
    def pours(self) -> tuple[LoggedPour, ...]:
        """The pours that stand."""
        gone = self.withdrawn
        return tuple(
            line for line in self.lines if isinstance(line, LoggedPour) and line.number not in gone
        )

    def copies_of(self, mould: str) -> tuple[LoggedPour, ...]:
        """Pours of resin into one mould that stand, in the order they were logged."""
        return tuple(line for line in self.pours if line.pour == "copy" and line.mould == mould)

    @property
    def moulds(self) -> tuple[str, ...]:
        """Names of the moulds, in the order they first occur."""
        return tuple(dict.fromkeys(line.mould for line in self.pours))
