"""``python -m castplan``, the same as ``castplan``."""

import signal


def run() -> None:
    """Start the program; Ctrl-C while it is still being loaded ends it at once."""
    # An interrupt that falls into the code of an import can be swallowed there. Where it
    # is not the usual one, a shell may have asked to leave it out.
    is_usual = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if is_usual:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from castplan.cli import program

    if is_usual:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        program()
    except KeyboardInterrupt:
        raise SystemExit(130) from None


if __name__ == "__main__":
    run()
