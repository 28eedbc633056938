"""``castplan view``: open a plan's view in the browser."""

import webbrowser
from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.options import EXIT_CODES
from castplan.errors import InputError, ResourceError

EPILOG = f"""\b
Examples:
  castplan view plan
  castplan view jobs/bezel

{EXIT_CODES}"""


def view(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="The plan's folder.")],
) -> None:
    """Open the view of a plan in the browser: part, halves and pour, to turn in the hand."""
    from castplan.files.plan_folder import RECORD_FILE, VIEW_FILE, read_plan

    if not (plan / RECORD_FILE).is_file():
        raise InputError(
            str(plan),
            found="no plan",
            need="a plan folder that castplan plan wrote",
            do="Name the folder that holds plan.json.",
        )
    page = plan / VIEW_FILE
    if not page.is_file():
        raise InputError(
            str(plan),
            found="a plan without a view",
            need=VIEW_FILE,
            do="Plan the part again with --replace; the log is kept.",
        )
    read_plan(plan)
    address = page.resolve().as_uri()
    if not webbrowser.open(address):
        raise ResourceError(
            "browser",
            found="none that could be started",
            need="one with WebGL2",
            do=f"Open {page.resolve()} by hand.",
        )
    typer.echo(f"Opened {page}.")
