"""The desk's camera in a real browser: a film of the codes stands for the tablet that is held in front of it."""

import io
import shutil
import time

import pytest
from PIL import Image, ImageFilter

import webapp
from tests.browser.conftest import NoBrowser, launched
from webapp.packet import codes, frames
from webapp.packet.envelope import parts_of
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

PICTURES_A_CODE = 15  # half a second at 30 pictures a second, as the place's tablet shows them


def film(texts: tuple[str, ...]) -> bytes:
    """Motion JPEG, 640 by 480, as of a poor camera: each code on a grey table, a little turned and out of focus."""
    pictures = []
    for i, text in enumerate(texts):
        code = Image.open(io.BytesIO(codes.as_png(text, 8))).convert("L")
        code = code.resize((420, 420)).rotate(i % 5 - 2, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)
        table = Image.new("L", (640, 480), 120)
        table.paste(code, (90 + 10 * (i % 4), (480 - code.height) // 2))
        jpeg = io.BytesIO()
        table.filter(ImageFilter.GaussianBlur(0.6)).convert("RGB").save(jpeg, "JPEG", quality=80)
        pictures += [jpeg.getvalue()] * PICTURES_A_CODE
    return b"".join(pictures)


@pytest.fixture
def packet(scene) -> tuple[object, bytes]:
    """The played place and its sealed packet."""
    here = scene("packet")
    page = here.window.get("/packet")
    here.crew.signed(page, page.form("/packet/make"), {})
    return here, here.window.get("/packet/packet.cose").body


def test_the_desk_reads_a_whole_packet_from_a_film_of_its_codes(packet, playing, tmp_path, capsys):
    here, sealed = packet
    texts = frames.split(parts_of(sealed))
    (tmp_path / "film.mjpeg").write_bytes(film(texts))
    shutil.copytree(here.office, tmp_path / "office")
    app = webapp.create_app(Settings("office", tmp_path / "office", clock="scripted", start=here.now))
    running = serve_in_thread(app)
    asked, answered = [], []
    try:
        with launched(
            playing,
            "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={tmp_path / 'film.mjpeg'}",
        ) as browser:
            page = browser.new_page()
            page.on("request", lambda request: asked.append(request.url))
            page.on(
                "response",
                lambda answer: answered.append(time.monotonic()) if answer.url.endswith("/intake/frame") else None,
            )
            page.goto(f"http://localhost:{running.port}/intake")
            page.locator("[data-start]").click()
            page.get_by_role("heading", name="Enough codes are in").wait_for(timeout=90_000)
            assert page.locator(".checks li").count() >= 6
    except NoBrowser as why:
        pytest.skip(str(why))
    finally:
        running.stop()
        app.extensions["room"].close()
    assert [url for url in asked if not url.startswith((f"http://localhost:{running.port}/", "blob:"))] == []
    a_second = (len(answered) - 1) / max(answered[-1] - answered[0], 0.001)
    with capsys.disabled():
        print(
            f"\ncamera: {frames.needed(parts_of(sealed))} of {len(texts)} codes wanted, enough after {len(answered)} frames, {a_second:.1f} frames a second"
        )
    assert len(answered) >= frames.needed(parts_of(sealed))
