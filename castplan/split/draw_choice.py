"""Which of the measured draws to take: the cheapest, and of those as good the plainest."""

from dataclasses import replace

import numpy as np

from castplan.geometry import margins

# A direction of the part's own making is preferred to the search's, unless it costs
# this much more, the plainer the more: a part drawn square to its flats is laid and
# measured more easily, and the weights tell no tenth of a bill (assumed). The file's
# axes count as a flat's: a part that lies askew in its file is the same part.
SNAP_MIN = 0.5
SNAP_FRACTION = 0.1
PLAIN_MIN = {
    **{"file": 0.25, "flat": 0.25, "laid": 0.25, "show": 0.25},
    **{"two": 0.5, "main": 0.5, "midway": 1.0, "search": 1.0, "asked": 0.0},
}
# Heights of moulds nearer than this are one height, and so are lengths of a seam that shows.
HEIGHT_MM = 2.0
SHOW_MM = 2.0


def snap_min(cost_min):
    """What a draw of the search may cost less than one of `cost_min` and not be preferred."""
    return SNAP_MIN + SNAP_FRACTION * cost_min


def preferred_min(candidate) -> float:
    """What a draw costs, and a little more the less plain it is."""
    plain_min = PLAIN_MIN[candidate.origin.partition("_")[0]]
    return candidate.cost_min + plain_min * snap_min(candidate.cost_min)


def in_order(candidates, turn) -> list[int]:
    """Rows of draws, best first; of those as good the plainest.

    That is the one with least seam on the face that shows, then the lower mould, then
    the one along the part's first axis.

    Parameters
    ----------
    candidates : list of DrawCandidate
    turn : (3, 3) float64
        The part's own axes.
    """
    costs = [preferred_min(candidate) for candidate in candidates]
    left = sorted(range(len(candidates)), key=lambda k: (round(costs[k], 6), k))
    out = []
    while left:
        limit = costs[left[0]] + margins.draw_margin_min(costs[left[0]])
        even = [k for k in left if costs[k] <= limit]
        # The weights trade a few mm of mould for a seam along a face that shows; what is
        # as good by them leaves that face alone.
        show_mm = min(_show_mm(candidates[k]) for k in even) + SHOW_MM
        even = [k for k in even if _show_mm(candidates[k]) <= show_mm]
        low_mm = min(candidates[k].mould_height_mm for k in even) + HEIGHT_MM
        even = [k for k in even if candidates[k].mould_height_mm <= low_mm]
        first = min(even, key=lambda k: (*_along(candidates[k], turn), k))
        left.remove(first)
        out.append(first)
    return out


def _show_mm(candidate):
    return candidate.seam_on_show_mm or 0.0


def _along(candidate, turn):
    """A key by how far a draw points along each axis, either way."""
    return tuple(0.0 - np.abs(np.round(turn @ np.asarray(candidate.direction), 2)))


def merge_alike(measured):
    """List symmetric answers once: same pockets, costs and heights within 1 %.

    Parameters
    ----------
    measured : list of (DrawCandidate, Frame)
        Best first.

    Returns
    -------
    list of (DrawCandidate, Frame)
    """
    kept = []
    for candidate, frame in measured:
        for n, (other, other_frame) in enumerate(kept):
            if _is_alike(candidate, other):
                kept[n] = (replace(other, n_alike=other.n_alike + 1), other_frame)
                break
        else:
            kept.append((candidate, frame))
    return kept


def _is_alike(a, b):
    return (
        (a.n_pockets, a.n_bridges, a.is_stable) == (b.n_pockets, b.n_bridges, b.is_stable)
        and abs(a.cost_min - b.cost_min) <= 0.01 * b.cost_min
        and abs(a.mould_height_mm - b.mould_height_mm) <= 0.01 * b.mould_height_mm
        and abs(a.trapped_mm3 - b.trapped_mm3) <= 0.02 * b.trapped_mm3 + 1.0
    )
