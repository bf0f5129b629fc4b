"""The last good frame of a job whose files are being edited, and what is wrong with the newest."""

import threading
import time
import tomllib
from pathlib import Path

from frame3d.build import Build
from frame3d.jobs import JobError
from frame3d.view.scene import VIEW_CHORD_MM
from frame3d.view.version import Version
from frame3d.web.page import page_html

SETTLE_S = 0.015  # an editor may still be writing
NAMES_FILE = ("shop", "tubes")  # keys of [job] that name another file

Stamp = tuple[tuple[str, int, int, int], ...]


class Watch:
    """Tells when the files of a job have changed; also when another file takes a name's place.

    It asks the file system again and again, which works alike on all systems and shares.
    """

    def __init__(self, job: Path) -> None:
        self._job = job
        self._named: tuple[Path, ...] = ()
        self._read: tuple[str, int, int, int] | None = None  # the job's stamp when last read
        self._stamp = self._look()

    def changed(self) -> bool:
        """Whether anything has changed since the last call, once it has come to rest."""
        now = self._look()
        if now == self._stamp:
            return False
        while True:
            time.sleep(SETTLE_S)
            later = self._look()
            if later == now:
                break
            now = later
        self._stamp = now
        return True

    def check(self) -> None:
        """Raises JobError where one of the files is no plain file any more."""
        for path in (self._job, *self._named):
            if _is_special(path):
                raise JobError(path, "is no file any more, expected a job or shop file")

    def _look(self) -> Stamp:
        own = _stamp(self._job)
        if own != self._read:
            self._read, self._named = own, self._files_named()
        return (own, *(_stamp(path) for path in self._named))

    def _files_named(self) -> tuple[Path, ...]:
        """Files that the job's [job] table names, such as its shop; while it cannot be read, those
        that it named last."""
        if _is_special(self._job):
            return self._named
        try:
            table = tomllib.loads(self._job.read_text(encoding="utf-8-sig")).get("job", {})
        except (OSError, ValueError, RecursionError):
            return self._named
        words = [table.get(key) for key in NAMES_FILE] if isinstance(table, dict) else []
        return tuple(
            self._job.parent / word for word in words if isinstance(word, str) and "\0" not in word
        )


def _is_special(path: Path) -> bool:
    """Whether a pipe or a device stands there, which would hold up its reader."""
    try:
        return not (path.is_file() or path.is_dir()) and path.exists()
    except OSError:
        return False  # told by its reader


def _stamp(path: Path) -> tuple[str, int, int, int]:
    try:
        found = path.stat()
    except OSError:
        return str(path), 0, 0, 0
    return str(path), found.st_mtime_ns, found.st_size, found.st_ino


class Live:
    """version: the last good one; fault: what is wrong with the files now, or None.

    A new frame is told as soon as it can be shown, and again when all of it is checked. number
    grows with each change, and drawn is the number of the newest picture; `news` wakes those who
    wait for one. Other threads only read.
    """

    def __init__(self, job: Path) -> None:
        """Raises JobError where there is no good frame to begin with."""
        self._job = job
        self._watch = Watch(job)
        self._build = Build.of_job(job, chord=VIEW_CHORD_MM)
        self._judged = True  # or the joints alone so far
        self.version: Version = self._build.version(gaps=True)
        self.fault: str | None = None
        self.number = self.drawn = 1
        self.news = threading.Condition()
        self._written = (0, "")  # the number of the newest page, and its text

    def look(self) -> bool:
        """Read the files again if they have changed, or else go on with what is still to check;
        says whether there is anything new. A change that comes meanwhile goes first."""
        changed = self._watch.changed()
        try:
            if changed:
                self._watch.check()
                build = Build.of_job(self._job, after=self._build)
                self._tell(None, build.version(gaps=True, judged=False))
                self._build, self._judged = build, False
            elif not self._judged:
                self._judged = True
                self._tell(self.fault, self._build.version(gaps=True))
            else:
                return False
        except JobError as error:
            self._tell(str(error))
        except Exception as error:  # whatever is in the files, the last good frame stays
            self._tell(f"{self._job}: cannot be shown: {error or type(error).__name__}")
        return True

    def _tell(self, fault: str | None, version: Version | None = None) -> None:
        with self.news:
            self.number += 1
            if version is not None:
                self.drawn = self.number if version.scene is not self.version.scene else self.drawn
                self.version = version
            self.fault = fault
            self.news.notify_all()

    def page(self) -> str:
        """The page of the last good frame, written when first asked for."""
        with self.news:
            number, version, (written, text) = self.number, self.version, self._written
        if written != number:
            text = page_html(version.frame.name, version.told, (version,), live=number)
            self._written = (number, text)
        return text
