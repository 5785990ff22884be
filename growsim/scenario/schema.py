"""JSON Schema (draft 2020-12) of a room file, for editors that complete and check TOML as one types.

Made from the models, so that it cannot fall behind. It knows each key by itself; what tables say to one another is for
`growsim check`.
"""

from __future__ import annotations

from typing import Any

from growsim.scenario import usual
from growsim.scenario.anatomy import Anatomy, anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.place import Rack
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.expand import OWN
from growsim.scenario.short.keys import CHANGES_ONE, FOLLOWS, KEYS, LEFT_OUT, LIKE_MODELS, ShortKey
from growsim.scenario.uncertain import NEEDS

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_TYPES = {"number": "number", "whole number": "integer", "text": "string", "choice": "string", "yes or no": "boolean"}
_BOUNDS = {"ge": "minimum", "gt": "exclusiveMinimum", "le": "maximum", "lt": "exclusiveMaximum"}
# Several that are alike, said once: a list may give each its own, so editors leave it to `growsim check`.
_GROUP: dict[str, Any] = {"type": "object", "anyOf": [{"required": ["count"]}, {"required": ["names"]}]}
_TO = r" +(to|until|-|–) +"
_DATE, _EACH_YEAR = r"\d{4}-\d{2}-\d{2}", r"\d{1,2} [A-Z][a-z]+"
_DAYS_IN_A_ROW = f"^{_DATE}{_TO}{_DATE}$|^{_EACH_YEAR}({_TO}{_EACH_YEAR})?$"


def json_schema() -> dict[str, Any]:
    """The schema as nested dictionaries. TOML dates count as texts in the format `date`, as editors have them."""
    definitions: dict[str, Any] = {"Uncertain": _uncertain()}
    top = _table(Scenario, definitions)
    top["required"] = [
        key for key in top["required"] if key not in ("trays", *(kept_in for kept_in, _ in OWN.values()))
    ]
    return {"$schema": DIALECT, "title": "growsim room file", **top, "$defs": dict(sorted(definitions.items()))}


def _table(model: type[Table], definitions: dict[str, Any], part: bool = False) -> dict[str, Any]:
    """A table; with `part`, one that says only some of its keys, over usual values or over what a group says."""
    properties = {name: _key(anatomy_of(field), definitions, part) for name, field in model.model_fields.items()}
    follows = LEFT_OUT.get(model, {})
    fields = () if part else model.model_fields.items()
    required = [name for name, field in fields if field.is_required() and name not in follows]
    described: dict[str, Any] = {
        "type": "object",
        "description": (model.__doc__ or "").strip().splitlines()[0],
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }
    if model in LIKE_MODELS and part:
        names = {"enum": usual.names(LIKE_MODELS[model])}
        properties["like"] = {"anyOf": [names, {"type": "array", "items": names}], "description": _meaning("like")}
    if model in CHANGES_ONE and (part or model is Rack):
        properties["remove"] = {"type": "boolean"}
    if model is Rack:
        described["required"] = ["name"]
        for key, (kept_in, _) in OWN.items():
            inside = anatomy_of(Scenario.model_fields[kept_in])
            assert inside.table is not None
            own = {"$ref": f"#/$defs/{_defined(inside.table, definitions, part=True)}"}
            properties[key] = {"anyOf": [properties[key], own]}
    if model in FOLLOWS:
        short, following = FOLLOWS[model]
        properties |= {row.key: _short(row) for row in KEYS if row.key in short}
        described["required"] = [key for key in required if key not in following]
        if not part:
            needed = [key for key in following if key in required]
            described["anyOf"] = [{"required": needed}, *({"required": [key]} for key in short)]
    return described


def _short(row: ShortKey) -> dict[str, Any]:
    noted = {"type": row.kind, "description": row.meaning}
    return {**noted, "items": {"type": "string"}} if row.kind == "array" else noted


def _meaning(key: str) -> str:
    return next(row.meaning for row in KEYS if row.key == key)


def _defined(model: type[Table], definitions: dict[str, Any], *, part: bool) -> str:
    """The name under which a table is described."""
    name = f"{model.__name__}{'Part' if part else ''}"
    if name not in definitions:
        definitions[name] = {}  # holds the place while its own keys are read
        definitions[name] = _table(model, definitions, part)
    return name


def _key(what: Anatomy, definitions: dict[str, Any], part: bool = False) -> dict[str, Any]:
    meaning = f"{what.meaning} [{what.unit}]" if what.unit not in ("", "-", "date") else what.meaning
    noted: dict[str, Any] = {"description": meaning}
    if what.example is not None:
        noted["examples"] = [what.example]
    if what.kind == "figure":
        limits = {_BOUNDS[sign]: limit for sign, limit in what.bounds.items()}
        return {"anyOf": [{"type": "number", **limits}, {"$ref": "#/$defs/Uncertain"}], **noted}
    if what.kind in ("table", "tables"):
        assert what.table is not None
        inside: dict[str, Any] = {"$ref": f"#/$defs/{_defined(what.table, definitions, part=part)}"}
        ways = [inside]
        if what.table in CHANGES_ONE[1:] and not part:
            some = {"$ref": f"#/$defs/{_defined(what.table, definitions, part=True)}"}
            ways.append({"allOf": [some], "required": ["name"]})
        elif what.table in LIKE_MODELS and not part:
            some = {"$ref": f"#/$defs/{_defined(what.table, definitions, part=True)}"}
            ways.append({"allOf": [some], "required": ["like"]})
        inside = {"anyOf": ways} if len(ways) > 1 else inside
        if what.kind == "tables" and not part and _may_be_alike(what.table):
            some = {"$ref": f"#/$defs/{_defined(what.table, definitions, part=True)}"}
            one_of_it = {"allOf": [some], "required": ["name"]}
            in_groups = {"type": "array", "contains": _GROUP, "items": {"anyOf": [*ways, _GROUP, one_of_it]}}
            return {"anyOf": [_listed(inside, what), in_groups], **noted}
    else:
        inside = _plain(what)
    if what.kind.endswith("s"):
        inside = _listed(inside, what)
    return {**inside, **noted}


def _may_be_alike(table: type[Table]) -> bool:
    return "name" in table.model_fields and "count" not in table.model_fields


def _listed(inside: dict[str, Any], what: Anatomy) -> dict[str, Any]:
    counts: dict[str, int | None] = {"minItems": what.fewest, "maxItems": what.most}
    return {"type": "array", "items": inside, **{k: v for k, v in counts.items() if v is not None}}


def _plain(what: Anatomy) -> dict[str, Any]:
    kind = what.kind.removesuffix("s")
    if kind == "date":
        day = {"type": "string", "format": "date"}
        return day if what.kind == "date" else {"anyOf": [day, {"type": "string", "pattern": _DAYS_IN_A_ROW}]}
    schema: dict[str, Any] = {"type": _TYPES[kind]}
    schema |= {_BOUNDS[sign]: limit for sign, limit in what.bounds.items()}
    if what.choices:
        schema["enum"] = list(what.choices)
    if what.kind == "text":
        lengths = {"minLength": what.fewest, "maxLength": what.most}
        schema |= {key: value for key, value in lengths.items() if value is not None}
    return schema


def _uncertain() -> dict[str, Any]:
    """A range or a named distribution, each with exactly the keys it needs."""
    common: dict[str, Any] = {
        "source": {"type": "string", "description": "Where the figure comes from."},
        "at_least": {"type": "number", "description": "Draws below this are set to it."},
        "at_most": {"type": "number", "description": "Draws above this are set to it."},
    }
    forms = []
    for family, needs in NEEDS.items():
        numbers = {key: {"type": "number"} for key in needs}
        required = list(needs) if family in ("fixed", "range") else ["distribution", *needs]
        forms.append(
            {
                "type": "object",
                "properties": {"distribution": {"const": family}, **numbers, **common},
                "required": required,
                "additionalProperties": False,
            }
        )
    return {"description": "A figure with its doubt.", "anyOf": forms}
