"""How the bench has weights, volumes, times and sides, and codes of materials, in words."""

import math

from castplan.materials.sheet_entries import CHEMISTRIES
from castplan.texts import code_key
from castplan.texts.told import Told, in_a_row, tell

# Keys of the sides of the box, an eighth of a turn apart.
_SIDES = (
    "air.right",
    "air.back_right",
    "air.back",
    "air.back_left",
    "air.left",
    "air.front_left",
    "air.front",
    "air.front_right",
)
_AXES = "xyz"
# Within this of a file axis a direction is called by the axis' name.
_AXIS_DEG = 2.0
_DIGITS = {1.0: 0, 0.1: 1, 0.01: 2}  # decimals written for each scale step


def axis_text(direction, *, of_box: bool = False) -> Told:
    """``the file's +z``, or the three numbers where no axis is within 2 degrees.

    Of several parts in one box each has its file's axes, and the box its own.
    """
    largest = max(range(3), key=lambda k: abs(direction[k]))
    norm = math.sqrt(sum(value * value for value in direction))
    if abs(direction[largest]) / norm >= math.cos(math.radians(_AXIS_DEG)):
        told = {"sign": "+" if direction[largest] > 0 else "-", "axis": _AXES[largest]}
        return tell("plan.the_box_s" if of_box else "plan.the_file_s", **told)
    numbers = ", ".join(f"{round(value / norm, 2) + 0.0:.2f}" for value in direction)
    key = "plan.of_the_box_s_axes" if of_box else "plan.of_the_file_s_axes"
    return tell(key, numbers=numbers)


def scale_step_g(mass_g: float) -> float:
    """The scale step a weight needs [g]: 1 over 100 g, 0.1 over 10 g, else 0.01.

    Rounding to it then moves a weight of 1 g or more by half a percent at
    most, so the ratio of two weights by one percent. A 0.1 g step would be 13 %
    of 0.75 g of catalyst.
    """
    if mass_g >= 99.95:  # what rounds to 100.0
        return 1.0
    return 0.1 if mass_g >= 9.995 else 0.01


def weight_text(mass_g: float) -> str:
    """A weight as it is read off the scale.

    Examples
    --------
    >>> weight_text(1234.5), weight_text(33.52), weight_text(0.75)
    ('1234 g', '33.5 g', '0.75 g')
    """
    return f"{mass_g:.{_DIGITS[scale_step_g(mass_g)]}f} g"


def grams_text(mass_g: float, *, step_g: float) -> str:
    """A weight as a scale of this step shows it.

    Examples
    --------
    >>> grams_text(246.857, step_g=0.1), grams_text(12.34, step_g=5)
    ('246.9 g', '10 g')
    """
    decimals = max(0, len(f"{step_g:.4f}".rstrip("0").partition(".")[2]))
    return f"{round(mass_g / step_g) * step_g:.{decimals}f} g"


def mix_text(*, a_g: float, b_g: float, step_g: float | None = None, filler_g: float = 0.0) -> Told:
    """Both parts of a mix, their sum as the scale will show it, and the scale.

    A filler goes in between. Without the step of the shop's scale each part is rounded
    as its weight allows.

    Examples
    --------
    >>> mix_text(a_g=593.758, b_g=29.688)
    'A 594 g and B 29.7 g, 623.7 g together, on a scale that reads 0.1 g'
    """
    steps_g = scale_step_g(a_g), scale_step_g(b_g)
    if step_g is not None:
        weighed_g = (a_g, filler_g, b_g)
        filler = {"filler": grams_text(filler_g, step_g=step_g)} if filler_g else {}
        return tell(
            "material.mix_filled" if filler_g else "material.mix",
            a=grams_text(a_g, step_g=step_g),
            b=grams_text(b_g, step_g=step_g),
            # As the scale shows it once all are weighed to their targets.
            together=grams_text(sum(round(m / step_g) * step_g for m in weighed_g), step_g=step_g),
            step=f"{step_g:g} g",
            **filler,
        )
    total_g = sum(round(m / s) * s for m, s in zip((a_g, b_g), steps_g, strict=True))
    finest_g = min(steps_g)
    return tell(
        "material.mix",
        a=weight_text(a_g),
        b=weight_text(b_g),
        together=f"{total_g:.{_DIGITS[finest_g]}f} g",
        step=f"{finest_g:g} g",
    )


def volume_text(volume_ml: float) -> str:
    """A volume as it is read off a jug: whole millilitres from 100, tenths below.

    Examples
    --------
    >>> volume_text(539.5), volume_text(4.93)
    ('540 ml', '4.9 ml')
    """
    return f"{volume_ml:.0f} ml" if volume_ml >= 99.95 else f"{volume_ml:.1f} ml"


# From here on nobody has a cup, and mixes in a bucket (assumed).
LARGEST_CUP_ML = 2000.0


def vessel_size(volume_ml: float) -> Told | str:
    """Size of what something is mixed in: a cup's as it is, a bucket's in half litres.

    Examples
    --------
    >>> str(vessel_size(1150)), str(vessel_size(8550))
    ('1150 ml', '9 litres')
    """
    if volume_ml <= LARGEST_CUP_ML:
        return f"{volume_ml:.0f} ml"
    return tell("material.litres", volume=f"{math.ceil(volume_ml / 500) / 2:g}")


def vessel_text(volume_ml: float) -> Told:
    """What something is mixed in, by its size.

    Examples
    --------
    >>> str(vessel_text(1150)), str(vessel_text(8550))
    ('cup of 1150 ml', 'bucket of 9 litres')
    """
    vessel = "cup" if volume_ml <= LARGEST_CUP_ML else "bucket"
    return tell(f"material.{vessel}", size=vessel_size(volume_ml))


def wait_text(hours: float) -> str:
    """A wait, rounded up: to minutes below an hour, then to half and whole hours.

    Examples
    --------
    >>> wait_text(0.17), wait_text(16)
    ('11 min', '16 h')
    """
    if hours < 1:
        return f"{math.ceil(round(hours * 60, 6))} min"
    step_h = 0.5 if hours < 10 else 1.0
    return f"{math.ceil(round(hours / step_h, 6)) * step_h:g} h"


def limit_text(minutes: float) -> str:
    """A time not to overrun: rounded down, to 5 s below ten minutes.

    Examples
    --------
    >>> limit_text(22.9), limit_text(1.5)
    ('22 min', '1 min 30 s')
    """
    if minutes >= 10:
        return f"{math.floor(minutes)} min"
    whole, seconds = divmod(math.floor(round(minutes * 12, 6)) * 5, 60)
    if not whole:
        return f"{seconds} s"
    return f"{whole} min {seconds} s" if seconds else f"{whole} min"


def listed(names) -> Told | str:
    """Names one after the other.

    Examples
    --------
    >>> listed(["H1"]), listed(["1", "4", "7"])
    ('H1', '1, 4 and 7')
    """
    if len(names) == 1:
        return names[0]
    return tell("material.list", others=in_a_row(names[:-1]), last=names[-1])


def listed_numbers(numbers) -> Told | str:
    """Ascending whole numbers, three or more that follow each other as from the first to the last.

    Examples
    --------
    >>> listed_numbers([4]), listed_numbers([1, 2, 3, 4, 7, 8])
    ('4', '1 to 4, 7 and 8')
    """
    runs = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    names = []
    for run in runs:
        if len(run) > 2:
            names.append(tell("material.from_to", first=run[0], last=run[-1]))
        else:
            names += map(str, run)
    return listed(names)


def chemistry_text(chemistry: str) -> Told | str:
    """A chemistry within a sentence; one that castplan does not know stays as it is."""
    known = chemistry in CHEMISTRIES
    return tell(f"chemistry.{code_key(chemistry)}") if known else chemistry


def chemistry_head(chemistry: str) -> Told | str:
    """A chemistry at the head of a column."""
    known = chemistry in CHEMISTRIES
    return tell(f"chemistry_head.{code_key(chemistry)}") if known else chemistry.replace("-", " ")


def thing_text(what: str) -> Told:
    """A kind of thing on the bench, a table of ``compat.toml``."""
    return tell(f"thing.{what}")


def tilts_text(tilts) -> Told:
    """Tilts of a rocked mould in their order; `tilts` are records of `RockTilt`."""
    first, *later = (
        tell(
            "air_finding.rocking_tilt",
            tilt=f"{tilt.tilt_deg:.0f}",
            toward=f"{tilt.toward_deg:.0f}",
        )
        for tilt in tilts
    )
    told = first
    for tilt in later:
        told = tell("air_finding.rocking_then", tilts=told, tilt=tilt)
    return told


def side_text(toward_deg: float) -> Told:
    """The side of the box that lies towards an angle, counter-clockwise from x.

    Examples
    --------
    >>> side_text(0.0), side_text(100.0), side_text(-45.0)
    ('right', 'back', 'front right')
    """
    return tell(_SIDES[round(toward_deg / 45) % 8])


# Of the box seen along the draw.
_BOX_SIDES = {"+x": "right", "-x": "left", "+y": "back", "-y": "front"}


def box_side_text(side: str, direction) -> Told:
    """``the right side (the file's +x)``: a side of the box seen along the draw.

    Parameters
    ----------
    side : {"+x", "-x", "+y", "-y"}
        In the draw frame.
    direction : (3,) sequence
        The way it looks, part frame.
    """
    return tell(f"cut_side.{_BOX_SIDES[side]}", axis=axis_text(direction))
