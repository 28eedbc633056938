"""Small pictures of parts, as they lie in the file, for the list of jobs and the samples."""

import contextlib
from functools import lru_cache
from pathlib import Path

import numpy as np

from castplan.errors import ResourceError
from castplan.files.new_file import appearing
from castplan.page import samples
from castplan.part.load import Reading, load_part
from castplan.part.records import Part
from castplan.step_pictures import StepPicture
from castplan.step_pictures.body import Body
from castplan.step_pictures.camera import eye_from, frame_all
from castplan.step_pictures.draw import render
from castplan.step_pictures.thing import plain

SIZE_PX = (240, 180)
_ROOM_PX = 8
# In place of a picture that was not drawn yet.
BLANK = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 60"><rect x="8" y="8" width="64" '
    b'height="44" fill="none" stroke="#8c8374" stroke-dasharray="4 4"/></svg>'
)


def part_png(part: Part) -> bytes:
    """A part seen from the front, over the bench.

    Parameters
    ----------
    part : Part

    Returns
    -------
    bytes
        PNG of at most `SIZE_PX`.
    """
    thing = plain(Body(np.asarray(part.vertices_mm), np.asarray(part.faces)), "part")
    rotation, corners = eye_from(is_right=True), thing.corners_mm()
    size_mm = np.ptp(corners @ rotation[:2].T, axis=0)
    px_per_mm = float(((np.array(SIZE_PX) - 2 * _ROOM_PX) / size_mm).min())
    camera = frame_all(rotation, corners, px_per_mm=px_per_mm, room_px=_ROOM_PX)
    return StepPicture("part", render([thing], camera), px_per_mm).png()


def draw_once(part: Part, path: Path) -> None:
    """The same as a file, where there is none yet."""
    # A list without one picture is better than no plan.
    with contextlib.suppress(OSError, ResourceError):
        if not path.exists():
            data = part_png(part)
            # A piece of one would stay for good.
            with appearing(path) as draft:
                draft.write_bytes(data)


@lru_cache(maxsize=32)
def sample_png(name: str) -> bytes:
    """The same of a sample part.

    Raises
    ------
    Missing
        There is no such sample.
    """
    path, choices = samples.find(name)
    return part_png(load_part(path, Reading(unit=choices["units"])))
