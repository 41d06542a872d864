"""Make the frozen copies anew. What was promised to stay the same no longer is: say why.

    python -m tests.frozen.renew --because "REASON"

Without a reason nothing is written. The reason is added to ``kept/renewed.txt``; the difference in
the commit shows what changed for those who plan with an unchanged network.toml.
"""

from __future__ import annotations

import argparse
import json
import shutil
import tempfile
from pathlib import Path

from tests.frozen.copies import (
    FILES,
    KEPT,
    PROBE,
    PROJECTS,
    SHEETS,
    as_lines,
    numbers,
    planned,
    probe,
    words,
)


def renew(kept: Path) -> None:
    """Write the copies of both projects and this machine's rounding into ``kept``."""
    for project in PROJECTS:
        folder = kept / project
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        with tempfile.TemporaryDirectory() as name:
            out = Path(name) / "output"
            text = as_lines(numbers(planned(project, out)))
            (folder / "plan.json").write_text(text, encoding="utf-8", newline="\n")
            for file in FILES:
                shutil.copyfile(out / file, folder / file)
            for sheet in SHEETS[project]:
                text = "\n".join(words(out / "sheets" / f"{sheet}.html")) + "\n"
                (folder / f"{sheet}.txt").write_text(text, encoding="utf-8", newline="\n")
    lines = (f"{json.dumps(k)}: {json.dumps(v)}" for k, v in probe().items())
    (kept / PROBE).write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def main() -> None:
    """Renew where a reason is given."""
    parser = argparse.ArgumentParser(description="Make the frozen copies anew.")
    parser.add_argument("--because", required=True, metavar="REASON")
    reason = parser.parse_args().because.strip()
    if len(reason) < 10:
        parser.error("say in a sentence why earlier values may change")
    renew(KEPT)
    with (KEPT / "renewed.txt").open("a", encoding="utf-8", newline="\n") as file:
        file.write(f"{reason}\n")


if __name__ == "__main__":
    main()
