"""Reading what was written down at the pour: defects with their place, sizes, weights."""

import re

from castplan import units
from castplan.cli.options import read_number
from castplan.cli.quantities import read_length
from castplan.errors import InputError

_NUMBER = r"-?\d+(?:\.\d+)?"
_SIZE = re.compile(r"([^=]+)=\s*([\d.]+\s*(?:mm|cm|in)?)\s*(?:\+-\s*([\d.]+\s*(?:mm|cm|in)?))?")
# What a caliper in a trained hand repeats to (common practice, no source).
CALIPER_MM = 0.05


def read_defect(text, plan):
    """A `Defect` from ``void@12,30,4=3``, ``void@top:35,20`` or ``warp``.

    The place is x,y,z in the part's axes in mm, or a face of the box as it
    rests with two lengths from its lower left corner and, if known, the depth;
    an ``in`` behind it makes all of them inches.
    """
    from castplan.after.records import DEFECTS, Defect

    kind, _, rest = text.strip().partition("@")
    kind, _, size = kind.partition("=")
    if rest:
        rest, _, size = rest.partition("=")
    if kind.strip() not in DEFECTS:
        raise InputError(
            "--defect",
            found=repr(text),
            need=f"one of {', '.join(DEFECTS)}",
            do="Write for example --defect void@top:35,20 or --defect warp.",
        )
    return Defect(
        kind=kind.strip(),
        where_mm=_place(rest.strip(), plan) if rest else None,
        told=rest.strip(),
        size_mm=read_length("--defect", size.strip()) if size else None,
    )


def _place(text, plan):
    from castplan.after.places import FACES, place_on_face

    face, _, told = text.rpartition(":")
    told, unit = re.fullmatch(r"(.*?)\s*(mm|cm|in)?", told).groups()
    scale = units.MM_PER_UNIT[unit or "mm"]
    numbers = [float(n) * scale for n in told.split(",")] if _are_numbers(told) else []
    if not face and len(numbers) == 3:
        return tuple(numbers)
    if face in FACES and len(numbers) in (2, 3):
        depth = numbers[2] if len(numbers) == 3 else None
        return place_on_face(plan, face, numbers[:2], depth_mm=depth)
    raise InputError(
        "--defect",
        found=f"the place {text!r}",
        need=f"x,y,z in the file's axes, or one of {', '.join(FACES)} with across,up[,depth]",
        do="Write for example void@12,30,4 or void@top:35,20.",
    )


def _are_numbers(text):
    return all(re.fullmatch(rf"\s*{_NUMBER}\s*", piece) for piece in text.split(","))


def read_size(text):
    """A `Size` from ``x=141.6``, ``shaft=12.65mm`` or ``x=141.6+-0.1``."""
    from castplan.after.records import Size

    match = _SIZE.fullmatch(text.strip())
    if not match:
        raise InputError(
            "--size",
            found=repr(text),
            need="a name and a length",
            do="Write for example --size x=141.6 or --size shaft=12.65+-0.02.",
        )
    name, length, error = match.groups()
    return Size(
        name=name.strip(),
        length_mm=read_length("--size", length),
        error_mm=CALIPER_MM if error is None else read_length("--size", error),
    )


def read_weighed(text):
    """Grams of A and B from ``44.7,40.3``."""
    if text is None:
        return None, None
    if not _are_numbers(text) or text.count(",") != 1:
        raise InputError(
            "--weighed",
            found=repr(text),
            need="grams of A and of B",
            do="Write for example --weighed 44.7,40.3.",
        )
    a_g, b_g = (float(piece) for piece in text.split(","))
    for value in (a_g, b_g):
        read_number("--weighed", value, above=0.0, unit="g")
    return a_g, b_g
