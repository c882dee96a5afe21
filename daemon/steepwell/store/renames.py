"""What butts, vessels and beds were called before, so that their past stays theirs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

# Where in entries and documents a name stands, and what it is the name of.
_ONE = {
    "butt": "butt",
    "from": "butt",
    "bed": "bed",
    "instead": "bed",
    "vessel": "vessel",
    "place": "vessel",
}
_SEVERAL = {"butts": "butt", "beds": "bed", "vessels": "vessel"}
_JOB = "job"
JOB_PARTS = 3


class Renames:
    """Reads entries and documents by the names of today; what is stored stays as it was.

    Parameters
    ----------
    garden
        The garden, whose parts say what they were called.
    """

    def __init__(self, garden: Garden) -> None:
        self._now = {("butt", butt.was): butt.name for butt in garden.butt if butt.was}
        self._now |= {("vessel", one.was): one.name for one in garden.vessel if one.was}
        self._now |= {("bed", bed.was): bed.name for bed in garden.bed if bed.was}

    def read(self, stored: Any) -> Any:  # noqa: ANN401 - JSON
        """Return an entry or a document with the names of today."""
        return self._read(stored, None) if self._now else stored

    def _read(self, value: Any, kind: str | None) -> Any:  # noqa: ANN401 - JSON
        if isinstance(value, list):
            return [self._read(each, kind) for each in value]
        if isinstance(value, dict):
            return {key: self._of_key(key, each, kind) for key, each in value.items()}
        return self._name(kind, str(value)) if kind and isinstance(value, str) else value

    def _of_key(self, key: str, value: Any, kind: str | None) -> Any:  # noqa: ANN401 - JSON
        if isinstance(value, str):
            if key == "name" and kind:
                return self._name(kind, value)
            if key == _JOB and value.count("/") == JOB_PARTS - 1:
                what, bed, day = value.split("/")
                return f"{what}/{self._name('bed', bed)}/{day}"
            return self._name(_ONE[key], value) if key in _ONE else value
        return self._read(value, _SEVERAL.get(key))

    def _name(self, kind: str, name: str) -> str:
        return self._now.get((kind, name), name)
