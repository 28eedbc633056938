"""The sides of a part by the names that a person would give them."""

from castplan.record import record
from castplan.texts.told import UNTOLD, Told


@record
class Face:
    """One side of a part. Of six that a frame has, no two have the same name."""

    direction: tuple[float, float, float]  # part frame, unit length, out of the part
    name: Told  # "the flat back"
    which: Told = UNTOLD  # how to tell it from one that looks like it; empty where none does


@record
class Faces:
    """The six sides of a part along one frame: +x, -x, +y, -y, +z, -z of it."""

    faces: tuple[Face, ...]

    def towards(self, direction) -> Face:
        """The side that looks most the way of a direction of the part frame.

        Parameters
        ----------
        direction : (3,) array_like
        """
        x, y, z = (float(value) for value in direction)
        return max(
            self.faces,
            key=lambda face: round(
                x * face.direction[0] + y * face.direction[1] + z * face.direction[2], 9
            ),
        )
