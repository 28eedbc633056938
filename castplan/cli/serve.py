"""``castplan serve``: the page on this computer."""

import os
from pathlib import Path
from typing import Annotated

import typer

from castplan import ordinary
from castplan.cli.options import EXIT_CODES, read_number
from castplan.errors import InputError
from castplan.machine import MEMORY_FRACTION
from castplan.page.turn import LIMIT_S, Limits

EPILOG = f"""\b
Examples:
  castplan serve
  castplan serve --port 9000 --no-browser
  castplan serve --host 192.168.1.20 --password-file door.txt

{EXIT_CODES}"""


def serve(
    host: Annotated[
        str,
        typer.Option(
            metavar="ADDRESS",
            help="Whom to serve. Without it this computer alone; any other address needs "
            "--password-file.",
        ),
    ] = "127.0.0.1",
    port: Annotated[
        int,
        typer.Option(
            metavar="N", min=0, max=65535, help="Port. Without it 8470, or a free one if taken."
        ),
    ] = 0,
    password_file: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="A file with the password that other computers have to give."
        ),
    ] = None,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Do not open a browser; only say the address.")
    ] = False,
    limit_s: Annotated[
        float | None,
        typer.Option(
            "--limit-s",
            metavar="S",
            help="Give up a plan, or what is made of it, after so many seconds. Default "
            f"{LIMIT_S:g}.",
        ),
    ] = None,
    memory_mb: Annotated[
        float | None,
        typer.Option(
            "--memory-mb",
            metavar="MB",
            help="Give up a plan where the server takes more memory. Default "
            f"{100 * MEMORY_FRACTION:.0f} % of this machine's.",
        ),
    ] = None,
):
    """Open castplan as a page on this computer.

    Nothing leaves the computer. Jobs are kept in the shop's folder
    (CASTPLAN_HOME, or the system's usual place). Stop it with Ctrl-C.
    """
    import webbrowser

    from castplan.materials.folder import home
    from castplan.page import server
    from castplan.page.store import Store

    limit_s = read_number("--limit-s", limit_s, above=0.0, unit="s")
    memory_mb = read_number("--memory-mb", memory_mb, above=0.0, unit="MB")
    os.umask(0o077)  # what is kept is for its owner
    password = None if password_file is None else _read_password(password_file)
    server.check_reach(host, password)
    store = Store(home() / "jobs")
    listener = server.open_socket(host=host, port=port)
    shown = "localhost" if host == "127.0.0.1" else f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{listener.getsockname()[1]}/"
    typer.echo(f"castplan is at {address} (stop it with Ctrl-C)")
    if not no_browser:
        webbrowser.open(address)
    limits = Limits(seconds=limit_s or LIMIT_S, memory_mb=memory_mb)
    server.serve(store, listener, password=password, limits=limits)


def _read_password(path):
    try:
        password = ordinary.read_text(path).strip()
    except (OSError, ValueError) as error:
        raise InputError(
            str(path), found="no text that can be read", need="a password", do="Write one into it."
        ) from error
    if len(password) < 8:
        raise InputError(
            str(path),
            found=f"{len(password)} signs",
            need="at least 8",
            do="Write a longer password into it.",
        )
    return password
