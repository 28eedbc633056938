"""Ways to stand the box: on one of its faces, level or tilted."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from castplan.geometry import frames
from castplan.record import Frame

TILTS_DEG = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0)
N_AZIMUTHS = 12


@dataclass(frozen=True, eq=False)
class Stand:
    """The box on one of its faces, tilted or not."""

    rest: str
    rest_frame: Frame
    tilt_deg: float
    toward_deg: float

    @cached_property
    def frame(self) -> Frame:
        """The rest's frame, turned so that +z is up when tilted."""
        return Frame(rotation=_lean(self.tilt_deg, self.toward_deg).T @ self.rest_frame.rotation)


@lru_cache(maxsize=512)
def _lean(tilt_deg, toward_deg):
    """Turn of a tilt, (3, 3), read only."""
    tilt, toward = np.radians([tilt_deg, toward_deg])
    # Raising the side that `toward` points at leans up away from z, towards it.
    axis = np.array([-np.sin(toward), np.cos(toward), 0.0])
    cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    turn = np.eye(3) + np.sin(tilt) * cross + (1 - np.cos(tilt)) * cross @ cross
    turn.setflags(write=False)
    return turn


def box_rests(draw_frame: Frame) -> dict[str, Frame]:
    """Frames of the box standing with each face up, by the draw axis that is up."""
    x, y, z = draw_frame.rotation
    rows = {
        "+z": (x, y, z),
        "-z": (x, -y, -z),
        "+x": (y, z, x),
        "-x": (-y, z, -x),
        "+y": (-x, z, y),
        "-y": (x, z, -y),
    }
    return {name: Frame(rotation=np.stack(axes)) for name, axes in rows.items()}


def stand_for(rests: dict[str, Frame], up) -> Stand | None:
    """The rest and tilt that bring a direction up; None beyond the largest tilt."""
    name = max(rests, key=lambda key: round(float(rests[key].up @ up), 9))
    x, y, z = rests[name].rotation @ up
    tilt_deg = float(np.degrees(np.arctan2(np.hypot(x, y), z)))
    if tilt_deg > TILTS_DEG[-1] + 0.5:
        return None
    if tilt_deg < 1e-6:
        return Stand(name, rests[name], 0.0, 0.0)
    return Stand(name, rests[name], tilt_deg, float(np.degrees(np.arctan2(y, x))) % 360)


def list_stands(rests: dict[str, Frame]) -> list[Stand]:
    """Every rest, level and at each tilt towards each side."""
    stands = []
    for name, frame in rests.items():
        stands.append(Stand(name, frame, 0.0, 0.0))
        # Half a step off the box's own sides: a roof square to the box then
        # has one high corner.
        stands += [
            Stand(name, frame, tilt, (k + 0.5) * 360 / N_AZIMUTHS)
            for tilt in TILTS_DEG
            for k in range(N_AZIMUTHS)
        ]
    return stands


def stand_asked_for(rests: dict[str, Frame], draw_frame: Frame, up) -> Stand:
    """The stand for a direction; on no face of the box where none gives it."""
    stand = stand_for(rests, up)
    return stand or Stand("", Frame(rotation=_own_frame(draw_frame, up)), 0.0, 0.0)


def _own_frame(draw_frame, up):
    """A frame for a direction that no face of the box gives: square to the view."""
    for row in draw_frame.rotation:
        across = row - up * (row @ up)
        if np.linalg.norm(across) > 0.5:
            x = frames.unit(across)
            break
    return np.stack([x, np.cross(up, x), up])
