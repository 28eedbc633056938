"""Steps of the loose pieces: making them, setting them in, pulling them out."""

from castplan.bench.records import Mix, WeighResult
from castplan.bench.steps import StepList, cups_text
from castplan.materials.cards import get_card
from castplan.materials.wording import listed, wait_text
from castplan.split.records import LoosePiece, LooseResult
from castplan.texts.told import UNTOLD, Told, clauses, tell

# A rod stands out of the box by so much, to be gripped (assumed).
GRIP_MM = 15.0
# Minutes of handwork (assumed).
ROD_MIN, DAM_MIN, TRIM_MIN, PRINTED_MIN = 10.0, 25.0, 15.0, 20.0
COAT_MIN = 5.0


def make_pieces(
    steps: StepList,
    loose: LooseResult,
    mixed: tuple[Mix, WeighResult] | None,
    *,
    board_mm: float,
) -> None:
    """Write how rods and slides are made and set into the original.

    Parameters
    ----------
    steps : StepList
    loose : LooseResult
    mixed : (Mix, WeighResult), optional
        The cup of the slides, where they are poured.
    board_mm : float
        Thickness of the boards that rods go through.
    """
    rods = [piece for piece in loose.pieces if piece.kind == "rod"]
    slides = [piece for piece in loose.pieces if piece.kind == "slide"]
    if slides and mixed is not None:
        _pour_slides(steps, slides, *mixed)
    elif slides:
        steps.do(
            "slides",
            tell("loose_step.print", n=len(slides), pieces=labels(slides)),
            hands_on_min=PRINTED_MIN * len(slides),
        )
    if rods:
        steps.do(
            "rods",
            tell(
                "loose_step.rods",
                n=len(rods),
                rods=clauses([_rod_text(rod, board_mm) for rod in rods]),
            ),
            tell("loose_step.rods_out", grip=f"{GRIP_MM:g}"),
            hands_on_min=ROD_MIN * len(rods),
        )
    steps.do(
        "set_in",
        tell("loose_step.set_in", n=len(loose.pieces), pieces=labels(loose.pieces)),
        hands_on_min=COAT_MIN * len(loose.pieces),
        wait_min=10,
        is_hold=True,
        cautions=("solvent-release",),
    )


def _pour_slides(steps, slides, mix, weigh):
    n = len(slides)
    steps.do(
        "slides",
        tell("loose_step.dam", n=n, pieces=labels(slides)),
        tell("loose_step.dam_cups", cups=cups_text(weigh.alike(mix.name))),
        tell("loose_step.dam_wait", wait=wait_text(mix.demould_h)),
        hands_on_min=DAM_MIN * n,
        wait_min=mix.demould_h * 60,
        cautions=get_card(mix.card, kind="silicone").hazards,
    )
    steps.do(
        "slides",
        tell("loose_step.trim", n=n, pieces=labels(slides)),
        hands_on_min=TRIM_MIN * n,
    )


def _rod_text(rod, board_mm):
    return tell(
        "loose_step.rod",
        label=rod.label,
        across=f"{rod.diameter_mm:.1f}",
        seat=f"{rod.seat_mm:.0f}",
        long=f"{rod_mm(rod, board_mm=board_mm):.0f}",
    )


def rod_mm(rod: LoosePiece, *, board_mm: float) -> float:
    """How long a rod is cut that goes through a board so thick [mm]."""
    return rod.length_mm + board_mm + GRIP_MM


def labels(pieces) -> str:
    """``L1, L2``."""
    return listed([piece.label for piece in pieces])


def pull_first(names: tuple[str, ...]) -> Told:
    """To pull the pieces before anything else; empty without any."""
    return _with(names, "loose_step.pull")


def put_back(names: tuple[str, ...]) -> Told:
    """To put the pieces back before a pour; empty without any."""
    return _with(names, "loose_step.put_back")


def let_down(pieces: tuple[LoosePiece, ...], *, free_mm: float) -> Told:
    """To let the first half down onto the turning board, off which the walls hold it.

    Parameters
    ----------
    pieces : tuple of LoosePiece
        A rod goes through a wall, which has to come off along it first.
    free_mm : float
        How far the walls stand out over the first pour.
    """
    rods = [piece for piece in pieces if piece.kind == "rod"]
    free = f"{free_mm:.0f}"
    if not rods:
        return tell("step.turn_down", free=free)
    return tell("step.turn_down_rod", n=len(rods), rods=labels(rods), free=free)


def _with(names, key):
    return tell(key, n=len(names), pieces=listed(list(names))) if names else UNTOLD
