"""Solids as files: binary STL, one a body, and one 3MF of all with its unit stated."""

import io
import re
import zipfile
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from castplan.mould.records import Solid
from castplan.texts import say
from castplan.texts.names import body_name

# A file's time in a zip is part of its bytes; this is the earliest there is.
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES = """<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"""
_RELATIONS = """<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Target="/3D/3dmodel.model" Id="rel0"
 Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"""


def file_name(solid: Solid, ending: str) -> str:
    """``upper_half.stl`` for the solid ``upper half``, whatever language is spoken."""
    return re.sub(r"[^a-z0-9]+", "_", solid.name.lower()).strip("_") + ending


def stl_bytes(solid: Solid) -> bytes:
    """Binary STL in millimetres; the format carries no unit, so the header names it.

    Parameters
    ----------
    solid : Solid

    Returns
    -------
    bytes
    """
    points, faces = _welded(solid)
    corners = points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    facets = np.zeros(
        len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("extra", "<u2")]
    )
    facets["normal"] = normal / np.where(size > 0, size, 1.0)[:, None]
    facets["corners"] = corners
    header = f"castplan {solid.name}, millimetres".encode("ascii", "replace")[:80].ljust(80)
    return header + np.uint32(len(facets)).astype("<u4").tobytes() + facets.tobytes()


def threemf_bytes(solids: tuple[Solid, ...], *, title: str) -> bytes:
    """One 3MF package of all solids, each an object with its name, unit millimeter.

    By the 3MF core specification, version 1. The same solids give the same
    bytes.

    Parameters
    ----------
    solids : tuple of Solid
    title : str

    Returns
    -------
    bytes
    """
    objects, items = [], []
    for number, solid in enumerate(solids, start=1):
        points, triangles = _welded(solid)
        vertices = "".join(
            f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in points.tolist()
        )
        faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in triangles.tolist())
        name = quoteattr(str(body_name(solid.name)))
        objects.append(
            f'<object id="{number}" type="model" name={name}><mesh>'
            f"<vertices>{vertices}</vertices><triangles>{faces}</triangles></mesh></object>"
        )
        items.append(f'<item objectid="{number}"/>')
    model = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang={quoteattr(say("language.code"))} xmlns="{_CORE}">'
        f'<metadata name="Title">{escape(title)}</metadata>'
        f"<resources>{''.join(objects)}</resources><build>{''.join(items)}</build></model>\n"
    )
    package = io.BytesIO()
    with zipfile.ZipFile(package, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, text in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELATIONS),
            ("3D/3dmodel.model", model),
        ):
            entry = zipfile.ZipInfo(name, _NO_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, text)
    return package.getvalue()


def _welded(solid: Solid):
    """Vertices (n, 3) float32 and faces (m, 3) of a solid, closed at that precision.

    Corners that 24 bits no longer keep apart become one; facets that this
    leaves without area go, and so do pairs that it lays back to back.
    """
    points, place = np.unique(solid.vertices_mm.astype(np.float32), axis=0, return_inverse=True)
    faces = place.ravel()[solid.faces]
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (c != a)]
    _, group, count = np.unique(
        np.sort(faces, axis=1), axis=0, return_inverse=True, return_counts=True
    )
    group = group.ravel()
    # Of facets on the same corners one of each pair turns the other way.
    first = np.zeros(len(count), dtype=np.int64)
    first[group[::-1]] = np.arange(len(faces))[::-1]
    is_kept = (count[group] == 1) | (
        (count[group] % 2 == 1) & (first[group] == np.arange(len(faces)))
    )
    return points, faces[is_kept]
