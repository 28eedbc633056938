"""A high point of the cavity: its roof, the place of its opening, and how wide it is there."""

import numpy as np
from scipy import ndimage

from castplan.air.records import Peak
from castplan.air.ups import section_mm2
from castplan.columns.peaks import LEVEL_MM, level_depth_mm, roof_of
from castplan.geometry.directions import farthest_along

# A roof of fewer columns than this is a point, seen through the sampling.
ROOF_COLUMNS = 5
# Vents are 2 to 3 mm across, 1 to 1.5 mm on thin lips (mould makers' public
# pages; diameters from memory).
THIN_MM = 4.0
THIN_BORES_MM = (1.0, 1.5)
# Columns of a roof that are asked where an opening does least harm.
N_ASKED = 400
# Places that differ by less than this many columns are as near or as far: by sampling.
SAME_COLUMNS = 2.0
# An opening is moved along its roof to save at least this much (assumed).
MOVE_MIN = 1.0
# Off its roof too, where no more air than this, a bubble of 1.2 mm, stays above it;
# so far down it is looked for. Where the roof is a crown that is a few millimetres.
NOTHING_MM3 = 1.0
NEAR_DEPTHS_MM = (0.8, 0.4, 0.2, 0.1, 0.05)


def turn_of(guard):
    """The axes that tell places apart which are as good: the part's own, where they are known."""
    return np.eye(3) if guard is None else guard.turn


class Corners:
    """Corners of the mesh by column."""

    def __init__(self, field, points_mm):
        self.points_mm = points_mm
        self.column = field.columns_at(points_mm[:, :2])
        self.order = np.argsort(self.column, kind="stable")
        self.sorted = self.column[self.order]

    def in_columns(self, columns):
        """Indices of the corners in some columns."""
        low = np.searchsorted(self.sorted, columns, side="left")
        high = np.searchsorted(self.sorted, columns, side="right")
        return np.concatenate(
            [self.order[a:b] for a, b in zip(low, high, strict=True)] or [self.order[:0]]
        )


class Top:
    """One high point: its roof, its place, and how wide the cavity is there."""

    def __init__(self, field, tree, row, corners, job, guard):
        self.field, self.tree, self.row, self.guard = field, tree, row, guard
        self.roof = roof_of(field, tree, row, depth_mm=LEVEL_MM)
        self.roof_xy = field.centre_mm(field.column_of[self.roof])
        self.ridge = roof_of(field, tree, row, depth_mm=level_depth_mm(field))
        self.ridge_xy = field.centre_mm(field.column_of[self.ridge])
        self.length_mm = float(np.ptp(self.ridge_xy, axis=0).max())
        self.place_mm, self.is_on_mesh = self._place(corners)
        self.width_mm = self._width(job.vent_mm)
        self.bore_mm = job.vent_mm
        if self.width_mm < THIN_MM:
            self.bore_mm = min(job.vent_mm, float(np.clip(0.5 * self.width_mm, *THIN_BORES_MM)))

    def record(self, number, turn):
        """The high point as the plan keeps it."""
        tree, row = self.tree, self.row
        return Peak(
            number=number,
            place_mm=turn(self.place_mm),
            height_mm=float(self.place_mm[2] - self.field.low_mm[2]),
            rise_mm=float(tree.rise_mm[row]),
            air_mm3=float(tree.air_mm3[row]),
            roof_mm2=float(self.roof.size * self.field.cell_mm2),
            roof_mm=self.length_mm,
            width_mm=self.width_mm,
            section_mm2=section_mm2(self.field, tree, row),
            bore_mm=self.bore_mm,
            is_on_mesh=self.is_on_mesh,
        )

    def _place(self, corners):
        """Middle of a level roof, which lies on the mesh as columns do; else its corner."""
        if corners is not None and self.roof.size < ROOF_COLUMNS:
            corner = self._corner(corners)
            if corner is not None:
                place = tuple(float(v) for v in corner)
                beside = self._beside(place)
                return (place, True) if beside is None else (beside, False)
        # Where the middle falls into a hole, the roof's column nearest to it.
        away = np.linalg.norm(self.roof_xy - self.roof_xy.mean(axis=0), axis=1)
        k = self._least_harm(away, self._nearest(away, np.arange(away.size)))
        x, y = self.roof_xy[k]
        place = (float(x), float(y), float(self.field.top_mm[self.roof[k]]))
        return self._beside(place) or place, False

    def _beside(self, place):
        """A place beside the roof that does less harm and lets the air out as well, or None."""
        if self.guard is None:
            return None
        turn, field = self.field.rotation, self.field
        (harm_min,) = self.guard.minutes(np.atleast_2d(place) @ turn, is_all_or_none=True)
        if harm_min < MOVE_MIN:
            return None
        for depth_mm in NEAR_DEPTHS_MM:
            if depth_mm >= float(self.tree.rise_mm[self.row]):
                continue
            near = roof_of(field, self.tree, self.row, depth_mm=depth_mm)
            z = field.top_mm[near]
            left_mm3 = float((z - z.max() + depth_mm).sum()) * field.cell_mm2
            if left_mm3 <= NOTHING_MM3:
                break
        else:
            return None
        asked = np.unique(np.linspace(0, near.size - 1, N_ASKED).astype(int))
        places = np.column_stack([field.centre_mm(field.column_of[near]), z])[asked]
        minutes = self.guard.minutes(places @ turn, is_all_or_none=True)
        if harm_min - minutes.min() < MOVE_MIN:
            return None
        good = places[minutes < minutes.min() + MOVE_MIN]
        away = np.round(np.linalg.norm(good - np.asarray(place), axis=1), 6)
        return tuple(float(v) for v in good[np.argmin(away)])

    def _nearest(self, away, rows):
        """Of some rows of the roof the nearest to its middle; round a hole by the own axes."""
        least_mm = away[rows].min()
        if least_mm <= self.field.pitch_mm:
            return int(rows[np.argmin(np.round(away[rows], 6))])
        rows = rows[away[rows] <= least_mm + SAME_COLUMNS * self.field.pitch_mm]
        places = np.column_stack([self.roof_xy, self.field.top_mm[self.roof]])[rows]
        return int(rows[farthest_along(places @ self.field.rotation, turn_of(self.guard))])

    def _least_harm(self, away, middle):
        """Row of the roof where an opening does least harm: of equals the nearest the middle."""
        if self.guard is None:
            return middle
        asked = np.unique(
            np.append(np.linspace(0, self.roof.size - 1, N_ASKED).astype(int), middle)
        )
        places = np.column_stack([self.roof_xy, self.field.top_mm[self.roof]])[asked]
        minutes = self.guard.minutes(places @ self.field.rotation, is_all_or_none=True)
        if minutes[np.searchsorted(asked, middle)] - minutes.min() < MOVE_MIN:
            return middle
        good = asked[minutes < minutes.min() + MOVE_MIN]
        return self._nearest(away, good)

    def _corner(self, corners):
        """The highest corner of the mesh at the point, and not of what stands above it."""
        field, top_mm = self.field, float(self.tree.top_mm[self.row])
        around = np.array([j * field.n_x + i for j in (-1, 0, 1) for i in (-1, 0, 1)])
        columns = np.unique((field.column_of[self.roof][:, None] + around).ravel())
        found = corners.in_columns(columns)
        if not found.size:
            return None
        z = corners.points_mm[found, 2]
        fits = np.abs(z - top_mm) <= 3 * field.pitch_mm
        if not fits.any():
            return None
        best = found[fits][np.lexsort((found[fits], -z[fits]))[0]]
        return corners.points_mm[best]

    def _width(self, depth_mm):
        """Widest circle inside the cavity a little under the top."""
        field, top_mm = self.field, float(self.tree.top_mm[self.row])
        rise_mm = top_mm - float(self.tree.saddle_mm[self.row])
        under = roof_of(field, self.tree, self.row, depth_mm=min(depth_mm, 0.999 * rise_mm))
        row, i = np.divmod(field.column_of[under], field.n_x)
        mask = np.zeros((np.ptp(row) + 3, np.ptp(i) + 3), dtype=bool)
        mask[row - row.min() + 1, i - i.min() + 1] = True
        # A row of single columns is one pitch wide, hence the half taken off.
        return float((2 * ndimage.distance_transform_edt(mask).max() - 1) * field.pitch_mm)
