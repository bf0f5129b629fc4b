"""Imports run one way: a room uses only the rooms above it, in DEVELOPERS.md's order."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_a_room_uses_only_the_rooms_above_it() -> None:
    rows = re.findall(r"^\| (`frame3d/.*?) \|", (ROOT / "DEVELOPERS.md").read_text(), re.MULTILINE)
    told = [re.findall(r"`frame3d/(\w+)", row) for row in rows]
    place = {room: number for number, rooms in enumerate(told) for room in rooms}
    files = [f for f in (ROOT / "frame3d").rglob("*.py") if f.name != "__init__.py"]
    assert {f.relative_to(ROOT / "frame3d").parts[0].removesuffix(".py") for f in files} <= {*place}
    for file in files:
        own = place[file.relative_to(ROOT / "frame3d").parts[0].removesuffix(".py")]
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("frame3d."):
                used = place[str(node.module).split(".")[1]]
                assert used <= own, f"{file.relative_to(ROOT)} uses {node.module}"
