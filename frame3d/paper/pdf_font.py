"""The fonts of our PDFs, embedded as far as they are used, and searchable beyond Unicode's first
plane, where most emoji are."""

import re
from functools import cache
from pathlib import Path
from typing import Any

from frame3d.fonts import font_file

# A code point of more than four digits in a table from code to Unicode, as reportlab writes it.
_LONG_CODE = re.compile(r"<([0-9A-F]{5,6})>")


def pdf_font(words: str = "", bold: bool = False) -> str:
    """The name under which reportlab has a font with all letters of `words`, as they are drawn."""
    return _registered(font_file(words, bold))


@cache
def _registered(file: Path) -> str:
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    class Searchable(TTFont):  # type: ignore[misc]
        """With code points past U+FFFF as the table wants them, in UTF-16 (ISO 32000-1, 9.10.3)."""

        def addObjects(self, doc: Any) -> None:  # noqa: N802  reportlab's name
            super().addObjects(doc)
            for key, stream in doc.idToObject.items():
                if key.startswith("toUnicodeCMap:"):
                    stream.content = _LONG_CODE.sub(_as_utf_16, stream.content)

    name = f"Frame3d {file.parent.name} {file.stem}"
    registerFont(Searchable(name, str(file)))
    return name


def _as_utf_16(code: re.Match[str]) -> str:
    return f"<{chr(int(code[1], 16)).encode('utf-16-be').hex().upper()}>"
