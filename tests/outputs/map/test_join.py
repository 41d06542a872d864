"""The map's scripts joined: the order, the two forms, and what is refused."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from siteplan.outputs.map import page
from siteplan.outputs.map.join import join, modules

SCRIPTS = Path(page.__file__).parent / "scripts"


def folder(tmp_path: Path, **scripts: str) -> Path:
    """Write scripts by name: ``a`` becomes ``a.js``, ``room_a`` becomes ``room/a.js``."""
    for name, text in scripts.items():
        path = tmp_path / f"{name.replace('_', '/')}.js"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return tmp_path


def refused(tmp_path: Path, match: str, **scripts: str) -> None:
    with pytest.raises(ValueError, match=match):
        join(folder(tmp_path, **scripts), "main.js")


def test_scripts_come_behind_those_that_they_import(tmp_path: Path) -> None:
    found = modules(
        folder(
            tmp_path,
            main="import { b } from './room/b.js';\nimport { a } from './a.js';\nb(a);\n",
            room_b="import { a } from '../a.js';\nexport const b = () => a;\n",
            a="export const a = 1;\n",
            unused="export const never = 1;\n",
        ),
        "main.js",
    )
    assert [module.path for module in found] == ["a.js", "room/b.js", "main.js"]


def test_the_joined_script_gives_what_the_modules_give(tmp_path: Path) -> None:
    node = shutil.which("node")
    if node is None:
        if os.environ.get("CI"):
            pytest.fail("node is missing, and CI must compare the joined script with the modules")
        pytest.skip("node is missing")
    folder(
        tmp_path,
        main=(
            "/* An import in a comment, and an export. */\n"
            "import {\n  count,\n  Pair as Two,\n} from './room/parts.js';\n"
            "import { later } from './later.js';\n\n"
            "const hidden = 'import { x }';\n"
            "export const found = [count(2), new Two(3).both, hidden.length, typeof later];\n"
        ),
        room_parts=(
            "import { one } from '../later.js';\n"
            "const hidden = 1;\n"
            "export function count(n) { return n + one + hidden; }\n"
            "export class Pair {\n  constructor(x) { this.both = [x, x]; }\n}\n"
        ),
        later="export async function later() {}\nexport const one = 1;\n",
    )
    (tmp_path / "package.json").write_text('{"type": "module"}', encoding="utf-8")
    show = "console.log(JSON.stringify(found))"
    asks = f"import {{ found }} from './main.js';\n{show};\n"
    (tmp_path / "modules.js").write_text(asks, encoding="utf-8")
    joined = f"const {{ found }} = {join(tmp_path, 'main.js')};\n{show};\n"
    (tmp_path / "joined.cjs").write_text(joined, encoding="utf-8")
    told = [
        json.loads(subprocess.run([node, tmp_path / name], check=True, capture_output=True).stdout)
        for name in ("modules.js", "joined.cjs")
    ]
    assert told[0] == told[1] == [4, [3, 3], 12, "function"]


@pytest.mark.parametrize(
    "line",
    [
        "export default function a() {}",
        "export default 3;",
        "export * from './a.js';",
        "export { b } from './a.js';",
        "export { b, b as c };",
        "export let b = 1;",
        "export var b = 1;",
        "export const { b } = {};",
        "export function* b() {}",
        "import a from './a.js';",
        "import * as a from './a.js';",
        "import a, { b } from './a.js';",
        "import './a.js';",
        "import {} from './a.js';",
        "import { b } from 'a';",
        'import { b } from "./a.js";',
        "import { b } from './a.js' with { type: 'json' };",
        "import { b } from './a.js'",
        "import { default as b, } from './a.js', c;",
        "import { b as } from './a.js';",
        "import { 'b' as c } from './a.js';",
        "  import { b } from './a.js';",
        "const a = import('./a.js');",
        "const a = await import ('./a.js');",
        "const here = import.meta.url;",
    ],
)
def test_other_forms_are_refused(tmp_path: Path, line: str) -> None:
    match = r"^main\.js, line 3: .* cannot be joined: only import \{ a, b as c \} from"
    refused(tmp_path, match, main=f"/* Head. */\n\n{line}\n", a="export const b = 1;\n")


def test_the_line_is_quoted(tmp_path: Path) -> None:
    quoted = re.escape("""room/a.js, line 2: "import * as z from './z.js';" cannot be joined""")
    refused(
        tmp_path,
        quoted,
        main="import { a } from './room/a.js';\n",
        room_a="/* Head. */\nimport * as z from './z.js';\n",
    )


def test_a_file_that_is_missing_is_refused(tmp_path: Path) -> None:
    match = r"^main\.js, line 2: there is no script room/gone\.js\.$"
    refused(tmp_path, match, main="\nimport { a } from './room/gone.js';\n")


def test_a_file_outside_the_folder_is_refused(tmp_path: Path) -> None:
    inner = folder(tmp_path, in_main="import { a } from '../a.js';\n", a="export const a = 1;\n")
    with pytest.raises(ValueError, match=r"^main\.js, line 1: there is no script \.\./a\.js\.$"):
        join(inner / "in", "main.js")


def test_a_name_that_the_other_file_does_not_export_is_refused(tmp_path: Path) -> None:
    match = r"^main\.js, line 1: a\.js does not export hidden\.$"
    main = "import { shown, hidden as other } from './a.js';\n"
    refused(tmp_path, match, main=main, a="export const shown = 1;\nconst hidden = 2;\n")


def test_a_circle_is_refused(tmp_path: Path) -> None:
    match = r"^b\.js, line 1: scripts import one another in a circle: a\.js -> b\.js -> a\.js\.$"
    refused(
        tmp_path,
        match,
        main="import { a } from './a.js';\n",
        a="import { b } from './b.js';\nexport const a = 1;\n",
        b="import { a } from './a.js';\nexport const b = 2;\n",
    )


def test_a_script_that_imports_itself_is_refused(tmp_path: Path) -> None:
    match = r"^main\.js, line 1: scripts import one another in a circle: main\.js -> main\.js\.$"
    refused(tmp_path, match, main="import { a } from './main.js';\nexport const a = 1;\n")


def test_the_page_s_script_binds_one_name_and_is_made_once() -> None:
    script = page.page_script()
    assert script.startswith("const { siteplan } = (function () {\n'use strict';\n")
    assert script is page.page_script()
    assert not re.search(r"^(import|export)\b", script, re.MULTILINE)


def test_rooms_of_scripts_import_one_way() -> None:
    below = {
        "base": set(),
        "sites": {"base"},
        "backdrop": {"base"},
        "choose": {"base", "sites"},
        "card": {"base", "sites"},
    }
    for module in modules(SCRIPTS, "main.js"):
        room, _, _ = module.path.rpartition("/")
        for asked in module.imports:
            other, _, _ = asked.path.rpartition("/")
            assert not room or other == room or other in below[room], f"{module.path}: {asked.path}"
