"""A project in one workbook: its sheets found, and each read as the file that it stands for.

``README.md`` beside this file says what stands on which sheet, and what is mended.
"""

from __future__ import annotations

from pathlib import Path

#: Kinds of files that a project's workbook comes in, and what it is called in a folder.
BOOK_SUFFIXES = (".xlsx", ".xlsm")
BOOK_NAMES = tuple(f"project{suffix}" for suffix in BOOK_SUFFIXES)


def is_book(path: Path) -> bool:
    """Whether a file is a workbook, by its name.

    >>> is_book(Path("Project.XLSX")), is_book(Path("network.toml"))
    (True, False)
    """
    return path.suffix.lower() in BOOK_SUFFIXES
