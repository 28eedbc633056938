"""What happened at the pour, what it means, what to change."""

from castplan.after.records.casting import (
    DEFECTS,
    POURS,
    RESULTS,
    CastLog,
    Defect,
    LoggedPour,
    PartResult,
    Size,
    Withdrawal,
)
from castplan.after.records.clearance import Breakthrough, Clearance, KeepOut
from castplan.after.records.diagnosis import Cause, DefectDiagnosis, Diagnosis, Drift
from castplan.after.records.learnt import Learnt
from castplan.after.records.revision import Change, Drilling, Revision, Tilt

__all__ = [
    "DEFECTS",
    "POURS",
    "RESULTS",
    "Breakthrough",
    "CastLog",
    "Cause",
    "Change",
    "Clearance",
    "Defect",
    "DefectDiagnosis",
    "Diagnosis",
    "Drift",
    "Drilling",
    "KeepOut",
    "Learnt",
    "LoggedPour",
    "PartResult",
    "Revision",
    "Size",
    "Tilt",
    "Withdrawal",
]
