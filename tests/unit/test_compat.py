"""What meets what: the matrix, and what the shop said.

Verdicts are common practice, no source, where nothing else is said.
"""

import pytest

from castplan.bench.compat import check_compat
from castplan.errors import InputError
from castplan.materials.cards import class_cards
from castplan.materials.compat import VERDICTS, load_matrix
from castplan.records import BASES, Job, Shop

MATRIX = load_matrix()
CHEMISTRIES = {card.chemistry for card in class_cards().values()}


def verdicts(silicone, resin="polyurethane-fast-70d", **uses):
    job = Job(silicone=silicone, resin=resin, shop=Shop(uses=tuple(sorted(uses.items()))))
    return {(line.what, line.meets): line.verdict for line in check_compat(job).lines}


@pytest.mark.parametrize(
    ("what", "used", "chemistry", "verdict"),
    [
        # Inhibition: published data sheets (evidence.toml) name sulphur clay, latex and tin;
        # fresh photopolymer prints, and that silicone bonds to silicone without release, are
        # common practice, no source.
        ("clay", "sulphur", "platinum", "stop"),
        ("clay", "sulphur-free", "tin", "fine"),
        ("original", "print-photopolymer", "platinum", "stop"),
        ("original", "latex", "platinum", "stop"),
        ("gloves", "latex", "platinum", "stop"),
        ("rubber", "tin-cure", "platinum", "stop"),
        ("rubber", "platinum-cure", "tin", "stop"),
        ("original", "epoxy", "platinum", "patch"),
        # Vulcanised rubber and flux by the same sheets; PVC and masking tape from memory.
        ("original", "vulcanised-rubber", "platinum", "stop"),
        ("original", "soft-vinyl", "platinum", "patch"),
        ("original", "soldered", "platinum", "patch"),
        ("box", "masking-tape", "platinum", "patch"),
        ("box", "masking-tape", "tin", "fine"),
        ("release", "none", "tin", "stop"),
        ("original", "print-photopolymer", "tin", "patch"),
    ],
)
def test_inhibition(what, used, chemistry, verdict):
    card = {"platinum": "silicone-platinum-20a", "tin": "silicone-tin-25a"}[chemistry]
    assert verdicts(card, **{what: used})[what, f"{chemistry}-cure"] == verdict


def test_the_moulds_own_pair_is_always_looked_at():
    # Tin's alcohol leaves clear urethane tacky (common practice, no source).
    assert verdicts("silicone-tin-25a")["resin", "tin-cure"] == "patch"
    assert verdicts("silicone-platinum-20a", resin="epoxy-slow-80d")["resin", "platinum-cure"] == (
        "patch"
    )


def test_gloves_meet_the_resin_too():
    assert verdicts("silicone-tin-25a", gloves="latex")["gloves", "polyurethane"] == "stop"


def test_what_is_not_known_is_never_fine():
    found = verdicts("silicone-tin-25a", clay="blue stuff from the shed")
    assert found["clay", "tin-cure"] == "patch"


def test_stops_come_first_and_the_unsaid_is_named():
    job = Job(shop=Shop(uses=(("clay", "sulphur-free"), ("release", "none"))))
    result = check_compat(job)
    order = [VERDICTS.index(line.verdict) for line in result.lines]
    assert order == sorted(order) and order[0] == 0
    assert set(result.unsaid) == set(MATRIX) - {"clay", "release", "resin"}


def test_a_kind_of_thing_that_is_none():
    with pytest.raises(InputError, match="found 'hammer', need one of clay"):
        check_compat(Job(shop=Shop(uses=(("hammer", "big"),))))


def test_every_entry_of_the_matrix_holds_together():
    for what, things in MATRIX.items():
        for name, thing in things.items():
            assert (thing.what, thing.name) == (what, name)
            assert thing.words and thing.meets
            for chemistry, meeting in thing.meets.items():
                assert chemistry in CHEMISTRIES, (what, name)
                assert meeting.verdict in VERDICTS
                assert meeting.basis in BASES
                assert meeting.reason and len(str(meeting.source)) > 5


def test_every_silicone_meets_every_bed_box_release_and_resin():
    for what in ("clay", "box", "release", "original", "paint", "gloves", "resin"):
        for thing in MATRIX[what].values():
            assert {"tin-cure", "platinum-cure"} <= set(thing.meets), thing.name
