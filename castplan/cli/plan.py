"""``castplan plan``: plan the mould and write the plan folder."""

from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.air_options import (
    AirLeftOption,
    FeedOption,
    GateOption,
    KeepOffOption,
    MaxVentsOption,
    VentOption,
    VentPitchOption,
    air_choices,
)
from castplan.cli.bench_options import (
    BrushOption,
    DensityOption,
    GaugeOption,
    OriginalOption,
    PigmentOption,
    PlaceOption,
    ShopOption,
    StartOption,
    UsesOption,
    WaterOption,
    bench_choices,
)
from castplan.cli.build_options import (
    BedClearanceOption,
    BedOption,
    BoardOption,
    BoxOption,
    BoxStepOption,
    ChamberOption,
    KerfOption,
    KeyClearanceOption,
    KeyOption,
    KeyPitchOption,
    PotOption,
    PrinterOption,
    ScaleMaxOption,
    SolidsOption,
    build_choices,
    read_solids,
)
from castplan.cli.first_start import compiling_ahead
from castplan.cli.options import (
    EXIT_CODES,
    MeasuredOption,
    MouldOption,
    Paper,
    PartArgument,
    Parting,
    PlaneOption,
    SizeOption,
    ThicknessOption,
    UnitsOption,
    read_choice,
    read_closing,
    read_direction,
)
from castplan.cli.progress import Progress

EPILOG = f"""\b
Examples:
  castplan plan coat_hook.stl --units mm --out plan
  castplan plan coat_hook.stl --units mm --out plan --replace --draw +z --copies 4
  castplan plan bezel.stl --units mm --out bezel --show-face +z --parting following
  castplan plan knob.3mf --out knob --up 0,0.5,1 --paper Letter

{EXIT_CODES}"""

# Options that build_choices, air_choices and bench_choices read.
BUILD_OPTIONS = (
    "box",
    "box_step",
    "board",
    "kerf",
    "key",
    "key_pitch",
    "key_clearance",
    "bed",
    "bed_clearance",
    "printer",
    "pot",
    "chamber",
    "scale_max",
)
AIR_OPTIONS = (
    "max_vents",
    "air_left",
    "vent_pitch",
    "vent",
    "keep_off",
    "gate",
    "feed",
)
BENCH_OPTIONS = (
    "water",
    "original",
    "density",
    "brush",
    "pigment",
    "gauge",
    "place",
    "start",
    "shop",
    "uses",
)


def plan(
    part: PartArgument,
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder to make for the plan: sheets.pdf, view.html and plan.json.",
        ),
    ],
    units: UnitsOption = None,
    measured: MeasuredOption = None,
    thickness: ThicknessOption = None,
    close_to_plane: PlaneOption = False,
    yes: SizeOption = False,
    draw: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y,Z",
            help="The way the upper half leaves the part, in the file's axes: 0,0,1 or +z. "
            "Without it the best of many directions.",
        ),
    ] = None,
    up: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y,Z",
            help="What is up while the resin is poured. Without it castplan chooses.",
        ),
    ] = None,
    show_face: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y,Z",
            help="The way the face that shows looks: parting line, gate and vents keep off it "
            "where they can. Without it castplan guesses, and says what it guessed.",
        ),
    ] = None,
    mould: MouldOption = None,
    parting: Annotated[
        Parting | None,
        typer.Option(
            case_sensitive=False,
            help="How the split runs. Without it the simplest that traps nothing.",
        ),
    ] = None,
    parting_height: Annotated[
        float | None,
        typer.Option(
            metavar="MM", help="Height of a level split above the part's lowest point as drawn."
        ),
    ] = None,
    pitch: Annotated[
        float | None,
        typer.Option(metavar="MM", help="Spacing of the sampling. Without it as fine as fits."),
    ] = None,
    wall: Annotated[
        float | None,
        typer.Option(
            metavar="MM",
            help="Silicone beside the part. Without it by the part's size.",
        ),
    ] = None,
    over: Annotated[
        float | None, typer.Option(metavar="MM", help="Silicone above the part. Default 12.")
    ] = None,
    under: Annotated[
        float | None, typer.Option(metavar="MM", help="Silicone below the part. Default 12.")
    ] = None,
    silicone: Annotated[
        str | None,
        typer.Option(metavar="ID", help="Silicone class. Default silicone-tin-25a."),
    ] = None,
    resin: Annotated[
        str | None,
        typer.Option(metavar="ID", help="Resin class. Default polyurethane-fast-70d."),
    ] = None,
    copies: Annotated[
        int | None, typer.Option(metavar="N", help="Castings wanted. Default 1.")
    ] = None,
    vent_height: Annotated[
        float | None,
        typer.Option(metavar="MM", help="Leave high points unvented below this rise. Default 0.5."),
    ] = None,
    vent_air: Annotated[
        float | None,
        typer.Option(metavar="ML", help="Leave high points unvented below this air. Default 0.02."),
    ] = None,
    temperature: Annotated[
        float | None, typer.Option(metavar="C", help="Of the shop, Celsius. Default 23.")
    ] = None,
    max_vents: MaxVentsOption = None,
    air_left: AirLeftOption = None,
    vent_pitch: VentPitchOption = None,
    vent: VentOption = None,
    keep_off: KeepOffOption = None,
    gate: GateOption = None,
    feed: FeedOption = None,
    water: WaterOption = None,
    original: OriginalOption = None,
    density: DensityOption = None,
    brush: BrushOption = None,
    pigment: PigmentOption = None,
    gauge: GaugeOption = None,
    place: PlaceOption = None,
    start: StartOption = None,
    shop: ShopOption = None,
    uses: UsesOption = None,
    box: BoxOption = None,
    box_step: BoxStepOption = None,
    board: BoardOption = None,
    kerf: KerfOption = None,
    key: KeyOption = None,
    key_pitch: KeyPitchOption = None,
    key_clearance: KeyClearanceOption = None,
    bed: BedOption = None,
    bed_clearance: BedClearanceOption = None,
    printer: PrinterOption = None,
    pot: PotOption = None,
    chamber: ChamberOption = None,
    scale_max: ScaleMaxOption = None,
    solids: SolidsOption = None,
    paper: Annotated[
        Paper | None, typer.Option(case_sensitive=False, help="Sheet size. Default A4.")
    ] = None,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace the plan at DIR; it is kept as DIR.previous."),
    ] = False,
):
    """Plan the mould and write the plan folder."""
    job, wanted = read_job(locals())
    from castplan.files.write import check_target
    from castplan.part.load import Reading, load_part

    check_target(out, replace=replace)
    with Progress() as progress, compiling_ahead() as is_first:
        progress("load", 0.0)
        reading = Reading(
            unit=units,
            measured=measured,
            closing=read_closing(thickness, close_to_plane),
            is_size_meant=yes,
        )
        loaded = load_part(part, reading)
        if is_first:
            progress.note("first start: compiling, up to 20 s, kept for next time")
        from castplan.door import plan_part

        planned = plan_part(loaded, job, solids=wanted, progress=progress)
        if planned.why_no_solids:
            progress.note(f"no solids written. {planned.why_no_solids}")
        planned.write(out, replace=replace, progress=progress)
    for line in planned.summary():
        typer.echo(line)


def read_job(told: dict):
    """The job that the options of ``castplan plan`` describe, and the solids asked for.

    Parameters
    ----------
    told : dict
        What was typed, by the names of `plan`'s arguments.

    Returns
    -------
    job : Job
    solids : tuple of str

    Raises
    ------
    InputError
        A value cannot be used.
    """
    wanted = read_solids(told["solids"])
    choices = {
        "mould": _word(told["mould"]),
        "draw": read_direction("--draw", told["draw"]),
        "up": read_direction("--up", told["up"]),
        "show_face": read_direction("--show-face", told["show_face"]),
        "parting": _word(told["parting"]),
        "parting_height_mm": read_choice(
            "--parting-height", "parting_height_mm", told["parting_height"]
        ),
        "pitch_mm": read_choice("--pitch", "pitch_mm", told["pitch"]),
        "wall_mm": read_choice("--wall", "wall_mm", told["wall"]),
        "over_mm": read_choice("--over", "over_mm", told["over"]),
        "under_mm": read_choice("--under", "under_mm", told["under"]),
        "silicone": told["silicone"],
        "resin": told["resin"],
        "copies": read_choice("--copies", "copies", told["copies"]),
        "vent_min_height_mm": read_choice(
            "--vent-height", "vent_min_height_mm", told["vent_height"]
        ),
        "vent_min_air_ml": read_choice("--vent-air", "vent_min_air_ml", told["vent_air"]),
        "shop_temperature_c": read_choice(
            "--temperature", "shop_temperature_c", told["temperature"]
        ),
        "paper": _word(told["paper"]),
        **build_choices(solids=wanted, **{name: told[name] for name in BUILD_OPTIONS}),
        **air_choices(**{name: told[name] for name in AIR_OPTIONS}),
        **bench_choices(**{name: told[name] for name in BENCH_OPTIONS}),
    }
    from castplan.job import Job

    return Job(**{name: value for name, value in choices.items() if value is not None}), wanted


def _word(member):
    return None if member is None else member.value
