"""The rehearsal's window reads a form from its tags alone. On a line that the laptop closes between two requests a form is sent on a new line, never twice on the old one."""

import socket
import threading

from demo_precinct.http_window import Page, Window, _Reader

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


def test_the_forms_of_a_page_are_read_from_their_tags_alone():
    text = """<p>A &lt;form&gt; is <b title="&lt;input name=no&gt;">below</b>.</p><form method=post
        action="/a?b=1&amp;c=2"><label>Ink <INPUT name="ink" value="1 > 0" checked></label>
        <input type='radio' name='r' value='it is "so"'><input type=radio name=r value=no checked>
        <select name=s><option value=1>one<option value=2 selected>two</select><textarea name=t>
        a &amp; b
        </textarea><button name=s value=3>Send</button></form><formula><inputs name=none>"""
    for page in (text, text * 2, text.replace("\n", "\r\n")):
        forms = Page(200, "/", page.encode(), {}).forms
        assert forms == _Reader.read(page)[0]
    first = {name: one.value for name, one in forms[0].controls.items()}
    assert (forms[0].action, first["ink"], first["r"], first["s"]) == ("/a?b=1&c=2", "1 > 0", "no", "2")
    assert first["t"].split() == ["a", "&", "b"] and list(first) == ["ink", "r", "s", "t"]
