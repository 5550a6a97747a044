"""A window that fills in real forms over HTTP: it reads the page it is given, keeps its cookies, sends what a person would send."""

import http.client
import re
import selectors
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from html.parser import HTMLParser
from urllib.parse import urlencode, urljoin, urlsplit

REDIRECTS = 10
FORM_TAGS = re.compile(
    r"<textarea\b.*?</textarea\s*>|<(?:form|input|button|select|option)\b(?:[^>\"']|\"[^\"]*\"|'[^']*')*>",
    re.DOTALL | re.IGNORECASE,
)
"""What of a page a form is read from. A parser is slow: it is given these tags alone."""


class Stuck(Exception):
    """The rehearsal cannot go on: what page, and what it said."""


@dataclass
class Control:
    """One control of a form. `options` = values of radio buttons or checkboxes of this name; `value` what is chosen or typed."""

    kind: str
    name: str
    value: str = ""
    options: list[str] = field(default_factory=list)


@dataclass
class Form:
    action: str
    method: str
    controls: dict[str, Control] = field(default_factory=dict)

    def choices_made(self) -> dict[str, str]:
        """A choice for each set of radio buttons in which nothing is chosen: yes, or the first. Nothing that vouches is chosen by the form."""
        return {
            name: "yes" if "yes" in one.options else one.options[0]
            for name, one in self.controls.items()
            if one.kind == "radio" and not one.value and name != "signer"
        }

    def filled(self, values: Mapping[str, str | list[str]]) -> list[tuple[str, str]]:
        """What is sent: the form's own values with these put in. Raises Stuck for a name the form does not have."""
        unknown = [name for name in values if name not in self.controls]
        if unknown:
            raise Stuck(f"{self.action} has no control {unknown[0]}; it has {', '.join(self.controls)}")
        sent = []
        for name, control in self.controls.items():
            value = values.get(name, control.value)
            for one in value if isinstance(value, list) else [value]:
                if one or control.kind not in ("radio", "checkbox", "submit"):
                    sent.append((name, one))
        return sent


@dataclass
class Page:
    status: int
    path: str
    body: bytes
    headers: Mapping[str, str]

    @property
    def text(self) -> str:
        return self.body.decode("utf-8", "replace")

    @cached_property
    def forms(self) -> list[Form]:
        return _Reader.read("".join(FORM_TAGS.findall(self.text)))[0]

    def form(self, action: str = "") -> Form:
        """The form with this action (or its beginning), else the only one that posts."""
        found = [f for f in self.forms if f.method == "post" and (f.action == action or not action)] or [
            f for f in self.forms if action and f.action.startswith(action)
        ]
        if not found:
            raise Stuck(f"{self.path} ({self.status}) has no form {action}: {self.said()}")
        return found[0]

    def said(self) -> str:
        """What the page refuses, as a person would read it."""
        return " ".join(_Reader.read(self.text)[1].split())[:600]


class _Reader(HTMLParser):
    """Forms of a page, and the words of its alerts."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.forms: list[Form] = []
        self.alert, self.depth = 0, 0
        self.area: Control | None = None
        self.words: list[str] = []

    @classmethod
    def read(cls, text: str) -> tuple[list[Form], str]:
        reader = cls()
        reader.feed(text)
        return reader.forms, " ".join(reader.words)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append(Form(given.get("action", ""), given.get("method", "get")))
        elif tag in ("input", "textarea", "button", "select") and given.get("name") and self.forms:
            self.control(tag, given)
        elif tag == "option" and self.forms:
            self.option(given)
        if self.alert and tag not in _VOID:
            self.depth += 1
        elif given.get("role") == "alert":
            self.alert, self.depth = 1, 1

    def control(self, tag: str, given: Mapping[str, str]) -> None:
        """One field or button of the form that opened last."""
        kind, name, value = given.get("type", tag), given["name"], given.get("value", "")
        controls = self.forms[-1].controls
        if tag != "button" and name in controls and controls[name].kind == "submit":
            del controls[name]  # the field itself, beside a button that fills it in at one tap
        control = controls.setdefault(name, Control("submit" if tag == "button" else kind, name))
        if kind in ("radio", "checkbox"):
            control.options.append(value)
            if "checked" in given:
                control.value = value
        elif tag == "textarea":
            self.area = control
        elif tag == "input":
            control.value = value

    def option(self, given: Mapping[str, str]) -> None:
        """One line of the list that opened last."""
        control = list(self.forms[-1].controls.values())[-1]
        control.options.append(given.get("value", ""))
        if "selected" in given or len(control.options) == 1:
            control.value = given.get("value", "")

    def handle_data(self, data: str) -> None:
        if self.area is not None:
            self.area.value += data
        if self.alert:
            self.words.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self.area is not None:
            self.area.value = self.area.value.strip()
            self.area = None
        if self.alert and tag not in _VOID:
            self.depth -= 1
            self.alert = int(self.depth > 0)


_VOID = frozenset(
    {
        "area",
        "base",
        "br",
        "col",
        "embed",
        "hr",
        "img",
        "input",
        "link",
        "meta",
        "source",
        "use",
        "path",
        "line",
        "circle",
    }
)


class Window:
    """One browser window, which stands for one tablet."""

    def __init__(self, port: int, host: str = "127.0.0.1"):
        self.host, self.port = host, port
        self.cookies: dict[str, str] = {}
        self._line: http.client.HTTPConnection | None = None
        self.requests = 0
        self._open: Page | None = None

    def get(self, path: str) -> Page:
        return self._follow("GET", path, None, {})

    def opened(self, path: str) -> Page:
        """This page: as it is open, where the last answer led there and nobody looked yet; else loaded."""
        page, self._open = self._open, None
        here = page is not None and page.status == 200 and page.path.partition("?")[0] == path
        return page if page and here else self.get(path)

    def post(self, path: str, fields: list[tuple[str, str]]) -> Page:
        return self._follow(
            "POST",
            path,
            urlencode(fields).encode(),
            {"Content-Type": "application/x-www-form-urlencoded", "Origin": f"http://{self.host}:{self.port}"},
        )

    def send(self, form: Form, values: Mapping[str, str | list[str]] = {}) -> Page:
        return self.post(form.action, form.filled(values))

    def upload(self, form: Form, name: str, files: Sequence[tuple[str, bytes]], **values: str) -> Page:
        """Send a form with files, each `(file name, bytes)`; `values`: of its other controls."""
        edge = "tape-and-seal-edge"
        parts = [
            f'--{edge}\r\nContent-Disposition: form-data; name="{k}"\r\n\r\n{v}\r\n'.encode()
            for k, v in form.filled(values)
            if k != name
        ]
        for filename, data in files:
            head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="{filename}"\r\nContent-Type: application/octet-stream\r\n\r\n'
            parts.append(head.encode() + data + b"\r\n")
        return self._follow(
            "POST",
            form.action,
            b"".join(parts) + f"--{edge}--\r\n".encode(),
            {"Content-Type": f"multipart/form-data; boundary={edge}", "Origin": f"http://{self.host}:{self.port}"},
        )

    def _follow(self, method: str, path: str, body: bytes | None, headers: Mapping[str, str]) -> Page:
        for _ in range(REDIRECTS):
            page = self._open = self._once(method, path, body, headers)
            if page.status not in (301, 302, 303, 307):
                return page
            method, path, body, headers = "GET", urljoin(path, _relative(page.headers["location"])), None, {}
        raise Stuck(f"{path} goes round in circles")

    def _once(self, method: str, path: str, body: bytes | None, headers: Mapping[str, str]) -> Page:
        self.requests += 1
        sent = {"Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items()), **headers}
        for again in (True, False):
            if self._line is None or _hung_up(self._line):
                self.close()
                self._line = http.client.HTTPConnection(self.host, self.port, timeout=120)
            try:
                self._line.request(method, path, body, sent)
                answer = self._line.getresponse()
                data = answer.read()
                break
            except (http.client.HTTPException, ConnectionError):
                self.close()
                if not again or method != "GET":
                    raise
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                self.cookies[key] = rest.split(";")[0]
        if answer.getheader("Connection", "").lower() == "close":
            self.close()
        return Page(answer.status, path, data, {k.lower(): v for k, v in answer.getheaders()})

    def close(self) -> None:
        if self._line:
            self._line.close()
            self._line = None


def _hung_up(line: http.client.HTTPConnection) -> bool:
    """Whether the laptop closed this idle connection: between two requests only its end can be read from it."""
    if line.sock is None:
        return False  # not open yet: it opens itself
    with selectors.DefaultSelector() as ready:
        ready.register(line.sock, selectors.EVENT_READ)
        return bool(ready.select(0))


def _relative(location: str) -> str:
    parts = urlsplit(location)
    return parts.path + (f"?{parts.query}" if parts.query else "")
