"""What one draw costs the shop, term by term: alike in the search and for the finalists."""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField
from castplan.columns.gaps import find_gaps
from castplan.columns.outline import Outline, read_outline, whole_fraction
from castplan.columns.scores import score_field
from castplan.geometry import frames
from castplan.job import Job
from castplan.part.records import Part

# Less than so many columns as high as they are wide is sampling at a rim, not a pocket.
NOISE_COLUMNS = 10
# A pocket costs all of its minutes from so many ties on, and less in proportion
# under it: else a cubic millimetre more would cost as much as a third of a millilitre.
WHOLE_TIES = 10
# A part stands deep in the rubber where it is taller than it is long: nothing can be
# peeled from it there. Each mm counts like so many of the mould's height (assumed).
DEEP_TIMES = 3.0
# An outline of which more is one column wide or less, or in pieces, has not been seen.
SEEN_FRACTION = 0.5


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawTerms:
    """What a field along a draw tells of it."""

    trapped_mm3: float
    locked_mm3: float
    n_pockets: int
    n_bridges: int
    pockets: float  # the same, small ones in proportion
    bridges: float
    depth_mm: float
    climb_mm: float
    outline: Outline
    show_mm: float | None
    extent_mm: np.ndarray  # (3,) of the part
    is_turned: bool  # the part stands better with the draw reversed
    is_stable: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawBill:
    """The terms of `DrawWeights` for one part and job."""

    part: Part
    job: Job
    turn: np.ndarray  # (3, 3), the part's own axes
    wall_mm: float
    depth_mm: float  # inside the outline, where a free line's range is read
    sealed_mm3: float  # voids that no silicone reaches, whatever the draw
    tie_mm3: float  # pockets up to this count as nothing

    def read(self, field: ColumnField, *, keeps_sign: bool = False) -> DrawTerms:
        """The terms of a draw along a field's third axis."""
        trapped_mm3, locked_mm3 = score_field(field, sealed_mm3=self.sealed_mm3)
        outline = read_outline(field, depth_mm=self.depth_mm)
        is_turned = not keeps_sign and frames.stands_better_upside_down(field, self.turn)
        is_stable = frames.lies_stable(field, is_turned=is_turned)
        if not (is_stable or keeps_sign) and frames.lies_stable(field, is_turned=not is_turned):
            # An angle lies on the ends of its legs, with no flat to speak of under it.
            is_turned, is_stable = not is_turned, True
        show_mm = None
        if self.job.show_face is not None:
            show = field.rotation @ frames.unit(self.job.show_face)
            show_mm = outline.length_towards_mm(show[:2])
        return DrawTerms(
            trapped_mm3=trapped_mm3,
            locked_mm3=locked_mm3,
            climb_mm=outline.climb_mm,
            outline=outline,
            show_mm=show_mm,
            extent_mm=field.high_mm - field.low_mm,
            is_turned=is_turned,
            is_stable=is_stable,
            **_count_pockets(field, self.tie_mm3),
        )

    def is_seen(self, field: ColumnField, outline: Outline) -> bool:
        """Whether the columns show the part's outline."""
        whole = whole_fraction(field, n_bodies=max(self.part.check.n_bodies, 1))
        return min(outline.seen_fraction, whole) >= SEEN_FRACTION

    def box_mm(self, extent_mm):
        """Inside of the mould's box (..., 3), before it is rounded up."""
        over_mm = self.job.over_mm + self.job.floor_mm
        return extent_mm + np.array([2 * self.wall_mm, 2 * self.wall_mm, over_mm])

    def silicone_ml(self, box_mm):
        """Silicone of a box (..., 3) of both halves."""
        return (np.prod(box_mm, axis=-1) - self.part.check.volume_mm3) / 1000

    def minutes(self, terms: DrawTerms) -> float:
        """All that a draw costs."""
        w = self.job.draw_weights
        return float(
            self._least_min(
                terms.trapped_mm3, terms.locked_mm3, self.box_mm(terms.extent_mm), terms.climb_mm
            )
            + w.pocket_min * terms.pockets
            + w.bridge_min * terms.bridges
            + w.depth_min_per_mm * terms.depth_mm
            + w.face_seam_min_per_mm * terms.outline.face_mm
            + w.show_seam_min_per_mm * (terms.show_mm or 0.0)
            + (0.0 if terms.is_stable else w.unstable_min)
        )

    def rough_min(self, scores) -> np.ndarray:
        """The least that scored directions (k, 5) can cost, without what takes longer to tell."""
        box_mm = self.box_mm(scores[:, 2:])
        return self._least_min(scores[:, 0], scores[:, 1], box_mm, 0.0)

    def _least_min(self, trapped_mm3, locked_mm3, box_mm, climb_mm):
        w = self.job.draw_weights
        # A line that follows the part frees all but what is locked.
        extra_min = w.trapped_min_per_ml * (trapped_mm3 - locked_mm3) / 1000
        following_min = w.following_min + w.line_min_per_mm * climb_mm
        return (
            w.trapped_min_per_ml * locked_mm3 / 1000
            + np.minimum(extra_min, following_min)
            + w.height_min_per_mm * self._height_mm(box_mm)
            + w.silicone_min_per_ml * self.silicone_ml(box_mm)
        )

    def _height_mm(self, box_mm):
        """Height of a box (..., 3), and more for what the part is taller than it is long."""
        part_mm = box_mm - self.box_mm(np.zeros(3))
        deep_mm = part_mm[..., 2] - part_mm[..., :2].max(axis=-1)
        return box_mm[..., 2] + DEEP_TIMES * np.maximum(deep_mm, 0.0)


def _count_pockets(field, tie_mm3):
    """Pockets that hold, bridges among them, and the deepest way to the open."""
    gaps = find_gaps(field)
    weight = (gaps.top_mm - gaps.bottom_mm) * field.cell_mm2
    volume = np.bincount(gaps.pocket, weights=weight, minlength=gaps.n_pockets)
    least_mm3 = max(tie_mm3, NOISE_COLUMNS * field.pitch_mm**3)
    holds = (volume > least_mm3) & (gaps.n_mouths > 0)
    is_one = holds & (gaps.n_mouths == 1)
    is_bridge = holds & (gaps.n_mouths > 1)
    inside = holds[gaps.pocket] if gaps.n_pockets else np.zeros(0, dtype=bool)
    share = np.clip((volume - least_mm3) / (WHOLE_TIES * tie_mm3), 0.0, 1.0)
    return {
        "n_pockets": int(np.count_nonzero(is_one)),
        "n_bridges": int(np.count_nonzero(is_bridge)),
        "pockets": _peels(field, gaps, is_one, share),
        "bridges": _peels(field, gaps, is_bridge, share),
        "depth_mm": float(gaps.depth_mm[inside].max(initial=0.0)),
    }


def _peels(field, gaps, counts, share):
    """How many pockets are peeled one by one: those over each other, as of a thread, are one.

    Else a degree of tilt, at which the turns of a thread run into each other, would
    seem to save all but one of them.
    """
    if np.count_nonzero(counts) < 2:
        return float(share[counts].sum())
    rows = np.flatnonzero(counts[gaps.pocket])
    shadow = np.zeros(field.n_y * field.n_x, dtype=bool)
    shadow[gaps.column[rows]] = True
    label, n = ndimage.label(shadow.reshape(field.n_y, field.n_x), structure=np.ones((3, 3)))
    most = np.zeros(n + 1)
    np.maximum.at(most, label.ravel()[gaps.column[rows]], share[gaps.pocket[rows]])
    return float(most.sum())
