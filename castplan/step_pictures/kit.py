"""The bodies of a plan: original, parting, box, boards, openings, in the draw frame."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from castplan.bench.loose_steps import GRIP_MM
from castplan.geometry.block import cup_depth_mm
from castplan.geometry.boxes import ON_BOARD_MM
from castplan.geometry.shutoff import cutting_surface
from castplan.part.study import sample_part
from castplan.plan_record import Plan
from castplan.step_pictures import bodies
from castplan.step_pictures.body import Body
from castplan.step_pictures.thing import INNER, SAW, Pose, Thing, plain

RIM_MM = 10.0  # of a wall over the silicone
LEDGE_MM = 12.0  # of the base board beside the walls
_SEEN_FRACTION = 2e-3  # of the part: a bowl that is seen
_COLUMNS = 160  # across the part, to find the parting over it
_FAR_MM = 1e4


@dataclass(frozen=True, eq=False)
class Kit:
    """What steps are drawn of."""

    plan: Plan

    @cached_property
    def part(self):
        """The original, its holes closed."""
        part, frame = self.plan.part, self.plan.split.draw.frame
        faces = np.concatenate([part.faces, part.cap_faces])
        return Body(frame.to_frame(part.vertices_mm), faces)

    @cached_property
    def bounds_mm(self):
        """Bounds of the original, (2, 3)."""
        points = self.part.corners_mm[np.unique(self.plan.part.faces)]
        return np.stack([points.min(axis=0), points.max(axis=0)])

    @property
    def block(self):
        """The block of silicone as the plan has it."""
        return self.plan.mould.block

    @property
    def board_mm(self) -> float:
        """Thickness of the boards."""
        return self.plan.mould.boards.thickness_mm

    @property
    def low_mm(self):
        """Lower corner of the box's inside."""
        return np.array(self.block.low_mm)

    @property
    def high_mm(self):
        """Upper corner of the box's inside."""
        return np.array(self.block.high_mm)

    @property
    def floor_mm(self) -> float:
        """Height of the base board for the first pour."""
        return self.block.bedding.board_mm

    @cached_property
    def under(self):
        """What lies under the parting, keys left out."""
        plan = self.plan
        pitch_mm = max(
            plan.sampling.pitch_mm, float(np.ptp(self.bounds_mm, axis=0).max()) / _COLUMNS
        )
        line = plan.split.line
        surface = line.surface
        if not self._is_flat:
            field = sample_part(plan.part, plan.split.draw.frame, pitch_mm=pitch_mm)
            surface = cutting_surface(field, line)
        return bodies.under(surface, bottom_mm=self.low_mm[2] - bodies.BEYOND_MM)

    @property
    def _is_flat(self):
        """Whether the clay's own surface is all of the parting: no bowl, no plug off its level."""
        line = self.plan.split.line
        off_mm = [abs(plug.height_mm - line.box_height_mm) for plug in line.plugs]
        has_plugs = line.kind != "level" and bool(off_mm)
        bowls_mm3 = line.filled_above_mm3 + line.filled_below_mm3
        is_bowl = bowls_mm3 > _SEEN_FRACTION * 1000 * self.block.part_ml
        return not (is_bowl or has_plugs or max(off_mm, default=0.0) > ON_BOARD_MM)

    @cached_property
    def keys(self):
        """All keys as balls; a ball far under the bench where there are none."""
        keys = self.plan.mould.keys
        return bodies.joined(
            bodies.ball(place, diameter_mm=keys.diameter_mm) for place in keys.places_mm
        )

    def is_under(self, inside) -> bool:
        """Whether a place in these bodies lies on the lower side of the parting."""
        if self.plan.mould.keys.is_raised:
            return "under" in inside or "keys" in inside
        return "under" in inside and "keys" not in inside

    def block_between(self, *, low_mm: float, high_mm: float, grown_mm: float = 0.0):
        """The box's inside between two heights, grown all round."""
        outline = shapely.Polygon(self.plan.split.box.outline_mm)
        if grown_mm:
            outline = outline.buffer(grown_mm, join_style="mitre")
        ring = shapely.get_coordinates(shapely.orient_polygons(outline).exterior)[:-1]
        return bodies.prism(ring, low_mm=low_mm, high_mm=high_mm)

    def slab(self, top_mm: float):
        """A base board whose face is at a height."""
        beside = self.board_mm + LEDGE_MM
        low, high = self.low_mm - beside, self.high_mm + beside
        return bodies.box((*low[:2], top_mm - self.board_mm), (*high[:2], top_mm))

    def saw(self, pose: Pose, *, across_mm: float):
        """All on the reader's side of a plane that stands at y on the bench."""
        half = bodies.box((-_FAR_MM, -_FAR_MM, -_FAR_MM), (_FAR_MM, across_mm, _FAR_MM))
        return Body(pose.take(half.corners_mm), half.facets)

    @property
    def has_boards(self) -> bool:
        """Whether the walls are four boards."""
        return self.plan.split.box.shape == "rectangle"

    def front_walls(self, pose: Pose, eye_mm):
        """A saw for the walls that hide what is in the box from an eye that looks from there.

        Of four boards it takes two, of a ring the half that is nearer.
        """
        ring = pose.put(self.block_between(low_mm=0.0, high_mm=1.0).corners_mm)
        low, high = ring.min(axis=0) + 0.01, ring.max(axis=0) - 0.01
        near, is_right = -_FAR_MM, eye_mm[0] > 0
        if self.has_boards:
            aside = (high[0], _FAR_MM) if is_right else (near, low[0])
            saw = bodies.joined(
                [
                    bodies.box((near, near, near), (_FAR_MM, low[1], _FAR_MM)),
                    bodies.box((aside[0], near, near), (aside[1], _FAR_MM, _FAR_MM)),
                ]
            )
        else:
            ahead = np.array(eye_mm[:2]) / np.hypot(*eye_mm[:2])
            along = _FAR_MM * np.array([-ahead[1], ahead[0]])
            middle = (low + high)[:2] / 2
            corners = [middle - along, middle - along + _FAR_MM * ahead]
            corners += [middle + along + _FAR_MM * ahead, middle + along]
            saw = bodies.prism(corners, low_mm=near, high_mm=_FAR_MM)
        return Body(pose.take(saw.corners_mm), saw.facets)

    @cached_property
    def piece_bodies(self) -> list[Body]:
        """Each loose piece as it lies in the mould; a rod goes on through the board."""
        made = []
        for piece in self.plan.split.pieces:
            own = [
                bodies.prism(ring, low_mm=piece.low_mm, high_mm=piece.face_mm)
                for ring in piece.section_mm
            ]
            own.append(
                bodies.tapered(
                    piece.base_mm, piece.mouth_mm, low_mm=piece.face_mm, high_mm=piece.end_mm
                )
            )
            if piece.kind == "rod":
                out_mm = piece.end_mm + self.board_mm + GRIP_MM
                own.append(bodies.prism(piece.mouth_mm, low_mm=piece.end_mm, high_mm=out_mm))
            body = bodies.joined(own)
            corners = self.plan.split.draw.frame.to_frame(piece.frame.to_part(body.corners_mm))
            made.append(Body(corners, body.facets))
        return made

    def rods(self, pours, *, is_void: bool = False):
        """The sticks set before some pours, or the channels that all of them leave."""
        made = []
        for route in self.plan.mould.vents.routes:
            if not route.is_open or not (is_void or route.pour in pours):
                continue
            path = np.array(route.path_mm, dtype=float)
            legs = np.diff(path, axis=0)
            ways = legs / np.maximum(np.linalg.norm(legs, axis=1, keepdims=True), 1e-9)
            path[0] -= 0.4 * route.bore_mm * ways[0]
            end = path[-1]
            is_top = min(abs(end[2] - self.low_mm[2]), abs(end[2] - self.high_mm[2])) < 0.05
            if is_void:
                path[-1] += bodies.BEYOND_MM * ways[-1]
            elif is_top:
                path[-1] += 1.5 * RIM_MM * ways[-1]
            made.append(bodies.rod(path, diameter_mm=route.bore_mm))
        if is_void:
            made += [self._cone(port) for port in self.block.ports if cup_depth_mm(port) > 0]
        return bodies.joined(made)

    def _cone(self, port):
        """The mouth that a gate opens into, as it is cut."""
        deep, path = cup_depth_mm(port), np.asarray(self.path_of(port))
        out = (path[-1] - path[-2]) / np.linalg.norm(path[-1] - path[-2])
        past = bodies.BEYOND_MM
        wide = port.diameter_mm + (port.cup_mm - port.diameter_mm) * (deep + past) / deep
        ends = [path[-1] - deep * out, path[-1] + past * out]
        return bodies.rod(ends, diameter_mm=port.diameter_mm, end_mm=wide)

    def path_of(self, port):
        """The way that a port really runs, (k, 3)."""
        routes = {route.label: route.path_mm for route in self.plan.mould.vents.routes}
        return routes.get(port.label, port.path_mm)

    def on_bench(self, turn=None, *, low_mm=None, high_mm=None) -> Pose:
        """The block turned, its middle over the middle of the bench, its lowest corner on it."""
        turn = np.eye(3) if turn is None else np.asarray(turn, dtype=float)
        low = self.low_mm[2] if low_mm is None else low_mm
        high = self.high_mm[2] if high_mm is None else high_mm
        corners = self.block_between(low_mm=low, high_mm=high).corners_mm @ turn.T
        ends = corners.min(axis=0), corners.max(axis=0)
        middle = (ends[0] + ends[1]) / 2
        return Pose(turn, -np.array([middle[0], middle[1], ends[0][2]]))

    def half(self, name: str, pose: Pose, *, is_new: bool = False) -> Thing:
        """A finished half of the mould, alone."""
        is_upper = name == "upper"

        def made(inside):
            if "box" not in inside or inside & {"part", "channels", "pieces"}:
                return ""
            return "" if self.is_under(inside) == is_upper else name

        return Thing(self._half_bodies, made, pose, (name,) if is_new else ())

    @cached_property
    def _half_bodies(self):
        return {
            "box": self.block_between(low_mm=self.low_mm[2], high_mm=self.high_mm[2]),
            "part": self.part,
            "under": self.under,
            "keys": self.keys,
            "channels": self.rods((), is_void=True),
            "pieces": bodies.joined(self.piece_bodies),
        }

    def footprint(self, pose: Pose, *, height_mm: float) -> Thing:
        """The original's shadow on the board, seen along the draw."""
        points = self.part.corners_mm
        low, high = self.bounds_mm[:, 2]
        flat = points * (1, 1, 0) + (0, 0, 1) * (
            height_mm + 0.3 * ((points[:, 2:] - low) / (high - low) - 0.5)
        )
        return plain(Body(flat, self.part.facets), "shadow", pose=pose)

    def filled(
        self, pose: Pose, *, holds, walls=None, cut=None, sticks=(), keys=True, new=()
    ) -> Thing:
        """The box on its board with what is in it, cut open.

        Parameters
        ----------
        pose : Pose
        holds : dict
            Material by side of the parting, "under" and "over"; a side may be left out.
        walls : (low, high), optional
            Heights between which walls stand.
        cut : (body, names), optional
            A saw, and which of "walls" and "fill" it cuts.
        sticks : sequence of str
            Pours that sticks were set before.
        keys : bool
            Whether they are pressed in yet.
        new : sequence of str
            Materials that are new.
        """
        saw, sawn = cut or (None, ())
        fill = self.floor_mm if "clay" in holds.values() or "print" in holds.values() else None
        low = self.low_mm[2] if fill is None else fill
        things = {
            "part": self.part,
            "box": self.block_between(low_mm=low, high_mm=self.high_mm[2]),
            "under": self.under,
        }
        if keys:
            things["keys"] = self.keys
        if sticks:
            things["sticks"] = self.rods(sticks)
        if self.plan.split.pieces:
            things["pieces"] = bodies.joined(self.piece_bodies)
        if walls is not None:
            things[INNER] = self.block_between(low_mm=walls[0] - 1.0, high_mm=walls[1] + 1.0)
            things["outer"] = self.block_between(
                low_mm=walls[0], high_mm=walls[1], grown_mm=self.board_mm
            )
        if saw is not None:
            things[SAW] = saw

        def made(inside):
            is_cut = SAW in inside
            if "part" in inside:
                return "part"
            if inside & {"sticks", "pieces"}:
                return "stick"
            if "outer" in inside and INNER not in inside:
                return "" if is_cut and "walls" in sawn else "board"
            if "box" not in inside or (is_cut and "fill" in sawn):
                return ""
            return holds.get("under" if self.is_under(inside) else "over", "")

        return Thing(things, made, pose, tuple(new))
