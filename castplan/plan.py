"""The way through: from a part and a job to the plan, stages in order."""

import numpy as np

from castplan import __version__
from castplan.columns import field as columns
from castplan.columns.gaps import find_gaps
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.mesh import frames
from castplan.model import SEVERITIES, BuildResult, Frame, Job, Part, Plan, Sampling
from castplan.stages.air import find_air
from castplan.stages.amounts import weigh_out
from castplan.stages.bench_findings import list_bench_findings
from castplan.stages.boards import cut_boards
from castplan.stages.box import choose_box
from castplan.stages.build_findings import list_build_findings
from castplan.stages.buy import plan_buying
from castplan.stages.casting import add_casting
from castplan.stages.compat import check_compat
from castplan.stages.doubt import find_doubt
from castplan.stages.draw import find_draw, tie_volume_mm3
from castplan.stages.equipment import check_equipment
from castplan.stages.findings import list_findings
from castplan.stages.fit import predict_fit
from castplan.stages.flex import judge_pockets
from castplan.stages.heat import find_heat
from castplan.stages.holddown import weigh_lift
from castplan.stages.keys import lay_out_keys
from castplan.stages.line import find_line
from castplan.stages.mesh_findings import VOLUME_TOLERANCE_FRACTION, list_mesh_findings
from castplan.stages.mould import build_mould
from castplan.stages.parting import find_parting
from castplan.stages.remedies import find_remedies
from castplan.stages.schedule import order_steps
from castplan.stages.seam import find_seam, seam_heights
from castplan.stages.section import cut_sections
from castplan.stages.sketch import draw_sketches
from castplan.stages.split_findings import list_split_findings
from castplan.stages.thin import find_thin
from castplan.stages.timeline import set_times
from castplan.stages.undercuts import list_pockets, listed_pockets
from castplan.stages.water import check_water, use_measured
from castplan.stages.weigh import size_cups


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
    compat = check_compat(job)
    fit = predict_fit(part, job)
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
    parting = find_parting(field, gaps, tie_mm3=tie_mm3, show_slope=_show_slope(draw.frame, job))
    part_mm3 = _solid_mm3(part, sampling)
    box = choose_box(field, job, part_mm3=part_mm3)
    seam = find_seam(part, draw.frame, field, job)
    line = find_line(
        field,
        parting,
        job,
        box_low_mm=box.low_mm,
        box_high_mm=box.high_mm,
        tie_mm3=tie_mm3,
        seam_heights=seam_heights(seam, within_mm=3 * pitch_mm),
    )
    undercuts = list_pockets(
        field, gaps, parting_height_mm=line.box_height_mm, part_mm3=part.check.volume_mm3
    )
    pocket_of_gap = listed_pockets(field, gaps, undercuts)
    flex = judge_pockets(
        field,
        gaps,
        undercuts,
        pocket_of_gap,
        job,
        box_low_mm=box.low_mm,
        box_high_mm=box.high_mm,
        thin=find_thin(part, draw.frame),
    )
    remedies = find_remedies(part, draw, field, gaps, undercuts, flex, pocket_of_gap)
    report("air", 0.0)
    pour_frame = _pour_frame(part, draw.frame, job)
    pour_field = field if pour_frame is draw.frame else _sample(part, pour_frame, pitch_mm)
    air = find_air(pour_field, job)
    report("mould", 0.0)
    mould = build_mould(
        field,
        pour_field,
        box,
        line,
        air,
        job,
        part_mm3=part_mm3,
        sealed_mm3=undercuts.sealed_mm3,
    )
    report("amounts", 0.0)
    water = check_water(mould, job)
    mould = use_measured(mould, water)
    amounts = weigh_out(mould, job)
    report("schedule", 0.0)
    weigh = size_cups(amounts, part, draw, parting, job)
    schedule = order_steps(draw, undercuts, parting, air, mould, amounts, weigh, job)
    schedule = add_casting(schedule, mould, amounts, weigh, job)
    timeline = set_times(schedule, job)
    heat = find_heat(part, draw, weigh, job)
    buy = plan_buying(weigh, schedule, job)
    report("box", 0.0)
    build = _build(part, field, draw.frame, pour_frame, box, line, mould, amounts, job, part_mm3)
    report("pictures", 0.0)
    sketches = draw_sketches(part, draw.frame, pour_frame, field, gaps, pocket_of_gap)
    doubt = find_doubt(
        part, field, gaps, pocket_of_gap, pour_field, air, amounts, part_mm3=part_mm3
    )
    findings = (
        *list_mesh_findings(part, sampling, doubt),
        *list_build_findings(build),
        *list_bench_findings(job, water, weigh, fit, heat, compat, buy),
        *list_split_findings(draw, undercuts, line, seam, flex, remedies, tie_mm3=tie_mm3),
        *list_findings(job, air, mould, amounts),
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
        line=line,
        seam=seam,
        flex=flex,
        remedies=remedies,
        air=air,
        mould=mould,
        amounts=amounts,
        schedule=schedule,
        sketches=sketches,
        water=water,
        weigh=weigh,
        timeline=timeline,
        fit=fit,
        heat=heat,
        compat=compat,
        buy=buy,
        build=build,
        doubt=doubt,
        findings=tuple(sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity))),
    )


def _build(part, field, frame, pour_frame, box, line, mould, amounts, job, part_mm3):
    """Box, keys, boards, hold-down, equipment and cuts."""
    keys = lay_out_keys(field, box, line.surface, mould, pour_frame, job)
    boards = cut_boards(field, box, line.surface, job)
    return BuildResult(
        box=box,
        keys=keys,
        boards=boards,
        hold=weigh_lift(mould, job, part_mm3=part_mm3),
        equipment=check_equipment(box, boards, mould, amounts, frame, pour_frame, job),
        sections=cut_sections(part, frame, pour_frame, line.surface, box, keys, mould),
    )


def _show_slope(frame, job):
    """How far the show face looks up along the draw, -1 to 1; 0 where none is named."""
    return 0.0 if job.show_face is None else float(frame.up @ frames.unit(job.show_face))


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


def _solid_mm3(part, sampling):
    """The mesh's own volume where it has one, else the columns'."""
    off = sampling.volume_difference_fraction
    if off is None or abs(off) > VOLUME_TOLERANCE_FRACTION:  # open, or bodies overlap
        return sampling.volume_mm3
    return part.check.volume_mm3


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
