"""The command line: the only place that prints and that ends the program.

One module per command. Nothing heavy is imported before a command runs, so
that help answers at once.
"""

import sys
from typing import Annotated

import typer

from castplan import __version__
from castplan.cli import check, plan
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
  castplan plan coat_hook.stl --units mm --out plan

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
):
    """Plan a two-part silicone block mould from a part's mesh.

    castplan finds how to pull the halves, where to part them, what would stay
    locked, where to pour and vent, and what to weigh out; and prints it at 1:1.
    """


for _module, _command in ((plan, plan.plan), (check, check.check)):
    app.command(epilog=_module.EPILOG)(_command)


def main() -> None:
    """Run the command line and end the program with its exit code."""
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


def _stop(error):
    print(error, file=sys.stderr)
    raise SystemExit(error.exit_code)
