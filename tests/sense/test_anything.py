"""Whatever comes, it is settled, and what comes with it is stored."""

from __future__ import annotations

import json
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from hypothesis import given
from hypothesis import strategies as st
from tests.sense.conftest import GARDEN

from steepwell.clock import to_ms
from steepwell.garden.load import garden_from
from steepwell.sense.inbox import Heard
from steepwell.sense.moments import Moments
from steepwell.sense.readers import readers
from steepwell.sense.settle import Settler
from steepwell.store.entries import KINDS
from steepwell.store.store import Store, garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
JOURNAL = "steepwell/quince-yard/journal"
TOPICS = ("quince/rain", "quince/north", "quince/probes", JOURNAL)

# Text with lone surrogates, which JSON can write and UTF-8 cannot.
texts = st.text(st.characters(codec=None), max_size=12)
values = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), texts, st.just("urn:dev:ow:28ff01:leek")
)
SENML = "bn bt bu bv bs bver n u v vs vb vd s t"
ELSEWHERE = "rain tips at kind butt litres text vessel matter plant bed crop withdraws by id"
keys = st.one_of(texts, *(st.sampled_from(words.split()) for words in (SENML, ELSEWHERE)))
documents = st.recursive(
    values,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=6),
    max_leaves=12,
)
entries = st.builds(
    lambda kind, rest: {**rest, "kind": kind},
    st.sampled_from(KINDS),
    st.dictionaries(keys, documents),
)
payloads = st.one_of(
    st.binary(max_size=40), st.one_of(documents, entries).map(lambda raw: json.dumps(raw).encode())
)


@contextmanager
def settling() -> Iterator[tuple[Settler, Store]]:
    with TemporaryDirectory() as folder:
        declared: dict[str, Any] = GARDEN
        garden = garden_from(declared, path=Path(folder) / "garden.toml")
        with open_store(garden_store_url(garden), garden) as store:
            known = readers(garden, store.readings.ids)
            moments = Moments({}, 0, replaying=False)
            yield Settler(garden, store, known, moments, JOURNAL), store


@given(st.lists(st.tuples(st.sampled_from(TOPICS), payloads), min_size=1, max_size=20))
def test_whatever_comes_is_settled(said: list[tuple[str, bytes]]) -> None:
    at = to_ms(NOW)
    messages = [
        Heard(topic, payload, number, False, False, 1, 1, at)  # noqa: FBT003 - as it is made
        for number, (topic, payload) in enumerate(said)
    ]
    sound = Heard("quince/north", b"80", 99, False, False, 1, 1, at + 1000)  # noqa: FBT003 - the same
    with settling() as (settler, store):
        settler.settle([*messages, sound])
        newest = store.readings.latest(NOW + timedelta(hours=1))["north-level"]
        assert newest.time_ms == at + 1000
        assert all("could not be" not in refused.reason for refused in store.refused.newest(50))
