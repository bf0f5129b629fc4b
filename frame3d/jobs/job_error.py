"""What cannot be used in a file, said once and clearly."""

from dataclasses import dataclass
from pathlib import Path

from frame3d.letters import message


@dataclass
class JobError(Exception):
    """problem: what was found and what is expected; line: counted from 1, if it has one."""

    file: Path
    problem: str
    line: int | None = None
    key: str = ""

    def __str__(self) -> str:
        place = [str(self.file)]
        if self.line is not None:
            place.append(f"line {self.line}")
        if self.key:
            place.append(self.key)
        return message(f"{', '.join(place)}: {self.problem}")
