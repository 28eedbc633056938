"""What the planning rooms ask about: the part, the job, and the part as it was sampled."""

import numpy as np

from castplan.columns import field as columns
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps
from castplan.errors import InputError
from castplan.geometry import directions, frames
from castplan.geometry.guard import Guard
from castplan.job import Job
from castplan.memory import remembered
from castplan.part.records import Part, Sampling, ShowFace
from castplan.part.show_face import settle_show_face
from castplan.record import Frame, record
from castplan.split.records import OpenBack, UndercutResult


@record
class HeldPockets:
    """What the halves hold behind the part, column by column, and the pockets listed of it."""

    field: ColumnField  # along the draw
    gaps: Gaps  # of what is held with the parting as built
    of_gap: np.ndarray  # (g,) int64, number of the listed pocket of each gap, 0 for none
    undercuts: UndercutResult


@record
class Seen:
    """The part as the rooms sampled it."""

    pockets: HeldPockets
    built_mm: np.ndarray  # (n,) height of the parting as built in every column along the draw
    part_mm3: float  # what amounts are made from
    sampling: Sampling
    rested: ColumnField | None = None  # along up as the box rests, once it is known how


@record
class Study:
    """Part and job, settled for the stages; each room hands it on with what it sampled."""

    part: Part
    job: Job  # with the show face that the stages are to take
    show: ShowFace
    guard: Guard
    tie_mm3: float  # trapped volume that counts as nothing
    pitch_mm: float
    back: OpenBack | None = None  # on which it could lie in an open mould
    seen: Seen | None = None  # after the split

    def along(self, frame: Frame) -> ColumnField:
        """The part sampled along a frame, as finely as its outline there asks for."""
        pitch_mm = frames.view_pitch(self.part, self.job, frame, pitch_mm=self.pitch_mm)
        return sample_part(self.part, frame, pitch_mm=pitch_mm)


def begin_study(part: Part, job: Job, *, tie_mm3: float) -> Study:
    """Settle what all rooms take for given: which side will be seen, how finely to sample.

    Parameters
    ----------
    part : Part
    job : Job
    tie_mm3 : float
        Trapped volume that counts as nothing.

    Returns
    -------
    Study

    Raises
    ------
    InputError
        The job names a pitch that cannot be afforded.
    """
    show, job, guard = settle_show_face(part, job)
    return Study(
        part=part, job=job, show=show, guard=guard, tie_mm3=tie_mm3, pitch_mm=_pitch(part, job)
    )


@remembered
def sample_part(part: Part, frame: Frame, *, pitch_mm: float) -> ColumnField:
    """The columns of a part along the third axis of a frame."""
    return columns.sample(
        part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=pitch_mm
    )


def _pitch(part, job):
    extent_mm, area_mm2 = directions.own_extent_mm(part), part.check.area_mm2
    limits = {"area_mm2": area_mm2, "memory_mb": job.memory_mb}
    affordable_mm = columns.choose_pitch(extent_mm, **limits)
    if job.pitch_mm is None:
        return affordable_mm
    sides = sorted(extent_mm)
    n_columns = sides[2] * max(sides[1], job.pitch_mm) / job.pitch_mm**2
    need_mb = n_columns * columns.BYTES_PER_COLUMN / 1e6
    # Four times the bound still fits a small machine; beyond it the user
    # has most likely mistaken the unit.
    if need_mb > 4 * job.memory_mb:
        raise InputError(
            "--pitch",
            found=f"{job.pitch_mm:g} mm, which takes about {need_mb:.0f} MB",
            need=f"at most {4 * job.memory_mb:.0f} MB",
            do=f"Leave it out to use {affordable_mm:.2g} mm.",
        )
    return job.pitch_mm
