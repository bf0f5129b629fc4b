"""Typed models of what `--json` prints: each names its format, and gives its JSON Schema."""

from typing import Any

from pydantic import BaseModel, ConfigDict


class Part(BaseModel):
    """A table within a document: these keys and no others."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Document(Part):
    """What one command prints. Its first field is `format`: name and version, the version one more
    whenever a key that there was means something else."""

    @classmethod
    def schema_of_output(cls) -> dict[str, Any]:
        """JSON Schema, draft 2020-12, of what is printed: every key is there, null where there is
        no such number."""
        schema = cls.model_json_schema(mode="serialization")
        return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
