"""Files that claim too much are refused before their memory is taken."""

import io
import json
import logging
import tracemalloc
import zipfile

import numpy as np
import pytest
import shapes
import trimesh

from castplan.errors import CastplanError, InputError, ResourceError
from castplan.part import read, refuse, stream
from castplan.part.load import Reading, read_part

# A megabyte: far below what any of the claims below would take.
SMALL_BYTES = 4_000_000


def refused(path, kind=(InputError, ResourceError)):
    """The line of the refusal, having made sure that it cost next to no memory."""
    (path.parent / "warm").mkdir()
    read_part(sound(path.parent / "warm"), unit="mm")  # imports are not the file's cost
    tracemalloc.start()
    try:
        with pytest.raises(kind) as caught:
            read_part(path, unit=None if path.suffix in (".3mf", ".glb") else "mm")
        assert tracemalloc.get_traced_memory()[1] < SMALL_BYTES + 20 * path.stat().st_size
    finally:
        tracemalloc.stop()
    assert "\n" not in str(caught.value)
    return str(caught.value)


def sound(folder, suffix="stl"):
    body = shapes.box()
    path = folder / f"box.{suffix}"
    data = trimesh.Trimesh(body.vertices_mm, body.faces, process=False).export(file_type=suffix)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def rezipped(path, change):
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in change(files).items():
            archive.writestr(name, data)


def test_a_binary_stl_that_claims_four_billion_facets(tmp_path):
    path = sound(tmp_path)
    data = bytearray(path.read_bytes())
    data[80:84] = b"\xff\xff\xff\xff"
    path.write_bytes(data)
    assert "12 whole facets of 4294967295" in refused(path)


def test_a_ply_that_claims_more_than_it_holds(tmp_path):
    path = tmp_path / "claim.ply"
    path.write_bytes(
        b"ply\nformat binary_little_endian 1.0\nelement vertex 3000000000\nproperty double x\n"
        b"property double y\nproperty double z\nelement face 1\n"
        b"property list uchar int vertex_indices\nend_header\n" + bytes(200)
    )
    # Three doubles a vertex, and a byte for the list.
    assert "where its head needs 72,000,000,001 or more" in refused(path)


def test_an_off_that_claims_more_than_it_holds(tmp_path):
    path = tmp_path / "claim.off"
    path.write_text("OFF\n8 999999999999 0\n" + "0 0 0\n" * 8)
    assert "999,999,999,999 facets" in refused(path)


def test_a_zip_bomb(tmp_path):
    path = sound(tmp_path, "3mf")
    n_bytes = read.refuse.max_file_bytes("3mf") + 1
    chunk = bytes(1 << 20)
    with (
        zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive,
        archive.open("3D/more.bin", "w") as member,
    ):
        for _ in range(n_bytes // len(chunk) + 1):
            member.write(chunk)
    line = refused(path, ResourceError)
    assert "MB once unpacked" in line and "castplan repair" in line


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_document_type_is_refused_in_any_encoding(tmp_path, encoding):
    path = sound(tmp_path, "3mf")

    def change(files):
        name = next(n for n in files if n.endswith(".model"))
        text = files[name].decode("utf-8").replace('encoding="UTF-8"', f'encoding="{encoding}"')
        start = text.index("<model")
        bomb = '<!DOCTYPE m [<!ENTITY a "aaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
        files[name] = (text[:start] + bomb + text[start:]).encode(encoding)
        return files

    rezipped(path, change)
    assert "found a document type in 3D/3dmodel.model" in refused(path, InputError)


def glb_with(path, change):
    """Rewrite the JSON of a GLB file (glTF 2.0, 4: binary container)."""
    data = path.read_bytes()
    n_json = int.from_bytes(data[12:16], "little")
    header = json.loads(data[20 : 20 + n_json])
    change(header)
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 4)
    body = data[20 + n_json :]
    total = 20 + len(text) + len(body)
    path.write_bytes(
        b"glTF" + np.array([2, total, len(text)], "<u4").tobytes() + b"JSON" + text + body
    )


def test_a_glb_that_claims_a_list_without_data(tmp_path):
    path = sound(tmp_path, "glb")

    def change(header):
        header["accessors"][0].pop("bufferView")
        header["accessors"][0]["count"] = 2_000_000_000

    glb_with(path, change)
    assert "a list of 2,000,000,000" in refused(path)


@pytest.mark.parametrize("uri", ["secret.bin", "../secret.bin", "file:///etc/hosts", "http://x/a"])
def test_a_glb_that_keeps_its_geometry_elsewhere(tmp_path, uri):
    path = sound(tmp_path, "glb")
    (tmp_path / "secret.bin").write_bytes(bytes(1000))

    def change(header):
        header["buffers"][0]["uri"] = uri

    glb_with(path, change)
    assert "geometry kept in another file" in refused(path)


def test_a_glb_whose_one_mesh_stands_a_million_times(tmp_path, monkeypatch):
    path = sound(tmp_path, "glb")

    def change(header):
        header["nodes"] = [{"mesh": 0, "translation": [100 * k, 0, 0]} for k in range(50)]
        header["scenes"] = [{"nodes": list(range(50))}]

    glb_with(path, change)
    assert read_part(path).check.n_bodies == 50
    monkeypatch.setattr(refuse, "MAX_TRIANGLES", 12 * 40)
    with pytest.raises(ResourceError, match="492 triangles"):
        read_part(path)


def test_a_file_too_large_is_not_even_opened(tmp_path, monkeypatch):
    path = sound(tmp_path)
    monkeypatch.setitem(refuse._MAX_FILE_BYTES, "stl", path.stat().st_size - 1)
    monkeypatch.setattr(type(path), "read_bytes", None)
    with pytest.raises(ResourceError, match=r"MB of STL.*castplan repair PART --triangles"):
        read_part(path, unit="mm")


def test_the_limits_leave_room_for_five_million_triangles():
    assert refuse.MAX_TRIANGLES > 5_000_000
    assert refuse.max_file_bytes("stl") > 5_000_000 * 50
    assert refuse.MAX_TRIANGLES * refuse.BYTES_PER_TRIANGLE <= 4e9


# -- thinned while read --------------------------------------------------------------


def test_a_large_stl_is_thinned_while_it_is_read(tmp_path, monkeypatch):
    mesh = trimesh.creation.icosphere(subdivisions=5, radius=20.0)  # 20,480 facets
    path = tmp_path / "ball.stl"
    path.write_bytes(mesh.export(file_type="stl"))
    monkeypatch.setattr(stream, "_CHUNK", 3000)
    monkeypatch.setitem(refuse._MAX_FILE_BYTES, "stl", 100_000)
    with pytest.raises(ResourceError):
        read_part(path, unit="mm")
    part = read_part(path, Reading(unit="mm", n_triangles=4000))
    assert 2000 < part.check.n_triangles < 6000
    # Vertices drawn together within cubes send closed to closed.
    assert part.check.is_watertight
    # Each moves by at most a cube's diagonal of 3 mm, in practice a tenth of it.
    assert part.check.volume_mm3 == pytest.approx(mesh.volume, rel=0.03)


def test_text_is_no_binary_stl(tmp_path):
    path = tmp_path / "text.stl"
    path.write_text(trimesh.creation.box().export(file_type="stl_ascii"))
    assert not stream.is_binary_stl(path)
    (tmp_path / "short.stl").write_bytes(b"abc")
    assert not stream.is_binary_stl(tmp_path / "short.stl")
    assert stream.is_binary_stl(sound(tmp_path))


# -- whatever a parser raises ---------------------------------------------------------

RAISED = [
    ValueError("a\nb"),
    KeyError("id"),
    IndexError("list index out of range"),
    TypeError("NoneType"),
    AttributeError("no attribute"),
    NotImplementedError("only version 2"),
    UnicodeDecodeError("utf-8", b"\xff", 0, 1, "invalid"),
    OverflowError("too large"),
    ZeroDivisionError("division"),
    AssertionError(),
    StopIteration(),
    EOFError("end"),
    RecursionError("maximum recursion depth exceeded"),
    RuntimeError("deflate"),
    zipfile.BadZipFile("File is not a zip file"),
    zipfile.LargeZipFile("large"),
    json.JSONDecodeError("Expecting value", "x", 0),
    np.linalg.LinAlgError("singular"),
    io.UnsupportedOperation("seek"),
    OSError(22, "Invalid argument"),
    DeprecationWarning("string or file could not be read"),
]


def library_errors():
    """Every exception class that the reading libraries define themselves."""
    import lxml.etree
    import manifold3d
    import shapely.errors

    found = []
    for module in (lxml.etree, shapely.errors, trimesh.exceptions, manifold3d):
        for name in sorted(vars(module)):
            kind = getattr(module, name)
            if isinstance(kind, type) and issubclass(kind, Exception):
                found.append(kind)
    return found


def made(kind):
    """An exception of a class, with as many arguments as it wants."""
    for arguments in ((), ("text",), ("text", 1), ("text", 1, 2, 3), ("text", 1, 2, 3, 4)):
        try:
            return kind(*arguments)
        except TypeError:
            continue
    raise AssertionError(f"{kind}: cannot be made")


@pytest.mark.parametrize("error", RAISED, ids=lambda error: type(error).__name__)
@pytest.mark.parametrize("suffix", ["ply", "3mf"])
def test_what_a_parser_raises_becomes_one_line(tmp_path, monkeypatch, error, suffix):
    path = sound(tmp_path, suffix)

    def stumble(*args, **kwargs):
        raise error

    monkeypatch.setattr(trimesh, "load_scene", stumble)
    with pytest.raises(InputError) as caught:
        read_part(path, unit="mm")
    assert "\n" not in str(caught.value) and caught.value.exit_code == 2


def test_what_a_parser_remarks_stays_off_the_terminal(tmp_path, capfd):
    path = tmp_path / "torn.stl"
    path.write_text(trimesh.creation.box().export(file_type="stl_ascii").replace("0.5", "0.5x", 3))
    logger = logging.getLogger("trimesh")
    assert not [h for h in logger.handlers if not isinstance(h, logging.NullHandler)]
    with pytest.raises(InputError):
        read_part(path, unit="mm")
    assert capfd.readouterr() == ("", "")


def test_so_does_every_exception_of_the_libraries(tmp_path, monkeypatch):
    kinds = library_errors()
    assert len(kinds) > 20
    path = sound(tmp_path, "ply")
    for kind in kinds:
        error = made(kind)

        def stumble(*args, error=error, **kwargs):
            raise error

        monkeypatch.setattr(trimesh, "load_scene", stumble)
        with pytest.raises(CastplanError):
            read_part(path, unit="mm")
