"""``castplan revise``: the next version of a plan for the mould that is there."""

from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.cast import PlanArgument
from castplan.cli.options import EXIT_CODES
from castplan.cli.progress import Progress

EPILOG = f"""\b
Examples:
  castplan revise plan --out plan-2
  castplan revise plan --out plan --replace

{EXIT_CODES}"""


def revise(
    plan: PlanArgument,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder to make for the next version.")
    ],
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace the plan at DIR; it is kept as DIR.previous."),
    ] = False,
):
    """Turn logged voids into vents to drill, or into another pouring position.

    The mould stays as it is. Each vent is told from the outside of the silicone,
    with the air that stays without it and with it. A change sheet comes first
    in the new plan's sheets; the log goes along.
    """
    from castplan.after.revise import revise as make
    from castplan.door import Planned
    from castplan.files.cast_file import read_log
    from castplan.files.plan_folder import read_plan
    from castplan.files.write import check_target
    from castplan.words import revision as revision_view
    from castplan.words.cautions import after_cautions
    from castplan.words.plan import caution_short

    check_target(out, replace=replace)
    with Progress() as progress:
        revised = make(read_plan(plan), read_log(plan), progress=progress)
        Planned(revised).write(out, replace=replace, log_from=plan, progress=progress)
    for line in revision_view.revision_lines(revised):
        typer.echo(line)
    for caution in after_cautions(revised):
        typer.echo(f"Take care. {caution_short(caution)}")
