"""A body in a box with a level split, as the stages of the pour want it."""

import bodies
import numpy as np
import shapes
from output.neutral import filled

from castplan import records
from castplan.air.feed import plan_gate
from castplan.air.high_points import GateAt, PourView, find_air
from castplan.air.site import GateSite
from castplan.columns import field as columns
from castplan.columns.rim import find_rims
from castplan.geometry.channels import Block, length_of
from castplan.geometry.guard import Guard
from castplan.geometry.stands import box_rests, stand_asked_for
from castplan.mould.vents import route_vents

LEVEL = records.Frame(rotation=np.eye(3))
ROOM_MM = 12.0
LOW, HIGH = np.array([-40.0, -30, -12]), np.array([40.0, 30, 52])


def routes_of(solid, place, *, up=(0, 0, 1), parting_mm=0.0, keys=(), bore_mm=2.5):
    """Route of one vent at a place of the draw frame, box from LOW to HIGH."""
    vertices, faces = bodies.arrays(solid)
    rests = box_rests(LEVEL)
    name = next(key for key, frame in rests.items() if np.allclose(frame.up, up))
    rest = rests[name]
    field = columns.sample(vertices, faces, bodies.NO_FACES, rest.rotation, pitch_mm=0.4)
    air = find_air(field, records.Job(), PourView(rest=rest))
    port = filled(
        records.Port,
        label="1",
        kind="vent",
        place_mm=tuple(rest.to_frame(np.array(place, float))),
        diameter_mm=bore_mm,
    )
    surface = records.PartingSurface(
        x0_mm=LOW[0],
        y0_mm=LOW[1],
        step_x_mm=80.0,
        step_y_mm=60.0,
        heights_mm=np.full((2, 2), parting_mm),
    )
    mould = filled(
        records.MouldResult,
        low_mm=tuple(LOW),
        high_mm=tuple(HIGH),
        upper_ml=1.0,
        lower_ml=1.0,
        bedding=filled(records.Bedding, kind="clay"),
        ports=(port,),
        box_view_mm=np.zeros((4, 2)),
    )
    block = Block(field, rest, LEVEL, air.up, surface, tuple(LOW), tuple(HIGH), keys)
    result = route_vents(block, mould, cup_high_mm=25.0)
    return result.routes[0]


BLOCK = bodies.cuboid((-20, 20), (-15, 15), (0, 20))


def _rims(field, height_mm):
    """The part's outlines along the draw, the split level."""
    for rim in find_rims(field):
        if not rim.is_hole:
            level = np.full(len(rim.points_mm), height_mm)
            yield filled(
                records.RimLoop,
                points_mm=rim.points_mm,
                low_mm=rim.low_mm,
                high_mm=rim.high_mm,
                line_mm=level,
            )


class Setup:
    """Part, box, split, attitude, openings: what a plan has before it pours.

    The draw is +z of the body, the split level at `parting_mm`.
    """

    def __init__(self, body, *, job=None, up=(0.0, 0.0, 1.0), parting_mm=0.0, across=160):
        vertices, faces = (body.vertices_mm, body.faces) if isinstance(body, shapes.Body) else body
        self.job = job or records.Job()
        self.part = shapes.part_of(vertices, faces)
        self.draw = LEVEL
        low, high = vertices.min(axis=0) - ROOM_MM, vertices.max(axis=0) + ROOM_MM
        pitch_mm = float(np.ptp(vertices, axis=0).max()) / across
        stand = stand_asked_for(box_rests(LEVEL), LEVEL, np.asarray(up) / np.linalg.norm(up))
        option = filled(
            records.AttitudeOption, up=tuple(float(v) for v in stand.frame.up), rest=stand.rest
        )
        self.attitude = filled(
            records.AttitudeResult, frame=stand.frame, rest=stand.rest_frame, options=(option,)
        )
        self.pour_field = self._sample(stand.frame, pitch_mm)
        self.rest_field = self._sample(stand.rest_frame, pitch_mm)
        guard = Guard(self.part, self.job)
        view = PourView(rest=stand.rest_frame, vertices_mm=vertices, guard=guard)
        self.openings = find_air(self.pour_field, self.job, view)
        draw_field = self._sample(LEVEL, pitch_mm)
        self.line = filled(
            records.PartingLine,
            kind="level",
            plugs=(),
            surface=records.PartingSurface(
                x0_mm=low[0],
                y0_mm=low[1],
                step_x_mm=high[0] - low[0],
                step_y_mm=high[1] - low[1],
                heights_mm=np.full((2, 2), float(parting_mm)),
            ),
            outlines=tuple(_rims(draw_field, float(parting_mm))),
            box_height_mm=float(parting_mm),
        )
        corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
        self.box = filled(
            records.BoxResult,
            outline_mm=low[:2] + corners * (high - low)[:2],
            low_mm=tuple(low),
            high_mm=tuple(high),
        )
        volume_mm3 = self.part.check.volume_mm3
        site = GateSite(
            rested=self.rest_field,
            drawn=draw_field,
            draw_frame=self.draw,
            line=self.line,
            box=self.box,
            part_mm3=volume_mm3,
            guard=guard,
        )
        self.feed = plan_gate(site, self.openings, self.job)
        gate = self.feed.chosen
        if gate.peak != self.openings.gate:
            fed_at = GateAt(peak=gate.peak)
            self.openings = find_air(self.pour_field, self.job, view, fed_at=fed_at)
        self.mould = filled(
            records.MouldResult,
            low_mm=tuple(low),
            high_mm=tuple(high),
            upper_ml=1.0,
            lower_ml=1.0,
            part_ml=self.part.check.volume_mm3 / 1000,
            box_view_mm=np.zeros((4, 2)),
            ports=(
                filled(
                    records.Port,
                    label="G",
                    kind="gate",
                    place_mm=gate.place_mm,
                    path_mm=gate.path_mm,
                    is_riser=gate.feed == "riser",
                    cup_mm=gate.cup_mm,
                    diameter_mm=gate.bore_mm,
                    length_mm=length_of(gate.path_mm),
                ),
            ),
        )

    @property
    def split(self):
        """What the room of the split would hand on of it."""
        draw = filled(records.DrawResult, frame=self.draw)
        return filled(records.Split, draw=draw, line=self.line, box=self.box)

    @property
    def air(self):
        """What the room of the air would."""
        parts = {"attitude": self.attitude, "openings": self.openings, "feed": self.feed}
        return filled(records.Air, **parts)

    @property
    def silicone(self):
        """The block as a channel sees it."""
        ends_mm = (self.box.low_mm, self.box.high_mm)
        frame, up = self.openings.frame, self.openings.up
        return Block(self.rest_field, frame, self.draw, up, self.line.surface, *ends_mm)

    def _sample(self, frame, pitch_mm):
        return columns.sample(
            self.part.vertices_mm,
            self.part.faces,
            bodies.NO_FACES,
            frame.rotation,
            pitch_mm=pitch_mm,
        )
