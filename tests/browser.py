"""The system's browser for tests of pages."""

import os
import shutil

import pytest

# WebGL2 without a graphics card; the sandbox needs rights that containers lack.
CHROMIUM_FLAGS = (
    "--no-sandbox",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
)


def chromium_path() -> str:
    """Where chromium is; without one the test is skipped, and fails under CI."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        reason = "no chromium on the path: apt-get install chromium"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return path
