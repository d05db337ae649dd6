"""The rules of the house, held by the tools that keep them."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize(
    "command",
    [
        ("ruff", "check"),
        ("ruff", "format", "--check"),
        ("mypy",),
    ],
    ids=" ".join,
)
def test_the_tools_find_nothing(command: tuple[str, ...]) -> None:
    done = run(*command)
    assert done.returncode == 0, done.stdout + done.stderr


def test_imports_point_one_way() -> None:
    lint = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run(
        [lint, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def sources(*endings: str) -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    files = [ROOT / name for name in listed.stdout.split("\0") if name.endswith(endings)]
    return [path for path in files if path.exists()]


def test_every_direct_dependency_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    pins = {pin.split("==")[0].lower() for pin in project["tool"]["uv"]["constraint-dependencies"]}
    wanted = project["project"]["dependencies"] + project["dependency-groups"]["dev"]
    names = {re.split(r"[>=<\[ ]", one)[0].lower() for one in wanted}
    assert names <= pins


def test_pages_load_nothing_from_elsewhere() -> None:
    outside = re.compile(r"""(?:src|href|url\()\s*=?\s*["'(]?\s*(?:https?:)?//(?!www\.w3\.org)""")
    guilty = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in sources(".html", ".css", ".js")
        if "vendor" not in path.parts
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if outside.search(line)
    ]
    assert not guilty


def test_no_page_holds_inline_style_or_script() -> None:
    inline = re.compile(r"<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=[\"']|hx-on")
    guilty = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in sources(".html")
        if "templates" in path.parts
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if inline.search(line)
    ]
    assert not guilty


def test_no_lock_file_names_a_download_host() -> None:
    assert sources(".lock", "package-lock.json") == []
