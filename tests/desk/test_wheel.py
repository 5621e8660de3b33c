"""What is installed from a wheel has the example farm, and every file of the desk: laid out as the wheel is, and run."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

from routing.farm.folder import read_farm
from tests.conftest import HOLLIN_VALE

ROOT = Path(__file__).parents[2]
RUN = """
import sys
from pathlib import Path
from routing import stages
import routing
assert Path(routing.__file__).is_relative_to(sys.argv[1]), routing.__file__
stages.begin.example(Path(sys.argv[2]))
from routing.desk.app import application
from routing.desk.views.files import _files
assert {"tokens.css", "sheet.css", "desk.css", "plan.js", "grid.js"} <= set(_files())
"""


def test_the_example_comes_with_a_wheel(tmp_path: Path) -> None:
    """As hatchling lays a wheel out: the packages, and what is forced in; run beside no checkout."""
    wheel = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]["targets"][
        "wheel"
    ]
    place = tmp_path / "site-packages"
    for package in wheel["packages"]:
        shutil.copytree(ROOT / package, place / package, ignore=shutil.ignore_patterns("__pycache__"))
    for source, goes in wheel["force-include"].items():
        shutil.copytree(ROOT / source, place / goes, ignore=shutil.ignore_patterns("rounds", ".*", "sent"))
    farm = tmp_path / "farm"
    subprocess.run(
        [sys.executable, "-c", RUN, str(place), str(farm)], check=True, cwd=tmp_path, env={"PYTHONPATH": str(place)}
    )
    assert read_farm(farm).sites == read_farm(HOLLIN_VALE).sites
    assert {path.name for path in farm.iterdir()} == {path.name for path in HOLLIN_VALE.iterdir() if path.is_file()}
