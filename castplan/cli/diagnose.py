"""``castplan diagnose``: causes of the logged defects, from the plan's numbers and the log."""

from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.cast import PlanArgument
from castplan.cli.options import EXIT_CODES

EPILOG = f"""\b
Examples:
  castplan diagnose plan
  castplan diagnose plan --line 3 --sheet diagnosis.pdf

{EXIT_CODES}"""


def diagnose(
    plan: PlanArgument,
    line: Annotated[
        int | None,
        typer.Option("--line", metavar="LINE", help="Line of the log; without it every pour."),
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="The same as a PDF for the bench."),
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over FILE of --sheet if it is there.")
    ] = False,
):
    """Rank the causes of each logged defect, with evidence and the next test.

    It works on the folder alone. It also says how much of each mould's life is used
    and which size drifts.
    """
    from castplan.after.diagnose import diagnose as rank
    from castplan.after.size_causes import drifts
    from castplan.files.cast_file import read_log
    from castplan.files.new_file import appearing, check_new
    from castplan.files.plan_folder import read_plan
    from castplan.words import diagnosis as diagnosis_view
    from castplan.words.boxed import tally_lines
    from castplan.words.cautions import after_cautions
    from castplan.words.plan import caution_short

    if sheet is not None:
        check_new(sheet, suffixes=(".pdf",), replace=replace)
    planned, log = read_plan(plan), read_log(plan)
    found = rank(planned, log, line=line)
    ends = diagnosis_view.life_lines(planned, log)
    for mould in log.moulds:
        ends += diagnosis_view.drift_lines(drifts(planned, log, mould), mould)
    ends += tally_lines(planned, log)
    for text in (*diagnosis_view.diagnosis_lines(found, log), *ends):
        typer.echo(text)
    if found.defects:
        for caution in after_cautions(planned, ("vacuum", "heat")):
            typer.echo(f"Take care. {caution_short(caution)}")
    if sheet is not None:
        from castplan.paper.sheet_diagnosis import write_diagnosis

        with appearing(sheet) as draft:
            write_diagnosis(planned, log, found, ends, draft)
        typer.echo(f"Wrote {sheet}")
