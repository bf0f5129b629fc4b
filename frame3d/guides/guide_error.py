"""What cannot be made, said once and clearly."""

from frame3d.model import Printer
from frame3d.model.printer import printer_troubles


class GuideError(ValueError):
    """A guide that cannot be made: the text says why and what would help."""


def checked(printer: Printer) -> Printer:
    """The printer itself. Raises GuideError with the first setting that cannot be used."""
    for name, text in printer_troubles(printer):
        raise GuideError(f"printer, {name}: {text}")
    return printer
