"""What the mesh makes doubtful, in sentences: one or several, and in another language."""

from dataclasses import replace

import pytest
from output.greek import greek_catalogue
from output.left_english import latin
from output.neutral import filled

from castplan import texts
from castplan.bench.mesh_findings import list_mesh_findings
from castplan.records import DoubtResult, MeshCheck, Part, Sampling

FEW = {"n_holes": 1, "n_inner_shells": 1}
MANY = {"n_holes": 3, "n_inner_shells": 2}


def findings(counts, numbers, *, is_trusted=True):
    check = filled(
        MeshCheck,
        is_watertight=False,
        is_winding_consistent=False,
        n_bodies=4,
        changes=("ὁ",),
        **counts,
    )
    doubt = filled(
        DoubtResult, pockets=numbers, peaks=numbers, trapped_mm3=500.0, is_trusted=is_trusted
    )
    sampling = filled(Sampling, volume_difference_fraction=0.05, pitch_mm=0.5)
    return list_mesh_findings(replace(filled(Part), check=check), sampling, doubt)


def test_one_and_several():
    one, several = (
        " ".join(str(finding.message) for finding in findings(counts, numbers))
        for counts, numbers in ((FEW, (2,)), (MANY, (1, 2)))
    )
    for text in (
        "The surface in the file has 1 hole, ",
        "Pocket 2 lies there. High point 2 lies there.",
        "1 of them lies inside solid and adds nothing.",
    ):
        assert text in one
    for text in (
        "The surface in the file has 3 holes, ",
        "Pockets 1, 2 lie there. High points 1, 2 lie there.",
        "2 of them lie inside solid and add nothing.",
    ):
        assert text in several


@pytest.mark.parametrize("is_trusted", [True, False])
def test_in_another_language(is_trusted):
    texts.use(greek_catalogue())
    try:
        found = findings(MANY, (1, 2), is_trusted=is_trusted)
        said = " ".join(f"{f.message} {f.do}" for f in found)
    finally:
        texts.use({})
    assert len(found) == 5
    assert latin(said) == []
