"""Where the finished mould holds more than the split promised."""

from castplan import units
from castplan.record import Finding
from castplan.split.records import ProofResult
from castplan.texts.told import tell

# More than the plan says by this much is another mould than the one planned: a
# cube of 3.7 mm, as for undercuts worth telling (assumed).
WORTH_TELLING_MM3 = 50.0


def list_proof_findings(proof: ProofResult, *, tie_mm3: float) -> tuple[Finding, ...]:
    """Stop where the finished mould holds more than the split promised.

    Parameters
    ----------
    proof : ProofResult
    tie_mm3 : float
        Trapped volume that counts as nothing.
    """
    limit_mm3 = max(tie_mm3, WORTH_TELLING_MM3)
    told = []
    for code, key, held_mm3, where in (
        ("proof-holds", "columns", proof.trapped_mm3, None),
        ("solids-hold", "solids", proof.solids_mm3, proof.solids_where_mm),
    ):
        if held_mm3 is not None and held_mm3 > proof.promised_mm3 + limit_mm3:
            more = units.digits((held_mm3 - proof.promised_mm3) / 1000, 2)
            told.append(
                Finding(
                    code=code,
                    severity="stop",
                    stage="undercuts",
                    message=tell(f"proof_finding.{key}", more=more),
                    do=tell("proof_finding.do"),
                    where_mm=where,
                )
            )
    return tuple(told)
