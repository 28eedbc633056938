"""The room of the bench, stage by stage: cups, steps and times, and what the copy will be like."""

from castplan.air.records import Air
from castplan.bench.amounts import weigh_out
from castplan.bench.buy import plan_buying
from castplan.bench.casting import add_casting
from castplan.bench.compat import check_compat
from castplan.bench.doubt import find_doubt
from castplan.bench.equipment import Boxed, check_equipment
from castplan.bench.equipment_findings import list_equipment_findings
from castplan.bench.findings import list_bench_findings
from castplan.bench.fit import predict_fit
from castplan.bench.gear import list_gear
from castplan.bench.heat import find_heat
from castplan.bench.job_findings import list_amount_findings
from castplan.bench.mesh_findings import list_mesh_findings
from castplan.bench.pour_steps import add_pour_notes
from castplan.bench.records import Bench, ScheduleResult
from castplan.bench.schedule import order_steps
from castplan.bench.several import add_parts
from castplan.bench.step_cautions import add_step_cautions
from castplan.bench.steps import Cups
from castplan.bench.timeline import set_times
from castplan.bench.weigh import size_cups
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.fillers import resin_of
from castplan.mould.records import Mould
from castplan.part.records import Part
from castplan.part.study import Study
from castplan.record import Finding
from castplan.split.records import Split


def refuse_early(part: Part, job: Job) -> None:
    """Refuse what the bench would, before the search is paid for.

    Raises
    ------
    InputError
        A material is unknown, a gauge has no length or no class, or the shop uses
        what castplan does not ask for.
    """
    get_card(job.silicone, kind="silicone")
    resin_of(job)
    check_compat(job)
    predict_fit(part, job)


def plan_bench(study: Study, split: Split, air: Air, mould: Mould, *, progress) -> Bench:
    """Weigh out, order the steps and buy, and tell what size and heat to expect.

    Parameters
    ----------
    study : Study
        With the part as it was sampled.
    split : Split
    air : Air
    mould : Mould
    progress : callable
        Called as ``progress(stage, fraction)``.
    """
    part, job, block = study.part, study.job, mould.block
    progress("amounts", 0.0)
    amounts = weigh_out(block, job, gate=mould.gate)
    progress("schedule", 0.0)
    weigh = size_cups(amounts, part, split, job)
    cups = Cups(amounts=amounts, weigh=weigh, job=job, n_parts=part.check.n_parts)
    schedule = list_steps(split, air, mould, cups)
    heat = find_heat(part, split.draw, weigh, job)
    up = split.draw.frame.rotation @ air.attitude.rest.up
    boxed = Boxed(box=split.box, boards=mould.boards, block=block, up=up)
    return Bench(
        amounts=amounts,
        weigh=weigh,
        schedule=schedule,
        timeline=set_times(schedule, job),
        buy=plan_buying(weigh, schedule, job),
        gear=list_gear(mould, cups, schedule, split.pieces),
        equipment=check_equipment(boxed, amounts, job),
        fit=predict_fit(part, job, heat),
        heat=heat,
        compat=check_compat(job),
        doubt=find_doubt(part, study.seen, air.openings, amounts),
    )


def list_steps(split: Split, air: Air, mould: Mould, cups: Cups) -> ScheduleResult:
    """All steps: the mould's, the casting's, what the pours ask for, and what can hurt."""
    schedule = add_casting(order_steps(split, mould, cups), mould.block, cups)
    schedule = add_parts(schedule, n_parts=cups.n_parts)
    # The notes of the pours change no times.
    return add_step_cautions(add_pour_notes(schedule, air.attitude, mould))


def list_findings(study: Study, mould: Mould, bench: Bench) -> tuple[Finding, ...]:
    """What the mesh leaves open of the amounts, and what the bench asks of the shop."""
    return (
        *list_mesh_findings(study.part, study.seen.sampling, bench.doubt),
        *list_equipment_findings(bench.equipment),
        *list_bench_findings(study.job, mould.water, bench),
        *list_amount_findings(study.job, bench.amounts),
    )
