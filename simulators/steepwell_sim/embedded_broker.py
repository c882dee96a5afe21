"""The embedded broker as a process: ``python -m steepwell_sim.embedded_broker PORT``."""

from __future__ import annotations

import asyncio
import logging
import signal
import sys

from amqtt.broker import Broker


async def _serve(port: int) -> None:
    broker = Broker(
        {
            "listeners": {"default": {"type": "tcp", "bind": f"127.0.0.1:{port}"}},
            "plugins": {
                "amqtt.plugins.authentication.AnonymousAuthPlugin": {"allow_anonymous": True}
            },
        }
    )
    await broker.start()
    ended = asyncio.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        asyncio.get_running_loop().add_signal_handler(number, ended.set)
    await ended.wait()
    await broker.shutdown()


if __name__ == "__main__":
    logging.basicConfig(level=logging.ERROR)
    asyncio.run(_serve(int(sys.argv[1])))
