"""A PostgreSQL of a test's own on this machine's loopback, whose server can be killed."""

import os
import shutil
import signal
import socket
import subprocess
from pathlib import Path

__all__ = ["OwnPostgresql"]

TRIES = 60


class OwnPostgresql:
    """A fresh cluster in a folder; the server does not run as root."""

    def __init__(self, folder: Path) -> None:
        found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
        assert found, "PostgreSQL is not installed: apt-get install postgresql"
        self.programs, self.folder = found[-1].parent, folder
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        if os.getuid() == 0:
            shutil.chown(folder, "postgres")
        self._run("initdb", "--username", "studio", "--auth", "trust", "--encoding", "UTF8", "--locale", "C.UTF-8")
        self.start()
        self._run("createdb", "--host", "127.0.0.1", "--port", str(self.port), "--username", "studio", "studio")

    @property
    def url(self) -> str:
        """What `DATABASE_URL` is to be."""
        return f"postgres://studio@127.0.0.1:{self.port}/studio"

    @property
    def books(self) -> Path:
        """The cluster's own folder."""
        return self.folder / "books"

    def start(self) -> None:
        """Start it, and return once it has recovered and answers; what a killed server left may take a moment to go."""
        told = f"-c listen_addresses=127.0.0.1 -c port={self.port} -c unix_socket_directories={self.folder}"
        for tries_left in reversed(range(TRIES)):
            try:
                self._run("pg_ctl", "--log", str(self.folder / "log"), "--wait", "--silent", "--options", told, "start")
            except subprocess.CalledProcessError:
                if not tries_left:
                    raise
            else:
                return

    def kill(self) -> None:
        """End the server and all that work for it as a power cut does."""
        pid = int((self.books / "postmaster.pid").read_text().split()[0])
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        for each in (pid, *map(int, children)):
            os.kill(each, signal.SIGKILL)
        while any(_is_alive(each) for each in (pid, *map(int, children))):
            os.sched_yield()

    def stop(self) -> None:
        """Stop it for good."""
        self._run("pg_ctl", "--mode", "immediate", "--silent", "stop")

    def _run(self, program: str, *arguments: str) -> None:
        of_books = [] if program == "createdb" else ["--pgdata", str(self.books)]
        as_server = ["runuser", "-u", "postgres", "--"] if os.getuid() == 0 else []
        command = [*as_server, str(self.programs / program), *of_books, *arguments]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd="/")


def _is_alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"
