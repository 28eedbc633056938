"""A judge of where air stays: a grid of voxels.

Air of a cell is gone if and only if, through cells no lower than it, it hangs
together with an opening. It knows neither columns' trees nor queues.
"""

import numpy as np
from scipy import ndimage

from castplan.columns import field as columns

CELLS = 96  # along the longest side


class Voxels:
    """The cavity as cells, z along up."""

    def __init__(self, plan, *, frame=None):
        self.frame = frame or plan.air.attitude.frame
        self.pitch = max(plan.part.check.extent_mm) / CELLS
        part = plan.part
        self.field = f = columns.sample(
            part.vertices_mm, part.faces, part.cap_faces, self.frame.rotation, pitch_mm=self.pitch
        )
        n_z = int(np.ceil((f.high_mm[2] - f.low_mm[2]) / self.pitch)) + 1
        self.solid = np.zeros((f.n_y, f.n_x, n_z), bool)
        z = f.low_mm[2] + (np.arange(n_z) + 0.5) * self.pitch
        for k, column in enumerate(f.column_of):
            row, i = divmod(int(column), f.n_x)
            self.solid[row, i] |= (z > f.bottom_mm[k]) & (z < f.top_mm[k])
        self.z = z

    def place(self, cells):
        """Middle of some cells in the part frame."""
        row, i, level = np.array(cells)
        xy = self.field.centre_mm(row * self.field.n_x + i)
        points = np.column_stack([xy, self.z[level]])
        middle = points[np.argmin(np.linalg.norm(points - points.mean(axis=0), axis=1))]
        return self.frame.to_part(middle)

    def cell(self, place_mm):
        """The solid cell nearest to a place of the part frame."""
        point = self.frame.to_frame(np.asarray(place_mm))
        cells = np.argwhere(self.solid)
        xy = self.field.centre_mm(cells[:, 0] * self.field.n_x + cells[:, 1])
        points = np.column_stack([xy, self.z[cells[:, 2]]])
        return tuple(cells[np.argmin(np.linalg.norm(points - point, axis=1))])

    def stays(self, places_mm):
        """Cells whose air never finds an opening."""
        opened = [self.cell(place) for place in places_mm]
        out = np.zeros_like(self.solid)
        for level in range(self.solid.shape[2]):
            label, _ = ndimage.label(self.solid[:, :, level:])
            free = {label[row, i, at - level] for row, i, at in opened if at >= level} - {0}
            out[:, :, level] = self.solid[:, :, level] & ~np.isin(label[:, :, 0], list(free))
        return out

    def stays_ml(self, places_mm):
        """Volume of them."""
        return float(self.stays(places_mm).sum()) * self.pitch**3 / 1000
