"""Files written for the person: complete or not at all, also after a power cut.

A file is written under a temporary name in the same folder, forced to disk and then renamed over its final name.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TextIO


@contextmanager
def replacing(path: Path) -> Iterator[TextIO]:
    """Open a UTF-8 text file to write (line ends as given); it takes its name when the body ends without an error."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            yield file
        settle(part, path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def settle(part: Path, target: Path) -> None:
    """Force the file to disk and move it to its final name, both on the same file system."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    part.replace(target)
    with suppress(OSError):  # not every system can open a folder; the rename itself is done
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
