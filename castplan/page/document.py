"""The OpenAPI document of the server: what the page does, for other programs.

OpenAPI Specification 3.1.0; the choices come from their own table.
"""

from castplan import __version__, errors
from castplan.after.records import DEFECTS, POURS, RESULTS
from castplan.nest.room import MOST_PARTS
from castplan.page.choices import schema
from castplan.page.guard import TOKEN_HEADER
from castplan.page.operations import answer, body_of, job_answer, path_part, query
from castplan.page.outcome import STATES
from castplan.page.samples import names
from castplan.part.read import FORMATS

_KEY = {
    "name": "key",
    "in": "path",
    "required": True,
    "schema": {"type": "string"},
    "description": "the job, from the list",
}
_MEASURED = {"type": ["number", "null"]}
_POINT = {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3}
_NUMBER = {"type": "integer", "minimum": 1, "maximum": MOST_PARTS}
_PART = {
    "oneOf": [_NUMBER, {"type": "null"}],
    "description": "of a box of several; a place is then in that part's own file",
}
_POUR = {
    "date": {"type": "string", "format": "date"},
    "mould": {"type": "string"},
    "pour": {"enum": list(POURS)},
    "result": {"enum": list(RESULTS)},
    "parts": {
        "type": "array",
        "description": "parts of a box of several that came out otherwise",
        "items": {
            "type": "object",
            "required": ["part", "result"],
            "additionalProperties": False,
            "properties": {"part": _NUMBER, "result": {"enum": list(RESULTS)}},
        },
    },
    **dict.fromkeys(("a_g", "b_g", "shot_g", "temperature_c", "humidity_fraction"), _MEASURED),
    **dict.fromkeys(("poured_min", "opened_h", "pressure_bar"), _MEASURED),
    "lots": {"type": "array", "items": {"type": "string"}},
    "photos": {"type": "array", "items": {"type": "string"}},
    "note": {"type": "string"},
    "defects": {
        "type": "array",
        "items": {
            "type": "object",
            "required": ["kind"],
            "additionalProperties": False,
            "properties": {
                "kind": {"enum": list(DEFECTS)},
                "where_mm": {"oneOf": [_POINT, {"type": "null"}]},
                "told": {"type": "string"},
                "size_mm": _MEASURED,
                "part": _PART,
            },
        },
    },
    "sizes": {
        "type": "array",
        "items": {
            "type": "object",
            "required": ["name", "length_mm", "error_mm"],
            "additionalProperties": False,
            "properties": {
                "name": {"type": "string"},
                "length_mm": {"type": "number", "exclusiveMinimum": 0},
                "error_mm": {"type": "number", "exclusiveMinimum": 0},
                "part": _PART,
            },
        },
    },
}
_AT = {"type": "integer", "minimum": 1, "description": "the version it was seen at"}
_ERROR = {
    "type": "object",
    "required": ["error"],
    "properties": {
        "error": {
            "type": "string",
            "description": "one line: what was found, what is needed, what to do",
        },
        "exit": {"type": "integer", "description": "as the command line's status"},
    },
}
_LISTED = {
    "key": {"type": "string"},
    "name": {"type": "string"},
    "format": {"enum": list(FORMATS)},
    "made_s": {"type": "number", "description": "seconds since 1970"},
    "changed_s": {"type": "number"},
    "is_archived": {"type": "boolean"},
    "is_deleted": {"type": "boolean", "description": "for good after 30 days"},
    "mesh": {"type": "string", "description": "SHA-256 of its file"},
}
_JOBS = {
    "type": "object",
    "required": ["jobs"],
    "properties": {
        "jobs": {
            "type": "array",
            "items": {
                "type": "object",
                "required": [*_LISTED, "plan"],
                "properties": {
                    **_LISTED,
                    "plan": {
                        "type": "object",
                        "required": ["state", "answer"],
                        "properties": {
                            "state": {"enum": ["", *STATES]},
                            "answer": {"type": "string", "description": "in a line"},
                        },
                    },
                },
            },
        }
    },
}
_JOB = {
    "type": "object",
    "required": [*_LISTED, "at", "choices", "marks", "can_undo", "can_redo", "plan"],
    "properties": {
        **_LISTED,
        "at": _AT,
        "choices": {"$ref": "#/components/schemas/Choices"},
        "what": {"type": "string"},
        "can_undo": {"type": "boolean"},
        "can_redo": {"type": "boolean"},
        "what_says": {"type": "string"},
        "redo": {"type": ["string", "null"]},
        "redo_says": {"type": "string"},
        "marks": {"type": "object"},
        "plan": {
            "type": "object",
            "required": ["at", "state", "stage", "fraction", "error", "asks"],
            "properties": {
                "at": {"type": "integer"},
                "state": {"enum": list(STATES)},
                "stage": {"type": "string"},
                "fraction": {"type": "number", "minimum": 0, "maximum": 1},
                "error": {"type": "string"},
                "asks": {"enum": ["", *errors.ASKS]},
                "seconds": {"type": "number"},
                "stages_asked": {"type": "integer"},
                "stages_worked": {"type": "integer"},
            },
        },
    },
}


def openapi(files) -> dict:
    """The document.

    Parameters
    ----------
    files : mapping of str to str
        Names under which a plan's files can be had, with their media types.
    """
    job = "/api/jobs/{key}"
    at = body_of({"at": _AT}, required=["at"])
    name = path_part("name")
    change = body_of(
        {"at": _AT, "choices": {"$ref": "#/components/schemas/Choices"}},
        required=["at", "choices"],
    )
    mesh = {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
    paths = {
        "/api/openapi.json": {"get": answer("this document", {"type": "object"})},
        "/api/about": {"get": answer("version, samples, materials", {"type": "object"})},
        "/api/jobs": {
            "get": answer("all jobs, the one changed last first", _JOBS),
            "post": job_answer(
                "a new job from a mesh file",
                status="201",
                body=mesh,
                parameters=[
                    query("name", "file name with its suffix", is_required=True),
                    query("units", "unit of its numbers, where the file states none"),
                ],
            ),
        },
        "/api/samples/{name}": {
            "post": job_answer(
                "a new job from a sample part",
                status="201",
                parameters=[path_part("name", {"enum": names()} if names() else None)],
            )
        },
        "/api/samples/{name}/picture": {
            "parameters": [path_part("name", {"enum": names()} if names() else None)],
            "get": answer("a small picture of a sample part", None, media=["image/png"]),
        },
        "/api/import": {
            "post": job_answer("a new job from an exported file", status="201", body=mesh)
        },
        "/api/compare": {
            "get": answer(
                "what two finished plans answer, side by side",
                {"type": "object"},
                parameters=[
                    query("one", "key of a job", is_required=True),
                    query("other", "key of a job", is_required=True),
                ],
            )
        },
        job: {
            "parameters": [_KEY],
            "get": job_answer(
                "a job and how far its plan is",
                parameters=[
                    query("wait", "seconds to wait for the plan, at most 20", kind="number")
                ],
            ),
            "patch": job_answer("change choices; null gives one back to castplan", body=change),
        },
        job + "/undo": {"parameters": [_KEY], "post": job_answer("back a version", body=at)},
        job + "/redo": {"parameters": [_KEY], "post": job_answer("forth a version", body=at)},
        job + "/stop": {"parameters": [_KEY], "post": job_answer("stop planning")},
        job + "/again": {
            "parameters": [_KEY],
            "post": job_answer("plan anew what stopped or failed"),
        },
        job + "/copy": {
            "parameters": [_KEY],
            "post": job_answer(
                "a second job like it",
                status="201",
                body=body_of({"name": {"type": "string", "maxLength": 80}}),
            ),
        },
        job + "/parts": {
            "parameters": [_KEY],
            "post": job_answer(
                "one part more in its box: a mesh file, or without a name its own part again",
                status="201",
                body=mesh | {"required": False},
                parameters=[query("name", "file name with its suffix")],
            ),
        },
        job + "/archive": {
            "parameters": [_KEY],
            "post": job_answer(
                "put away or bring back",
                body=body_of({"is_archived": {"type": "boolean"}}, required=["is_archived"]),
            ),
        },
        job + "/remove": {
            "parameters": [_KEY],
            "post": answer(
                "delete, or bring back within 30 days",
                {"type": "object", "properties": _LISTED, "required": [*_LISTED]},
                body=body_of({"is_deleted": {"type": "boolean"}}, required=["is_deleted"]),
            ),
        },
        job + "/name": {
            "parameters": [_KEY],
            "post": job_answer(
                "another name",
                body=body_of({"name": {"type": "string", "minLength": 1}}, required=["name"]),
            ),
        },
        job + "/picture": {
            "parameters": [_KEY],
            "get": answer(
                "a small picture of the part", None, media=["image/png", "image/svg+xml"]
            ),
        },
        job + "/steps/{name}": {
            "parameters": [_KEY, path_part("name")],
            "get": answer("a picture of a step", None, media=["image/png"]),
        },
        job + "/marks/{name}": {
            "parameters": [_KEY, name],
            "put": answer(
                "keep a tick or a timer; null takes it away",
                {"type": "object"},
                body=body_of({"value": {}}, required=["value"]),
            ),
        },
        job + "/sizes": {
            "parameters": [_KEY],
            "get": answer("how large the part is, for each unit", {"type": "object"}),
        },
        job + "/cards": {
            "parameters": [_KEY],
            "get": answer(
                "the cards of a finished plan",
                {"type": "object"},
                parameters=[query("unit", "of the lengths in what they say: mm or inch")],
            ),
        },
        job + "/drawings": {
            "parameters": [_KEY],
            "get": answer("the drawings of the cards, as SVG", {"type": "object"}),
        },
        job + "/view": {
            "parameters": [_KEY, query("known", "sums of arrays not to be sent again, by commas")],
            "get": answer("what the 3D view shows", {"type": "object"}),
        },
        job + "/mesh": {
            "parameters": [_KEY],
            "get": answer("the part alone, for the 3D view", {"type": "object"}),
        },
        job + "/files/{name}": {
            "parameters": [_KEY, path_part("name", {"enum": list(files)})],
            "get": answer("a file of the plan", None, media=sorted(set(files.values()))),
        },
        job + "/pours": {
            "parameters": [_KEY],
            "get": answer("the log of pours, and what its defects mean", {"type": "object"}),
            "post": answer(
                "log a pour",
                {"type": "object"},
                status="201",
                body=body_of(_POUR, required=["date"]),
            ),
        },
        job + "/pours/withdraw": {
            "parameters": [_KEY],
            "post": answer(
                "take a line of the log back",
                {"type": "object"},
                status="201",
                body=body_of({"of": {"type": "integer", "minimum": 1}}, required=["of"]),
            ),
        },
        job + "/pours.csv": {
            "parameters": [_KEY],
            "get": answer("the log as a table", None, media=["text/csv"]),
        },
        job + "/export": {
            "parameters": [_KEY],
            "get": answer("the job as one file", None, media=["application/zip"]),
        },
    }
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "castplan",
            "version": __version__,
            "description": "Plans two-part silicone block moulds on this computer. What changes "
            f"something needs the header {TOKEN_HEADER}, which the page carries.",
        },
        "paths": paths,
        "components": {
            "schemas": {"Choices": schema(), "Job": _JOB, "Error": _ERROR},
            "securitySchemes": {"token": {"type": "apiKey", "in": "header", "name": TOKEN_HEADER}},
        },
        "security": [{"token": []}],
    }
