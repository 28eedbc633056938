"""What is read, but hardly meant to be planned on."""

from castplan import errors
from castplan.errors import GeometryError, Option
from castplan.part import size
from castplan.part.records import Part


def check_plannable(part: Part, *, name: str, is_size_meant: bool) -> None:
    """Refuse to plan on what is hardly meant: an odd size, or one side of a part.

    Parameters
    ----------
    part : Part
    name : str
        Shown to the user.
    is_size_meant : bool
        Whether a size that is hard to believe was confirmed.

    Raises
    ------
    InputError
        The size is hard to believe.
    GeometryError
        The mesh is only one side of a part.
    """
    if not is_size_meant:
        size.check_believable(part.check.extent_mm, name=name)
    if part.check.is_one_sided:
        share = part.check.largest_hole_mm2 / part.check.area_mm2
        raise GeometryError(
            name,
            found=f"a surface with one side missing (a hole of "
            f"{part.check.largest_hole_mm2 / 100:.3g} cm2, {100 * share:.0f} % of the surface)",
            need="a closed body",
            do=(
                "Scan the back too; or give ",
                Option("--close-to-plane"),
                " for a flat back, or ",
                Option("--thickness"),
                " for a sheet of one thickness.",
            ),
            asks=errors.BACK,
        )
