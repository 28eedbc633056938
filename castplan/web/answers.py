"""Requests in and answers out: bodies within limits, errors as one line, jobs as JSON."""

import contextlib
import json
from pathlib import Path

from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response

from castplan.errors import CastplanError, InputError, ResourceError
from castplan.web.store import Conflict

BODY_BYTES = 1_000_000


def told(work):
    """A route whose errors become one line."""

    async def answer(request):
        try:
            return await work(request)
        except ClientDisconnect:
            return Response(status_code=400)
        except CastplanError as error:
            return JSONResponse(
                {"error": str(error), "exit": error.exit_code}, status_code=_status(error)
            )
        except OSError as error:
            line = f"disk: found {error.strerror or error}, need room to write. Free some."
            return JSONResponse({"error": line, "exit": 4}, status_code=507)

    return answer


def _status(error):
    if isinstance(error, Conflict):
        return 409
    if isinstance(error, ResourceError):
        return 507
    return 404 if error.found.startswith(("a key of no", "no such")) else 422


async def missing(request, error):
    """The answer for an address that is none."""
    line = "address: found none of castplan's, need one of /api/openapi.json. Look there."
    return JSONResponse({"error": line, "exit": 2}, status_code=error.status_code)


async def receive(request, draft: Path, *, most, name):
    """Stream a body to a file, within a limit."""
    n_bytes = 0
    with open(draft, "wb") as file:
        async for piece in request.stream():
            n_bytes += len(piece)
            if n_bytes > most:
                raise InputError(
                    name,
                    found=f"more than {most / 1e6:.0f} MB",
                    need="a smaller file",
                    do="Make it lighter with castplan heal --triangles.",
                )
            file.write(piece)
    if not n_bytes:
        raise InputError(name, found="an empty file", need="a mesh", do="Choose another.")


async def read_json(request):
    """The JSON object that is the body."""
    data = b""
    async for piece in request.stream():
        data += piece
        if len(data) > BODY_BYTES:
            raise InputError("request", found="over 1 MB", need="less", do="Send less.")
    try:
        told = json.loads(data or b"{}", parse_constant=lambda name: None)
    except (ValueError, RecursionError):
        told = None
    if not isinstance(told, dict):
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
        return min(max(float(text), 0.0), most)
    return 0.0


def unknown(what, known):
    """The error for a name that is none of a list."""
    return InputError(
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
    }


def whole(job, outcome):
    """A job with its choices and how far its plan is."""
    return {
        **brief(job),
        "at": job.at,
        "choices": job.choices,
        "what": job.what,
        "can_undo": job.at > 1,
        "can_redo": job.at < job.last,
        "redo": job.next_what,
        "marks": job.marks,
        "plan": {
            "at": outcome.at,
            "state": outcome.state,
            "stage": outcome.stage,
            "fraction": outcome.fraction,
            "error": outcome.error,
            "seconds": round(outcome.seconds, 3),
            "stages_asked": outcome.n_asked,
            "stages_worked": outcome.n_worked,
        },
    }


def as_download(name, *, is_shown):
    """Headers that name a file for the browser."""
    plain = name.encode("ascii", "replace").decode().replace("?", "_").replace('"', "_")
    kind = "inline" if is_shown else "attachment"
    return {"content-disposition": f'{kind}; filename="{plain}"'}
