"""Solids as files: binary STL, one a body, and one 3MF of all with its unit stated."""

import io
import re
import zipfile
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from castplan.model import Solid

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
    """``upper_half.stl`` for the solid ``upper half``."""
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
    corners = solid.vertices_mm[solid.faces].astype(np.float32)
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
        # A nanometre keeps every vertex apart that the solid keeps apart.
        vertices = "".join(
            f'<vertex x="{x:.6f}" y="{y:.6f}" z="{z:.6f}"/>'
            for x, y, z in solid.vertices_mm.tolist()
        )
        faces = "".join(
            f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in solid.faces.tolist()
        )
        objects.append(
            f'<object id="{number}" type="model" name={quoteattr(solid.name)}><mesh>'
            f"<vertices>{vertices}</vertices><triangles>{faces}</triangles></mesh></object>"
        )
        items.append(f'<item objectid="{number}"/>')
    model = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}">'
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
