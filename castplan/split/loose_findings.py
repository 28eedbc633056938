"""What loose pieces free, what they do not, and where none is needed."""

from castplan import units
from castplan.record import Finding, finding
from castplan.split.records import Split
from castplan.texts import code_key
from castplan.texts.told import tell

# What is left of the held rubber that is told (assumed): a cube of 3.7 mm.
WORTH_TELLING_MM3 = 50.0


def list_loose_findings(split: Split) -> tuple[Finding, ...]:
    """Findings of a mould for which loose pieces were looked for; none of any other.

    Parameters
    ----------
    split : Split
    """
    loose = split.loose
    if loose is None:
        return ()
    told = [_piece(split, piece) for piece in loose.pieces]
    told += [
        finding(
            "loose-piece-thin",
            "warn",
            "undercuts",
            "loose_finding.thin",
            width=f"{thin.width_mm:.1f}",
            least=f"{thin.least_mm:g}",
            where_mm=thin.where_mm,
        )
        for thin in loose.thin
    ]
    if not loose.n_held:
        told.append(finding("no-loose-piece", "note", "undercuts", "loose_finding.none"))
    elif loose.left_mm3 > WORTH_TELLING_MM3:
        kind = "some" if loose.pieces else "no_way"
        told.append(
            finding(
                "loose-pieces-leave",
                "warn",
                "undercuts",
                f"loose_finding.{kind}",
                n=len(loose.pieces),
                left=units.digits(loose.left_mm3 / 1000, 2),
                held=units.digits(loose.held_mm3 / 1000, 2),
            )
        )
    return tuple(told)


def _piece(split, piece):
    where = split.draw.frame.point_in_part(piece.out_mm)
    fields = {
        "label": piece.label,
        "n": piece.n_pockets,
        "volume": units.digits(piece.freed_mm3 / 1000, 2),
        "side": tell(f"loose.side_{code_key(piece.side)}"),
    }
    if piece.diameter_mm is not None:
        fields["across"] = f"{piece.diameter_mm:.1f}"
    return finding(
        "loose-piece", "note", "undercuts", f"loose_finding.{piece.kind}", where_mm=where, **fields
    )
