"""What this machine can draw on: a display, or a renderer that needs none."""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

# Renderers of Linux that need no display, with the libraries that each may take, best first.
RENDERERS = (
    ("vtkEGLRenderWindow", ("libEGL.so.1", "libEGL.so")),
    ("vtkOSOpenGLRenderWindow", ("libOSMesa.so.8", "libOSMesa.so.6", "libOSMesa.so")),
)
CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"  # VTK's own variable


class NoRendererError(Exception):
    """Nothing here can draw; its text says what to install."""


def has_display() -> bool:
    """Whether a window can be opened here."""
    if sys.platform in ("win32", "darwin"):
        return True
    return _x_answers(os.environ.get("DISPLAY", ""))


@cache
def _x_answers(display: str) -> bool:
    """Whether the X server of that name answers; on Wayland that is XWayland, as VTK wants."""
    x11 = _library("libX11.so.6") if display else None
    if x11 is None:
        return False
    x11.XOpenDisplay.restype = ctypes.c_void_p
    x11.XCloseDisplay.argtypes = [ctypes.c_void_p]
    opened = x11.XOpenDisplay(display.encode())
    if opened:
        x11.XCloseDisplay(opened)
    return bool(opened)


def _library(name: str) -> ctypes.CDLL | None:
    try:
        return ctypes.CDLL(name)
    except OSError:
        return None


@contextmanager
def renderer_chosen() -> Iterator[None]:
    """Where there is no display, have what is opened in the block draw without, instead of looking
    for one. Raises NoRendererError where nothing can draw."""
    if has_display() or os.environ.get(CHOICE):
        yield
        return
    for renderer, libraries in RENDERERS:
        if any(_library(name) for name in libraries):
            os.environ[CHOICE] = renderer
            try:
                yield
            finally:
                os.environ.pop(CHOICE, None)
            return
    raise NoRendererError(
        "there is neither a display nor a renderer that does without one; "
        "install Mesa's libEGL (Debian: libegl1 and libgl1-mesa-dri)"
    )


def no_renderer() -> str:
    """Why nothing here can draw, and what to install; nothing where something can."""
    try:
        with renderer_chosen():
            return ""
    except NoRendererError as error:
        return str(error)
