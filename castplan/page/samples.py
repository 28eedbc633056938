"""The sample parts, wherever castplan was installed from."""

import sysconfig
import tomllib
from pathlib import Path

from castplan.page.store import Missing

_FOLDERS = (
    Path(__file__).resolve().parents[2] / "sample_parts",
    Path(sysconfig.get_path("data")) / "share" / "castplan" / "sample_parts",
)


def names() -> list[str]:
    """Names of the sample parts, sorted; none where they were not installed."""
    return sorted(path.stem for path in _files())


def find(name: str) -> tuple[Path, dict]:
    """Mesh file of a sample, and the choices to open it with.

    Raises
    ------
    Missing
        There is no such sample.
    """
    for path in _files():
        if path.stem == name:
            facts = tomllib.loads(path.with_suffix(".toml").read_text("utf-8"))
            return path, {"units": facts["units"]}
    raise Missing(
        "sample", found="no such one", need=f"one of {', '.join(names())}", do="Choose another."
    )


def _files():
    for folder in _FOLDERS:
        found = sorted(path for path in folder.glob("*.stl") if path.with_suffix(".toml").exists())
        if found:
            return found
    return []
