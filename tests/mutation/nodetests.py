"""What a child does with node's own test runner: all tests of the map's scripts."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from typing import Any

from tests.mutation.copies import Copy

_FAILED = re.compile(r"^not ok \d+ - (.*)", re.MULTILINE)
_COUNT = re.compile(r"^# tests (\d+)", re.MULTILINE)


def run_node(copy: Copy, send: Callable[..., Any]) -> int:
    """Run the scripts' own tests in a copy; return 0 if all pass."""
    web = copy.root / "tests/outputs/web"
    files = sorted(p for p in web.glob("**/*.test.js") if "node_modules" not in p.parts)
    command = ["node", "--test", "--test-reporter=tap", *map(str, files)]
    done = subprocess.run(command, cwd=copy.root, capture_output=True, text=True, check=False)
    count = _COUNT.search(done.stdout)
    send(tests=int(count[1]) if count else 0)
    failed = _FAILED.search(done.stdout)
    if done.returncode:
        send(failed=f"node --test: {failed[1] if failed else done.stderr[-200:]}", why="")
    return min(done.returncode, 1)
