"""The language of the sheets: a file of the user's own."""

from castplan import texts
from castplan.errors import InputError


def speak(language: str | None) -> None:
    """Speak by the translation of that name from now on; None is English.

    Raises
    ------
    InputError
        There is no such file, or it does not fit this version.
    """
    if language is None or language == "en":
        texts.use({})
        return
    from castplan.materials import folder

    path = folder.home() / "texts" / f"{language}.toml"
    try:
        texts.use_file(path)
    except OSError as error:
        raise InputError(
            "--language",
            found=f"no {path} ({error.strerror})",
            need="a translation there",
            do="Write castplan texts to it and translate that, or leave --language away.",
        ) from error
    except ValueError as error:
        raise InputError(
            str(path),
            found=f"a translation that does not fit ({error})",
            need="the form of castplan texts",
            do="Mend this text, or take it out: it is then said in English.",
        ) from error
