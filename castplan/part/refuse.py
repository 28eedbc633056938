"""What is refused before its memory is taken: counts, sizes and bombs.

A file says early how much it holds. A claim that the file's own length cannot
back is damage; one that it can back but that memory cannot is refused with the
way out.
"""

import io
import json
import re
import zipfile

from castplan.errors import InputError, ResourceError

# Peak memory of reading and planning, per triangle, is below this (measured on
# binary STL of 0.3 and 6.5 million triangles: 698 and 580 bytes).
BYTES_PER_TRIANGLE = 700
MEMORY_MB = 4000
MAX_TRIANGLES = int(MEMORY_MB * 1e6 / BYTES_PER_TRIANGLE)

# Peak memory of reading per byte of the file (3MF: once unpacked), rounded up
# from what was measured at 330,000 triangles.
_PARSER_BYTES = {
    "stl": 12,
    "obj": 16,
    "ply": 28,
    "off": 24,
    "3mf": 20,
    "glb": 28,
    "step": 30,
    "stp": 30,
}
# Binary forms are bounded by the count in their header instead.
_MAX_FILE_BYTES = {
    "stl": 50 * MAX_TRIANGLES + 84,
    **{kind: int(MEMORY_MB * 1e6 / cost) for kind, cost in _PARSER_BYTES.items() if kind != "stl"},
}
_MAX_TEXT_STL_BYTES = int(MEMORY_MB * 1e6 / _PARSER_BYTES["stl"])

WAY_OUT = (
    "Close other programs, or make it lighter: castplan repair PART --triangles 500000 "
    "--out LIGHTER."
)

# Sizes of PLY's scalar types (both spellings), in bytes.
_PLY_BYTES = {
    **dict.fromkeys(("char", "uchar", "int8", "uint8"), 1),
    **dict.fromkeys(("short", "ushort", "int16", "uint16"), 2),
    **dict.fromkeys(("int", "uint", "float", "int32", "uint32", "float32"), 4),
    **dict.fromkeys(("double", "float64", "int64", "uint64"), 8),
}


def check_file_size(n_bytes: int, kind: str, *, name: str) -> None:
    """Refuse a file before it is read.

    Parameters
    ----------
    n_bytes : int
    kind : str
        A format of `read.FORMATS`.
    name : str
        Of the file, for the message.

    Raises
    ------
    ResourceError
    """
    if n_bytes > _MAX_FILE_BYTES[kind]:
        raise _too_large(
            name, f"{n_bytes / 1e6:,.0f} MB of {kind.upper()}", _MAX_FILE_BYTES[kind], "MB", 1e6
        )


def max_file_bytes(kind: str) -> int:
    """The largest file of a format that is read whole."""
    return _MAX_FILE_BYTES[kind]


def check_n_triangles(n_triangles: int, *, name: str = "the mesh") -> None:
    """Refuse more triangles than `MEMORY_MB` takes.

    Raises
    ------
    ResourceError
    """
    if n_triangles > MAX_TRIANGLES:
        raise _too_large(
            name, f"{n_triangles:,} triangles", MAX_TRIANGLES, "million triangles", 1e6
        )


def check_claims(data: bytes, kind: str, *, name: str) -> None:
    """Refuse what the head of a file claims, before anything is made of it.

    Parameters
    ----------
    data : bytes
        The whole file.
    kind : str
    name : str

    Raises
    ------
    InputError
        The file is shorter than it says, or holds a document type.
    ResourceError
        It would take more memory than `MEMORY_MB`.
    """
    checks = {"stl": _stl, "ply": _ply, "off": _off, "3mf": _zip, "glb": _glb}
    checks |= {"step": _step, "stp": _step}
    if kind in checks:
        checks[kind](data, name)


def _too_large(name, found, limit, unit, per_unit):
    return ResourceError(
        name,
        found=found,
        need=f"at most {limit / per_unit:,.3g} {unit}, to stay within {MEMORY_MB / 1000:g} GB",
        do=WAY_OUT,
    )


def _cut_off(name, found):
    return InputError(
        name,
        found=found,
        need="a whole mesh file",
        do="Copy it again, or export it again.",
    )


def _stl(data, name):
    if b"endfacet" in data[:4000].lower():
        if len(data) > _MAX_TEXT_STL_BYTES:
            raise _too_large(
                name, f"{len(data) / 1e6:,.0f} MB of text", _MAX_TEXT_STL_BYTES, "MB", 1e6
            )
        return
    if len(data) >= 84:
        n_triangles = int.from_bytes(data[80:84], "little")
        if data.lstrip()[:5].lower() != b"solid" and 84 + 50 * n_triangles > len(data):
            n_whole = (len(data) - 84) // 50
            raise _cut_off(name, f"{n_whole} whole facets of {n_triangles}")


def _ply(data, name):
    head, mark, _ = data[:100_000].partition(b"end_header")
    if not mark:
        return  # the parser says what is wrong
    is_text = b"format ascii" in head
    n_bytes = n_faces = 0
    row_bytes = count = 0
    for line in [*head.decode("latin-1").splitlines(), "element end 0"]:
        words = line.split()
        if words[:1] == ["element"] and len(words) >= 3:
            n_bytes += count * row_bytes
            count = int(words[2]) if words[2].isdigit() else 0
            row_bytes = 0
            if words[1] == "face":
                n_faces = count
        elif words[:1] == ["property"] and len(words) >= 3:
            # A list is at least its own count; as text a number and its blank.
            row_bytes += 2 if is_text else _PLY_BYTES.get(words[2 if words[1] == "list" else 1], 1)
    if n_bytes > len(data):
        raise _cut_off(name, f"{len(data):,} bytes where its head needs {n_bytes:,} or more")
    check_n_triangles(n_faces, name=name)


def _off(data, name):
    text = re.sub(rb"#[^\n]*", b"", data[:100_000])
    counts = re.search(rb"OFF\s+(\d+)\s+(\d+)", text)
    if counts is None:
        return
    n_vertices, n_faces = int(counts[1]), int(counts[2])
    # Three digits and three blanks a vertex, four and four a facet.
    if 6 * n_vertices + 8 * n_faces > len(data) + 16:
        raise _cut_off(name, f"{len(data):,} bytes for {n_vertices:,} corners, {n_faces:,} facets")
    check_n_triangles(n_faces, name=name)


def _zip(data, name):
    limit = _MAX_FILE_BYTES["3mf"]
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        members = archive.infolist()
        # A reader stops at the size stated here, so the sum bounds what comes out.
        total = sum(member.file_size for member in members)
        if total > limit:
            raise _too_large(name, f"{total / 1e6:,.0f} MB once unpacked", limit, "MB", 1e6)
        for member in members:
            if member.filename.lower().endswith((".model", ".rels", ".xml")):
                text = archive.read(member)
                # Also in UTF-16, where every letter has a zero beside it.
                if b"<!DOCTYPE" in text.replace(b"\0", b"").upper():
                    raise InputError(
                        name,
                        found=f"a document type in {member.filename}",
                        need="plain XML, as 3MF prescribes",
                        do="Export it again; be wary of where it came from.",
                    )


def _step(data, name):
    if b"ISO-10303-21" not in data[:2000]:
        raise _cut_off(name, "a file that does not begin as STEP does")
    if b"END-ISO-10303-21" not in data[-2000:]:
        raise _cut_off(name, "a STEP file without its end")


def _glb(data, name):
    if data[:4] != b"glTF" or len(data) < 20:
        return
    stated = int.from_bytes(data[8:12], "little")
    if stated > len(data):
        raise _cut_off(name, f"{len(data):,} bytes of {stated:,}")
    n_json = int.from_bytes(data[12:16], "little")
    header = json.loads(data[20 : 20 + n_json])
    for accessor in header.get("accessors", ()):
        # One byte a number at least; without data behind it, it is all zeros.
        if not 0 <= accessor.get("count", 0) <= len(data):
            raise _cut_off(name, f"a list of {accessor['count']:,} in {len(data):,} bytes")
    for buffer in header.get("buffers", ()):
        if not str(buffer.get("uri", "data:")).startswith("data:"):
            raise InputError(
                name,
                found="geometry kept in another file",
                need="everything in the one file",
                do="Export it as GLB with the data inside.",
            )
