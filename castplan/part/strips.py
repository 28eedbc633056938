"""Triangle strips of PLY files, which older scanners' programs write.

A list of corners in which every three that follow each other make a facet,
turned about every other time; -1 ends a strip. The format's own description
(Turk, The PLY Polygon File Format, 1994) leaves the elements free; this one is
the element ``tristrips`` with one list.
"""

import re

import numpy as np

from castplan.errors import InputError

_TYPES = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}


def has_strips(data: bytes) -> bool:
    """Whether the bytes are a PLY file whose facets come in strips."""
    head = data[:100_000].partition(b"end_header")[0]
    counts = dict(re.findall(rb"element\s+(\w+)\s+(\d+)", head))
    return int(counts.get(b"tristrips", 0)) > 0 and int(counts.get(b"face", 0)) == 0


def read_strips(data: bytes, *, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (n, 3) float64 and faces (m, 3) int64 of such a file.

    Parameters
    ----------
    data : bytes
    name : str
        Of the file, for the message.

    Raises
    ------
    InputError
        It is shorter than its head says.
    """
    found = re.search(rb"end_header[^\n]*\n", data[:100_000])
    if found is None:
        raise _cut_off(name, "no end of its head")
    style, elements = _head(data[: found.end()].decode("latin-1"))
    body = _Text(data[found.end() :]) if style == "ascii" else _Binary(data, found.end(), style)
    vertices, strips = np.zeros((0, 3)), []
    try:
        for element, count, properties in elements:
            if element == "vertex":
                vertices = _vertices(body, count, properties)
            elif element == "tristrips":
                strips += [body.rows(1, properties)[0] for _ in range(count)]
            else:
                body.rows(count, properties)
    except (IndexError, ValueError):
        raise _cut_off(name, f"{len(data):,} bytes, too few for what its head says") from None
    faces = [_facets(np.asarray(row[-1], dtype=np.int64)) for row in strips]
    return vertices, np.concatenate([np.zeros((0, 3), dtype=np.int64), *faces])


def _facets(corners):
    """Facets of one list of strips, each turned as the strip's first."""
    if len(corners) < 3:
        return np.zeros((0, 3), dtype=np.int64)
    facets = np.stack((corners[:-2], corners[1:-1], corners[2:]), axis=1)
    place = np.arange(len(corners))
    # How far each facet is into its strip: the place after the last -1 before it.
    begin = np.maximum.accumulate(np.where(corners < 0, place + 1, 0))[:-2]
    is_odd = (place[:-2] - begin) % 2 == 1
    facets[is_odd] = facets[is_odd][:, [1, 0, 2]]
    return facets[(facets >= 0).all(axis=1)]


def _head(text):
    """How the numbers are written, and each element's name, count and properties."""
    style, elements = "ascii", []
    for line in text.splitlines():
        words = line.split()
        if words[:1] == ["format"]:
            style = words[1]
        elif words[:1] == ["element"]:
            elements.append((words[1], int(words[2]), []))
        elif words[:1] == ["property"] and elements:
            types = [_TYPES[word] for word in words[2:4]] if words[1] == "list" else []
            elements[-1][2].append((words[-1], types or _TYPES[words[1]]))
    return style, elements


def _vertices(body, count, properties):
    names = [name for name, _ in properties]
    columns = [names.index(axis) for axis in "xyz"]
    table = body.table(count, [kind for _, kind in properties])
    return np.stack([table[k] for k in columns], axis=1).astype(np.float64)


class _Text:
    """Numbers one after the other, blanks between."""

    def __init__(self, data):
        self.words, self.place = data.split(), 0

    def take(self, n):
        if n < 0 or self.place + n > len(self.words):
            raise IndexError
        self.place += n
        return self.words[self.place - n : self.place]

    def table(self, count, kinds):
        return np.array(self.take(count * len(kinds)), dtype=float).reshape(count, -1).T

    def rows(self, count, properties):
        return [
            [
                np.array(self.take(int(self.take(1)[0]) if isinstance(kind, list) else 1), float)
                for _, kind in properties
            ]
            for _ in range(count)
        ]


class _Binary:
    """Numbers in the machine's form, of either byte order."""

    def __init__(self, data, place, style):
        self.data, self.place = data, place
        self.order = ">" if style == "binary_big_endian" else "<"

    def take(self, n, kind):
        if n < 0:
            raise IndexError
        values = np.frombuffer(self.data, self.order + kind, count=n, offset=self.place)
        self.place += values.nbytes
        return values

    def table(self, count, kinds):
        fields = [(str(k), self.order + kind) for k, kind in enumerate(kinds)]
        rows = np.frombuffer(self.data, np.dtype(fields), count=count, offset=self.place)
        self.place += rows.nbytes
        return [rows[str(k)] for k in range(len(kinds))]

    def rows(self, count, properties):
        return [
            [
                self.take(int(self.take(1, kind[0])[0]), kind[1])
                if isinstance(kind, list)
                else self.take(1, kind)
                for _, kind in properties
            ]
            for _ in range(count)
        ]


def _cut_off(name, found):
    return InputError(
        name,
        found=found,
        need="a whole mesh file",
        do="Copy it again, or export it again.",
    )
