"""A picture of something long with stretches of its middle left out, as a draughtsman breaks it.

In a parallel view all that is the same along the long axis is shifted along one line of
the paper, so the pieces are moved together along it and fit (broken views, ISO 128-3).
"""

import numpy as np

from castplan import palette
from castplan.step_pictures import lines, marks, tones

LONG = 1.9  # times as wide as high: it is drawn larger, and broken
AS_WIDE = 1.55  # times as high, once it is broken
LARGER = 3.0  # at most so much
_KEPT_PX, _END_PX = 80.0, 190.0  # beside a mark, and at either end
_LEAST_PX = 60.0  # of a stretch that is worth a break
_GAP_PX = 16.0
_WAVE_PX, _WAVE_LONG_PX = 5.0, 34.0


def list_stretches(busy_px, *, wide_px: float, spare_px: float) -> list[tuple[float, float]]:
    """Stretches of a width to leave out, from left to right.

    Parameters
    ----------
    busy_px : sequence of (low, high)
        What must stay beside the ends: marks.
    wide_px : float
    spare_px : float
        How much is to go; less goes where there is not so much between the busy ones.
    """
    ends = [(0.0, _END_PX - _KEPT_PX), (wide_px - _END_PX + _KEPT_PX, wide_px)]
    free, at = [], 0.0
    for low, high in sorted([*busy_px, *ends]):
        if low - at > 2 * _KEPT_PX + _LEAST_PX:
            free.append((at + _KEPT_PX, low - _KEPT_PX))
        at = max(at, high)
    total = sum(high - low for low, high in free)
    share = min(spare_px / total, 1.0) if total > 0 else 0.0
    found = []
    for low, high in free:
        half, middle = 0.5 * share * (high - low), 0.5 * (low + high)
        if 2 * half >= _LEAST_PX:
            found.append((round(middle - half), round(middle + half)))
    return found


def shorten(pixels: np.ndarray, stretches, *, slope: float) -> np.ndarray:
    """A picture without some stretches, what is right of each moved up along the long axis.

    Parameters
    ----------
    pixels : (n_y, n_x, 3) uint8 array
        Rows from the top.
    stretches : list of (low, high)
        From left to right.
    slope : float
        Pixels that the long axis rises for each that it runs to the right.

    Returns
    -------
    (m_y, m_x, 3) uint8 array
    """
    n_y, n_x = pixels.shape[:2]
    pieces, at, right, up, edges = [], 0, 0, 0.0, []
    for low, high in [*stretches, (n_x, n_x)]:
        pieces.append((right + at, round(up), pixels[:, at:low]))
        edges.append(right + low)
        gone = high - low - _GAP_PX
        right -= int(gone)
        up += slope * gone
        at = high
    offs = [off for _, off, _ in pieces]
    high = n_y + max(offs) - min(offs)
    wide = max(x + piece.shape[1] for x, _, piece in pieces)
    out = np.full((high, wide, 3), 255, np.uint8)
    for x, off, piece in pieces:
        # Moved to the left by so much, it comes to lie as much higher or lower on the axis.
        y = off - min(offs)
        out[y : y + n_y, x : x + piece.shape[1]] = piece
    rows = (out < 250).any(axis=(1, 2)).nonzero()[0]
    margin = n_y - int((pixels < 250).any(axis=(1, 2)).nonzero()[0][-1]) - 1
    out = out[max(rows[0] - margin, 0) : rows[-1] + margin + 1]
    return _with_breaks(out, edges[:-1])


def _with_breaks(pixels, edges):
    """A wavy line on either side of each gap, where something is drawn beside it."""
    n_y, _ = pixels.shape[:2]
    picture = pixels[::-1].astype(np.float32) / 255
    ink = np.zeros(pixels.shape[:2], np.float32)
    for edge in edges:
        drawn = (picture[:, max(edge - 3, 0) : edge] < 0.98).any(axis=(1, 2)).nonzero()[0]
        if not len(drawn):
            continue
        y = np.linspace(max(drawn[0] - 10, 0), min(drawn[-1] + 10, n_y - 1), 60)
        wave = _WAVE_PX * np.sin(2 * np.pi * y / _WAVE_LONG_PX)
        white = np.zeros_like(ink)
        middle = np.column_stack([edge + 0.5 * _GAP_PX + wave, y])
        first = np.array([0, len(y)], dtype=np.int64)
        lines.stroke(white, middle, first, np.array([_GAP_PX]))
        marks.lay(picture, white, np.ones(3))
        for side in (-0.5, 0.5):
            path = middle + np.array([side * _GAP_PX, 0.0])
            lines.stroke(ink, path, first, np.array([1.8]))
    marks.lay(picture, ink, tones.rgb(palette.INK))
    return np.round(255 * picture[::-1]).astype(np.uint8)
