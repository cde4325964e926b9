"""What is used as a context manager and has to be closed: processes, files, databases."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Self


class Closing(ABC):
    """Use in a `with` block, or call `close`."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_error: object) -> None:
        self.close()

    @abstractmethod
    def close(self) -> None:
        """End what is under way and let go of it. Whatever was raised goes on."""
