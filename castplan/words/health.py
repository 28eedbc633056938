"""The state of a mesh in words: what is there, and what it does to the plan."""

from castplan.part.records import Health, MeshCheck
from castplan.texts import say
from castplan.words import formats

_LISTED = 5  # holes named one by one
# Pieces that change what is cast; a shell inside solid does not.
_KINDS_THAT_MATTER = {"speck", "void"}


def health_lines(check: MeshCheck, health: Health) -> list[str]:
    """One line for each kind of fault or measure: first what the plan depends on, then the rest.

    Parameters
    ----------
    check : MeshCheck
    health : Health

    Returns
    -------
    list of str
        Each group under a line that names it.
    """
    told = [
        (_holes(check, health), check.is_volume_in_doubt),
        *((line, True) for line in _one_sided(check)),
        (_bodies(health), {body.kind for body in health.bodies} & _KINDS_THAT_MATTER),
        *((line, True) for line in _facing(check)),
        (_noise(health), health.is_noise_seen),
        (_crossings(health), False),
        (_joints(check), False),
        (_empty(health), False),
        (_resolution(check, health), False),
        *((say("health.changed", change=change), False) for change in check.changes),
    ]
    matters = [line for line, does in told if does]
    harmless = [line for line, does in told if not does]
    return [
        *([say("health.matters"), *matters] if matters else [say("health.nothing_matters")]),
        say("health.harmless"),
        *harmless,
    ]


def _count(noun, number):
    return say(f"health.n_{noun}", n=number, number=f"{number:,}")


def _area(area_mm2):
    return f"{area_mm2 / 100:.3g} cm2" if area_mm2 >= 10 else f"{area_mm2:.2g} mm2"


def _holes(check, health):
    if not health.holes:
        return say("health.no_holes")
    listed = "; ".join(
        say(
            "health.hole",
            number=number,
            rim=f"{hole.rim_length_mm:.3g} mm",
            area=_area(hole.area_mm2),
            place=", ".join(formats.rounded(value, error=0.1) for value in hole.middle_mm),
        )
        for number, hole in enumerate(health.holes[:_LISTED], start=1)
    )
    more = len(health.holes) - _LISTED
    if more > 0:
        listed = say("health.more_holes", listed=listed, number=f"{more:,}")
    return say(
        "health.holes",
        number=f"{len(health.holes):,}",
        area=_area(check.hole_mm2),
        listed=listed,
        volume=f"{check.volume_mm3 / 1000:.3g} ml",
        doubt=f"{check.doubt_mm3 / 1000:.2g} ml",
        share=f"{100 * check.doubt_mm3 / check.volume_mm3:.2g} %",
    )


def _one_sided(check):
    if check.is_one_sided:
        yield say(
            "health.one_sided",
            area=_area(check.largest_hole_mm2),
            share=f"{100 * check.largest_hole_mm2 / check.area_mm2:.0f} %",
        )


def _bodies(health):
    kinds = [body.kind for body in health.bodies]
    if len(kinds) == 1:
        return say("health.one_body")
    n_parts, n_specks = kinds.count("part"), kinds.count("speck")
    n_inner, n_voids = kinds.count("inner shell"), kinds.count("void")
    said = [_count("parts", n_parts)]
    if n_specks:
        said.append(_count("specks", n_specks))
    if n_inner:
        said.append(_count("inner", n_inner))
    if n_voids:
        said.append(_count("voids", n_voids))
    return say("health.bodies", listed="; ".join(said))


def _facing(check):
    if not check.is_winding_consistent:
        yield say("health.winding")


def _joints(check):
    if not check.n_nonmanifold_edges:
        return say("health.no_joints")
    return _count("joints", check.n_nonmanifold_edges)


def _crossings(health):
    tested = f"{health.n_tested:,}"
    if not health.n_crossing:
        return say("health.no_crossings", tested=tested)
    number = f"{health.n_crossing:,}"
    return say("health.crossings", n=health.n_crossing, number=number, tested=tested)


def _empty(health):
    if not (health.n_zero_area or health.n_duplicates):
        return say("health.no_empty")
    return say("health.empty", flat=f"{health.n_zero_area:,}", doubled=f"{health.n_duplicates:,}")


def _noise(health):
    if health.noise_mm is None:
        return say("health.noise_unknown")
    if not health.noise_mm:
        return say("health.no_noise")
    noise = f"{health.noise_mm:.2g} mm"
    if health.is_noise_seen:
        return say("health.noise_shows", noise=noise)
    return say("health.noise", noise=noise)


def _resolution(check, health):
    return say(
        "health.resolution",
        edge=f"{health.edge_mm:.2g} mm",
        size=f"{max(check.extent_mm):.3g} mm",
        detail=f"{health.detail_mm:.2g} mm",
    )
