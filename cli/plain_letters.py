"""Output where a console or a pipe knows few letters, as with Windows' code pages."""

import codecs
import io
import os
import sys
import unicodedata

INSTEAD = {
    "×": "x", "−": "-", "–": "-", "—": "-", "─": "-", "±": "+-", "°": " deg", "µ": "u", "…": "...",
    "‘": "'", "’": "'", "“": '"', "”": '"',
}  # fmt: skip


def let_all_be_told() -> None:
    """Write what the streams cannot encode in plain letters, so that no name ends a command; what
    goes to a stream that is closed is lost, as it was asked for."""
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    codecs.register_error("frame3d-plain", _plain)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="frame3d-plain")


def _plain(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    unknown = error.object[error.start : error.end]
    return "".join(map(_letter, unknown)), error.end


def _letter(letter: str) -> str:
    bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
    return INSTEAD.get(letter) or bare or "?"
