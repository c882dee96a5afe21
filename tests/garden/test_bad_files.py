from __future__ import annotations

from pathlib import Path

import pytest

from steepwell.errors import GardenFileError
from steepwell.garden.load import load_garden

BAD = sorted(Path(__file__).with_name("bad").glob("*.toml"))
EXPECT = "# expect: "
HERE = "# here"


def test_there_are_broken_files_to_read() -> None:
    assert BAD


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_a_fault_is_told_with_its_place_and_what_is_wanted(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    expected = [line.removeprefix(EXPECT) for line in lines if line.startswith(EXPECT)]
    marked = [number for number, line in enumerate(lines, start=1) if line.endswith(HERE)]

    with pytest.raises(GardenFileError) as caught:
        load_garden(path)

    faults = caught.value.faults
    told = [f"{fault.where}: found {fault.found}; wanted: {fault.wanted}" for fault in faults]
    assert told == expected
    assert [fault.line for fault in faults if fault.line is not None] == marked


def test_the_report_names_the_file_and_counts_its_faults() -> None:
    path = next(path for path in BAD if path.stem == "several")

    with pytest.raises(GardenFileError) as caught:
        load_garden(path)

    first, *rest = str(caught.value).splitlines()
    assert first == f"{path}: 5 faults"
    assert [line.strip() for line in rest] == [str(fault) for fault in caught.value.faults]
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (None, "file: found no such file or directory; wanted: a garden file that can be read"),
        (b"name = \xff", "file: found bytes that are no UTF-8; wanted: a text file in UTF-8"),
    ],
)
def test_a_file_that_cannot_be_read_is_said_so(
    content: bytes | None, expected: str, tmp_path: Path
) -> None:
    path = tmp_path / "garden.toml"
    if content is not None:
        path.write_bytes(content)

    with pytest.raises(GardenFileError) as caught:
        load_garden(path)

    assert [str(fault) for fault in caught.value.faults] == [expected]


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(GardenFileError, match="found is a directory"):
        load_garden(tmp_path)
