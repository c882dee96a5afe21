from __future__ import annotations

import socket
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.errors import BrokerError
from steepwell_sim.broker import Kind, run_broker
from steepwell_sim.network import Network

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell_sim.broker import RunningBroker


@pytest.mark.parametrize(("kind", "protocol"), [("mosquitto", "5"), ("embedded", "3.1.1")])
def test_each_broker_carries_a_message_and_ends(
    kind: Kind, protocol: str, ear: Callable[..., Any]
) -> None:
    try:
        with run_broker(kind) as broker:
            assert broker.protocol == protocol
            network = Network(broker.host, broker.port)
            hearing, device = ear(network, "plot/a", "plot/b"), network.add("device")
            with network:
                device.publish("plot/b", b"12.5")
                assert hearing.next() == ("plot/b", b"12.5")
    except BrokerError as error:
        pytest.skip(str(error))
    with pytest.raises(OSError, match="refused"):
        socket.create_connection((broker.host, broker.port), timeout=1).close()


def test_nobody_answers() -> None:
    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        network = Network("127.0.0.1", closed.getsockname()[1])
        network.add("device")
        with pytest.raises(BrokerError, match="No broker answers"), network:
            pass


def test_clients_come_back_when_the_broker_hangs_up(
    broker: RunningBroker, ear: Callable[..., Any]
) -> None:
    network = Network(broker.host, broker.port)
    hearing, device = ear(network, "plot/a"), network.add("device")
    with network:
        device.connected.clear()
        # A second client of the same name: the broker hangs up on the first.
        other = Network(broker.host, broker.port)
        other.add("device")
        with other:
            pass
        assert device.connected.wait(10)
        device.publish("plot/a", b"1")
        assert hearing.next() == ("plot/a", b"1")
