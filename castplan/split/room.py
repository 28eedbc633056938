"""The room of the split, stage by stage: which way, along which line, what is held."""

from dataclasses import replace

from castplan.columns.gaps import find_gaps
from castplan.errors import InputError, Option
from castplan.geometry import frames
from castplan.job import Job
from castplan.memory import remembered
from castplan.part import size
from castplan.part.health import noise_of
from castplan.part.sampling import describe_sampling, solid_mm3
from castplan.part.show_face import show_slope
from castplan.part.study import HeldPockets, Seen, Study, sample_part
from castplan.record import Finding, Frame
from castplan.split.back import find_back
from castplan.split.box import choose_box
from castplan.split.draft_views import draw_draft
from castplan.split.draw import find_draw
from castplan.split.findings import list_split_findings
from castplan.split.flex import Skin, judge_pockets
from castplan.split.freed import Parted, freed_mm3, pull_after
from castplan.split.line import Drawn, find_lines, is_worth_another
from castplan.split.loose import Judged, Placed, after_pieces, find_loose
from castplan.split.loose_findings import list_loose_findings
from castplan.split.parting import find_parting
from castplan.split.proof_findings import list_proof_findings
from castplan.split.records import DrawResult, Split
from castplan.split.remedies import find_remedies
from castplan.split.seam import find_seam, seam_heights
from castplan.split.thin import find_thin
from castplan.split.undercuts import list_pockets, listed_pockets, prove_split, pull_halves
from castplan.split.wish import LineWish

# Knows nothing of jobs and plans, so it is remembered here.
_find_gaps = remembered(find_gaps)


def level_height_mm(study: Study, frame: Frame, *, pitch_mm: float) -> float:
    """Height of the best level split along a draw, seen about as finely as `pitch_mm`."""
    pitch_mm = frames.view_pitch(study.part, study.job, frame, pitch_mm=pitch_mm)
    field = sample_part(study.part, frame, pitch_mm=pitch_mm)
    return find_parting(field, _find_gaps(field), tie_mm3=study.tie_mm3).height_mm


# How an open mould stands is settled: the map of positions is not shown, and kept small.
OPEN_ATTITUDES = 1
# Remedies that take a bed of clay, or halves to lift off a loose piece.
OF_HALVES = ("loose piece", "clay up")
# What an open mould decides by itself; a job that names one of these is parted in two.
DECIDED = ("parting", "parting_height_mm", "up", "vents_at", "gate_mm")


def names_of_two(job: Job) -> list[str]:
    """The choices of a job that ask for a mould in two halves."""
    named = [name for name in DECIDED if getattr(job, name) is not None]
    return [*named, "bed"] if job.bed == "printed" else named


def refuse_for_cut(job: Job) -> None:
    """Refuse what a block that is cut open has no use for.

    Raises
    ------
    InputError
        The job names a printed bed, or a gate that fills the mould from below.
    """
    against = (("bed", "printed"), ("feed", "riser"))
    named = [f"{name} {word}" for name, word in against if getattr(job, name) == word]
    if named:
        raise InputError(
            Option("--mould"),
            found=f"a mould that is cut open with {named[0]}",
            need="one of the two: such a part stands on the sticks of its gate and vents",
            do="Leave one of them out.",
        )


def settle_mould(study: Study, draw: DrawResult) -> tuple[Study, DrawResult]:
    """Choose the kind of mould: two halves, with loose pieces or not, an open block, one cut open.

    Parameters
    ----------
    study : Study
    draw : DrawResult
        The best draws of a mould in two.

    Returns
    -------
    Study
        Its job names the kind, and for an open one what that decides.
    DrawResult
        For an open mould the way its silicone leaves.

    Raises
    ------
    InputError
        An open mould is asked for and the part has no flat back, or the job
        names what an open mould decides by itself.
    """
    job, wanted = study.job, study.job.mould
    if wanted == "cut":
        refuse_for_cut(job)
        return study, draw
    named = names_of_two(job)
    if wanted == "open" and named:
        raise InputError(
            Option("--mould"),
            found=f"an open mould and {named[0].replace('_mm', '').replace('_', ' ')}",
            need="one of the two: an open mould is parted at its back and poured with it up",
            do="Leave one of them out.",
        )
    back = None if named else find_back(study, draw)
    if wanted == "open" and back is None:
        raise InputError(
            Option("--mould"),
            found="no side on which the part lies flat with nothing hollow behind it",
            need="a flat back for an open mould",
            do="Leave it out for a mould in two halves.",
        )
    study = replace(study, back=back)
    if wanted in ("two-part", "loose"):
        return study, draw
    down = tuple(-v for v in back.direction)
    job = replace(
        job,
        mould="open",
        draw=back.direction,
        up=down,
        parting="level",
        parting_height_mm=0.0,
        max_vents=0,
        n_attitudes=OPEN_ATTITUDES,
    )
    return replace(study, job=job), find_draw(study.part, job)


def plan_split(study: Study, draw: DrawResult, *, progress) -> tuple[Split, Study]:
    """Part the mould along a draw.

    Parameters
    ----------
    study : Study
    draw : DrawResult
        As chosen.
    progress : callable
        Called as ``progress(stage, fraction)``.

    Returns
    -------
    Split
    Study
        With the part as it was sampled along the draw.
    """
    part, job, tie_mm3 = study.part, study.job, study.tie_mm3
    progress("columns", 0.0)
    field = study.along(draw.frame)
    sampling = describe_sampling(part, field)
    size.check_sampled(sampling.n_columns, pitch_mm=field.pitch_mm, name=part.name)
    progress("undercuts", 0.0)
    gaps = _find_gaps(field)
    progress("parting", 0.0)
    slope = show_slope(draw.frame, job)
    parting = find_parting(field, gaps, tie_mm3=tie_mm3, show_slope=slope)
    part_mm3 = solid_mm3(part, sampling)
    box = choose_box(field, job, part_mm3=part_mm3)
    ends_mm = (box.low_mm, box.high_mm)
    seam = find_seam(part, draw.frame, field, job)
    thin = find_thin(part, draw.frame)
    heights = seam_heights(seam, within_mm=3 * field.pitch_mm)
    is_open = job.mould == "open"
    wish = LineWish(tie_mm3=tie_mm3, seam_heights=heights, show_slope=slope, is_on_board=is_open)
    drawn = Drawn(field=field, gaps=gaps, parting=parting)
    for laid in find_lines(drawn, job, wish, ends_mm=ends_mm):
        line, built_mm = laid.line, laid.built_mm
        held = pull_halves(field, gaps, built_mm)
        parted = Parted(field=field, gaps=gaps, built_mm=built_mm, held=held)
        judged = _judge(study, parted, thin, ends_mm=ends_mm)
        if not is_worth_another(line, judged.flex, tie_mm3=tie_mm3):
            break
    loose = None
    if job.mould == "loose":
        placed = Placed(draw=draw, box=box, surface=line.surface, parted=parted)
        loose = find_loose(study, placed, judged)
        held = pull_after(part, draw.frame, parted, loose.pieces)
        judged = _judge(study, replace(parted, held=held), thin, ends_mm=ends_mm)
        loose = after_pieces(loose, judged)
        line = replace(line, trapped_mm3=max(line.trapped_mm3 - freed_mm3(parted, held), 0.0))
    split = Split(
        kind=job.mould if loose is None else loose.kind,
        back=study.back,
        draw=draw,
        parting=parting,
        box=box,
        line=line,
        seam=seam,
        undercuts=judged.pockets.undercuts,
        proof=prove_split(field, held, line),
        flex=judged.flex,
        remedies=(),
        draft_views=(),
        loose=loose,
    )
    seen = Seen(pockets=judged.pockets, built_mm=built_mm, part_mm3=part_mm3, sampling=sampling)
    return split, replace(study, seen=seen)


def add_shown(study: Study, split: Split) -> Split:
    """The split with what is only shown of it: what else could free its pockets, and its draft.

    Parameters
    ----------
    study : Study
        With the part as it was sampled along the draw.
    split : Split
    """
    found = find_remedies(study.part, split.draw, study.seen.pockets, split.flex)
    return replace(
        split,
        remedies=tuple(
            remedy for remedy in found if not split.is_cut or remedy.kind not in OF_HALVES
        ),
        draft_views=draw_draft(study.part, split.draw.frame, parting_mm=split.line.box_height_mm),
    )


def _judge(study, parted, thin, *, ends_mm):
    """The pockets that a parting holds, and what its rubber has to do."""
    field, held = parted.field, parted.held
    undercuts = list_pockets(field, held, part_mm3=study.part.check.volume_mm3)
    of_gap = listed_pockets(field, held.gaps, undercuts)
    pockets = HeldPockets(field=field, gaps=held.gaps, of_gap=of_gap, undercuts=undercuts)
    noise_mm = noise_of(study.part) if undercuts.pockets else None
    flex = judge_pockets(pockets, study.job, Skin(thin=thin, noise_mm=noise_mm), ends_mm=ends_mm)
    return Judged(pockets=pockets, flex=flex)


def list_findings(study: Study, split: Split) -> tuple[Finding, ...]:
    """What the split asks of the shop, and whether the halves hold what it promised."""
    tie_mm3 = study.tie_mm3
    return (
        *list_proof_findings(split.proof, tie_mm3=tie_mm3),
        *list_loose_findings(split),
        *list_split_findings(split, tie_mm3=tie_mm3),
    )
