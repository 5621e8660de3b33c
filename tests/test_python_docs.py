"""The page for users of Python is run: what it prints is what it says, and the names that it tells are there."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import routing
from routing import errors

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```python\n(.*?)```\n\n((?:    [^\n]*\n)+)", PAGE, flags=re.DOTALL)


def test_every_block_of_code_has_what_it_prints() -> None:
    assert len(BLOCKS) == PAGE.count("```python") == 3


@pytest.mark.parametrize(("code", "printed"), BLOCKS, ids=["farm", "arrays", "cluster"])
def test_a_block_prints_what_stands_below_it(
    code: str, printed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "examples" / "four-sites", tmp_path / "examples" / "four-sites")
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "docs/python.md", "exec"), {"__name__": "__main__"})  # noqa: S102 - our own page
    told = [line.rstrip() for line in capsys.readouterr().out.splitlines()]
    assert told == [line.strip() for line in printed.splitlines()]


def test_what_is_told_to_be_there_is_there() -> None:
    """Each name of the package's own text and of the page's table; no other is given."""
    told = set(
        re.findall(r"\b[a-z]+_[a-z_]+|\b(?:plan|fit|due|feed|saved|chance|explain|replan)\b", routing.__doc__ or "")
    )
    table = {name for row in re.findall(r"^\| (`.*?) \|", PAGE, re.MULTILINE) for name in re.findall(r"`(\w+)", row)}
    assert table <= told | {"Wanted"}
    for name in (*told, "Changes", "Farm", "FitAnswer", "Round", "Wanted", "Wish"):
        assert callable(getattr(routing, name)), name
    assert routing.OutyardError is errors.OutyardError
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        routing.nothing  # noqa: B018 - asking is all


def test_the_name_of_the_package_alone_imports_nothing_heavy() -> None:
    shown = "import routing, sys; print(*sorted(name for name in sys.modules if name.startswith('routing')))"
    done = subprocess.run([sys.executable, "-c", shown], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.split() == ["routing", "routing.lazily"]
    assert (Path(routing.__file__).parent / "py.typed").is_file()
