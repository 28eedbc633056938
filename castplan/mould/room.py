"""The room of the mould, stage by stage: its block, keys, ways in and out, and how it fills."""

from castplan.air.records import Air, VentsResult
from castplan.geometry import slide
from castplan.geometry.channels import Block
from castplan.geometry.shutoff import cutting_surface
from castplan.mould.boards import cut_boards, without_turning
from castplan.mould.cut import Cut
from castplan.mould.cut_findings import list_cut_findings
from castplan.mould.fill import Pouring, fill_cavity
from castplan.mould.findings import list_build_findings
from castplan.mould.gate import by_hand, fill_again, find_gate
from castplan.mould.holddown import weigh_lift
from castplan.mould.keys import lay_out_keys
from castplan.mould.mould import build_mould
from castplan.mould.off_cups import fit_cups, narrowest_mm
from castplan.mould.open_findings import list_open_findings
from castplan.mould.opening_findings import list_opening_findings
from castplan.mould.pour_findings import list_pour_findings
from castplan.mould.pours import find_pours
from castplan.mould.records import Mould
from castplan.mould.round_pour import pour_round
from castplan.mould.section import cut_sections
from castplan.mould.slit import plan_slit
from castplan.mould.stood import stand_boards
from castplan.mould.vents import route_vents
from castplan.mould.water import check_water, use_measured
from castplan.part.cavities import each_of, find_cavities
from castplan.part.study import Study
from castplan.record import Finding
from castplan.split.records import Split


def plan_mould(study: Study, split: Split, air: Air, *, progress) -> Mould:
    """Fill the box with silicone round the part, and lead every opening out of it.

    Parameters
    ----------
    study : Study
        With the part as it was sampled.
    split : Split
    air : Air
    progress : callable
        Called as ``progress(stage, fraction)``.
    """
    part, job, seen = study.part, study.job, study.seen
    box, line, frame, field = split.box, split.line, split.draw.frame, seen.pockets.field
    progress("mould", 0.0)
    block = build_mould(split, air, seen, job)
    water = check_water(
        block,
        job,
        sealed_ml=split.undercuts.sealed_mm3 / 1000,
        doubt_ml=part.check.doubt_mm3 / 1000,
    )
    block = use_measured(block, water)
    keys = lay_out_keys(field, split, block, job)
    up = air.openings
    ends_mm = (box.low_mm, box.high_mm)
    cavities = find_cavities(part, field, least_mm3=1000 * job.vent_min_air_ml)
    in_the_way = [*keys.balls_mm, *slide.balls_of(split.pieces, frame)]
    silicone = Block(
        seen.rested,
        up.frame,
        frame,
        up.up,
        line.surface,
        *ends_mm,
        in_the_way,
        each_of(part, cavities, seen.rested),
        is_parted=not split.is_cut,
    )
    if split.is_open:
        gate, vents = by_hand(block, job), VentsResult(routes=())
    else:
        gate = find_gate(silicone, air.feed, block, job)
        vents = _lead_out(silicone, block, gate)
        block, fitted = fit_cups(block, gate, vents)
        if fitted is not gate:  # its rim is higher, and so are head and straws
            gate = fill_again(fitted, silicone, block, job)
            vents = _lead_out(silicone, block, gate)
    progress("box", 0.0)
    cut = Cut(
        frame=frame,
        surface=cutting_surface(field, line, seen.built_mm),
        box=box,
        keys=keys,
        ports=block.ports,
        routes=vents.routes,
        pieces=split.pieces,
    )
    if split.is_cut:
        boards = stand_boards(study, split, up.frame, vents.routes)
    else:
        boards = cut_boards(field, box, line.surface, job)
        boards = without_turning(boards) if block.is_one_pour else boards
    hold = weigh_lift(block, job, part_mm3=seen.part_mm3)
    slit = plan_slit(study, split, air, block) if split.is_cut else None
    sections = cut_sections(part, cut, slit)
    progress("fill", 0.0)
    return Mould(
        block=block,
        water=water,
        gate=gate,
        keys=keys,
        vents=vents,
        boards=boards,
        hold=hold,
        sections=sections,
        fill=fill_cavity(part, Pouring(air=air, gate=gate), frame, job),
        pours=pour_round(part, split, air, job)
        if split.is_cut
        else find_pours(part, split, block, job),
        slit=slit,
    )


def _lead_out(silicone, block, gate):
    cup_mm = narrowest_mm(block, gate)
    return route_vents(silicone, block, cup_high_mm=gate.cup_high_mm, cup_mm=cup_mm)


def list_findings(study: Study, split: Split, air: Air, mould: Mould) -> tuple[Finding, ...]:
    """What the box asks of the shop, and all openings with what resin and silicone do there."""
    if split.is_open:
        return list_open_findings(split, air, mould, study.job)
    if split.is_cut:
        return list_cut_findings(split, air, mould, study.job)
    return (
        *list_build_findings(split.box, mould),
        *list_pour_findings(split.draw.frame, air, mould, study.job),
        *list_opening_findings(split.draw.frame, air.openings, mould, study.job),
    )
