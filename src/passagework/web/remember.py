"""A few values that were read lately, kept in memory so that the next page need not read them again."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Value = TypeVar("Value")


class Remembered(Generic[Value]):
    """The last `most` values by their keys; a key must name all that its value depends on. Safe to share by threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._rows: OrderedDict[Hashable, Value] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Hashable, make: Callable[[], Value]) -> Value:
        """The value of `key`, made now if it is not known."""
        with self._lock:
            if key in self._rows:
                self._rows.move_to_end(key)
                return self._rows[key]
        value = make()
        with self._lock:
            self._rows[key] = value
            while len(self._rows) > self._most:
                self._rows.popitem(last=False)
        return value

    def clear(self) -> None:
        """Forget all of them."""
        with self._lock:
            self._rows.clear()
