"""Sound mesh files in every format, and ways to damage them.

A recipe is a list of (kind, place, amount) with place and amount from 0 to 1,
so that the same recipe damages any file, and hypothesis can shrink it.
"""

import io
import re
import zipfile

import shapes
import step_file
import trimesh

FORMATS = ("stl", "stl_text", "obj", "ply", "ply_text", "off", "3mf", "glb", "step")
SUFFIX = {"stl_text": "stl", "ply_text": "ply"}

_NUMBERS = (b"nan", b"inf", b"-inf", b"1e308", b"-1", b"0", b"4294967295", b"1e-308", b"99999999")
_BINARY = (b"\xff\xff\xff\xff", b"\x00\x00\xc0\x7f", b"\x00\x00\x80\x7f", b"\xff\xff\x7f\x7f")
_ENTITIES = (
    '<!DOCTYPE m [<!ENTITY a "aaaaaaaaaaaaaaaaaaaa">'
    + "".join(f'<!ENTITY {b} "{f"&{a};" * 20}">' for a, b in zip("abcdefg", "bcdefgh", strict=True))
    + "]>"
)
_OUTSIDE = '<!DOCTYPE m [<!ENTITY h SYSTEM "/etc/hosts">]>'


def sound_files() -> dict[str, bytes]:
    """One body of closed form in each of `FORMATS`; a few kB each."""
    body = shapes.t_slot()
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    files = {
        "stl": mesh.export(file_type="stl"),
        "stl_text": mesh.export(file_type="stl_ascii"),
        "obj": mesh.export(file_type="obj"),
        "ply": mesh.export(file_type="ply"),
        "ply_text": mesh.export(file_type="ply", encoding="ascii"),
        "off": mesh.export(file_type="off"),
        "3mf": trimesh.Scene(mesh).export(file_type="3mf"),
        "glb": mesh.export(file_type="glb"),
        "step": step_file.extrusion([(0, 0), (40, 0), (40, 8), (8, 8), (8, 30), (0, 30)], 20.0),
    }
    return {
        name: data.encode() if isinstance(data, str) else bytes(data)
        for name, data in files.items()
    }


def damage(data: bytes, recipe, others: dict[str, bytes]) -> bytes:
    """Apply a recipe of kinds from `KINDS`; `others` are the sound files to mix in."""
    for kind, place, amount in recipe:
        data = KINDS[kind](data, place, amount, others)
    return data


def _at(data, place):
    return min(int(place * len(data)), max(len(data) - 1, 0))


def _truncate(data, place, amount, others):
    return data[: int(place * len(data))]


def _flip(data, place, amount, others):
    """One bit, or one in every few hundred bytes."""
    out = bytearray(data)
    step = max(1, int(len(out) * (1 - amount)))
    for k in range(_at(out, place), len(out), step):
        out[k] ^= 1 << (k + int(8 * amount)) % 8
    return bytes(out)


def _drop(data, place, amount, others):
    start = _at(data, place)
    return data[:start] + data[start + 1 + int(amount * 200) :]


def _repeat(data, place, amount, others):
    start = _at(data, place)
    piece = data[start : start + 1 + int(amount * 200)]
    return data[:start] + piece * (1 + int(amount * 50)) + data[start:]


def _insert(data, place, amount, others):
    start = _at(data, place)
    names = sorted(others)
    other = others[names[int(amount * 0.999 * len(names))]]
    return data[:start] + other[:300] + data[start:]


def _number(data, place, amount, others):
    """Another number where a number stands."""
    hits = list(re.finditer(rb"-?\d+(\.\d+)?([eE][-+]?\d+)?", data[:200_000]))
    if not hits:
        return data
    hit = hits[min(int(place * len(hits)), len(hits) - 1)]
    new = _NUMBERS[int(amount * 0.999 * len(_NUMBERS))]
    return data[: hit.start()] + new + data[hit.end() :]


def _count(data, place, amount, others):
    """Absurd counts in the head of a file, as text and as binary."""
    head = re.sub(
        rb"(vertex |face |OFF\n|\"count\":)(\d+)",
        lambda hit: hit[1] + str(int(10 ** (amount * 18))).encode(),
        data[:2000],
        count=1 + int(place * 3),
    )
    if head != data[:2000]:
        return head + data[2000:]
    return data[:80] + int(2 ** (amount * 31.99)).to_bytes(4, "little") + data[84:]


def _word(data, place, amount, others):
    """Four bytes that read as a count or a number past all bounds."""
    start = _at(data, place)
    return data[:start] + _BINARY[int(amount * 0.999 * len(_BINARY))] + data[start + 4 :]


def _swap(data, place, amount, others):
    """Another format's bytes under this name."""
    names = sorted(others)
    return others[names[int(amount * 0.999 * len(names))]]


def _text(data, place, amount, others):
    return (b"Dear sirs,\nplease find the part attached.\n" * (1 + int(amount * 50)))[
        : 1 + int(place * 3000)
    ]


def _rezip(data, change):
    """A zip with each member changed; not a zip: the bytes as they were."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
    except Exception:
        return data
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in change(files).items():
            archive.writestr(name, content)
    return out.getvalue()


def _in_zip(data, place, amount, others):
    """Damage inside a zip, which its checksum does not betray."""
    kinds = (_flip, _drop, _number, _truncate, _repeat)
    kind = kinds[int(amount * 0.999 * len(kinds))]

    def change(files):
        return {
            name: kind(content, place, amount, others) if name.endswith(".model") else content
            for name, content in files.items()
        }

    return _rezip(data, change)


def _bomb(data, place, amount, others):
    """A zip that unpacks to up to 60 MB of blanks, in the model or beside it."""

    def change(files):
        name = "3D/3dmodel.model" if place < 0.5 else "extra.bin"
        return {**files, name: files.get(name, b"") + b" " * int(amount * 60e6)}

    return _rezip(data, change)


def _nest(data, place, amount, others):
    """A zip in a zip in a zip."""
    for level in range(1 + int(amount * 20)):
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            archive.writestr("3D/3dmodel.model" if place < 0.5 else f"{level}.zip", data)
        data = out.getvalue()
    return data


def _entities(data, place, amount, others):
    """XML entities that multiply, and one that names a file."""

    def change(files):
        out = {}
        for name, content in files.items():
            if name.endswith(".model"):
                start = max(content.find(b"<model"), 0)
                bomb = _ENTITIES if place < 0.7 else _OUTSIDE
                content = content[:start] + bomb.encode() + content[start:]
                content = content.replace(b'x="', b'x="&h;', 1)
            out[name] = content
        return out

    return _rezip(data, change)


KINDS = {
    function.__name__.lstrip("_"): function
    for function in (
        _truncate,
        _flip,
        _drop,
        _repeat,
        _insert,
        _number,
        _count,
        _word,
        _swap,
        _text,
        _in_zip,
        _bomb,
        _nest,
        _entities,
    )
}
