"""What a mesh file holds, in words."""

from castplan import units
from castplan.materials.wording import volume_text
from castplan.model import MeshCheck
from castplan.output import formats
from castplan.texts import say


def _plural(count: int, noun: str) -> str:
    return say(f"count.{noun}", n=count, number=f"{count:,}")


def check_lines(check: MeshCheck, *, inches: bool) -> list[str]:
    """What the file holds, for a look before planning; lengths in inches first if `inches`."""
    size, other = formats.size_text(check.extent_mm), formats.size_inches(check.extent_mm)
    if inches:
        size, other = other, size
    if check.unit == "measured":
        unit = say("plan.unit_set_by_the_measured", mm_per_unit=f"{check.mm_per_unit:.5g}")
    elif check.file_unit is None:
        alternative, short = ("inches", "in") if check.unit == "mm" else ("millimetres", "mm")
        factor = units.MM_PER_UNIT[short] / check.mm_per_unit
        as_other_mm = tuple(side * factor for side in check.extent_mm)
        unit = say(
            "plan.unit_read_as_the_file",
            unit=check.unit,
            alternative=alternative,
            as_other=formats.size_text(as_other_mm),
            as_other_2=units.size_in_words(max(as_other_mm)),
        )
    elif check.file_unit == check.unit:
        unit = say("plan.unit_as_the_file_says", unit=check.unit)
    else:
        unit = say("plan.unit_read_as_though_the", unit=check.unit, file_unit=check.file_unit)
    area_cm2 = check.area_mm2 / 100
    if check.is_watertight:
        closed = say(
            "plan.closed_yes_volume_c_surface",
            volume=volume_text(units.ml_from_mm3(check.volume_mm3)),
            area_cm2=f"{area_cm2:.3g}",
        )
    else:
        closed = say(
            "plan.closed_no_round_close_them",
            n_open_edges=_plural(check.n_open_edges, "open_edge"),
            n_holes=_plural(check.n_holes, "hole"),
        )
    facing = (
        say("plan.all_inside_out_turned")
        if check.is_inverted
        else say("plan.all_the_same_way")
        if check.is_winding_consistent
        else say("plan.not_all_the_same_way")
    )
    return [
        say("plan.size", size=size, other=other, extent=units.size_in_words(max(check.extent_mm))),
        unit,
        say(
            "plan.mesh_doubled_corners_joined_dropped",
            n_triangles=_plural(check.n_triangles, "triangle"),
            n_vertices=_plural(check.n_vertices, "corner"),
            part=say("plan.body")
            if check.n_bodies == 1
            else say("plan.bodies", n_bodies=f"{check.n_bodies:,}"),
            n_merged_vertices=f"{check.n_merged_vertices:,}",
            n_dropped_triangles=_plural(check.n_dropped_triangles, "empty_triangle"),
        ),
        closed,
        say("plan.facing", facing=facing),
    ]
