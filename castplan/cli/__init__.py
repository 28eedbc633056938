"""The command line: the only place that prints and that ends the program.

One module per command. Nothing heavy is imported before a command runs, so
that help answers at once.
"""

import gc
import os
import sys
import traceback
from pathlib import Path
from typing import Annotated

import typer

from castplan import __version__
from castplan.cli import (
    batch,
    cast,
    check,
    clearance,
    diagnose,
    estimate,
    materials,
    mix,
    picture,
    plan,
    repair,
    revise,
    schema,
    serve,
    texts,
    view,
    wall,
)
from castplan.cli.ceiling import start
from castplan.cli.language import speak
from castplan.cli.options import EXIT_CODES
from castplan.errors import CastplanError, ResourceError

app = typer.Typer(
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    epilog=f"""\b
Examples:
  castplan check coat_hook.stl --units mm
  castplan repair scan.ply --units mm --out repaired.3mf
  castplan plan coat_hook.stl --units mm --out plan
  castplan batch parts --units mm --out catalogue
  castplan estimate --length 142 --width 61 --height 38 --water 118ml
  castplan mix --card silicone-tin-25a --volume 240ml
  castplan materials list
  castplan cast plan --date 2026-12-01 --result good
  castplan wall --out wall.pdf
  castplan view plan
  castplan picture plan split --out split.png
  castplan serve

{EXIT_CODES}""",
)


def _show_version(wanted: bool):
    if wanted:
        typer.echo(f"castplan {__version__}")
        raise typer.Exit


@app.callback()
def castplan(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Say the version."),
    ] = False,
    language: Annotated[
        str | None,
        typer.Option(
            "--language",
            metavar="NAME",
            envvar="CASTPLAN_LANGUAGE",
            help="Words of the sheets: texts/NAME.toml in your user folder. Default English.",
        ),
    ] = None,
):
    """Plan a two-part silicone block mould from a part's mesh.

    castplan finds how to pull the halves, where to part them, what would stay
    locked, where to pour and vent, and what to weigh out; and prints it at 1:1.
    """
    speak(language)


for _module, _command in (
    (plan, plan.plan),
    (check, check.check),
    (repair, repair.repair),
    (mix, mix.mix),
    (estimate, estimate.estimate),
    (batch, batch.batch),
    (cast, cast.cast),
    (diagnose, diagnose.diagnose),
    (revise, revise.revise),
    (clearance, clearance.clearance),
    (wall, wall.wall),
    (schema, schema.schema),
    (texts, texts.texts),
    (serve, serve.serve),
    (view, view.view),
    (picture, picture.picture),
):
    app.command(epilog=_module.EPILOG)(_command)
app.add_typer(materials.app, name="materials")


# Objects made between two looks for cycles. Imports and sheets make hundreds of
# thousands that stay, and looking through them took a tenth of a plan.
COLLECTED_EVERY = 100_000


def program() -> None:
    """Run the command line as a program of its own: commands may have themselves watched."""
    start(main)


def main() -> None:
    """Run the command line and end the program with its exit code."""
    gc.set_threshold(COLLECTED_EVERY, 20, 20)
    # Matrices are small here: more threads only wait for each other, and sums
    # would come out by the machine's number of them.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        # A log in a code page without some sign should not stop a plan.
        stream.reconfigure(errors="replace")
    try:
        app(prog_name="castplan")
    except CastplanError as error:
        _stop(error)
    except MemoryError:
        _stop(
            ResourceError(
                "castplan",
                found="too little memory",
                need="more",
                do="Close other programs, or give a coarser --pitch.",
            )
        )
    except Exception as error:
        if os.environ.get("CASTPLAN_TRACEBACK"):
            raise
        _stop(_own_fault(error))


def _own_fault(error):
    """The line for an error that castplan should not have raised."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    reason = " ".join(f"{type(error).__name__}: {error}".split())[:200]
    return CastplanError(
        "castplan",
        found=f"a fault of its own ({reason}; {Path(last.filename).name} line {last.lineno})",
        need="a report of it",
        do="Set CASTPLAN_TRACEBACK=1, run it again, and send what it prints with the part.",
    )


def _stop(error):
    print(error, file=sys.stderr)
    raise SystemExit(error.exit_code)
