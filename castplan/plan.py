"""The way through: from a part and a job to the plan, stages in order."""

import numpy as np

from castplan import __version__
from castplan.columns import field as columns
from castplan.columns.gaps import find_gaps
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.mesh import frames
from castplan.model import Frame, Job, Part, Plan, Sampling
from castplan.stages.air import find_air
from castplan.stages.amounts import weigh_out
from castplan.stages.draw import find_draw, tie_volume_mm3
from castplan.stages.findings import list_findings
from castplan.stages.mould import build_mould
from castplan.stages.parting import find_parting
from castplan.stages.schedule import order_steps
from castplan.stages.sketch import draw_sketches
from castplan.stages.undercuts import list_pockets, listed_pockets


def build_plan(part: Part, job: Job, *, progress=None) -> Plan:
    """Plan a two-part block mould for a part.

    Parameters
    ----------
    part : Part
    job : Job
    progress : callable, optional
        Called as ``progress(stage, fraction)``, fraction from 0 to 1.

    Returns
    -------
    Plan
        The same part and job give the same plan.

    Raises
    ------
    InputError
        The job names a direction without length, a pitch that cannot be
        afforded or a card that does not exist.
    """
    report = progress or (lambda stage, fraction: None)
    # A wrong name should not cost the search first.
    get_card(job.silicone, kind="silicone")
    get_card(job.resin, kind="resin")
    tie_mm3 = tie_volume_mm3(part)
    pitch_mm = _pitch(part, job)

    report("draw", 0.0)
    draw = find_draw(part, job, progress=lambda fraction: report("draw", fraction))
    report("columns", 0.0)
    field = _sample(part, draw.frame, pitch_mm)
    sampling = _describe_sampling(part, field)
    report("undercuts", 0.0)
    gaps = find_gaps(field)
    report("parting", 0.0)
    parting = find_parting(field, gaps, tie_mm3=tie_mm3)
    undercuts = list_pockets(
        field, gaps, parting_height_mm=parting.height_mm, part_mm3=part.check.volume_mm3
    )
    report("air", 0.0)
    pour_frame = _pour_frame(part, draw.frame, job)
    pour_field = field if pour_frame is draw.frame else _sample(part, pour_frame, pitch_mm)
    air = find_air(pour_field, job)
    report("mould", 0.0)
    mould = build_mould(
        field,
        pour_field,
        parting,
        air,
        job,
        part_mm3=part.check.volume_mm3 if part.check.is_watertight else field.volume_mm3,
        sealed_mm3=undercuts.sealed_mm3,
    )
    report("amounts", 0.0)
    amounts = weigh_out(mould, job)
    report("schedule", 0.0)
    schedule = order_steps(draw, undercuts, parting, air, mould, amounts, job)
    report("pictures", 0.0)
    sketches = draw_sketches(
        part, draw.frame, pour_frame, field, gaps, listed_pockets(field, gaps, undercuts)
    )
    findings = list_findings(
        part, job, sampling, draw, undercuts, parting, air, mould, amounts, tie_mm3=tie_mm3
    )
    report("pictures", 1.0)
    return Plan(
        version=__version__,
        part=part,
        job=job,
        sampling=sampling,
        draw=draw,
        undercuts=undercuts,
        parting=parting,
        air=air,
        mould=mould,
        amounts=amounts,
        schedule=schedule,
        sketches=sketches,
        findings=findings,
    )


def _pitch(part, job):
    extent_mm = part.check.extent_mm
    affordable_mm = columns.choose_pitch(extent_mm, memory_mb=job.memory_mb)
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


def _sample(part, frame, pitch_mm):
    return columns.sample(
        part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=pitch_mm
    )


def _describe_sampling(part, field):
    exact_mm3 = part.check.volume_mm3
    return Sampling(
        pitch_mm=field.pitch_mm,
        n_columns=int(np.count_nonzero(np.diff(field.first))),
        n_unclosed=field.n_unclosed,
        n_decided=field.n_decided,
        volume_mm3=field.volume_mm3,
        volume_difference_fraction=(
            field.volume_mm3 / exact_mm3 - 1 if part.check.is_watertight else None
        ),
    )


def _pour_frame(part, draw_frame, job):
    """Up at the pour: the draw, unless the job says otherwise."""
    if job.up is None:
        return draw_frame
    up = np.asarray(job.up, dtype=float)
    if not np.linalg.norm(up) > 0:
        raise InputError(
            "--up", found=f"{job.up}", need="a direction", do="Give x,y,z, such as 0,0,1."
        )
    up = frames.unit(up)
    if up @ draw_frame.up > 1 - 1e-9:
        return draw_frame
    # Keep the box square to the view: its own x, or y where up runs along x.
    for row in draw_frame.rotation:
        across = row - up * (row @ up)
        if np.linalg.norm(across) > 0.5:
            x = frames.unit(across)
            break
    return Frame(rotation=np.stack([x, np.cross(up, x), up]))
