"""What one box saves against a box for each part, and what else the nest asks to be told."""

from dataclasses import replace

import numpy as np
import shapely

from castplan.air.records import Air
from castplan.bench.records import Bench
from castplan.materials.wording import listed
from castplan.mould.records import Mould
from castplan.nest.records import Nest, Placed, Shared
from castplan.record import Finding, Frame, finding
from castplan.texts.names import vessel_name

# Steps that every box asks for once, whatever lies in it; those of the parts stay.
OF_A_BOX = frozenset(
    (
        *("mark", "fix", "box", "water", "keys", "sticks", "weigh", "pour", "turn", "coats"),
        *("open", "close", "mix", "cast"),
    )
)


# One box that takes so many times the silicone of separate ones is a warning (assumed).
DEAR_TIMES = 1.2


def share(nest: Nest, air: Air, mould: Mould, bench: Bench) -> Nest:
    """The nest with the openings of each part, what it takes and what separate boxes would.

    Their silicone is that of a box laid out for each part by itself. A step of a box
    takes as long there as here: its minutes are assumed and hardly hang on its size.

    Parameters
    ----------
    nest : Nest
    air, mould, bench : records
    """
    block, more = mould.block, len(nest.parts) - 1
    steps = [step for step in bench.schedule.steps if step.kind in OF_A_BOX]
    shared = Shared(
        silicone_ml=block.upper_ml + block.lower_ml,
        alone_ml=sum(part.alone_ml for part in nest.parts),
        hands_on_h=more * sum(step.hands_on_min for step in steps) / 60,
        cure_h=more * sum(step.wait_min for step in steps if step.kind == "pour") / 60,
    )
    return replace(with_openings(nest, block.ports, air.openings.frame), shared=shared)


def part_at(nest: Nest, place_mm) -> Placed:
    """The part that a place of the box lies on, or nearest to, seen along the draw."""
    shapes = [shapely.Polygon(part.outline_mm) for part in nest.parts]
    spot = shapely.Point(np.asarray(place_mm, dtype=float)[:2])
    return nest.parts[int(np.argmin(np.round(shapely.distance(shapes, spot), 6)))]


def with_openings(nest: Nest, ports, rest: Frame) -> Nest:
    """The nest with the labels of each part's gates and vents.

    Parameters
    ----------
    nest : Nest
    ports : iterable of Port
    rest : Frame
        That their places are told in.
    """
    labels = {part.number: [] for part in nest.parts}
    for port in ports:
        place_mm = rest.to_part(np.array(port.place_mm))
        labels[part_at(nest, place_mm).number].append(port.label)
    parts = tuple(replace(part, openings=tuple(labels[part.number])) for part in nest.parts)
    return replace(nest, parts=parts)


def list_nest_findings(nest: Nest, mould: Mould, bench: Bench) -> tuple[Finding, ...]:
    """Whether one box is worth it and goes where it must, and what does not hold for all parts."""
    return tuple(_findings(nest, bench.equipment, is_open=mould.block.is_open))


def _findings(nest, equipment, *, is_open):
    shared = nest.shared
    for fit in equipment.fits:
        if not fit.is_fitting:
            vessel = vessel_name(fit.name)
            yield finding(
                "fewer-parts", "note", "mould", "nest.fewer", n=len(nest.parts), vessel=vessel
            )
    for part in nest.parts:
        if not is_open and not any(label.startswith("G") for label in part.openings):
            yield finding(
                "part-unfed", "stop", "mould", "nest.unfed", number=part.number, part=part.name
            )
    told = {
        "n": len(nest.parts),
        "one": f"{shared.silicone_ml:.0f}",
        "alone": f"{shared.alone_ml:.0f}",
        "work": f"{shared.hands_on_h:.1f}",
        "cure": f"{shared.cure_h:.0f}",
    }
    saves = shared.silicone_ml <= shared.alone_ml
    is_dear = shared.silicone_ml > DEAR_TIMES * shared.alone_ml
    yield finding(
        "one-box",
        "warn" if is_dear else "note",
        "mould",
        "nest.one_box" if saves else "nest.one_box_more",
        **told,
    )
    if "show" in nest.differs:
        yield finding("show-faces-differ", "note", "mould", "nest.show_differs")
    if nest.could_be_open:
        yield finding(
            "open-by-itself",
            "note",
            "mould",
            "nest.open_alone",
            n=len(nest.could_be_open),
            numbers=listed([str(number) for number in nest.could_be_open]),
        )
