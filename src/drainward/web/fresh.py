"""A file of the job that people edit while the page runs: `Fresh`, its content, read again when the file is another."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Generic, TypeVar

__all__ = ["Fresh"]

T = TypeVar("T")


class Fresh(Generic[T]):
    """read : the path to its content, called when there is a file;  without : the content where there is none.

    May be called from any thread.
    """

    def __init__(self, path: Path, read: Callable[[Path], T], without: T) -> None:
        self._path, self._read, self._without = path, read, without
        self._lock = threading.Lock()
        self._kept: tuple[tuple[int, int, int], T] | None = None

    def __call__(self) -> T:
        """What the file holds now. Raises what `read` raises."""
        with self._lock:
            try:
                stat = self._path.stat()
            except OSError:
                self._kept = None
                return self._without
            stamp = stat.st_mtime_ns, stat.st_size, stat.st_ino
            if self._kept is None or self._kept[0] != stamp:
                self._kept = stamp, self._read(self._path)
            return self._kept[1]
