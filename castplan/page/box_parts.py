"""Further parts that lie in the box of a job: what the page sends, keeps and reads of them."""

import re
from pathlib import Path

from castplan.checks import is_line
from castplan.errors import InputError
from castplan.nest.room import MOST_PARTS
from castplan.page.store import Store
from castplan.part.read import FORMATS

CHOICE = "with_parts"
MOST_SIGNS = 80  # of a name
_MESH = re.compile("[0-9a-f]{64}")


def check_parts(value) -> None:
    """Refuse what is no list of kept meshes: name, mesh and suffix of each.

    Raises
    ------
    InputError
    """
    is_list = isinstance(value, list) and len(value) < MOST_PARTS
    if not is_list or not all(_is_part(each) for each in value):
        raise InputError(
            CHOICE,
            found=repr(value)[:80],
            need=f"at most {MOST_PARTS - 1} further parts, each with name, mesh and suffix",
            do="Add them one by one.",
        )


def _is_part(each):
    return (
        isinstance(each, dict)
        and set(each) == {"name", "mesh", "suffix"}
        and all(isinstance(value, str) for value in each.values())
        and is_line(each["name"])
        and len(each["name"]) <= MOST_SIGNS
        and bool(_MESH.fullmatch(each["mesh"]))
        and each["suffix"] in FORMATS
    )


def schema() -> dict:
    """JSON Schema of the choice."""
    text = {"type": "string", "minLength": 1, "maxLength": MOST_SIGNS}
    mesh = {"type": "string", "pattern": f"^{_MESH.pattern}$"}
    entries = {"name": text, "mesh": mesh, "suffix": {"enum": list(FORMATS)}}
    return {
        "type": ["array", "null"],
        "maxItems": MOST_PARTS - 1,
        "items": {
            "type": "object",
            "required": list(entries),
            "additionalProperties": False,
            "properties": entries,
        },
    }


def with_part(choices: dict, part: dict) -> dict:
    """The choices with one part more in the box."""
    return {**choices, CHOICE: [*choices.get(CHOICE, ()), part]}


def paths_of(store: Store, choices: dict) -> list[tuple[Path, str]]:
    """Where the further parts of a job are kept, and their names.

    Raises
    ------
    InputError
        The mesh of one is not here.
    """
    found = []
    for each in choices.get(CHOICE, ()):
        path = store.mesh_path(each["mesh"], suffix=each["suffix"])
        if not path.exists():
            raise InputError(
                each["name"],
                found="no mesh of this part here",
                need="its file",
                do="Take it out of the box and add its file again.",
            )
        found.append((path, each["name"]))
    return found


def files_of(versions) -> list[str]:
    """Names of the files that the versions of a job name, each once."""
    named = {
        f"{each['mesh']}.{each['suffix']}"
        for version in versions
        for each in version["choices"].get(CHOICE, ())
    }
    return sorted(named)
