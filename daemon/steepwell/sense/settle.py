"""Turns a batch of messages into what is written, and writes it in one transaction."""

from __future__ import annotations

import logging
from dataclasses import dataclass, field
from hashlib import blake2b
from typing import TYPE_CHECKING

from steepwell.clock import from_ms
from steepwell.errors import JournalError, MessageRefusedError, StoreError
from steepwell.sense.flags import NOT_EVALUATED, PASS
from steepwell.sense.forecasts import take_forecast
from steepwell.sense.journal import entry_from
from steepwell.sense.text import json_of
from steepwell.store.arrivals import Batch
from steepwell.store.ledger import LATE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.sense.inbox import Heard
    from steepwell.sense.moments import Moment, Moments
    from steepwell.sense.readers import Measured, Reader
    from steepwell.sense.surroundings import Surroundings
    from steepwell.store.rows import Row
    from steepwell.store.store import Store

log = logging.getLogger(__name__)

DIGEST_BYTES = 12
# A reading that comes so long after it was taken was stored by a device or a broker.
LATE_AFTER_MS, LATE_TOLD_EVERY_MS = 3 * 3_600_000, 30_000
# Half of all packet identifiers: an identifier that comes again after more messages than this
# belongs to another message.
REMEMBERED = 32_768


@dataclass(slots=True)
class _Work:
    """What a batch of messages comes to, before it is written."""

    batch: Batch = field(default_factory=Batch)
    notes: list[Heard] = field(default_factory=list)
    forecasts: list[Heard] = field(default_factory=list)
    seen: dict[int, bytes] = field(default_factory=dict)
    late_ms: int = 0


class Settler:
    """Decodes, checks and writes messages; when it returns, they may be acknowledged.

    Parameters
    ----------
    garden
        The garden.
    store
        Where readings and entries go.
    readers
        A reader for each topic.
    moments
        The rules for the time of a reading.
    journal_topic
        Topic on which journal entries come, or None.
    around
        The air, if some of the readers ask for it.
    """

    def __init__(
        self,
        garden: Garden,
        store: Store,
        readers: Mapping[str, Reader],
        moments: Moments,
        journal_topic: str | None,
        *,
        around: Surroundings | None = None,
    ) -> None:
        self._garden = garden
        self._store = store
        self._readers = readers
        self._moments = moments
        self._journal_topic = journal_topic
        self._around = around
        self._forecast_topic = garden.forecast.topic if garden.forecast is not None else None
        self._session = 0
        self._late_told_ms = 0
        self._number = store.seen.newest_number()

    def settle(self, messages: Sequence[Heard]) -> None:
        """Write what a batch of messages says, all of it or nothing.

        Raises
        ------
        StoreError
            If the store cannot be written; nothing of the batch is.
        """
        try:
            self._settle(messages)
        except StoreError:
            raise
        except Exception as error:  # a fault of ours in one message must not keep out the others
            if len(messages) > 1:
                for message in messages:
                    self.settle([message])
                return
            log.exception("a message on %s could not be written", messages[0].topic)
            why = f"it could not be written ({type(error).__name__}: {error})"
            self._store.readings.write(Batch(refused=[_refused(messages[0], why)]))

    def _settle(self, messages: Sequence[Heard]) -> None:
        work = _Work()
        number, session = self._number, self._session
        for message in messages:
            if message.session != session:
                # Packet identifiers of the old session mean nothing in the new one.
                session = message.session
                work.batch.forget_seen = True
                work.batch.seen.clear()
                work.seen.clear()
            number += 1
            self._decode(message, number, work)
        late_told_ms = self._late_told_ms
        work.batch.clocks_ms = dict(self._moments.clock_changes)
        with self._store.transaction():
            written = self._store.readings.write(work.batch)
            is_told = self._late_told_ms <= work.late_ms < self._late_told_ms + LATE_TOLD_EVERY_MS
            if work.late_ms and written.stored and not is_told:
                # What followed is worked out anew (see ``schedule``).
                self._store.ledger.finish(LATE, from_ms(work.late_ms))
                late_told_ms = work.late_ms
            for message in work.notes:
                self._note(message)
            for message in work.forecasts:
                self._take_forecast(message)
        self._moments.clock_changes.clear()
        self._number, self._session = number, session
        self._late_told_ms = late_told_ms

    def _decode(self, message: Heard, number: int, work: _Work) -> None:
        if message.topic == self._journal_topic:
            self._decode_note(message, number, work)
            return
        if message.topic == self._forecast_topic:
            work.forecasts.append(message)
        reader = self._readers.get(message.topic)
        if reader is None:
            if message.topic != self._forecast_topic:
                why = "no sensor in the garden file speaks on this topic"
                work.batch.refused.append(_refused(message, why))
            return
        try:
            measured, faults = reader.read(message.payload)
        except MessageRefusedError as error:
            measured, faults = [], [str(error)]
        except Exception as error:  # whatever a message can do to us, it must not stop the others
            log.exception("a message on %s could not be read", message.topic)
            measured, faults = [], [f"it could not be read ({type(error).__name__}: {error})"]
        if reader.passed_over:
            work.batch.no_numbers += reader.passed_over
            reader.passed_over = 0
        arrived = self._keep_timed(message, measured, work)
        if not (arrived or faults) or not self._is_first(message, number, work):
            return
        # What the broker kept arrived when we asked for it: that says nothing of its time.
        if not message.retained:
            work.batch.arrived += arrived
        work.batch.refused += [_refused(message, why) for why in faults]

    def _decode_note(self, message: Heard, number: int, work: _Work) -> None:
        if message.retained:
            why = "a journal entry is said once; send it without the retain flag"
            work.batch.refused.append(_refused(message, why))
        elif self._is_first(message, number, work):
            work.notes.append(message)

    def _keep_timed(self, message: Heard, measured: list[Measured], work: _Work) -> list[Row]:
        """Keep what has a time of its own, and return what has only that of its arrival."""
        arrived, batch = [], work.batch
        if self._around is not None:
            # What the air is in is known before what it has a part in.
            measured = sorted(measured, key=_needs_air)
        for one in measured:
            moment = self._moments.of(one, message.arrival_ms)
            value, flag, reason = one.value, one.flag, one.reason
            if one.finish is not None:
                value, flag, reason = one.finish(value, moment.time_ms)
            if self._around is not None or one.battery is not None or one.signal is not None:
                self._take_aside(message, one, moment, value, batch)
            if moment.flag != PASS:
                flag = max(flag, moment.flag)
                reason = moment.reason if reason is None else f"{reason}; {moment.reason}"
            elif flag == PASS and reason is None:
                # It is judged among its neighbours, when there is a later one.
                flag = NOT_EVALUATED
            row = (moment.time_ms, one.sensor, value, flag, reason)
            if moment.is_arrival:
                arrived.append(row)
            else:
                batch.timed.append(row)
                batch.origins.append((message.arrival_ms, message.topic, message.payload))
            if message.arrival_ms - moment.time_ms > LATE_AFTER_MS:
                work.late_ms = message.arrival_ms
        return arrived

    def _take_aside(
        self, message: Heard, one: Measured, moment: Moment, value: float, batch: Batch
    ) -> None:
        """Remember what is needed beside the reading: the air, and what the device is like."""
        if message.retained and moment.is_arrival:
            # What the broker kept and has no time says nothing of now.
            return
        if self._around is not None and one.flag == PASS:
            self._around.note(one.sensor, moment.time_ms, value)
        if one.battery is not None or one.signal is not None:
            batch.conditions[one.sensor] = (moment.time_ms, one.battery, one.signal)

    def _is_first(self, message: Heard, number: int, work: _Work) -> bool:
        """Return whether a message timed by its arrival is new, and remember it if so."""
        packet_id = message.packet_id
        if not packet_id:
            return True
        said = b"%b\0%b" % (message.topic.encode(), message.payload)
        digest = blake2b(said, digest_size=DIGEST_BYTES).digest()
        if message.again and self._was_seen(packet_id, digest, number, work):
            return False
        work.seen[packet_id] = digest
        work.batch.seen.append((packet_id, digest, number))
        return True

    def _was_seen(self, packet_id: int, digest: bytes, number: int, work: _Work) -> bool:
        if packet_id in work.seen:
            return work.seen[packet_id] == digest
        if work.batch.forget_seen:
            return False
        last = self._store.seen.last(packet_id)
        return last is not None and last[0] == digest and number - last[1] <= REMEMBERED

    def _take_forecast(self, message: Heard) -> None:
        take_forecast(
            self._garden,
            self._store,
            message.payload,
            where=message.topic,
            now=from_ms(message.arrival_ms),
        )

    def _note(self, message: Heard) -> None:
        now = from_ms(message.arrival_ms)
        try:
            raw = json_of(message.payload)
            entry = entry_from(raw, self._garden, now, self._store.journal, self._store.results)
        except (MessageRefusedError, JournalError) as error:
            self._store.readings.write(Batch(refused=[_refused(message, str(error))]))
        else:
            self._store.journal.append(entry, now)


def _needs_air(measured: Measured) -> bool:
    return measured.finish is not None


def _refused(message: Heard, why: str) -> tuple[int, str, bytes, str]:
    return message.arrival_ms, message.topic, message.payload, why
