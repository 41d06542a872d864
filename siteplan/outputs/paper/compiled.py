"""Templates compiled once and kept: jinja2 compiles one in the time in which it fills in some ten.

A kept one is code that runs. So it is taken only from a file that belongs to whoever runs siteplan
and that nobody else may write, and only where it is whole, and of this jinja2, this Python and
these options; else the template is compiled as without. What cannot be kept is done without.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import threading
from pathlib import Path

import jinja2
from jinja2.bccache import Bucket

from siteplan.outputs.own import own

#: The folder of kept templates within a cache, and how their files end.
_FOLDER, _ENDING = "templates", ".compiled"


class Kept(jinja2.BytecodeCache):
    """Compiled templates in a folder of a cache.

    Parameters
    ----------
    cache : Path
        The cache; it need not be there.
    options : str
        What the compiled code depends on beside the template, jinja2 and Python.
    """

    def __init__(self, cache: Path, options: str) -> None:
        self._folder = cache / _FOLDER
        told = (jinja2.__version__, sys.implementation.cache_tag, options)
        self._begun = hashlib.sha256(repr(told).encode())

    def load_bytecode(self, bucket: Bucket) -> None:
        """Give a template's code to ``bucket``, if it is kept and good."""
        try:
            with self._path(bucket).open("rb") as file:
                content = file.read() if own(os.fstat(file.fileno())) else b""
        except OSError:
            return
        size = self._begun.digest_size
        if content[:size] == self._digest(content[size:]):
            bucket.bytecode_from_string(content[size:])

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep a template's code, if that can be done."""
        path, code = self._path(bucket), bucket.bytecode_to_string()
        part = path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}")
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            try:
                with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT, 0o600), "wb") as file:
                    file.write(self._digest(code) + code)
                part.replace(path)
            finally:
                part.unlink(missing_ok=True)

    def _path(self, bucket: Bucket) -> Path:
        return self._folder / f"{bucket.key}{_ENDING}"

    def _digest(self, code: bytes) -> bytes:
        found = self._begun.copy()
        found.update(code)
        return found.digest()


def clear(cache: Path) -> None:
    """Remove the kept templates of a cache, and their folder."""
    folder = cache / _FOLDER
    for path in folder.glob(f"*{_ENDING}"):
        path.unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        folder.rmdir()
