"""The single document as a JSON Schema (draft 2020-12), for editors that check and complete what is typed."""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import GenerateJsonSchema, models_json_schema

from showvc.document.bodies import Body
from showvc.document.head import Head
from showvc.document.names import ID, RESERVED
from showvc.document.shapes import SECTIONS, fields_of, members

DIALECT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]


class _Plain(GenerateJsonSchema):
    """Defaults as they would be written: a set is a list, what may be absent has none."""

    def default_schema(self, schema: Any) -> Any:
        inner = self.generate_inner(schema["schema"])
        default = schema.get("default")
        if isinstance(default, frozenset):
            default = members(default)
        return inner if default is None or isinstance(default, Body | dict) else {**inner, "default": default}

    def dict_schema(self, schema: Any) -> Any:
        """A name that is not in the pattern is none."""
        made = super().dict_schema(schema)
        return {**made, "additionalProperties": False} if "patternProperties" in made else made

    def nullable_schema(self, schema: Any) -> Any:
        """What is absent is left out, not null."""
        return self.generate_inner(schema["schema"])


def document_schema() -> Schema:
    """The schema of a whole show in one document, with one definition for each kind of body."""
    bodies_of: list[type[Body]] = [Head, *SECTIONS.values()]
    models: list[tuple[type[Body], Any]] = [(model, "validation") for model in bodies_of]
    made, known = models_json_schema(models, by_alias=True, schema_generator=_Plain)
    bodies = known["$defs"]
    for model in _every(Head, *SECTIONS.values()):
        _in_words(bodies[model.__name__], model)
    head = bodies.pop("Head")
    bodies["Id"] = {"type": "string", "pattern": f"^{ID.pattern}$", "not": {"enum": sorted(RESERVED)}}
    names = {"$ref": "#/$defs/Id"}
    sections = {
        section: {"type": "object", "propertyNames": names, "additionalProperties": made[model, "validation"]}
        for section, model in SECTIONS.items()
    }
    return {
        "$schema": DIALECT,
        "title": "A show: the configuration of a production's intercom",
        **{name: part for name, part in head.items() if name != "title"},
        "properties": {**head["properties"], **sections},
        "required": ["format"],
        "$defs": bodies,
    }


def _every(*models: type[Body]) -> list[type[Body]]:
    """These models and all that stand in them, each once."""
    found: dict[type[Body], None] = {}
    waiting = list(models)
    while waiting:
        model = waiting.pop(0)
        if model not in found:
            found[model] = None
            for _, _, shape in fields_of(model):
                inner = shape.model or (shape.item and shape.item.model)
                waiting += [inner] if inner else []
    return list(found)


def _in_words(schema: Schema, model: type[Body]) -> None:
    """Gives each field the words that a person calls it by."""
    for _, written, shape in fields_of(model):
        schema["properties"][written]["title"] = shape.words[:1].upper() + shape.words[1:]
