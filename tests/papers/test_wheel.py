"""What is installed is all of the program, and nothing else."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
# Where what is installed stands in a checkout, and where in the wheel.
PLACES = {
    "daemon/steepwell": "steepwell",
    "simulators/steepwell_sim": "steepwell_sim",
    "config": "steepwell/config",
}


def test_the_wheel_has_every_file_of_the_program_and_no_other(tmp_path: Path) -> None:
    build = (sys.executable, "-m", "hatchling", "build", "--target", "wheel")
    subprocess.run([*build, "--directory", tmp_path], cwd=ROOT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        there = {name for name in archive.namelist() if ".dist-info/" not in name}
    wanted = {
        f"{to}/{file.relative_to(ROOT / place)}"
        for place, to in PLACES.items()
        for file in (ROOT / place).rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    assert there == wanted
    for file in ("words/en.po", "tell/templates/letter.html.j2", "config/steepwell.service"):
        assert f"steepwell/{file}" in there
    assert any(name.startswith("steepwell/store/migrations/versions/") for name in there)
