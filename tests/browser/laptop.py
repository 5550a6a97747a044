"""The laptop's program in a process of its own, which a test may kill without warning and start again on the same folder and port."""

import multiprocessing
import resource
import socket
from pathlib import Path

import webapp
from tests.pages.scene import Scene
from webapp.gate import verifier
from webapp.record import check_words
from webapp.serving.server import serve, serve_in_thread
from webapp.settings import Settings

PROGRAMS = multiprocessing.get_context(
    "forkserver"
)  # one process has the program imported, and each laptop is a child of that one
PRELOADED = [
    __name__,
    "webapp.pages.place.routes",
    "webapp.pages.place.site.place_site",
]  # the last two: what an app of a place imports
PROGRAMS.set_forkserver_preload(PRELOADED)


def costs() -> tuple[int, ...]:
    """What a PIN and check words cost in this process."""
    return verifier.MEMORY_KIB, verifier.PASSES, check_words.MEMORY_KIB, check_words.PASSES


def program(folder: Path, port: int, start: int, limited: bool, cost: tuple[int, ...], ready) -> None:
    """Serve this folder until the process is killed; `ready` (a pipe) hears when it is open. cost: see `costs`."""
    verifier.MEMORY_KIB, verifier.PASSES, check_words.MEMORY_KIB, check_words.PASSES = cost
    if limited:
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
    app = webapp.create_app(Settings("place", folder, port=port, clock="scripted", start=start))
    app.extensions["room"].clock.go()
    serve(app, "127.0.0.1", port, lambda port: ready.send("ready"))


class Laptop:
    """Serves `folder` at http://localhost:PORT from the moment `now` (ms UTC) of a practice day, which then goes on by itself."""

    def __init__(self, folder: Path, now: int):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.folder, self.now, self.child = folder, now, None
        self.root = f"http://localhost:{self.port}"

    def start(self, limited: bool = False) -> "Laptop":
        """limited: no file of the program may be written until its limit is lifted (Linux)."""
        hears, tells = PROGRAMS.Pipe(duplex=False)
        self.child = PROGRAMS.Process(target=program, args=(self.folder, self.port, self.now, limited, costs(), tells))
        self.child.start()
        tells.close()
        assert hears.recv() == "ready"
        return self

    def kill(self) -> None:
        """SIGKILL: no goodbye, no flush."""
        if self.child:
            self.child.kill()
            self.child.join()
            self.child = None


class ServedLaptop:
    """A scene that is put out of reach and back within it at the same port; its clock goes on by itself.

    For what a tablet does meanwhile. Where SIGKILL itself is the point, a `Laptop` is killed: starting one costs two seconds of a core.
    """

    def __init__(self, scene: Scene):
        self.scene, self.port = scene, scene.running.port
        self.root = f"http://localhost:{self.port}"
        scene.room.clock.go()

    def start(self) -> "ServedLaptop":
        self.scene.running = serve_in_thread(self.scene.app, port=self.port)
        return self

    def kill(self) -> None:
        self.scene.running.stop()
