"""Building blocks of the OpenAPI document: operations, bodies, parameters."""

# What may come back instead of an answer.
_REFUSALS = {
    "400": "the request broke off",
    "401": "the password is missing or wrong",
    "403": "the token is missing, or another page asks",
    "404": "there is no such job or file",
    "408": "no more of the request came",
    "409": "changed elsewhere meanwhile, or not planned yet",
    "413": "too large",
    "421": "asked for under another name than this computer's",
    "422": "what was asked for cannot be",
    "500": "a fault of castplan",
    "503": "too much waits already",
    "507": "disk, memory or permission is missing",
}


def answer(says, kind, *, status="200", body=None, parameters=(), media=("application/json",)):
    """An operation of the document: what it says, gives and may refuse."""
    content = {each: {} if kind is None else {"schema": kind} for each in media}
    refusal = {"application/json": {"schema": {"$ref": "#/components/schemas/Error"}}}
    told = {
        "summary": says,
        "responses": {
            status: {"description": says, "content": content},
            **{code: {"description": why, "content": refusal} for code, why in _REFUSALS.items()},
        },
    }
    if body is not None:
        told["requestBody"] = body
    if parameters:
        told["parameters"] = list(parameters)
    return told


def job_answer(says, *, status="200", body=None, parameters=()):
    """One that gives a job as it then stands."""
    kind = {"$ref": "#/components/schemas/Job"}
    return answer(says, kind, status=status, body=body, parameters=parameters)


def body_of(properties, *, required=()):
    """A body of JSON with these properties."""
    kind = {"type": "object", "properties": properties, "required": list(required)}
    return {"required": bool(required), "content": {"application/json": {"schema": kind}}}


def query(name, says, *, is_required=False, kind="string"):
    """A parameter behind the question mark."""
    return {
        "name": name,
        "in": "query",
        "required": is_required,
        "description": says,
        "schema": {"type": kind},
    }


def path_part(name, kind=None):
    """A parameter that is a part of the path."""
    return {
        "name": name,
        "in": "path",
        "required": True,
        "schema": kind or {"type": "string", "maxLength": 80},
    }
