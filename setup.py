"""The board's firmware goes into the package as files, so that a wheel is enough to flash a board.

It is no code of the desktop: in a wheel it lies in ``rillkeeper/firmware``, in a checkout in
``firmware``. All else is in pyproject.toml.
"""

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py

FIRMWARE = Path("firmware")


class BuildWithFirmware(build_py):
    """The packages, and beside them what belongs on a board."""

    def run(self) -> None:
        super().run()
        if self.editable_mode:
            return
        target = Path(self.build_lib) / "rillkeeper" / "firmware"
        shutil.rmtree(target, ignore_errors=True)
        for source in sorted([*FIRMWARE.glob("*.py"), *FIRMWARE.glob("*/*.py")]):
            place = target / source.relative_to(FIRMWARE)
            place.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(source, place)


setup(cmdclass={"build_py": BuildWithFirmware})
