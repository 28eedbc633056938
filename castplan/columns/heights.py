"""How much of a body lies at which height."""

import numpy as np

from castplan.columns.field import ColumnField


def volume_by_height(field: ColumnField, *, n_levels: int) -> tuple[np.ndarray, np.ndarray]:
    """Volume of equal layers across up.

    Parameters
    ----------
    field : ColumnField
    n_levels : int

    Returns
    -------
    middle_mm : (n_levels,) float64
    volume_mm3 : (n_levels,) float64
        Their sum is the field's volume, but for rounding.
    """
    edges = np.linspace(field.low_mm[2], field.high_mm[2], n_levels + 1)
    below = _length_under(field.bottom_mm, edges) - _length_under(field.top_mm, edges)
    # Ends of columns can lie past the mesh's own by rounding.
    below[-1] = float((field.top_mm - field.bottom_mm).sum())
    return 0.5 * (edges[:-1] + edges[1:]), np.diff(below) * field.cell_mm2


def _length_under(starts_mm, edges):
    """Sum over all starts of how far each edge lies above them, (k,)."""
    starts = np.sort(starts_mm)
    total = np.concatenate([[0.0], np.cumsum(starts)])
    n = np.searchsorted(starts, edges)
    return n * edges - total[n]
