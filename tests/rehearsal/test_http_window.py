"""The rehearsal's window on a line that the laptop closes between two requests: a form is sent on a new line, never twice on the old one."""

import socket
import threading

from demo_precinct.http_window import Window

ANSWER = b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\nok"


def test_a_form_goes_out_on_a_new_line_when_the_laptop_hung_up():
    with socket.create_server(("127.0.0.1", 0)) as laptop:
        lines, closed = [], threading.Semaphore(0)

        def serve() -> None:
            for _ in range(3):
                line, _ = laptop.accept()
                lines.append(line.recv(65536))
                line.sendall(ANSWER)
                line.close()
                closed.release()

        server = threading.Thread(target=serve, daemon=True)
        server.start()
        window = Window(laptop.getsockname()[1])
        for _ in range(3):
            assert window.post("/note", [("what", "lamp")]).status == 200
            assert closed.acquire(timeout=5)
        window.close()
        server.join(5)
    assert len(lines) == 3 and all(line.startswith(b"POST /note") for line in lines)
