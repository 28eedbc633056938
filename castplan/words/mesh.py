"""What a mesh file holds, in words."""

from castplan import units
from castplan.materials.wording import volume_text
from castplan.part.records import MeshCheck
from castplan.texts import say
from castplan.words import formats


def size_words(longest_mm: float) -> str:
    """A longest side as an everyday object: ``about a hand's breadth``."""
    return say(f"size_object.{units.size_object(longest_mm)}")


def check_lines(check: MeshCheck, *, inches: bool) -> list[str]:
    """What the file holds, for a look before planning; lengths in inches first if `inches`.

    Five lines: size, unit, mesh, whether it is closed, which way its facets look.
    """
    size, other = formats.size_text(check.extent_mm), formats.size_inches(check.extent_mm)
    if inches:
        size, other = other, size
    return [
        say("plan.size", size=size, other=other, extent=size_words(max(check.extent_mm))),
        _unit_line(check),
        say(
            "plan.mesh_doubled_corners_joined_dropped",
            n_triangles=formats.counted(check.n_triangles, "triangle"),
            n_vertices=formats.counted(check.n_vertices, "corner"),
            part=say("plan.body")
            if check.n_bodies == 1
            else say("plan.bodies", n_bodies=f"{check.n_bodies:,}"),
            n_merged_vertices=f"{check.n_merged_vertices:,}",
            n_dropped_triangles=formats.counted(check.n_dropped_triangles, "empty_triangle"),
            join=f"{units.digits(check.join_mm, 2)} mm",
        ),
        _closed_line(check),
        _facing_line(check),
    ]


def _unit_line(check):
    if check.unit == "measured":
        return say("plan.unit_set_by_the_measured", mm_per_unit=units.digits(check.mm_per_unit, 5))
    if check.file_unit is None:
        alternative = "in" if check.unit == "mm" else "mm"
        factor = units.MM_PER_UNIT[alternative] / check.mm_per_unit
        as_other_mm = tuple(side * factor for side in check.extent_mm)
        return say(
            "plan.unit_read_as_the_file",
            unit=check.unit,
            alternative=say(f"unit_name.{alternative}"),
            as_other=formats.size_text(as_other_mm),
            as_other_2=size_words(max(as_other_mm)),
        )
    if check.file_unit == check.unit:
        return say("plan.unit_as_the_file_says", unit=check.unit)
    return say("plan.unit_read_as_though_the", unit=check.unit, file_unit=check.file_unit)


def _closed_line(check):
    if check.is_watertight:
        return say(
            "plan.closed_yes_volume_c_surface",
            volume=volume_text(units.ml_from_mm3(check.volume_mm3)),
            area_cm2=units.digits(check.area_mm2 / 100, 3),
        )
    return say(
        "plan.closed_no_round_close_them",
        n_open_edges=formats.counted(check.n_open_edges, "open_edge"),
        n_holes=formats.counted(check.n_holes, "hole"),
    )


def _facing_line(check):
    if check.is_inverted:
        return say("plan.facing", facing=say("plan.all_inside_out_turned"))
    if check.is_winding_consistent:
        return say("plan.facing", facing=say("plan.all_the_same_way"))
    return say("plan.facing", facing=say("plan.not_all_the_same_way"))
