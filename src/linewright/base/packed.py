"""Workbooks are packed: a small file may unpack to more than a machine holds. Such a file is refused unopened."""

from __future__ import annotations

import zipfile
from pathlib import Path

LARGEST_UNPACKED = 150_000_000
"""Bytes; a sheet of 100,000 rows and 30 columns unpacks to about 100 million."""
MOST_PARTS = 2000


def why_too_large(file: str | Path, largest: int | None = None) -> str:
    """Why a packed file is refused, empty where it may be opened.

    The sizes written in its directory are taken; unpacking never goes beyond them. Raises OSError where the file cannot
    be read and zipfile.BadZipFile where it is not packed.
    """
    largest = LARGEST_UNPACKED if largest is None else largest
    with zipfile.ZipFile(file) as packed:
        parts = packed.infolist()
    name = Path(file).name
    if sum(part.file_size for part in parts) > largest:
        return f'"{name}" unpacks to more than {largest // 1_000_000} MB'
    if len(parts) > MOST_PARTS:
        return f'"{name}" is packed of more than {MOST_PARTS:,} parts'
    return ""
