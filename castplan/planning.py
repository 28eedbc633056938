"""The way through: from a part and a job to the plan, stages in order."""

from dataclasses import replace
from functools import partial

import numpy as np

from castplan import __version__
from castplan.air.along import spread_gates
from castplan.air.attitude import find_attitude, list_options, map_ups, try_stands
from castplan.air.even_findings import list_even_findings
from castplan.air.feed import plan_gate
from castplan.air.fill import fill_cavity
from castplan.air.findings import list_air_findings
from castplan.air.high_points import find_air
from castplan.air.long_part import long_part
from castplan.air.rocking import find_rocking
from castplan.air.trade import choose_draw, rank_combinations, stand_draws
from castplan.bench.amounts import weigh_out
from castplan.bench.buy import plan_buying
from castplan.bench.casting import add_casting
from castplan.bench.compat import check_compat
from castplan.bench.doubt import find_doubt
from castplan.bench.equipment import check_equipment
from castplan.bench.findings import list_bench_findings
from castplan.bench.fit import predict_fit
from castplan.bench.heat import find_heat
from castplan.bench.job_findings import list_findings
from castplan.bench.pour_steps import add_pour_notes
from castplan.bench.schedule import order_steps
from castplan.bench.timeline import set_times
from castplan.bench.water import check_water, use_measured
from castplan.bench.weigh import size_cups
from castplan.columns import field as columns
from castplan.columns.gaps import find_gaps
from castplan.errors import InputError
from castplan.geometry import directions, frames
from castplan.geometry.channels import touches_in_draw, touches_level
from castplan.geometry.shutoff import cutting_surface, parting_over
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.memory import remembered
from castplan.mould.bed import make_bed
from castplan.mould.boards import cut_boards
from castplan.mould.cases import make_case, make_walls
from castplan.mould.findings import list_build_findings
from castplan.mould.gate import find_gate
from castplan.mould.halves import make_halves
from castplan.mould.holddown import weigh_lift
from castplan.mould.keys import lay_out_keys
from castplan.mould.mould import build_mould
from castplan.mould.opening_findings import list_opening_findings
from castplan.mould.pours import find_pours
from castplan.mould.pull import list_proof_findings, pull_solids
from castplan.mould.records import BuildResult, Solid
from castplan.mould.section import cut_sections
from castplan.mould.vents import route_vents
from castplan.part import size
from castplan.part.findings import list_mesh_findings
from castplan.part.health import noise_of
from castplan.part.records import Part
from castplan.part.sampling import describe_sampling, solid_mm3
from castplan.part.show_face import settle_show_face, show_slope
from castplan.part.sketch import draw_sketches
from castplan.plan_record import Plan
from castplan.record import worst_first
from castplan.split.box import choose_box
from castplan.split.draft_views import draw_draft
from castplan.split.draw import find_draw, tie_volume_mm3
from castplan.split.findings import list_split_findings
from castplan.split.flex import judge_pockets
from castplan.split.line import find_line, is_worth_another
from castplan.split.parting import find_parting
from castplan.split.remedies import find_remedies
from castplan.split.seam import find_seam, seam_heights
from castplan.split.thin import find_thin
from castplan.split.undercuts import list_pockets, listed_pockets, prove_split, pull_halves


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
    asked, (show, job, guard) = job, settle_show_face(part, job)
    compat = check_compat(job)
    fit = predict_fit(part, job)
    tie_mm3 = tie_volume_mm3(part)
    pitch_mm = _pitch(part, job)

    report("draw", 0.0)
    draw = find_draw(part, job, progress=lambda fraction: report("draw", fraction))
    report("attitudes", 0.0)
    table = map_ups(part, job, progress=lambda fraction: report("attitudes", fraction))
    stand = partial(_stand, part, job, table, tie_mm3)
    standings = stand_draws(part, draw, job, stand=stand)
    draw, standing = choose_draw(draw, standings, job)
    report("columns", 0.0)
    field = _sample(part, draw.frame, frames.view_pitch(part, job, draw.frame, pitch_mm=pitch_mm))
    sampling = describe_sampling(part, field)
    size.check_sampled(sampling.n_columns, pitch_mm=field.pitch_mm, name=part.name)
    report("undercuts", 0.0)
    gaps = _find_gaps(field)
    report("parting", 0.0)
    parting = find_parting(field, gaps, tie_mm3=tie_mm3, show_slope=show_slope(draw.frame, job))
    part_mm3 = solid_mm3(part, sampling)
    box = choose_box(field, job, part_mm3=part_mm3)
    seam = find_seam(part, draw.frame, field, job)
    ends = {"box_low_mm": box.low_mm, "box_high_mm": box.high_mm}
    thin = find_thin(part, draw.frame)
    heights = seam_heights(seam, within_mm=3 * field.pitch_mm)
    for is_least in (False, True):
        line = find_line(
            field,
            gaps,
            parting,
            job,
            **ends,
            tie_mm3=tie_mm3,
            seam_heights=heights,
            show_slope=show_slope(draw.frame, job),
            is_least=is_least,
        )
        built_mm = _parting_over(field, line, gaps)
        held = pull_halves(field, gaps, built_mm)
        undercuts = list_pockets(field, held, part_mm3=part.check.volume_mm3)
        pocket_of_gap = listed_pockets(field, held.gaps, undercuts)
        noise_mm = noise_of(part) if undercuts.pockets else None
        flex = judge_pockets(
            field, held.gaps, undercuts, pocket_of_gap, job, **ends, thin=thin, noise_mm=noise_mm
        )
        if not is_worth_another(line, flex, tie_mm3=tie_mm3):
            break
    proof = prove_split(field, held, line)
    remedies = find_remedies(part, draw, field, held.gaps, undercuts, flex, pocket_of_gap)
    report("air", 0.0)
    box_mm = np.subtract(box.high_mm, box.low_mm)
    attitude = find_attitude(
        part,
        draw.frame,
        job,
        table,
        box_mm=box_mm,
        on_parting=partial(touches_in_draw, line.surface, draw.frame),
        tried=standing.tried,
    )
    # The box as it rests, and the tilt in which it is poured.
    rest_field = _sample_again(part, job, attitude.rest, field, pitch_mm)
    pour_field = _sample_again(part, job, attitude.frame, rest_field, pitch_mm)
    vented = {"rest": attitude.rest, "vertices_mm": part.vertices_mm, "guard": guard}
    air = find_air(pour_field, job, **vented)
    long = long_part(part)
    feed = plan_gate(
        rest_field, field, air, line, box, draw.frame, job, guard, part_mm3=part_mm3, long=long
    )
    feed = spread_gates(feed, long, rest_field, air, line, box, draw.frame, job, guard)
    gate_at = feed.chosen.peak
    if gate_at != air.gate or feed.chosen.further:
        along = feed.chosen.further if gate_at is not None else (feed.chosen, *feed.chosen.further)
        gates_mm = [gate.place_mm for gate in along]
        vented |= {"gate_at": gate_at, "is_fed_below": gate_at is None, "gates_mm": gates_mm}
        air = find_air(pour_field, job, **vented)
    report("mould", 0.0)
    mould = build_mould(
        field,
        rest_field,
        box,
        line,
        air,
        feed,
        job,
        part_mm3=part_mm3,
        sealed_mm3=undercuts.sealed_mm3,
    )
    report("amounts", 0.0)
    water = check_water(mould, job)
    mould = use_measured(mould, water)
    gate = find_gate(feed, rest_field, attitude.rest, draw.frame, mould, job)
    amounts = weigh_out(mould, job, reservoir_ml=gate.reservoir_ml)
    keys = lay_out_keys(field, box, line.surface, mould, job)
    vents = route_vents(
        rest_field,
        air,
        mould,
        line,
        draw.frame,
        keys_mm=keys.balls_mm,
        cup_high_mm=gate.cup_high_mm,
    )
    report("schedule", 0.0)
    weigh = size_cups(amounts, part, draw, parting, job)
    schedule = order_steps(undercuts, line, mould, keys, vents, amounts, weigh, job)
    schedule = add_casting(schedule, mould, amounts, weigh, job)
    timeline = set_times(schedule, job)
    heat = find_heat(part, draw, weigh, job)
    buy = plan_buying(weigh, schedule, job)
    report("box", 0.0)
    boards = cut_boards(field, box, line.surface, job)
    build = BuildResult(
        box=box,
        keys=keys,
        boards=boards,
        hold=weigh_lift(mould, job, part_mm3=part_mm3),
        equipment=check_equipment(box, boards, mould, amounts, draw.frame, attitude.rest, job),
        sections=cut_sections(
            part, draw.frame, cutting_surface(field, line, built_mm), box, keys, mould, vents
        ),
    )
    report("fill", 0.0)
    fill = fill_cavity(part, attitude, air, gate, draw.frame, job)
    rocking = find_rocking(part, attitude, air, job)
    pours = find_pours(part, draw.frame, line, mould, job)
    schedule = add_pour_notes(schedule, attitude, vents, gate, pours)
    trade = rank_combinations(draw, standings, attitude.options, job)
    report("pictures", 0.0)
    sketches = draw_sketches(part, draw.frame, attitude.rest, field, held.gaps, pocket_of_gap)
    doubt = find_doubt(
        part, field, held.gaps, pocket_of_gap, rest_field, air, amounts, part_mm3=part_mm3
    )
    findings = (
        *list_mesh_findings(part, sampling, doubt),
        *list_build_findings(build),
        *list_bench_findings(job, water, weigh, fit, heat, compat, buy),
        *list_proof_findings(proof, tie_mm3=tie_mm3),
        *list_split_findings(draw, undercuts, line, seam, flex, remedies, tie_mm3=tie_mm3),
        *list_even_findings(draw, line, flex, attitude, tie_mm3=tie_mm3),
        *list_air_findings(draw.frame, attitude, air, gate, fill, rocking, pours, trade, job),
        *list_opening_findings(draw.frame, air, mould, vents, job),
        *list_findings(job, amounts, show),
    )
    report("pictures", 1.0)
    return Plan(
        version=__version__,
        part=part,
        job=asked,
        show=show,
        sampling=sampling,
        draw=draw,
        undercuts=undercuts,
        proof=proof,
        parting=parting,
        line=line,
        seam=seam,
        flex=flex,
        remedies=remedies,
        draft_views=draw_draft(part, draw.frame, parting_mm=line.box_height_mm),
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
        attitude=attitude,
        vents=vents,
        gate=gate,
        fill=fill,
        rocking=rocking,
        pours=pours,
        trade=trade,
        findings=worst_first(findings),
    )


def build_solids(plan: Plan, wanted, *, is_fine: bool = True) -> tuple[Solid, ...]:
    """Solids to print or to look at.

    Parameters
    ----------
    plan : Plan
    wanted : iterable of {"halves", "bed", "walls", "case"}
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
    part, job, box, keys = plan.part, plan.job, plan.build.box, plan.build.keys
    frame, routes = plan.draw.frame, plan.vents.routes
    field = _sample(part, frame, plan.sampling.pitch_mm)
    surface = cutting_surface(field, plan.line, is_fine=is_fine)
    made = []
    if "halves" in wanted:
        halves = make_halves(part, frame, surface, box, keys, plan.mould, routes)
        made += [halves.upper, halves.lower]
    if "bed" in wanted:
        made += make_bed(field, surface, box, keys, job)
    if "walls" in wanted:
        made += make_walls(box, job)
    if "case" in wanted:
        level_mm = plan.line.box_height_mm
        made += make_case(part, frame, box, plan.mould, job, routes, parting_mm=level_mm)
    return tuple(made)


def prove_solids(plan: Plan, solids: tuple[Solid, ...]) -> Plan:
    """The plan with its halves pulled apart as solids, where `build_solids` made them."""
    halves = solids[:2]
    if [half.name for half in halves] != ["upper half", "lower half"]:
        return plan
    proof = pull_solids(plan.part, plan.draw.frame, plan.build.box, halves, plan.proof)
    told = list_proof_findings(proof, tie_mm3=tie_volume_mm3(plan.part))
    known = {finding.code for finding in plan.findings}
    new = (finding for finding in told if finding.code not in known)
    return replace(plan, proof=proof, findings=worst_first((*new, *plan.findings)))


# What knows nothing of jobs and plans is remembered here.
_parting_over = remembered(parting_over)
_find_gaps = remembered(find_gaps)


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


def _stand(part, job, table, tie_mm3, frame, box_mm):
    """Ways to stand the box of a draw, its split taken level: what was tried, and the best."""
    field = _sample(part, frame, frames.view_pitch(part, job, frame, pitch_mm=table.pitch_mm))
    parting = find_parting(field, _find_gaps(field), tie_mm3=tie_mm3)
    choices = {
        "box_mm": box_mm,
        "on_parting": partial(touches_level, frame, height_mm=parting.height_mm),
    }
    tried = try_stands(frame, job, table, **choices)
    return tried, list_options(tried, job, **choices)


@remembered
def _sample(part, frame, pitch_mm):
    return columns.sample(
        part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=pitch_mm
    )


def _sample_again(part, job, frame, field, pitch_mm):
    """The field of another frame; the one at hand where the frames are the same."""
    if np.array_equal(frame.rotation, field.rotation):
        return field
    return _sample(part, frame, frames.view_pitch(part, job, frame, pitch_mm=pitch_mm))
