"""``python -m castplan``, the same as ``castplan``."""


def run() -> None:
    """Start the program; Ctrl-C while it is still being loaded ends it quietly too."""
    try:
        from castplan.cli import program
    except KeyboardInterrupt:
        raise SystemExit(130) from None
    program()


if __name__ == "__main__":
    run()
