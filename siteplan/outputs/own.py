"""Whose a file or folder is: what lies in one may be code that runs."""

from __future__ import annotations

import os
import stat
import sys


def own(state: os.stat_result) -> bool:
    """Return whether a file or folder is this user's, and nobody else may write to it."""
    if sys.platform == "win32":  # its folders of users are closed to others as they are
        return True
    return state.st_uid == os.geteuid() and not state.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
