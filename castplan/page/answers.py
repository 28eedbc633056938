"""Requests in and answers out: bodies within limits, errors as one line, jobs as JSON."""

import asyncio
import contextlib
import re
import sys
import traceback
from pathlib import Path
from urllib.parse import quote

from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response

from castplan.errors import CastplanError, InputError, ResourceError
from castplan.page.carry import clean_name
from castplan.page.choices import in_words
from castplan.page.desk import Full
from castplan.page.store import Conflict, Missing, Store
from castplan.page.told import object_in
from castplan.part import refuse
from castplan.part.read import FORMATS
from castplan.texts import say
from castplan.words.options import control_named

BODY_BYTES = 1_000_000
# Longest that a body may keep silent: a slow reader is one thing, a stuck one another.
PIECE_S = 30.0


class Large(InputError):
    """A body over its limit."""


class Stuck(InputError):
    """A body of which no more comes."""


# By kind of error, the first that fits; any other is 422.
STATUSES = {Missing: 404, Stuck: 408, Conflict: 409, Large: 413, Full: 503, ResourceError: 507}


def told(work):
    """A route whose errors become one line."""

    async def answer(request):
        try:
            return await work(request)
        except ClientDisconnect:
            return Response(status_code=400)
        except CastplanError as error:
            # What is left of a body that was not taken must not keep the server reading.
            is_left = isinstance(error, Large | Stuck)
            return JSONResponse(
                {"error": error.said(control_named), "exit": error.exit_code},
                status_code=_status(error),
                headers={"connection": "close"} if is_left else None,
            )
        except OSError as error:
            line = f"disk: found {error.strerror or error}, need room to write. Free some."
            return JSONResponse({"error": line, "exit": 4}, status_code=507)
        except Exception as error:
            # A fault of castplan: one line for the page, the rest for whoever mends it.
            traceback.print_exc(file=sys.stderr)
            reason = " ".join(f"{type(error).__name__}: {error}".split())[:200]
            line = f"castplan: found a fault of its own ({reason}), need a report. Report it."
            return JSONResponse({"error": line, "exit": 1}, status_code=500)

    return answer


def _status(error):
    for kind, status in STATUSES.items():
        if isinstance(error, kind):
            return status
    return 422


async def missing(request, error):
    """The answer for an address that is none."""
    is_none = error.status_code == 404
    found = "none of castplan's" if is_none else f"one that takes no {request.method}"
    line = f"address: found {found}, need one of /api/openapi.json. Look there."
    return JSONResponse(
        {"error": line, "exit": 2}, status_code=error.status_code, headers=error.headers
    )


async def pieces(request):
    """The pieces of a body as they come.

    Raises
    ------
    Stuck
        None came for a while.
    """
    stream = request.stream()
    while True:
        try:
            async with asyncio.timeout(PIECE_S):
                piece = await anext(stream, None)
        except TimeoutError:
            raise Stuck(
                "request",
                found=f"no more of it for {PIECE_S:.0f} s",
                need="all of it",
                do="Send it again.",
            ) from None
        if piece is None:
            return
        yield piece


async def receive(request, draft: Path, *, most, name):
    """Stream a body to a file, within a limit."""
    n_bytes = 0
    with open(draft, "wb") as file:
        async for piece in pieces(request):
            n_bytes += len(piece)
            if n_bytes > most:
                raise Large(
                    name,
                    found=f"more than {most / 1e6:.0f} MB",
                    need="a smaller file",
                    do="Make it lighter with castplan repair --triangles.",
                )
            file.write(piece)
    if not n_bytes:
        raise InputError(name, found="an empty file", need="a mesh", do="Choose another.")


def suffix_of(file_name: str) -> tuple[str, str]:
    """Clean name and suffix of a mesh file.

    Raises
    ------
    InputError
        It is of no known format.
    """
    stem, dot, suffix = file_name.rpartition(".")
    suffix = suffix.lower() if dot else ""
    if suffix not in FORMATS:
        raise InputError(
            clean_name(file_name),
            found=f"a file of the kind {clean_name(suffix)!r}" if suffix else "no kind of file",
            need=f"a mesh: {', '.join(FORMATS)}",
            do="Save the part in one of these formats.",
        )
    return clean_name(stem), suffix


async def receive_mesh(request, store: Store, *, run) -> dict:
    """Keep the mesh that is a request's body.

    Parameters
    ----------
    request : starlette.requests.Request
        Its ``name`` is that of the file.
    store : Store
    run : callable
        Runs what waits for the disk on a thread.

    Returns
    -------
    dict
        ``name``, ``mesh`` and ``suffix``.
    """
    name, suffix = suffix_of(request.query_params.get("name", ""))
    draft = store.draft()
    try:
        most = refuse.max_file_bytes(suffix)
        await receive(request, draft, most=most, name=name)
        mesh = await run(store.keep_mesh, draft, suffix=suffix)
    finally:
        draft.unlink(missing_ok=True)
    return {"name": name, "mesh": mesh, "suffix": suffix}


async def read_json(request):
    """The JSON object that is the body."""
    data, n_bytes = bytearray(), 0
    async for piece in pieces(request):
        n_bytes += len(piece)
        if n_bytes <= BODY_BYTES:
            data += piece
        elif n_bytes > 20 * BODY_BYTES:
            break
    # A body a little too long is taken in to its end: cut off, many clients lose the answer.
    if n_bytes > BODY_BYTES:
        raise Large("request", found="over 1 MB", need="less", do="Send less.")
    told = object_in(bytes(data) or b"{}")
    if told is None:
        raise InputError("request", found="no JSON object", need="one", do="Send one.")
    return told


def version_of(told):
    """The version that a request was made at."""
    at = told.get("at")
    if not isinstance(at, int) or isinstance(at, bool) or not 0 < at < 2**31:
        raise InputError(
            "at", found="no version", need="the version it was seen at", do="Send it as a number."
        )
    return at


def number_of(text, *, most):
    """A number of a query from 0 to `most`; 0 where it is none."""
    with contextlib.suppress(TypeError, ValueError):
        # In this order what is no number (nan) becomes 0 as well.
        return min(max(0.0, float(text)), most)
    return 0.0


def unknown(what, known):
    """The error for a name that is none of a list."""
    return Missing(
        what, found="no such one", need=f"one of {', '.join(known)}", do="Choose one of them."
    )


def brief(job):
    """A job in the list."""
    return {
        "key": job.key,
        "name": job.name,
        "format": job.suffix,
        "made_s": job.made_s,
        "changed_s": job.changed_s,
        "is_archived": job.is_archived,
        "is_deleted": job.is_deleted,
        "mesh": job.mesh,
    }


def whole(job, outcome):
    """A job with its choices and how far its plan is."""
    return {
        **brief(job),
        "at": job.at,
        "choices": job.choices,
        "what": job.what,
        "what_says": in_words(job.what),
        "can_undo": job.at > job.first,
        "can_redo": job.at < job.last,
        "redo": job.next_what,
        "redo_says": in_words(job.next_what or ""),
        "marks": job.marks,
        "plan": {
            "at": outcome.at,
            "state": outcome.state,
            "stage": outcome.stage,
            "fraction": outcome.fraction,
            "error": outcome.error,
            "asks": outcome.asks,
            "seconds": round(outcome.seconds, 3),
            "stages_asked": outcome.n_asked,
            "stages_worked": outcome.n_worked,
        },
    }


def name_of_copy(job, wanted):
    """The name of a copy of a job; castplan's own where none is wanted."""
    return clean_name(str(wanted or say("page.copy_name", name=job.name)))


def done(outcome):
    """The outcome, if it holds a plan.

    Raises
    ------
    Conflict
        It does not.
    """
    if outcome.plan is None:
        raise Conflict(
            "plan",
            found="a part that cannot be planned yet" if outcome.error else "none yet",
            need="a finished one",
            do="Open the job and mend what it says." if outcome.error else "Wait for it.",
        )
    return outcome


def as_download(name, *, is_shown):
    """Headers that name a file for the browser (RFC 6266; the name as in RFC 8187)."""
    plain = re.sub(r"[^A-Za-z0-9 ._-]", "_", name)
    kind = "inline" if is_shown else "attachment"
    exact = quote(name, safe="")
    return {"content-disposition": f"{kind}; filename=\"{plain}\"; filename*=UTF-8''{exact}"}
