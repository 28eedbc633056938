"""The eye over the bench, and the paper that it sees on."""

from dataclasses import dataclass

import numpy as np

from castplan.step_pictures.body import carried

ASIDE_DEG, OVER_DEG = 30.0, 33.0


@dataclass(frozen=True, eq=False)
class Camera:
    """A parallel view: rows of `rotation` are right, up and towards the eye."""

    rotation: np.ndarray  # (3, 3)
    px_per_mm: float
    corner_mm: tuple[float, float]  # of the paper, lower left, in the view
    size_px: tuple[int, int]

    def to_paper(self, points_mm) -> np.ndarray:
        """Points (n, 3) of the bench in pixels: right, up, towards the eye, (n, 3)."""
        return carried(points_mm, *self.onto_paper(np.eye(3), np.zeros(3)))

    def onto_paper(self, turn, shift_mm) -> tuple[np.ndarray, np.ndarray]:
        """Turn and shift from a frame to pixels, of what lies so turned and shifted."""
        middle = np.append(np.array(self.corner_mm) * self.px_per_mm + 0.5, 0.0)
        onto = self.rotation * self.px_per_mm
        return onto @ turn, onto @ shift_mm - middle


def eye_from(*, is_right: bool) -> np.ndarray:
    """Axes of the view from the front, over the bench, from the right or the left, (3, 3)."""
    aside, over = np.radians([ASIDE_DEG, OVER_DEG])
    side = 1.0 if is_right else -1.0
    right = np.array([np.cos(aside), side * np.sin(aside), 0.0])
    ahead = np.array([side * np.sin(aside), -np.cos(aside), 0.0])
    eye = np.cos(over) * ahead + np.sin(over) * np.array([0, 0, 1.0])
    return np.stack([right, np.cross(eye, right), eye])


def frame_all(rotation, points_mm, *, px_per_mm: float, room_px: int) -> Camera:
    """Paper that holds points (n, 3) of the bench, with room all round."""
    seen = np.asarray(points_mm, dtype=float) @ rotation[:2].T
    low, high = seen.min(axis=0), seen.max(axis=0)
    room_mm = room_px / px_per_mm
    size = np.ceil((high - low) * px_per_mm + 2 * room_px).astype(int)
    corner = low - room_mm
    return Camera(rotation, px_per_mm, (float(corner[0]), float(corner[1])), tuple(size.tolist()))
