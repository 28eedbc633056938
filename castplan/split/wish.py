"""What is asked of the parting line besides being free."""

from collections.abc import Callable

from castplan.record import record


@record
class LineWish:
    """What counts as free, and what decides where several lines would do.

    `seam_heights` gives heights (k,) wanted at outline points (k, 2), nan where
    there is no wish: where the ranges leave freedom the line goes there.
    `show_slope` is the cosine between the draw and the way the face that shows
    looks: plugs keep off that face. With `is_on_board` the part lies on the board
    of an open mould, which stops every hole.
    """

    tie_mm3: float  # trapped volume that counts as nothing
    seam_heights: Callable | None = None
    show_slope: float = 0.0
    is_on_board: bool = False
