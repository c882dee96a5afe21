"""Garbage in every format: nothing but a refusal comes of it, and no reading nobody sent."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import TYPE_CHECKING, Any

import cbor2
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from tests.faults.garbage import (
    OTHERS,
    TEMPERATURES,
    broken,
    explained,
    garbage,
    garden_in,
    missed,
    sound_messages,
)

from steepwell.errors import MessageRefusedError
from steepwell.sense.readers import readers

if TYPE_CHECKING:
    from steepwell.sense.readers import Reader

EXAMPLES = 5000
GARDEN = garden_in(Path())
READERS: dict[str, Reader] = dict(
    readers(GARDEN, {sensor.name: number for number, sensor in enumerate(GARDEN.sensor)})
)

values: st.SearchStrategy[Any] = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.just("t")
)
LABELS = "bn bt bu bv bs bver n u v vs vb vd s t a at b"
keys = st.one_of(st.sampled_from(LABELS.split()), st.text(max_size=3))
documents = st.recursive(
    values,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=5),
    max_leaves=8,
)
labels = st.one_of(st.integers(-8, 10), keys)
packs = st.lists(st.dictionaries(labels, values, max_size=5), min_size=1, max_size=3)


@st.composite
def messages(draw: st.DrawFn) -> tuple[str, bytes]:
    """Return a topic and what comes on it: anything, or a sound message that was broken."""
    topic = draw(st.sampled_from(sorted(READERS)))
    kind = draw(st.integers(0, 9))
    if kind == 0:
        return topic, draw(st.binary(max_size=40))
    if kind == 1:
        return topic, json.dumps(draw(documents)).encode()
    if kind == 2:
        return topic, cbor2.dumps(draw(packs))
    seed = draw(st.integers(0, 2**32))
    rng = random.Random(seed)  # noqa: S311 - a test
    return topic, broken(rng, rng.choice(sound_messages(topic)))


@settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    database=None,
)
@given(messages())
@example(("cbor", b"\x81\xa3\x00\x61t\x02\xc4\x82\x1a\x7f\xff\xff\xff\x01"))
@example(("senml", b'[{"n":"urn:dev:ow:28ff01:t","v":1e999}]'))
def test_garbage_is_refused_or_says_what_is_read(said: tuple[str, bytes]) -> None:
    topic, payload = said
    try:
        measured, _ = READERS[topic].read(payload)
    except MessageRefusedError:
        return
    for one in measured:
        assert one.value == one.value
        if topic in TEMPERATURES:
            assert explained(topic, payload, one.value)


def test_there_is_garbage_for_every_kind() -> None:
    assert set(READERS) <= {*TEMPERATURES, *OTHERS}
    assert {sensor.measures for sensor in GARDEN.sensor} == {
        "rain", "level", "temperature", "pressure"
    }  # fmt: skip
    for topic in TEMPERATURES:
        measured, _ = READERS[topic].read(sound_messages(topic)[0])
        assert [one.value for one in measured] == [pytest.approx(14.5)]


@pytest.mark.parametrize(
    ("topic", "payload", "celsius", "is_so"),
    [
        ("number", b"14.5", 14.5, True),
        ("number", b"58.1 degF", 14.5, True),
        ("number", b"14.5", 14.0, False),
        ("senml", b'[{"bv": 10, "v": 4.5}]', 14.5, True),
        ("cbor", cbor2.dumps([{2: 14.5}]), 14.5, True),
        ("cbor", cbor2.dumps([{2: 13.5}]), 14.5, False),
    ],
)
def test_the_judge_knows_what_was_said(
    topic: str, payload: bytes, celsius: float, *, is_so: bool
) -> None:
    assert explained(topic, payload, celsius) is is_so


def test_broken_messages_are_settled_and_memory_stays_flat(tmp_path: Path) -> None:
    found = garbage(6000, 7, tmp_path)
    assert missed(found) == []
    # Some of them can still be read.
    assert found.readings > 100
    assert set(found.by_topic) == set(TEMPERATURES)
