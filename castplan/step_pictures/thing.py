"""A thing on the bench: bodies, what it is made of where they overlap, and how it lies."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from castplan.step_pictures.body import carried

SAW = "saw"  # a body of this name cuts: faces that it makes are sections
INNER = "inner"  # a body that only takes away, and reaches far


@dataclass(frozen=True, eq=False)
class Pose:
    """A turn and a shift from the draw frame to the bench: +z is up, -y towards the reader."""

    turn: np.ndarray = field(default_factory=lambda: np.eye(3))
    shift_mm: np.ndarray = field(default_factory=lambda: np.zeros(3))

    def put(self, points_mm) -> np.ndarray:
        """Points (n, 3) of the draw frame as they lie on the bench."""
        return carried(points_mm, self.turn, self.shift_mm)

    def take(self, points_mm) -> np.ndarray:
        """Points (n, 3) of the bench in the draw frame."""
        return (np.asarray(points_mm, dtype=float) - self.shift_mm) @ self.turn

    def moved(self, by_mm) -> "Pose":
        """The same, shifted on."""
        return Pose(self.turn, self.shift_mm + np.asarray(by_mm, dtype=float))

    def hinged(self, place_mm, turn) -> "Pose":
        """The same, turned on about a place of the bench."""
        place = np.asarray(place_mm, dtype=float)
        return Pose(turn @ self.turn, turn @ (self.shift_mm - place) + place)


@dataclass(frozen=True, eq=False)
class Thing:
    """What lies on the bench as one piece.

    `made` takes the names of the bodies that a place is in and gives the material there,
    one of `tones.MATERIALS`, or nothing. `new` are the materials that this step brings.
    """

    bodies: dict  # name: Body
    made: Callable
    pose: Pose = field(default_factory=Pose)
    new: tuple = ()

    def states(self, materials) -> np.ndarray:
        """Number of the material at every combination of bodies, (2 ** n,) uint8."""
        names = list(self.bodies)
        out = np.zeros(1 << len(names), np.uint8)
        for state in range(1, len(out)):
            inside = {name for k, name in enumerate(names) if state >> k & 1}
            made = self.made(inside)
            out[state] = materials.index(made) + 1 if made else 0
        return out

    def corners_mm(self) -> np.ndarray:
        """Outermost corners of all its bodies but saws, on the bench, (n, 3)."""
        own = [body.outermost_mm for name, body in self.bodies.items() if name not in (SAW, INNER)]
        return self.pose.put(np.concatenate(own))


def plain(body, material: str, *, pose: Pose | None = None, is_new: bool = False) -> Thing:
    """A thing of one body."""
    new = (material,) if is_new else ()
    return Thing({"body": body}, lambda inside: material, pose or Pose(), new)
