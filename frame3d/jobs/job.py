"""A job file as it was read: its tables, and the text that errors point into."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from frame3d.jobs.locate import KeyPath
from frame3d.jobs.schema import JobFile
from frame3d.jobs.validation import fail, key_text
from frame3d.model import Shop


@dataclass(frozen=True)
class Job:
    """tables: what the file says; shop: of the shop file that it names; parts: the shop's own rows
    of the part tables, by table."""

    file: Path
    text: str
    data: dict[str, Any]
    tables: JobFile
    shop: Shop
    parts: Mapping[str, Sequence[Mapping[str, object]]]

    def refuse(self, path: KeyPath, problem: str) -> NoReturn:
        """Raise a JobError that points at `path`."""
        fail(self.file, self.text, path, key_text(path, self.data), problem)
