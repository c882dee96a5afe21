"""``config/README.md`` tells every key of the garden file, and no other."""

from __future__ import annotations

import re
from typing import get_args

from pydantic import BaseModel

from steepwell.garden.garden import Garden
from steepwell.garden.tables import config_dir

README = config_dir() / "README.md"
HEADING = re.compile(r"^#{2,3} `\[{0,2}([a-z_.]+)\]{0,2}`$")

# Section and key, and whether it is needed wherever the section is.
Keys = dict[tuple[str, str], bool]


def models_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in models_in(part)]


def keys_of(models: list[type[BaseModel]], section: str) -> Keys:
    found: Keys = {}
    for model in models:
        for key, field in model.model_fields.items():
            # A key that only some kinds of a thing have is needed "there".
            everywhere = all(key in other.model_fields for other in models)
            needed = field.is_required() and everywhere
            found[section, key] = found.get((section, key), True) and needed
            found |= keys_of(models_in(field.annotation), f"{section}.{key}")
    return found


def declared() -> Keys:
    found: Keys = {}
    for section, field in Garden.model_fields.items():
        found |= keys_of(models_in(field.annotation), section)
    return found


def told() -> Keys:
    found: Keys = {}
    section = ""
    for line in README.read_text(encoding="utf-8").splitlines():
        if heading := HEADING.match(line):
            section = heading[1]
        elif line.startswith("| `") and section:
            keys, _, left_out = (part.strip() for part in line.strip("|").split("|"))
            for key in re.findall(r"`([a-z0-9_]+)`", keys):
                assert (section, key) not in found
                found[section, key] = left_out == "needed"
    return found


def test_every_key_is_told_and_no_other() -> None:
    assert told().keys() == declared().keys()


def test_what_is_needed_is_told_to_be() -> None:
    assert told() == declared()


def test_every_file_of_the_folder_is_told() -> None:
    text = README.read_text(encoding="utf-8")
    files = {path.name for path in config_dir().iterdir()} - {README.name}
    assert [name for name in files if f"`{name}" not in text] == []
