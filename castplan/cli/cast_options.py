"""Reading what was written down at the pour: defects with their place, sizes, weights."""

import re

from castplan import units
from castplan.cli.options import read_number
from castplan.cli.quantities import read_length
from castplan.errors import InputError

_NUMBER = r"-?\d+(?:\.\d+)?"
_OF_PART = re.compile(r"\s*(\d{1,3})\s*(?:/\s*(.*))?")
_SIZE = re.compile(r"([^=]+)=\s*([\d.]+\s*(?:mm|cm|in)?)\s*(?:\+-\s*([\d.]+\s*(?:mm|cm|in)?))?")
# What a caliper in a trained hand repeats to (common practice, no source).
CALIPER_MM = 0.05


def read_defect(text, plan):
    """A `Defect` from ``void@12,30,4=3``, ``void@top:35,20`` or ``warp``.

    The place is x,y,z in the part's axes in mm, or a face of the box as it
    rests with two lengths from its lower left corner and, if known, the depth;
    an ``in`` behind it makes all of them inches. Of several parts in one box it is
    ``void@2/12,30,4``, x,y,z in the axes of the file of part 2, or ``warp@2``.
    """
    from castplan.after.records import DEFECTS

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
    size_mm = read_length("--defect", size.strip()) if size else None
    return _on_its_part(kind.strip(), rest.strip(), size_mm, plan)


def _on_its_part(kind, place, size_mm, plan):
    """The defect as it is logged, its place told in the file of the part that it is on."""
    from castplan.after.boxed import keep_by_part, numbered
    from castplan.after.records import Defect

    part, found = None, _OF_PART.fullmatch(place)
    if found and plan.nest is not None:
        part, place = numbered(plan.nest, number=int(found[1])), found[2] or ""
    where = _place(place, plan) if place else None
    told = {"kind": kind, "told": place, "size_mm": size_mm}
    if plan.nest is None or (where is None and part is None):
        return Defect(**told, where_mm=where)
    if ":" not in place:  # in the file of the part
        if part is None:
            raise InputError(
                "--defect",
                found=f"the place {place!r} in a box of {len(plan.nest.parts)} parts",
                need="the number of the part before it",
                do=f"Write for example --defect {kind}@2/{place} for part 2.",
            )
        return Defect(**told, where_mm=where, part=part.number)
    kept = keep_by_part(plan.nest, Defect(**told, where_mm=where))
    if part is not None and kept.part != part.number:
        raise InputError(
            "--defect",
            found=f"the place {place!r}, which is on part {kept.part}",
            need=f"one on part {part.number}",
            do="Look at the numbers on the plan of the box.",
        )
    return kept


def read_parts(texts, plan):
    """How parts of a box came out, from ``2=scrap`` each."""
    from castplan.after.boxed import numbered
    from castplan.after.records import RESULTS, PartResult

    found = {}
    for text in texts:
        number, _, result = text.partition("=")
        is_known = number.strip().isdigit() and result.strip() in RESULTS
        if plan.nest is None or not is_known:
            raise InputError(
                "--part",
                found=repr(text) if plan.nest is not None else f"{text!r} for a box with one part",
                need=f"a number and one of {', '.join(RESULTS)}, in a box of several parts",
                do="Write for example --part 2=scrap, or --result scrap for all.",
            )
        part = numbered(plan.nest, number=int(number))
        found[part.number] = PartResult(part=part.number, result=result.strip())
    return tuple(found[number] for number in sorted(found))


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


def read_size(text, plan):
    """A `Size` from ``x=141.6``, ``shaft=12.65mm`` or ``x=141.6+-0.1``.

    Of several parts in one box ``2/x=75.9`` is the x of part 2.
    """
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
    name, part = _known(name.strip(), plan)
    return Size(
        name=name,
        length_mm=read_length("--size", length),
        error_mm=CALIPER_MM if error is None else read_length("--size", error),
        part=part,
    )


def _known(name, plan):
    """The plan's name of a size, and which part of the box it was measured on."""
    from castplan.after.boxed import numbered

    part, found, told = None, _OF_PART.fullmatch(name), name
    if found and found[2] and plan.nest is not None:
        placed = numbered(plan.nest, number=int(found[1]))
        part, told = placed.number, found[2].strip()
        told = f"{placed.name} {told}" if told in ("x", "y", "z") else told
    axes = [] if plan.nest is not None else ["x", "y", "z"]
    names = [*axes, *(gauge.name for gauge in plan.job.gauges)]
    if told not in names:
        raise InputError(
            "--size",
            found=repr(name),
            need=f"one of {', '.join(names)}",
            do="Plan with --gauge to name a length that must fit.",
        )
    return told, part


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
