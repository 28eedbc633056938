"""The hall: from a part and a job through the four rooms to the plan."""

from dataclasses import replace
from functools import partial

from castplan import __version__
from castplan.air import room as air_room
from castplan.bench import room as bench_room
from castplan.geometry.shutoff import cutting_surface
from castplan.job import Job
from castplan.kinds import compare_kinds
from castplan.mould import room as mould_room
from castplan.mould.bed import make_bed
from castplan.mould.cases import make_case, make_walls
from castplan.mould.cut import Cut
from castplan.mould.halves import make_halves, make_open_block
from castplan.mould.lips import make_lips, make_round_block
from castplan.mould.pull import pull_solids
from castplan.mould.records import Solid
from castplan.mould.stood import stood_box, stood_frame
from castplan.nest.records import Nest
from castplan.nest.shared import list_nest_findings, share
from castplan.offers import Draft
from castplan.part.faces import name_faces
from castplan.part.records import Part
from castplan.part.show_findings import list_show_findings
from castplan.part.sketch import draw_sketches
from castplan.part.study import Study, begin_study, sample_part
from castplan.plan_record import Plan
from castplan.record import Finding, worst_first
from castplan.split import room as split_room
from castplan.split.draw import find_draw, tie_volume_mm3
from castplan.split.proof_findings import list_proof_findings
from castplan.split.records import DrawResult

# Findings of one severity are told in this order; what stands in one line as it was found.
TOLD = (
    ("check",),
    ("kind",),
    ("mould",),
    ("compat", "water", "weigh", "heat", "fit", "buy"),
    ("undercuts", "parting"),
    ("air",),
    ("amounts",),
)
_RANK = {stage: rank for rank, stages in enumerate(TOLD) for stage in stages}


def build_plan(part: Part, job: Job, *, nest: Nest | None = None, progress=None) -> Plan:
    """Plan the mould of a part: the kind that the job names, or the best of all.

    Parameters
    ----------
    part : Part
    job : Job
    nest : Nest, optional
        How the part is several, laid by `nest.room.lay_parts`.
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
    bench_room.refuse_early(part, job)
    report = progress or (lambda stage, fraction: None)
    study = begin_study(part, job, tie_mm3=tie_volume_mm3(part))
    report("draw", 0.0)
    draw = find_draw(part, study.job, progress=partial(report, "draw"))
    kinds = compare_kinds(study, draw, partial(draft_mould, progress=report))
    draft = kinds.chosen
    draft = replace(draft, split=split_room.add_shown(draft.study, draft.split))
    study, split, air = draft.study, draft.split, draft.air
    nest = None if nest is None else share(nest, air, draft.mould, draft.bench)

    report("pictures", 0.0)
    frames = (split.draw.frame, air.attitude.rest)
    sketches = draw_sketches(part, *frames, study.seen.pockets)
    told = (
        *list_findings(draft),
        *kinds.findings,
        *(() if nest is None else list_nest_findings(nest, draft.mould, draft.bench)),
    )
    findings = sorted(told, key=lambda finding: _RANK[finding.stage])
    shown = list_show_findings(study.show, of_box=nest is not None)
    report("pictures", 1.0)
    return Plan(
        version=__version__,
        part=part,
        job=job,
        show=study.show,
        sampling=study.seen.sampling,
        split=split,
        air=air,
        mould=draft.mould,
        bench=draft.bench,
        faces=name_faces(part, split.draw.frame),
        sketches=sketches,
        offers=kinds.offers,
        answers=kinds.answers,
        findings=worst_first((*findings, *shown)),
        nest=nest,
    )


def draft_mould(study: Study, draw: DrawResult, *, progress, goes_on=None) -> Draft | None:
    """Plan one kind of mould to the end: the one that the study's job names.

    Parameters
    ----------
    study : Study
    draw : DrawResult
        The best draws of a mould in two.
    progress : callable
        Called as ``progress(stage, fraction)``.
    goes_on : callable, optional
        Asked of the split once it stands; where it says no, nothing is planned on.

    Raises
    ------
    InputError
        The part does not suit the kind, or the job names what the kind decides.
    """
    study, draw = split_room.settle_mould(study, draw)
    # Which way it parts and how it stands at the pour are chosen together.
    level = partial(split_room.level_height_mm, study)
    pairs = air_room.pair_draws(study, draw, level_height_mm=level, progress=progress)

    split, study = split_room.plan_split(study, pairs.draw, progress=progress)
    if goes_on is not None and not goes_on(split):
        return None
    air, study = air_room.plan_air(study, split, pairs, progress=progress)
    mould = mould_room.plan_mould(study, split, air, progress=progress)
    bench = bench_room.plan_bench(study, split, air, mould, progress=progress)
    return Draft(study=study, split=split, air=air, mould=mould, bench=bench)


def list_findings(draft: Draft) -> tuple[Finding, ...]:
    """What the rooms found, in their order."""
    study, split, air, mould = draft.study, draft.split, draft.air, draft.mould
    return (
        *split_room.list_findings(study, split),
        *air_room.list_findings(study, split, air),
        *mould_room.list_findings(study, split, air, mould),
        *bench_room.list_findings(study, mould, draft.bench),
    )


def build_solids(plan: Plan, wanted, *, is_fine: bool = True) -> tuple[Solid, ...]:
    """Solids to print or to look at.

    Parameters
    ----------
    plan : Plan
    wanted : iterable of {"halves", "lips", "bed", "walls", "case"}
        Lips are those of a block that is cut open, to be looked at.
    is_fine : bool
        False cuts them coarser over the part, to be looked at only.

    Returns
    -------
    tuple of Solid
        In that order, draw frame.

    Raises
    ------
    GeometryError
        The mesh does not bound a solid that could be cut out of the block.
    """
    part, job, box = plan.part, plan.job, plan.split.box
    field = sample_part(part, plan.split.draw.frame, pitch_mm=plan.sampling.pitch_mm)
    cut = Cut(
        frame=plan.split.draw.frame,
        surface=cutting_surface(field, plan.split.line, is_fine=is_fine),
        box=box,
        keys=plan.mould.keys,
        ports=plan.mould.block.ports,
        routes=plan.mould.vents.routes,
        pieces=plan.split.pieces,
    )
    made = []
    if "halves" in wanted and plan.split.is_open:
        made.append(make_open_block(part, cut))
    elif "halves" in wanted and plan.split.is_cut:
        made.append(make_round_block(part, cut))
    elif "halves" in wanted:
        halves = make_halves(part, cut)
        made += [halves.upper, halves.lower, *halves.loose]
    if "lips" in wanted and plan.split.is_cut:
        made += make_lips(part, cut, plan.mould.slit)
    # Round a mould of one pour there is nothing to print but its walls.
    if "bed" in wanted and not plan.split.is_one_pour:
        made += make_bed(field, cut, job)
    if "walls" in wanted:
        if plan.split.is_cut:  # it stands on a side of the box, and is printed as it stands
            box = stood_box(box, cut.frame, stood_frame(plan.air.attitude.rest))
        made += make_walls(box, job)
    if "case" in wanted and not plan.split.is_one_pour:
        made += make_case(part, cut, job, parting_mm=plan.split.line.box_height_mm)
    return tuple(made)


def prove_solids(plan: Plan, solids: tuple[Solid, ...]) -> Plan:
    """The plan with its halves pulled apart as solids, where `build_solids` made them."""
    halves = solids[:2]
    if [half.name for half in halves] != ["upper half", "lower half"]:
        return plan
    pieces = tuple(solid for solid in solids if solid.name.startswith("loose "))
    proof = pull_solids(plan.part, plan.split, halves, pieces)
    told = list_proof_findings(proof, tie_mm3=tie_volume_mm3(plan.part))
    known = {finding.code for finding in plan.findings}
    split = replace(plan.split, proof=proof)
    new = (finding for finding in told if finding.code not in known)
    return replace(plan, split=split, findings=worst_first((*new, *plan.findings)))
