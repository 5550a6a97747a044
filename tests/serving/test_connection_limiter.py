"""The porch: a newcomer who is one too many leaves, and takes no socket with them."""

import asyncio
import socket
from concurrent.futures import ThreadPoolExecutor

from webapp.serving.connection_limiter import ConnectionLimiter


def test_a_newcomer_who_is_shown_out_before_the_first_step_is_closed():
    """One place for this address, and whoever stands there is being answered: the newcomer is the one to go."""

    async def evening() -> tuple[bytes, bytes]:
        loop = asyncio.get_running_loop()
        porch, door = ConnectionLimiter(per_address=1), socket.create_server(("127.0.0.1", 0))
        door.setblocking(False)

        class Answering(asyncio.Protocol):
            def __init__(self, guest):
                self.guest = guest

            def connection_made(self, transport):
                self.guest.is_served()
                transport.write(b"come in")

        receiving = loop.create_task(porch.receive(door, Answering, None))
        inside, _ = await asyncio.open_connection(*door.getsockname())
        said = await asyncio.wait_for(inside.read(7), 5)
        late, _ = await asyncio.open_connection(*door.getsockname())
        shown_out = await asyncio.wait_for(late.read(), 5)
        receiving.cancel()
        door.close()
        return said, shown_out

    with ThreadPoolExecutor(1) as beside:  # a browser test may have left an event loop running in this thread
        assert beside.submit(asyncio.run, evening()).result() == (b"come in", b"")
