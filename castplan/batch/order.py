"""One part to plan: its mesh as bytes, how to read it, the job, and what they hash to."""

import hashlib
import json
from dataclasses import asdict, dataclass, field
from pathlib import Path

from castplan import __version__, ordinary
from castplan.errors import InputError
from castplan.files.part_file import PART_FILE
from castplan.files.plan_folder import RECORD_FILE
from castplan.job import Job
from castplan.materials import folder
from castplan.part.close import Closing
from castplan.texts import spoken

# Part of every key: raised when what a plan folder or a record holds changes
# its form without a new version of castplan.
FORM = 3


@dataclass(frozen=True, kw_only=True)
class Order:
    """What `castplan plan` is told about one part.

    `texts` is the translation that its folder is written in, as `own_texts` gives it;
    it is no part of the plan. `said` is the folder of this plan in another language,
    which is read and written again instead of planned.
    `name` is the part's folder among the results. The mesh stays in its file
    until it is sent: a catalogue need not fit in memory. `wrong` says what
    cannot be used of its options; such a part is not planned.
    """

    name: str
    path: Path
    job: Job
    unit: str | None = None
    measured: str | None = None
    closing: Closing | None = None
    is_size_meant: bool = False
    solids: tuple[str, ...] = ()
    cards: tuple[tuple[str, bytes], ...] = field(default=(), repr=False)
    texts: bytes = field(default=b"", repr=False)
    said: Path | None = None
    wrong: str = ""
    others: tuple[Path, ...] = ()  # meshes of parts that lie in the same box

    @property
    def texts_sha256(self) -> str:
        """What tells one translation from another; empty for English."""
        return hashlib.sha256(self.texts).hexdigest() if self.texts else ""

    @property
    def reading(self) -> dict:
        """Keywords of `load_part`."""
        return {
            "unit": self.unit,
            "measured": self.measured,
            "closing": self.closing,
            "is_size_meant": self.is_size_meant,
        }


@dataclass(frozen=True, kw_only=True)
class Parcel:
    """An order as it travels: all bytes, no path of this machine."""

    name: str
    file_name: str
    mesh: bytes = field(repr=False)
    reading: dict
    job: Job
    solids: tuple[str, ...]
    cards: tuple[tuple[str, bytes], ...] = field(repr=False)
    texts: bytes = field(repr=False)
    said: tuple[tuple[str, bytes], ...] = field(repr=False)  # record and mesh of the plan
    version: str
    others: tuple[tuple[str, bytes], ...] = field(default=(), repr=False)  # by file name


def own_cards() -> tuple[tuple[str, bytes], ...]:
    """The shop's own material cards, by file name: a worker elsewhere has none of them.

    Raises
    ------
    InputError
        A card cannot be read.
    """
    cards = []
    for path in folder.card_files():
        try:
            cards.append((path.name, ordinary.read_bytes(path)))
        except OSError as error:
            raise InputError(
                str(path),
                found=f"a card that cannot be read ({error.strerror or error})",
                need="a card as castplan materials add writes it",
                do="Mend it, or move it out of this folder.",
            ) from error
    return tuple(cards)


def own_texts() -> bytes:
    """The translation that is spoken here, as JSON: a worker elsewhere speaks English.

    Returns
    -------
    bytes
        None of them for English.
    """
    texts = spoken()
    return json.dumps(texts, ensure_ascii=False, sort_keys=True).encode() if texts else b""


def read_mesh(order: Order) -> bytes:
    """The mesh file's bytes.

    Raises
    ------
    InputError
        It cannot be read.
    """
    return _read_bytes(order.path)


def _read_bytes(path):
    try:
        return ordinary.read_bytes(path)
    except (OSError, ValueError) as error:  # a name with a zero in it is none
        raise InputError(
            path.name,
            found=f"no file that can be read ({getattr(error, 'strerror', None) or error})",
            need="a mesh file",
            do="Check the path and who may read it.",
        ) from error


def pack(order: Order) -> Parcel:
    """Make an order ready to travel.

    Raises
    ------
    InputError
        The mesh cannot be read.
    """
    return Parcel(
        name=order.name,
        file_name=order.path.name,
        mesh=read_mesh(order),
        reading=order.reading,
        job=order.job,
        solids=order.solids,
        cards=order.cards,
        texts=order.texts,
        said=() if order.said is None else _read_said(order.said),
        version=__version__,
        others=tuple((path.name, _read_bytes(path)) for path in order.others),
    )


def _read_said(folder):
    """What a plan is read back from; nothing where it cannot be read, and is planned again."""
    try:
        return tuple((name, (folder / name).read_bytes()) for name in (RECORD_FILE, PART_FILE))
    except OSError:
        return ()


def mesh_hash(mesh: bytes) -> str:
    """SHA-256 of a mesh file."""
    return hashlib.sha256(mesh).hexdigest()


def meshes_hash(order: Order, mesh: bytes) -> str:
    """SHA-256 of an order's mesh file, and of those that lie in the same box behind it.

    Raises
    ------
    InputError
        One of these cannot be read.
    """
    if not order.others:
        return mesh_hash(mesh)
    each = [mesh_hash(mesh), *(mesh_hash(_read_bytes(path)) for path in order.others)]
    return mesh_hash(" ".join(each).encode())


def choices_of(order: Order) -> dict:
    """What an order asks for besides castplan's own defaults, as plain values."""
    usual = asdict(Job())
    asked = asdict(order.job)
    choices = {name: value for name, value in asked.items() if value != usual[name]}
    reading = order.reading | {"closing": order.closing and asdict(order.closing)}
    choices |= {name: value for name, value in reading.items() if value}
    if order.solids:
        choices["solids"] = order.solids
    if order.others:
        choices["with"] = [path.name for path in order.others]
    if order.wrong:
        choices["wrong"] = order.wrong
    return json.loads(json.dumps(choices))


def key_of(order: Order, mesh_sha256: str) -> str:
    """What a plan depends on, hashed: mesh, file name, choices, cards and version.

    Every choice counts, at its default too: a default that changes with
    castplan gives another plan.

    Parameters
    ----------
    order : Order
    mesh_sha256 : str

    Returns
    -------
    str
        SHA-256, hexadecimal.
    """
    told = {
        "form": FORM,
        "version": __version__,
        "file": order.path.name,
        "mesh": mesh_sha256,
        "job": asdict(order.job),
        "choices": choices_of(order),
        "cards": [[name, hashlib.sha256(card).hexdigest()] for name, card in order.cards],
    }
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
