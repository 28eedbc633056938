"""The server: one process on this computer, for this computer."""

import contextlib
import ipaddress
import os
import secrets
import socket

import uvicorn

from castplan.errors import InputError, ResourceError
from castplan.page.api import Api
from castplan.page.desk import Desk
from castplan.page.guard import Guard
from castplan.page.store import Store
from castplan.page.turn import Limits

PORT = 8470
N_CONNECTIONS = 200  # at once; more are told to come again


def open_socket(*, host: str, port: int) -> socket.socket:
    """A socket that listens; any free port where the usual one is taken.

    Parameters
    ----------
    host : str
        An address of this computer.
    port : int
        0 for the usual one.

    Raises
    ------
    ResourceError
        The address or the port cannot be had.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    for wanted in (port,) if port else (PORT, 0):
        listener = socket.socket(family, socket.SOCK_STREAM)
        if os.name == "posix":  # a port that was left a moment ago is free
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, wanted))
            listener.listen(128)  # now, so that a browser that is quicker waits
            return listener
        except OSError as error:
            listener.close()
            reason = error.strerror or str(error)
    raise ResourceError(
        f"{host}:{port or PORT}",
        found=reason.lower(),
        need="a free port of this computer",
        do="Give another --port.",
    )


def check_reach(host: str, password: str | None) -> None:
    """Refuse to be reached from other computers without a password.

    Raises
    ------
    InputError
        The host is no address, or not loopback and there is no password.
    """
    try:
        address = ipaddress.ip_address("127.0.0.1" if host == "localhost" else host)
    except ValueError:
        raise InputError(
            "--host",
            found=repr(host),
            need="an address of this computer, as 127.0.0.1",
            do="Leave it out to serve this computer alone.",
        ) from None
    if not address.is_loopback and not password:
        raise InputError(
            "--host",
            found=f"{host}, which other computers reach, and no password",
            need="a password",
            do="Give --password-file FILE, or leave --host out.",
        )


def serve(
    store: Store,
    listener: socket.socket,
    *,
    password: str | None = None,
    limits: Limits | None = None,
) -> None:
    """Serve the page until it is stopped, and close the store.

    Parameters
    ----------
    store : Store
    listener : socket.socket
        From `open_socket`.
    password : str or None
    limits : Limits
        What the work on one job may take.
    """
    desk = Desk(store, limits=limits)
    token = secrets.token_urlsafe(24)
    try:
        app = Guard(Api(store, desk, token=token).app(), token=token, password=password)
        config = uvicorn.Config(
            app,
            log_level="warning",
            access_log=False,
            server_header=False,
            lifespan="off",
            ws="none",
            limit_concurrency=N_CONNECTIONS,
            timeout_graceful_shutdown=2,
        )
        # Ctrl-C is how it is meant to be stopped.
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listener])
    finally:
        desk.close()
        store.close()
