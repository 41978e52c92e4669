"""Put a sound SQLite under Python before Django looks for one.

SQLite 3.7.0 to 3.51.2 can corrupt a database in WAL mode when two connections write and checkpoint at once; that is
a web server with a worker. The wheel `pysqlite3` brings a mended build.
"""

import sys

import pysqlite3

__all__ = ["install"]


def install() -> None:
    """Make `import sqlite3` give the mended build in this process."""
    sys.modules["sqlite3"] = pysqlite3
    sys.modules["sqlite3.dbapi2"] = pysqlite3.dbapi2
