"""A STEP file (ISO 10303-21) of an extruded polygon, in the entities of AP203.

A boundary representation of plane faces. Lengths are in millimetres unless
another SI prefix is asked for.
"""

import numpy as np

_HEADER = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('part','2000-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('CONFIG_CONTROL_DESIGN'));
ENDSEC;
DATA;
"""


class _Entities:
    """Entities numbered in the order in which they are added."""

    def __init__(self):
        self.lines = []

    def add(self, text):
        self.lines.append(text)
        return f"#{len(self.lines)}"

    def vector(self, kind, numbers):
        return self.add(f"{kind}('',({','.join(f'{float(v):.12f}' for v in numbers)}))")

    def listed(self, kind, names):
        return self.add(f"{kind}('',({','.join(names)}))")

    def text(self):
        rows = (f"#{number}={line};" for number, line in enumerate(self.lines, start=1))
        return _HEADER + "\n".join(rows) + "\nENDSEC;\nEND-ISO-10303-21;\n"


def extrusion(profile, length: float, *, prefix: str = ".MILLI.") -> bytes:
    """A counter-clockwise profile [(x, y), ...] stretched along +z.

    Parameters
    ----------
    profile : (n, 2) array_like
    length : float
    prefix : str
        SI prefix of the metre that the numbers are in; "$" for metres.
    """
    out = _Entities()
    solid = out.add(
        f"MANIFOLD_SOLID_BREP('part',{_shell(out, np.asarray(profile, float), length)})"
    )
    length_unit = out.add(f"(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT({prefix},.METRE.))")
    angle_unit = out.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    solid_unit = out.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    error = out.add(
        f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-7),{length_unit},"
        "'distance_accuracy_value','')"
    )
    context = out.add(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)"
        f"GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({error}))"
        f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length_unit},{angle_unit},{solid_unit}))"
        "REPRESENTATION_CONTEXT('',''))"
    )
    shape = out.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({solid}),{context})")
    application = out.add("APPLICATION_CONTEXT('configuration controlled design')")
    product_context = out.add(f"PRODUCT_CONTEXT('',{application},'mechanical')")
    product = out.add(f"PRODUCT('part','part','',({product_context}))")
    formation = out.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
    definition_context = out.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{application},'')")
    definition = out.add(f"PRODUCT_DEFINITION('design','',{formation},{definition_context})")
    definition_shape = out.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
    out.add(f"SHAPE_DEFINITION_REPRESENTATION({definition_shape},{shape})")
    return out.text().encode("ascii")


def _shell(out, profile, length):
    n = len(profile)
    points = np.concatenate([np.column_stack((profile, np.full(n, z))) for z in (0.0, length)])
    places = [out.vector("CARTESIAN_POINT", point) for point in points]
    corners = [out.add(f"VERTEX_POINT('',{place})") for place in places]
    curves = {}

    def edge(a, b):
        first, second = min(a, b), max(a, b)
        if (first, second) not in curves:
            way = points[second] - points[first]
            size = float(np.linalg.norm(way))
            vector = out.add(f"VECTOR('',{out.vector('DIRECTION', way / size)},{size:.12f})")
            line = out.add(f"LINE('',{places[first]},{vector})")
            curves[first, second] = out.add(
                f"EDGE_CURVE('',{corners[first]},{corners[second]},{line},.T.)"
            )
        sense = ".T." if a == first else ".F."
        return out.add(f"ORIENTED_EDGE('',*,*,{curves[first, second]},{sense})")

    loops = [list(range(n))[::-1], list(range(n, 2 * n))]
    loops += [[k, (k + 1) % n, n + (k + 1) % n, n + k] for k in range(n)]
    faces = []
    for loop in loops:
        chain = out.listed("EDGE_LOOP", list(map(edge, loop, loop[1:] + loop[:1])))
        bound = out.add(f"FACE_OUTER_BOUND('',{chain},.T.)")
        ring = points[loop]
        normal = np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)
        way = ring[1] - ring[0]
        axes = out.add(
            f"AXIS2_PLACEMENT_3D('',{places[loop[0]]},"
            f"{out.vector('DIRECTION', normal / np.linalg.norm(normal))},"
            f"{out.vector('DIRECTION', way / np.linalg.norm(way))})"
        )
        plane = out.add(f"PLANE('',{axes})")
        faces.append(out.add(f"ADVANCED_FACE('',({bound}),{plane},.T.)"))
    return out.listed("CLOSED_SHELL", faces)
