"""What the trust page and the laptop's screen say to whoever prepares a tablet: the same address, the same fingerprint, codes that an independent reader reads."""

import re
from dataclasses import replace

import pytest
import zxingcpp
from cryptography import x509
from PIL import Image, ImageDraw

from tests.serving.opened_place import HOST, place, prepared  # noqa: F401 - fixtures
from webapp.pages.tablets import tablet_address


def pixels(svg: str, scale: int = 6) -> Image.Image:
    """The drawing of one path in unit squares, as a browser would paint it."""
    whole = int(re.search(r'viewBox="0 0 (\d+) ', svg)[1])
    image = Image.new("L", (whole * scale, whole * scale), 255)
    pen = ImageDraw.Draw(image)
    for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", svg):
        pen.rectangle(
            (int(x) * scale, int(y) * scale, (int(x) + int(width)) * scale - 1, (int(y) + 1) * scale - 1), fill=0
        )
    return image


def codes_of(page: bytes) -> list[str]:
    return [
        zxingcpp.read_barcodes(pixels(svg))[0].text
        for svg in re.findall(r"<svg[^>]*viewBox=\"0 0 \d+ \d+\" shape.*?</svg>", page.decode(), re.DOTALL)
    ]


def groups(page: bytes) -> list[str]:
    return re.findall(r"(?<!555-)\b[0-9A-F]{4}\b(?=\s|<)", page.decode())  # and no number to call


def test_the_trust_page_shows_the_tablets_address_as_a_link_and_as_a_code(place):  # noqa: F811
    address = f"https://{HOST}:{place.port('tablets')}/"
    page = place.ask("trust", "/")[2]

    assert codes_of(page) == [address] and f'href="{address}"' in page.decode()


def test_the_laptops_screen_shows_the_same_and_where_the_certificate_is(place):  # noqa: F811
    page, trust = place.ask("laptop", "/tablets")[2], place.ask("trust", "/")[2]

    assert codes_of(page) == [f"https://{HOST}:{place.port('tablets')}/", f"http://127.0.0.1:{place.port('trust')}/"]
    assert (
        groups(page) == groups(trust) == list(place.app.extensions["room"].doors.fingerprint)
        and len(groups(page)) == 16
    )


def test_the_tablets_own_door_shows_no_such_screen(place):  # noqa: F811
    assert place.ask("tablets", "/tablets", headers={"Accept": "application/json"})[0] in (403, 404)


def test_each_family_of_tablets_has_its_instructions(place):  # noqa: F811
    text = place.ask("trust", "/")[2].decode()

    assert [
        family
        for family in ("Android", "iOS and iPadOS", "Windows", "ChromeOS", "macOS", "Linux")
        if f"<h3>{family}" not in text
    ] == []
    assert (
        "Compare the fingerprint with the one on the laptop's screen" in text
        and "remove the certificate from the tablet" in text
    )


def test_what_the_trust_page_loads_is_there_and_nothing_comes_from_elsewhere(place):  # noqa: F811
    text = place.ask("trust", "/")[2].decode()
    loaded = re.findall(r'(?:href|src)="(/[^"]*)"', text)

    assert set(loaded) == {"/static/ledger.css", "/static/mark.svg", "/authority.crt"}
    assert [
        place.ask("trust", path)[0] for path in (*loaded, "/static/type/text.woff2", "/static/type/text-ext.woff2")
    ] == [200] * 5
    assert [
        place.ask("trust", path)[0] for path in ("/static/page.js", "/static/../ledger.css", "/static/type/regular.ttf")
    ] == [404] * 3


def test_with_an_own_certificate_there_is_nothing_to_install(place, monkeypatch):  # noqa: F811
    monkeypatch.setattr(place.tablets.watched, "shown", replace(place.tablets.watched.shown, authority=None))
    text = place.ask("trust", "/")[2].decode()

    assert "Nothing to install" in text and "fingerprint" not in text
    assert place.ask("trust", "/authority.crt")[0] == 404
    assert b"fingerprint" not in place.ask("laptop", "/tablets")[2]


def test_a_laptop_on_no_network_says_so_on_its_screen(place, monkeypatch):  # noqa: F811
    monkeypatch.setattr("webapp.commands.server.tablet_listeners.addresses", lambda bound: ())

    assert "This laptop is on no network just now." in place.ask("laptop", "/tablets")[2].decode()


@pytest.mark.parametrize(
    "text",
    [
        "https://w3.tarn.example:8611/",
        "http://[fd00::2]:8612/",
        "http://192.168.100.200:65535/",
        "https://" + "a" * 63 + ".example:8611/",
    ],
)
def test_any_address_is_read_back_from_its_code_by_an_independent_reader(text):
    svg = tablet_address.drawn(text, 'a "code" <of> it & more')

    assert zxingcpp.read_barcodes(pixels(svg))[0].text == text
    assert 'aria-label="a &quot;code&quot; &lt;of> it &amp; more"' in svg


def test_the_certificate_is_read_back_from_the_download(place):  # noqa: F811
    body = place.ask("trust", "/authority.crt")[2]
    assert x509.load_der_x509_certificate(body) == place.tablets.watched.shown.authority
