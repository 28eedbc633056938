"""Text in the cells of a table: one line, shown as it is, never run."""

# A table program runs a cell that begins so.
_FORMULA_SIGNS = ("=", "+", "-", "@")


def cell(value):
    """A value for a cell; text that would be a formula has an apostrophe before it.

    Parameters
    ----------
    value : object
        Numbers, and text of nothing but numbers, stay as they are.

    Returns
    -------
    object
    """
    if not isinstance(value, str):
        return value
    value = "".join(sign if sign.isprintable() else " " for sign in value)
    # A table program looks behind spaces too.
    if value.lstrip().startswith(_FORMULA_SIGNS):
        try:
            for word in value.split():  # the numbers of a direction
                float(word)
        except ValueError:
            return "'" + value
    return value
