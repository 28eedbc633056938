"""A body in a box with a level split, as the stages of the pour want it."""

import bodies
import numpy as np
import shapes
from output.neutral import filled

from castplan import model
from castplan.columns import field as columns
from castplan.mesh.stands import box_rests, stand_asked_for
from castplan.stages.air import find_air

LEVEL = model.Frame(rotation=np.eye(3))
ROOM_MM = 12.0


class Setup:
    """Part, box, split, attitude, openings: what a plan has before it pours.

    The draw is +z of the body, the split level at `parting_mm`.
    """

    def __init__(self, body, *, job=None, up=(0.0, 0.0, 1.0), parting_mm=0.0, across=160):
        vertices, faces = (body.vertices_mm, body.faces) if isinstance(body, shapes.Body) else body
        self.job = job or model.Job()
        self.part = shapes.part_of(vertices, faces)
        self.draw = LEVEL
        low, high = vertices.min(axis=0) - ROOM_MM, vertices.max(axis=0) + ROOM_MM
        pitch_mm = float(np.ptp(vertices, axis=0).max()) / across
        stand = stand_asked_for(box_rests(LEVEL), LEVEL, np.asarray(up) / np.linalg.norm(up))
        option = filled(
            model.AttitudeOption, up=tuple(float(v) for v in stand.frame.up), rest=stand.rest
        )
        self.attitude = filled(
            model.AttitudeResult, frame=stand.frame, rest=stand.rest_frame, options=(option,)
        )
        self.pour_field = self._sample(stand.frame, pitch_mm)
        self.rest_field = self._sample(stand.rest_frame, pitch_mm)
        self.air = find_air(self.pour_field, self.job, rest=stand.rest_frame, vertices_mm=vertices)
        self.line = filled(
            model.PartingLine,
            surface=model.PartingSurface(
                x0_mm=low[0],
                y0_mm=low[1],
                step_x_mm=high[0] - low[0],
                step_y_mm=high[1] - low[1],
                heights_mm=np.full((2, 2), float(parting_mm)),
            ),
            box_height_mm=float(parting_mm),
        )
        gate = self.air.peaks[self.air.gate]
        self.mould = filled(
            model.MouldResult,
            low_mm=tuple(low),
            high_mm=tuple(high),
            upper_ml=1.0,
            lower_ml=1.0,
            part_ml=self.part.check.volume_mm3 / 1000,
            box_view_mm=np.zeros((4, 2)),
            ports=(
                filled(
                    model.Port,
                    label="G",
                    kind="gate",
                    place_mm=gate.place_mm,
                    diameter_mm=self.job.gate_mm,
                    length_mm=ROOM_MM,
                ),
            ),
        )

    def _sample(self, frame, pitch_mm):
        return columns.sample(
            self.part.vertices_mm,
            self.part.faces,
            bodies.NO_FACES,
            frame.rotation,
            pitch_mm=pitch_mm,
        )
