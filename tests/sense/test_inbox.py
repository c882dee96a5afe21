from __future__ import annotations

import threading

import pytest

from steepwell.sense.inbox import ENOUGH, Heard, Inbox

WAITS_S = 10.0


def heard(number: int, size: int = 1) -> Heard:
    return Heard("t", b"x" * size, number, False, False, 1, 1, 0)  # noqa: FBT003 - as it is made


def test_messages_are_taken_in_the_order_they_came() -> None:
    inbox = Inbox(10, 1000)
    assert [inbox.put(heard(number)) for number in range(3)] == [True] * 3
    assert [message.packet_id for message in inbox.take()] == [0, 1, 2]
    inbox.put(heard(3))
    assert [message.packet_id for message in inbox.take()] == [3]


@pytest.mark.parametrize(
    ("most", "most_bytes", "sizes"),
    [(2, 1000, [1, 1, 1]), (100, 10, [6, 6, 1]), (100, 10, [50, 1, 1])],
    ids=["messages", "bytes", "one large message"],
)
def test_a_full_inbox_makes_the_sender_wait(most: int, most_bytes: int, sizes: list[int]) -> None:
    inbox = Inbox(most, most_bytes)
    sent: list[int] = []
    waits = threading.Event()

    def send() -> None:
        for number, size in enumerate(sizes):
            if number == len(sizes) - 1:
                waits.set()
            inbox.put(heard(number, size))
            sent.append(number)

    sender = threading.Thread(target=send)
    sender.start()
    taken: list[int] = []
    if most_bytes < sizes[0]:
        taken += [message.packet_id for message in inbox.take()]
    while len(taken) < len(sizes):
        messages = inbox.take()
        # No take brings more than fits, however long the sender has had.
        assert len(messages) <= most
        assert sum(len(message.payload) for message in messages[:-1]) < most_bytes
        taken += [message.packet_id for message in messages]
    sender.join(WAITS_S)
    assert waits.is_set()
    assert taken == sent == list(range(len(sizes)))


def test_a_closed_inbox_wakes_both_sides() -> None:
    inbox = Inbox(1, 1000)
    inbox.put(heard(0))
    answers: list[bool] = []
    sender = threading.Thread(target=lambda: answers.append(inbox.put(heard(1))))
    sender.start()
    inbox.close()
    sender.join(WAITS_S)
    assert answers == [False]
    assert [message.packet_id for message in inbox.take()] == [0]
    assert inbox.take() == []
    assert inbox.put(heard(2)) is False


def test_a_taker_that_waits_is_woken_by_the_end() -> None:
    inbox = Inbox(1, 1000)
    taken: list[list[Heard]] = []
    taker = threading.Thread(target=lambda: taken.append(inbox.take()))
    taker.start()
    inbox.close()
    taker.join(WAITS_S)
    assert taken == [[]]


@pytest.mark.parametrize(
    ("most", "most_bytes", "number"),
    [(5000, 5000, ENOUGH), (100, 5000, 100)],
    ids=["enough", "full"],
)
def test_a_patient_taker_waits_until_there_are_enough(
    most: int, most_bytes: int, number: int
) -> None:
    inbox = Inbox(most, most_bytes)
    taken: list[list[Heard]] = []
    taker = threading.Thread(target=lambda: taken.append(inbox.take(patience_s=WAITS_S / 2)))
    taker.start()
    for packet_id in range(number):
        assert inbox.put(heard(packet_id))
    taker.join(WAITS_S)
    assert [message.packet_id for message in taken[0]] == list(range(number))


def test_a_patient_taker_does_not_wait_for_the_end() -> None:
    inbox = Inbox(5000, 5000)
    inbox.put(heard(0))
    inbox.close()
    assert len(inbox.take(patience_s=10 * WAITS_S)) == 1
