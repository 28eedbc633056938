"""``castplan batch``: a plan for every part of a folder or a list, and their catalogue."""

import functools
import importlib.util
import inspect
import os
import signal
import sys
import time
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Annotated, get_type_hints

import typer

from castplan.cli import plan as plan_command
from castplan.cli.batch_list import options, read_orders
from castplan.cli.job_options import read_options
from castplan.cli.options import EXIT_CODES, read_number
from castplan.errors import InputError, ResourceError

LIMIT_S = 600.0
# What a part may take on a worker elsewhere, whose memory is not known here.
ELSEWHERE_MB = 4000.0
# Share of this machine's memory that all parts together may take.
MEMORY_FRACTION = 0.8
CHANGED_CODE = 5
STOPPED_CODE = 130

EPILOG = f"""\b
Examples:
  castplan batch parts --units mm --out catalogue
  castplan batch list.csv --out catalogue --shop shop.toml --pot 240,300
  castplan batch parts --units mm --out catalogue --scheduler tcp://192.168.1.20:8786
  castplan batch --compare catalogue-before catalogue

\b
A list names a part a line: the column file, name if you like, and options of
castplan plan without their dashes (units, copies, silicone, draw, ...). Beside
a part PART.toml may say units = "mm" and, in a table [plan], the same options.
The list wins over the TOML, the TOML over the command line.

\b
Run it again, and only what is missing or changed is planned. A part that fails,
takes longer than --limit-s or more than --memory-mb costs itself alone: it is
named with its reason, and the others go on.

{EXIT_CODES}
\b
  5    --compare: a verdict changed
  130  stopped by Ctrl-C: what is finished is kept"""

SourceArgument = Annotated[
    Path | None,
    typer.Argument(metavar="FOLDER|LIST.csv", help="The parts: a folder with meshes, or a list."),
]
OutOption = Annotated[
    Path | None,
    typer.Option("--out", metavar="DIR", help="Folder for plans, table and page."),
]
CompareOption = Annotated[
    tuple[Path, Path] | None,
    typer.Option(
        "--compare", metavar="A B", help="Two result folders: which verdicts changed, and why."
    ),
]
SchedulerOption = Annotated[
    str | None,
    typer.Option(
        "--scheduler",
        metavar="ADDRESS",
        help="Plan on the workers of a Dask scheduler. Parts and plans travel as bytes, no shared "
        "folder is needed. Without it on this machine.",
    ),
]
WorkersOption = Annotated[
    int | None,
    typer.Option("--workers", metavar="N", help="Processes on this machine. Default one per core."),
]
LimitOption = Annotated[
    float | None,
    typer.Option(
        "--limit-s",
        metavar="S",
        help=f"Give a part up after so many seconds. Default {LIMIT_S:g}. The first part on a "
        "machine also compiles, up to 20 s.",
    ),
]
MemoryOption = Annotated[
    float | None,
    typer.Option(
        "--memory-mb",
        metavar="MB",
        help="Give a part up that takes more memory; a small one takes about 450. Default its "
        f"share of 80 % of this machine; with --scheduler {ELSEWHERE_MB:g}.",
    ),
]


def batch(
    source: SourceArgument = None,
    out: OutOption = None,
    compare: CompareOption = None,
    scheduler: SchedulerOption = None,
    workers: WorkersOption = None,
    limit_s: LimitOption = None,
    memory_mb: MemoryOption = None,
    **told,
):
    """Plan every part of a folder or a list, on all cores or many machines.

    The options of castplan plan are the defaults for all parts.
    """
    if compare is not None:
        _compare(*compare)
        return
    if source is None or out is None:
        raise InputError(
            "castplan batch",
            found="no parts" if source is None else "no --out",
            need="a folder or a list, and --out",
            do="castplan batch --help shows examples.",
        )
    limit_s = read_number("--limit-s", limit_s, above=0.0, unit="s")
    memory_mb = read_number("--memory-mb", memory_mb, above=0.0, unit="MB")
    workers = read_number("--workers", workers, above=0, unit="processes")
    _need_dask()
    from castplan.batch.run import plan_missing, write_catalogue
    from castplan.batch.store import Store
    from castplan.batch.summary import error_lines, title
    from castplan.materials.shop import load_shop

    settings = _settings(scheduler, workers, limit_s, memory_mb)
    with _Progress() as progress:
        progress.say("reading the parts")
        orders = read_orders(source, told, out=out)
    store = Store(out)
    catalogue = functools.partial(
        write_catalogue,
        store,
        title=title(source.resolve().stem),
        n_asked=len(orders),
        shop=load_shop(told["shop"]),
        pot_mm=read_options({"pot": told["pot"]}).get("pot_mm"),
    )
    with _Progress() as progress, _ctrl_c() as is_wanted:
        try:
            n_kept = plan_missing(orders, store, settings, is_wanted=is_wanted, report=progress)
        except ResourceError:
            # What is finished is listed, if the disk still takes a list.
            with suppress(ResourceError):
                catalogue()
            raise
        progress.say("writing table and page")
        found, totals, pot = catalogue()
    for line in error_lines(found):
        typer.echo(line)
    for line in _closing_lines(store, orders, found, totals, pot, n_kept):
        typer.echo(line)
    if len(found) < len(orders):
        typer.echo("Stopped. Run it again to go on from here.", err=True)
        raise typer.Exit(STOPPED_CODE)


def _take_plans_options():
    """Give `batch` every choice of `plan`: named, typed and explained as there."""
    own = inspect.signature(batch)
    kept = [parameter for parameter in own.parameters.values() if parameter.name != "told"]
    hints = get_type_hints(plan_command.plan, include_extras=True)
    batch.__signature__ = own.replace(parameters=[*kept, *options().values()])
    batch.__annotations__ |= {name: hints[name] for name in options()}


_take_plans_options()


def _need_dask():
    if importlib.util.find_spec("distributed") is None:
        raise InputError(
            "castplan batch",
            found="no dask.distributed",
            need="the extra castplan[batch]",
            do="Install it with pip install 'castplan[batch]'.",
        )


def _settings(scheduler, workers, limit_s, memory_mb):
    from castplan.batch.bench import MB, Limits
    from castplan.batch.cluster import Settings

    n_workers = workers or _cores()
    if memory_mb is None:
        memory_mb = ELSEWHERE_MB
        if scheduler is None:
            import psutil

            memory_mb = MEMORY_FRACTION * psutil.virtual_memory().total / MB / n_workers
    limits = Limits(seconds=limit_s or LIMIT_S, memory_mb=round(memory_mb))
    return Settings(limits=limits, n_workers=n_workers, scheduler=scheduler)


def _cores():
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _closing_lines(store, orders, found, totals, pot, n_kept):
    from castplan.batch import summary
    from castplan.batch.store import PAGE_FILE, SUMMARY_FILE

    yield summary.count_sentence(found, n_asked=len(orders))
    if n_kept:
        yield f"{n_kept} of them stood already." if n_kept > 1 else "1 of them stood already."
    if totals.lines:
        yield summary.buy_sentence(totals)
    if pot is not None:
        yield from summary.pot_sentences(pot)
    if others := store.others([order.name for order in orders]):
        yield f"Left from earlier runs, not listed: {', '.join(others)}."
    yield f"Page: {store.place / PAGE_FILE}"
    yield f"Table: {store.place / SUMMARY_FILE}"


def _compare(before, after):
    from castplan.batch.compare import compare, comparison_lines
    from castplan.batch.store import read_entries

    found = compare(read_entries(before), read_entries(after))
    for line in comparison_lines(found):
        typer.echo(line)
    if not found.is_same:
        raise typer.Exit(CHANGED_CODE)


@contextmanager
def _ctrl_c():
    """Let the first Ctrl-C end the run in good order; a second one ends it at once."""
    pressed = []

    def note(number, frame):
        if pressed:
            raise KeyboardInterrupt
        pressed.append(number)

    before = signal.signal(signal.SIGINT, note)
    try:
        yield lambda: not pressed
    finally:
        signal.signal(signal.SIGINT, before)


class _Progress:
    """Parts done, rate and time left, on one line of a terminal; else nothing."""

    def __init__(self):
        self._is_terminal = sys.stderr.isatty()
        self._start_s = time.monotonic()
        self._width = 0

    def __enter__(self):
        return self

    def __exit__(self, *error):
        if self._width:
            print(file=sys.stderr)

    def __call__(self, n_done, n_all):
        self.say(progress_text(n_done, n_all, elapsed_s=time.monotonic() - self._start_s))

    def say(self, text):
        """Show a line in place of the last one."""
        if not self._is_terminal:
            return
        # What a longer line left behind is written over.
        print(f"\r{text:<{self._width}}", end="", file=sys.stderr, flush=True)
        self._width = len(text)


def progress_text(n_done, n_all, *, elapsed_s):
    """``12 of 200 parts, 31 a minute, 6 min left``."""
    text = f"{n_done} of {n_all} parts"
    if not n_done:
        return text
    left_s = elapsed_s / n_done * (n_all - n_done)
    left = f"{left_s:.0f} s" if left_s < 90 else f"{left_s / 60:.0f} min"
    if left_s >= 90 * 60:
        left = f"{left_s / 3600:.1f} h"
    return f"{text}, {60 * n_done / elapsed_s:.2g} a minute, {left} left"
