"""The small show that the tests of releases are told with, and hands to edit it."""

from __future__ import annotations

from typing import Any

from showvc.document import Show, show_from_tree

SALT: dict[str, Any] = {
    "title": "The Salt Road",
    "groups": {
        "lx": {"name": "Lighting", "label": "LX"},
        "fly": {"name": "Fly Rail", "label": "FLY", "critical": True},
        "snd": {"name": "Sound", "label": "SND"},
    },
    "users": {
        "sm": {
            "name": "Stage Manager",
            "label": "SM",
            "channels": {
                "lx": {"number": 1, "talk": "latch"},
                "fly": {"number": 2, "talk": "momentary"},
            },
        },
        "flyman": {"name": "Fly 1", "channels": {"fly": {"number": 1, "talk": "latch"}}},
        "lxop": {"name": "Board op", "channels": {"lx": {"number": 1, "talk": "latch"}}},
    },
    "devices": {
        "desk-01": {"name": "Prompt desk", "kind": "desk-8", "user": "sm", "keys": {"A1": "lx", "A2": "fly"}},
        "pack-01": {"kind": "pack-2", "user": "flyman", "keys": {"A1": "fly"}},
        "pack-02": {"kind": "pack-2", "user": "lxop", "keys": {"A1": "lx"}},
    },
}


def salt(**sections: dict[str, Any]) -> Show:
    """The show with these sections put in whole."""
    return show_from_tree({**SALT, **sections})


def salt_with(section: str, name: str, /, **fields: Any) -> Show:
    """The show with these fields of one thing set."""
    return edited(salt(), section, name, **fields)


def edited(show: Show, section: str, name: str, /, **fields: Any) -> Show:
    """Any show with these fields of one thing set; a thing that is not there becomes new."""
    tree = show.tree()
    things = {**tree.get(section, {})}
    things[name] = {**things.get(name, {}), **fields}
    return show_from_tree({**tree, section: things})
