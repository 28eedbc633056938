"""What castplan raises, and the exit status the command line gives it.

::

    CastplanError        exit 1  a fault of castplan itself
    |-- InputError        exit 2  the file or an option cannot be used
    |-- GeometryError     exit 3  the mesh holds no body that could be cast
    `-- ResourceError     exit 4  memory, disk or permission is missing

Every message reads ``what: found X, need Y. Do Z.``. A part that will cast
badly is not an error: it is a `Finding` in the plan. Anything else that is
raised is a bug: the command line makes one line of it too, and shows its
traceback where CASTPLAN_TRACEBACK is set.
"""

import contextlib

# The unit of the mesh; whether its size is meant; the side that it has not; how thick
# it is, where it has one side only and is flat.
ASKS = UNIT, SIZE, BACK, THICKNESS = "unit", "size", "back", "thickness"


class Option(str):
    """An option of the command, as one piece of what an error says."""

    __slots__ = ()


class CastplanError(Exception):
    """Base of all errors that end in one line for the user.

    Parameters
    ----------
    what, found, need, do : str, or tuple of str
        The subject, what is there, what is needed, what to do about it. Options
        of the command are pieces of their own, each an `Option`.
    asks : str
        What one answer would settle, of ASKS; empty where there is no such answer.
    """

    exit_code = 1

    def __init__(self, what, *, found, need, do, asks: str = "") -> None:
        self.what = what
        self.found = found
        self.need = need
        self.do = do
        self.asks = asks
        super().__init__(self.said())

    def said(self, name=str) -> str:
        """The line, with options named in another way.

        Parameters
        ----------
        name : callable
            Takes an option and gives the words.
        """
        what, found, need, do = (
            "".join(name(p) if isinstance(p, Option) else p for p in _pieces(text))
            for text in (self.what, self.found, self.need, self.do)
        )
        return f"{_line(what)}: found {_line(found)}, need {_line(need)}. {_line(do)}"

    def about(self, what: str) -> "CastplanError":
        """The same error of a subject under another name.

        Parameters
        ----------
        what : str

        Returns
        -------
        CastplanError
            Of the same class.
        """
        return type(self)(what, found=self.found, need=self.need, do=self.do, asks=self.asks)


# What is told of a name or a value, of both its ends: a line is to be read.
_MOST_SIGNS = 4000


def _line(text):
    """A piece as one line; what a terminal would obey or not show is told by its number."""
    if len(text) > _MOST_SIGNS:
        text = f"{text[: _MOST_SIGNS // 2]} ... {text[-_MOST_SIGNS // 4 :]}"
    text = " ".join(text.split())
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in text)


def _pieces(text):
    return (text,) if isinstance(text, str) else text


class InputError(CastplanError):
    """A file, an option or a value that cannot be used."""

    exit_code = 2


class GeometryError(CastplanError):
    """A mesh from which no plan can exist."""

    exit_code = 3


class ResourceError(CastplanError):
    """The machine will not give what the plan needs."""

    exit_code = 4


@contextlib.contextmanager
def disk_errors(place, *, need: str, do: str, way: str = "write"):
    """Turn what the system refuses inside a ``with`` block into one line.

    Parameters
    ----------
    place : str or path-like
        The file or folder that is written.
    need, do : str
        As for `CastplanError`.
    way : str
        What there is no way to do with it.

    Raises
    ------
    ResourceError
        The block raised an OSError.
    """
    try:
        yield
    except OSError as error:
        raise ResourceError(
            str(place),
            found=f"no way to {way} it ({error.strerror or error})",
            need=need,
            do=do,
        ) from error
