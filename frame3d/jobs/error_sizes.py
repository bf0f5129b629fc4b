"""The shop file's [errors]: how large this shop's own set-up errors are."""

from typing import Annotated, Any

from frame3d.jobs.validation import Kind, nearest, number, table_schema
from frame3d.quantities import described
from frame3d.tables import rows

MEANING = (
    "How far set-ups are off in this shop, as `frame3d errors` prints it: what 19 of 20 stay within"
)
LARGEST = 10.0  # degrees, mm or mm/m: beyond it no shop works


def _sizes(value: object) -> dict[str, float]:
    """Sizes by the names of tables/setup_errors.csv; an underscore may stand for a space."""
    if not isinstance(value, dict):
        raise ValueError(f"found {described(value)}, expected a table [errors]")
    known = {row["error"]: row for row in rows("setup_errors")}
    sizes = {}
    for key, size in value.items():
        name = str(key).replace("_", " ")
        if name not in known:
            raise ValueError(f"unknown key {described(key)}, {nearest(name, known)}")
        unit = known[name]["unit"]
        try:
            sizes[name] = number(size, 0.0, LARGEST, f"a size in {unit}")
        except ValueError as error:
            raise ValueError(f"{name}: {error}") from None
    return sizes


def _schema() -> dict[str, Any]:
    sizes = {
        row["error"].replace(" ", "_"): {
            "type": "number",
            "minimum": 0.0,
            "maximum": LARGEST,
            "unit": row["unit"],
            "description": row["meaning"],
            **({"default": float(row["size"])} if row["size"] else {"examples": [0.05]}),
        }
        for row in rows("setup_errors")
    }
    spaced = {f"^{key.replace('_', ' ')}$": size for key, size in sizes.items() if "_" in key}
    return {**table_schema(sizes), "patternProperties": spaced, "description": MEANING}


ErrorSizes = Annotated[dict[str, float], Kind(_sizes, _schema())]
