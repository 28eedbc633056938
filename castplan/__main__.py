"""``python -m castplan``, the same as ``castplan``."""

from castplan.cli import main

if __name__ == "__main__":
    main()
