"""The bench of one plan: how the mould lies on it, and what is drawn of it again and again."""

from dataclasses import dataclass

import numpy as np

from castplan.step_pictures import bodies, marks
from castplan.step_pictures.camera import eye_from
from castplan.step_pictures.kit import RIM_MM, Kit
from castplan.step_pictures.thing import Pose, Thing, plain

# Left for right, as the 1:1 pages are mirrored.
TURNED = np.diag([-1.0, 1.0, -1.0])


@dataclass(frozen=True, eq=False)
class Act:
    """One picture to be drawn."""

    name: str
    things: tuple
    marks: tuple = ()


def about_x(angle_deg: float) -> np.ndarray:
    """A turn about the bench's own long side, (3, 3)."""
    cos, sin = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([(1, 0, 0), (0, cos, -sin), (0, sin, cos)])


def beside(place_mm, *, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> np.ndarray:
    """A place so far from another, (3,)."""
    return np.asarray(place_mm, dtype=float) + np.array([x, y, z])


def arrow_down(place_mm, *, long_mm: float) -> marks.Arrow:
    """An arrow that ends at a place from above."""
    return marks.Arrow(np.array([beside(place_mm, z=long_mm), beside(place_mm)]))


def arrow_up(place_mm, *, long_mm: float) -> marks.Arrow:
    """An arrow that rises from a place."""
    return marks.Arrow(np.array([beside(place_mm), beside(place_mm, z=long_mm)]))


class Bench:
    """The bench of one plan, and how the mould lies on it through the steps."""

    def __init__(self, kit: Kit, *, is_right: bool):
        self.kit, self.is_right = kit, is_right
        self.block = kit.block
        self.order = self.block.pour_order
        is_lower_first = self.order[0] == "lower"
        self.first_turn = TURNED if is_lower_first else np.eye(3)
        self.second_turn = np.eye(3) if is_lower_first else TURNED
        self.bed = {"clay": "clay", "printed-bed": "print"}.get(self.block.bedding.kind)
        size = kit.high_mm - kit.low_mm
        self.size_mm = size
        self.step_mm = 0.35 * float(size.min()) + 12.0  # how far things are shown apart

    # How the box lies: before and after it is turned.
    @property
    def lying(self) -> Pose:
        """On the base board for the first pour."""
        return self.kit.on_bench(self.first_turn, low_mm=self.base_mm)

    @property
    def turned(self) -> Pose:
        """On the other side, for the second pour."""
        return self.kit.on_bench(self.second_turn)

    @property
    def base_mm(self) -> float:
        """Height of the base board's face for the first pour."""
        return self.kit.floor_mm

    def side(self, half: str) -> str:
        """Side of the parting that a half is on."""
        return "over" if half == "upper" else "under"

    @property
    def end_mm(self) -> float:
        """Height of the side that the block lies on once turned, draw frame."""
        return float(self.kit.high_mm[2] if self.order[0] == "upper" else self.kit.low_mm[2])

    def first_walls(self):
        """Heights between which walls stand for the first pour, draw frame."""
        if self.order[0] == "lower":
            return self.kit.low_mm[2] - RIM_MM, self.base_mm
        return self.base_mm, self.kit.high_mm[2] + RIM_MM

    def second_walls(self):
        """And for the second."""
        low, high = self.kit.low_mm[2], self.kit.high_mm[2]
        return (low, high + RIM_MM) if self.order[0] == "lower" else (low - RIM_MM, high)

    def slab(self, pose: Pose, *, height_mm: float, is_new: bool = False) -> Thing:
        """A base board on whose face the box stands at a height of the draw frame."""
        is_up = pose.turn[2, 2] > 0
        body = self.kit.slab(height_mm if is_up else height_mm + self.kit.board_mm)
        return plain(body, "board", pose=pose, is_new=is_new)

    def middle_of_part(self, pose: Pose) -> np.ndarray:
        """Middle of the original on the bench, (3,)."""
        return pose.put(self.kit.bounds_mm.mean(axis=0)[None])[0]

    def part_at(
        self, pose: Pose, *, is_new: bool = False, material: str = "part", has_pieces: bool = False
    ) -> Thing:
        """The original alone, or with the loose pieces set into it."""
        if not (has_pieces and self.kit.plan.split.pieces):
            return plain(self.kit.part, material, pose=pose, is_new=is_new)
        both = {"part": self.kit.part, "pieces": bodies.joined(self.kit.piece_bodies)}
        return Thing(
            both,
            lambda inside: "" if not inside else material if "part" in inside else "stick",
            pose,
            (material,) if is_new else (),
        )

    @property
    def right(self) -> np.ndarray:
        """To the right on paper, level on the bench, (3,)."""
        return eye_from(is_right=self.is_right)[0]

    def section(self, pose: Pose):
        """A saw through the middle of the original, for walls and filling."""
        return self.kit.saw(pose, across_mm=float(self.middle_of_part(pose)[1])), ("walls", "fill")

    def open_walls(self, pose: Pose):
        """A saw for the two walls that hide the inside."""
        return self.kit.front_walls(pose, eye_from(is_right=self.is_right)[2]), ("walls",)

    def high_of(self, pose: Pose, *, draw_mm: float) -> float:
        """Height on the bench of a height of the draw frame."""
        return float(pose.put(np.array([[0, 0, draw_mm]]))[0, 2])

    def corner(self, pose: Pose, *, height_mm: float, inside_mm: float = 6.0) -> np.ndarray:
        """A corner of the box's inside far from the original, at a height of the bench, (3,)."""
        points = pose.put(self.kit.block_between(low_mm=0.0, high_mm=1.0).corners_mm)
        low, high = points.min(axis=0), points.max(axis=0)
        side = low[0] + inside_mm if self.is_right else high[0] - inside_mm
        return np.array([side, high[1] - inside_mm, height_mm])

    def stream(self, pose: Pose, material: str, *, level_mm: float):
        """Silicone that runs from a cup into a corner of the box, and the arrow beside it."""
        return self.stream_at(self.corner(pose, height_mm=level_mm), material)

    def stream_at(self, foot: np.ndarray, material: str):
        """The same into a place of the bench, (3,)."""
        level_mm = foot[2]
        high = level_mm + 0.45 * self.size_mm[2] + 35.0
        head = np.array([*foot[:2], high])
        lean = np.array([0.5 if self.is_right else -0.5, 0.0, 0.35])
        cup = bodies.rod(
            [head + 2 * lean, head + 34 * lean / np.linalg.norm(lean)], diameter_mm=20.0
        )
        return (
            [
                plain(bodies.rod([foot, head], diameter_mm=2.5), material, is_new=True),
                plain(cup, "tool"),
            ],
            [
                arrow_down(
                    beside(foot, x=-14.0 if self.is_right else 14.0, z=8.0),
                    long_mm=0.6 * (high - level_mm),
                )
            ],
        )

    def routes(self, pour: str) -> list:
        """Routes of the openings that are set before a pour."""
        routes = self.kit.plan.mould.vents.routes
        return [route for route in routes if route.is_open and route.pour == pour]

    def sticks(self, *pours: str) -> tuple[str, ...]:
        """Those of some pours that sticks are set before."""
        return tuple(pour for pour in pours if self.routes(pour))

    def letters(self, pose_of, *, labels=None, is_inside=False) -> list[marks.Letters]:
        """Letters on the mouths of the openings.

        Parameters
        ----------
        pose_of : callable
            Pose of the half that a route is made in.
        labels : sequence of str, optional
            Of those alone.
        is_inside : bool
            Channels through a half are marked where they leave the cavity.
        """
        mouths = {
            route.label: pose_of(route).put(
                np.asarray(route.path_mm)[[0 if is_inside and not route.is_rod else -1]]
            )[0]
            for route in self.kit.plan.mould.vents.routes
            if route.is_open and (labels is None or route.label in labels)
        }
        return [marks.Letters(mouths)] if mouths else []

    def missing_walls(self, pose: Pose, heights_mm) -> list[marks.Line]:
        """Dashed edges of the walls that are left out, between heights of the draw frame."""
        points = pose.put(
            self.kit.block_between(low_mm=0.0, high_mm=1.0, grown_mm=self.kit.board_mm).corners_mm
        )
        low, high = points.min(axis=0), points.max(axis=0)
        foot, top = sorted(self.high_of(pose, draw_mm=height) for height in heights_mm)
        if not self.kit.has_boards:
            return [marks.Line(self._near_half(points, top))]
        side = high[0] if self.is_right else low[0]
        other = low[0] if self.is_right else high[0]
        ends = [(other, low[1]), (side, low[1]), (side, high[1])]
        rim = np.array([(*end, top) for end in ends])
        corner = np.array([(*ends[1], foot), (*ends[1], top)])
        return [marks.Line(rim), marks.Line(corner)]

    def _near_half(self, points, height_mm):
        """Of a ring of points (k, 3) the half that is nearer to the eye, at a height, (m, 3)."""
        ring = points[: len(points) // 2, :2]
        ahead = eye_from(is_right=self.is_right)[2, :2]
        along = (ring - (ring.min(axis=0) + ring.max(axis=0)) / 2) @ ahead
        # Begun where the ring comes round from behind, so that the half is in one piece.
        first = int(np.argmin(along))
        ring, along = np.roll(ring, -first, axis=0), np.roll(along, -first)
        return np.column_stack([ring, np.full(len(ring), height_mm)])[along > 0]
