"""The state of a mesh in words: what is there, and what it does to the plan."""

from castplan.model import Health, MeshCheck
from castplan.output import formats

_LISTED = 5  # holes named one by one
# Surface finer than this share of an edge's length is lost between the vertices.
_EDGES_PER_DETAIL = 2.0
# Noise above this shows on the copy (a rough brush stroke; common practice, no source).
_SHOWS_MM = 0.05


def health_lines(check: MeshCheck, health: Health) -> list[str]:
    """One line for each kind of fault or measure, with its effect on the plan.

    Parameters
    ----------
    check : MeshCheck
    health : Health

    Returns
    -------
    list of str
    """
    return [
        _holes(check, health),
        *_one_sided(check),
        _bodies(health),
        *_facing(check),
        _joints(check),
        _crossings(health),
        _empty(health),
        _noise(health),
        _resolution(check, health),
        *(f"Changed for the plan: {change}; the file is as it was." for change in check.changes),
    ]


def _count(number, noun, plural=None):
    return f"{number:,} {noun if number == 1 else plural or noun + 's'}"


def _area(area_mm2):
    return f"{area_mm2 / 100:.3g} cm2" if area_mm2 >= 10 else f"{area_mm2:.2g} mm2"


def _holes(check, health):
    if not health.holes:
        return "Holes: none."
    listed = "; ".join(
        f"{number}: rim {hole.rim_length_mm:.3g} mm, {_area(hole.area_mm2)}, at "
        + ", ".join(formats.rounded(value, error=0.1) for value in hole.middle_mm)
        for number, hole in enumerate(health.holes[:_LISTED], start=1)
    )
    more = len(health.holes) - _LISTED
    share = check.doubt_mm3 / check.volume_mm3
    return (
        f"Holes: {len(health.holes):,}, {_area(check.hole_mm2)} in all ({listed}"
        + (f"; {more:,} smaller" if more > 0 else "")
        + "). The surface over them is taken as the winding number has it; the volume of "
        f"{check.volume_mm3 / 1000:.3g} ml may be off by {check.doubt_mm3 / 1000:.2g} ml "
        f"({100 * share:.2g} %) either way, and amounts with it."
    )


def _one_sided(check):
    if check.is_one_sided:
        yield (
            f"One side is missing: the largest hole is {_area(check.largest_hole_mm2)}, "
            f"{100 * check.largest_hole_mm2 / check.area_mm2:.0f} % of the surface. There is no "
            "plan without --close-to-plane (a flat back) or --thickness MM (a sheet)."
        )


def _bodies(health):
    kinds = [body.kind for body in health.bodies]
    n_parts, n_specks = kinds.count("part"), kinds.count("speck")
    n_inner, n_voids = kinds.count("inner shell"), kinds.count("void")
    if len(kinds) == 1:
        return "Bodies: one."
    said = [_count(n_parts, "body", "bodies")]
    if n_parts > 1:
        said[0] += ", united where they overlap"
    if n_specks:
        said.append(
            f"{_count(n_specks, 'speck')} under 1 % of the largest, planned as part: "
            "castplan heal drops them"
        )
    if n_inner:
        said.append(f"{_count(n_inner, 'shell')} hidden inside solid, which add nothing")
    if n_voids:
        said.append(f"{_count(n_voids, 'closed void')}: the copy will be solid there")
    return f"Bodies: {'; '.join(said)}."


def _facing(check):
    if not check.is_winding_consistent:
        yield (
            "Winding: some facets disagree with their neighbours and cannot be turned to agree. "
            "The winding number decides there, like over a hole."
        )


def _joints(check):
    if not check.n_nonmanifold_edges:
        return "Joints: every edge joins two facets."
    return (
        f"Joints: {_count(check.n_nonmanifold_edges, 'edge')} of more than two facets, where walls "
        "meet without thickness. The plan takes them as touching; solids for printing may refuse."
    )


def _crossings(health):
    tested = f"of {health.n_tested:,} looked at"
    if not health.n_crossing:
        return f"Crossings: no facet passes through another ({tested})."
    return (
        f"Crossings: {_count(health.n_crossing, 'facet')} {tested} "
        f"pass{'es' if health.n_crossing == 1 else ''} through others. Overlaps count once in the "
        "plan; the mesh's own volume counts them twice and is not used."
    )


def _empty(health):
    if not (health.n_zero_area or health.n_duplicates):
        return "Facets: none without area, none doubled."
    return (
        f"Facets: {health.n_zero_area:,} without area, {health.n_duplicates:,} doubled. "
        "They change nothing."
    )


def _noise(health):
    if health.noise_mm is None:
        return "Noise: cannot be told (too few even facets on smooth surface)."
    effect = (
        "it will show on the copy, and pockets or high points this small mean nothing"
        if health.noise_mm > _SHOWS_MM
        else "below what a copy shows"
    )
    return f"Noise: about {health.noise_mm:.2g} mm across the surface (estimated); {effect}."


def _resolution(check, health):
    return (
        f"Resolution: edges of {health.edge_mm:.2g} mm (median) on a part of "
        f"{max(check.extent_mm):.3g} mm. On curved surface nothing finer than "
        f"{_EDGES_PER_DETAIL * health.edge_mm:.2g} mm is in the file."
    )
