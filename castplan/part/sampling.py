"""How finely the part was sampled, and which volume to plan by."""

import numpy as np

from castplan.columns.field import ColumnField
from castplan.part.records import Part, Sampling


def describe_sampling(part: Part, field: ColumnField) -> Sampling:
    """Pitch and columns of a field of the part, and its volume against the exact one."""
    exact_mm3 = part.check.volume_mm3
    return Sampling(
        pitch_mm=field.pitch_mm,
        n_columns=int(np.count_nonzero(np.diff(field.first))),
        n_unclosed=field.n_unclosed,
        n_decided=field.n_decided,
        volume_mm3=field.volume_mm3,
        volume_difference_fraction=(
            field.volume_mm3 / exact_mm3 - 1 if part.check.is_watertight else None
        ),
    )


def solid_mm3(part: Part, sampling: Sampling) -> float:
    """The mesh's own volume where it has one, else the columns', mm3."""
    if sampling.volume_difference_fraction is None or sampling.bodies_overlap:
        return sampling.volume_mm3
    return part.check.volume_mm3
