"""The published form of plan.json."""

from importlib import resources


def schema_text() -> str:
    """The JSON schema (draft 2020-12) that every plan.json keeps to."""
    return resources.files("castplan.files").joinpath("plan.schema.json").read_text("utf-8")
