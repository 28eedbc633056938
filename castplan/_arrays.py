"""Arrays inside frozen records: copied in, checked, made read-only.

A frozen dataclass does not freeze the array it holds, and `setflags` on the
result of `asarray` would freeze the caller's own array, hence the copy.
"""

import numpy as np


def frozen_array(value, *, shape, dtype=np.float64, name: str) -> np.ndarray:
    """Copy `value`, check it, and return it read-only.

    Parameters
    ----------
    value : array_like
    shape : tuple of int or None
        Wanted shape; None stands for any length.
    dtype : numpy dtype
    name : str
        Field name, for the message.

    Returns
    -------
    numpy.ndarray
        C-contiguous, read-only.

    Raises
    ------
    ValueError
        The shape differs or a number is not finite. This is a programmer's
        error: user input is checked where it is read.
    """
    array = np.array(value, dtype=dtype, order="C", copy=True)
    if array.shape == (0,) and shape[:1] == (None,):
        # An empty list of points, as a file tells it.
        array = array.reshape(0, *(want or 0 for want in shape[1:]))
    fits = array.ndim == len(shape) and all(
        want is None or have == want for have, want in zip(array.shape, shape, strict=True)
    )
    if not fits:
        raise ValueError(f"{name}: shape {array.shape}, need {shape}")
    if array.dtype.kind == "f" and not np.isfinite(array).all():
        raise ValueError(f"{name}: holds a number that is not finite")
    array.setflags(write=False)
    return array


def freeze(record, name: str, *, shape, dtype=np.float64) -> None:
    """Replace field `name` of a frozen dataclass by its checked read-only copy."""
    value = frozen_array(getattr(record, name), shape=shape, dtype=dtype, name=name)
    object.__setattr__(record, name, value)


def frozen_path(points) -> np.ndarray:
    """A read-only float64 copy of a polyline or ring, (k, 2) or (k, 3)."""
    path = np.array(points, dtype=np.float64)
    path.setflags(write=False)
    return path
