"""Where the shop keeps what it told castplan: its own cards and its prices.

The folder is the system's usual place for a user's data, or what the
environment variable ``CASTPLAN_HOME`` names. A card is one file; a card that is
replaced or removed stays beside it with ``.previous`` behind its name.
"""

import os
from functools import partial
from pathlib import Path

import platformdirs

from castplan.errors import disk_errors

PREVIOUS = ".previous"
_disk_errors = partial(
    disk_errors,
    need="room and permission in this folder",
    do="Make room, or name another folder in CASTPLAN_HOME.",
)


def home() -> Path:
    """The shop's folder; it need not exist yet."""
    named = os.environ.get("CASTPLAN_HOME")
    return Path(named) if named else platformdirs.user_data_path("castplan", appauthor=False)


def card_files() -> list[Path]:
    """The shop's own cards, sorted by name."""
    return sorted((home() / "cards").glob("*.toml"))


def card_file(card_id: str) -> Path:
    """Where the card of this id is or would be."""
    return home() / "cards" / f"{card_id}.toml"


def shop_file() -> Path:
    """Packs, prices and tools of the shop."""
    return home() / "shop.toml"


def keep(path: Path, text: str) -> None:
    """Write a file whole, and keep the one it replaces.

    Parameters
    ----------
    path : pathlib.Path
    text : str

    Raises
    ------
    ResourceError
        The folder cannot be written.
    """
    with _disk_errors(path):
        # What the shop buys and keeps is no business of other people of this computer.
        path.parent.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        path.parent.mkdir(exist_ok=True, mode=0o700)
        draft = path.with_name(f"{path.name}.{os.getpid()}.draft")
        try:
            draft.touch(mode=0o600)
            draft.write_text(text, encoding="utf-8", newline="\n")
            if path.exists():
                os.replace(path, previous(path))
            os.replace(draft, path)
        finally:
            draft.unlink(missing_ok=True)


def set_aside(path: Path) -> Path:
    """Take a file away, to its previous name; returns that name.

    Raises
    ------
    ResourceError
        The folder cannot be written.
    """
    with _disk_errors(path):
        os.replace(path, previous(path))
    return previous(path)


def bring_back(path: Path) -> None:
    """Swap a file with its previous one, or put the previous one back.

    Raises
    ------
    ResourceError
        The folder cannot be written.
    """
    with _disk_errors(path):
        aside = path.with_name(f"{path.name}.{os.getpid()}.draft")
        if path.exists():
            os.replace(path, aside)
        os.replace(previous(path), path)
        if aside.exists():
            os.replace(aside, previous(path))


def previous(path: Path) -> Path:
    """The name under which the last version of a file is kept."""
    return path.with_name(path.name + PREVIOUS)
