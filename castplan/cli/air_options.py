"""Options about air, and what they make of a job."""

from typing import Annotated

import typer

from castplan.cli.options import read_choice, read_place, read_spot, words_of

# How far round a marked place gate and vents keep off, unless the shop says (assumed).
KEEP_OFF_MM = 5.0


Feed = words_of("Feed", "feed")


MaxVentsOption = Annotated[
    int | None,
    typer.Option("--max-vents", metavar="N", help="Vents the mould may have. Default 12."),
]
AirLeftOption = Annotated[
    float | None,
    typer.Option(
        "--air-left",
        metavar="ML",
        help="As few vents as leave less air than this. Default 0.02.",
    ),
]
VentPitchOption = Annotated[
    float | None,
    typer.Option(
        "--vent-pitch", metavar="MM", help="From vent to vent along a level roof. Default 25."
    ),
]
VentOption = Annotated[
    list[str] | None,
    typer.Option(
        "--vent",
        metavar="X,Y,Z",
        help="A vent at this place, in the file's axes and mm; give it as often as you like. Then "
        "these and no others are made.",
    ),
]
KeepOffOption = Annotated[
    list[str] | None,
    typer.Option(
        "--keep-off",
        metavar="X,Y,Z[,R]",
        help="Gate and vents keep off this place, in the file's axes and mm, and off what lies "
        "within R of it; give it as often as you like. Default R 5.",
    ),
]
GateOption = Annotated[
    float | None,
    typer.Option(
        "--gate",
        metavar="MM",
        help="Bore of the gate. Default: the least of 6, 8, 10, 12, 16 and 20 that fills in time.",
    ),
]
FeedOption = Annotated[
    Feed | None,
    typer.Option(
        "--feed",
        case_sensitive=False,
        help="top: through a high point; riser: from below, beside the part; auto: whichever "
        "costs less. Default auto.",
    ),
]


def air_choices(*, max_vents, air_left, vent_pitch, vent, keep_off, gate, feed) -> dict:
    """Fields of a job from the options; None where an option is left out."""
    return {
        "max_vents": read_choice("--max-vents", "max_vents", max_vents),
        "air_left_ml": read_choice("--air-left", "air_left_ml", air_left),
        "vent_pitch_mm": read_choice("--vent-pitch", "vent_pitch_mm", vent_pitch),
        "vents_at": tuple(read_place("--vent", text) for text in vent) if vent else None,
        "keep_off": _spots(keep_off) if keep_off else None,
        "gate_mm": read_choice("--gate", "gate_mm", gate),
        "feed": None if feed is None else feed.value,
    }


def _spots(texts):
    return tuple(read_spot("--keep-off", text, radius_mm=KEEP_OFF_MM) for text in texts)
