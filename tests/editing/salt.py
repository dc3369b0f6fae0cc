"""A small plot for edits: a rail of three with their packs, a desk, a spare, and all that can refer to a group."""

from __future__ import annotations

from showvc.document import Show, show_from_tree

TREE = {
    "format": 2,
    "title": "The Salt Road",
    "lines": {"alarm": {"label": "ALARM"}},
    "kinds": {"rack": {"keys": 2, "pages": 2, "label": 6}},
    "required": {"sm-fly": {"from": "sm", "to": "fly-1", "over": "fly", "why": "cues"}},
    "apart": {"talent": {"from": "fly", "to": "sm", "over": "lx", "why": "x"}},
    "standards": {"flies": {"for": "users/fly-*", "must": {"channels/fly/listen": "always", "port": "false"}}},
    "groups": {
        "fly": {"name": "Fly Rail", "label": "FLY", "critical": True, "tags": ["rig", "stage"]},
        "lx": {"name": "Lights", "label": "LX"},
        "cue": {"name": "Cues", "label": "CUE"},
    },
    "users": {
        "sm": {
            "name": "Stage Manager", "label": "SM", "department": "stage",
            "channels": {"lx": {"number": 1, "talk": "latch"}, "fly": {"number": 2, "talk": "momentary"}},
        },
        "fly-1": {
            "label": "FLY 1", "department": "rail",
            "channels": {"fly": {"number": 1, "talk": "latch"}, "cue": {"number": 4}}, "lines": {"alarm": {"talk": "latch"}},
        },
        "fly-2": {"label": "FLY 2", "department": "rail", "channels": {"fly": {"number": 1, "talk": "latch"}}},
        "fly-3": {"label": "FLY 3", "department": "rail", "channels": {"fly": {"number": 4}}},
        "box": {"port": True, "channels": {"fly": {"number": 1, "talk": "latch"}}},
    },
    "devices": {
        "desk": {
            "name": "Desk", "kind": "desk-8", "user": "sm", "place": "Corner", "keys": {"A1": "lx", "A2": "fly"},
            "hardware": "02-00-5E-10-00-01", "on": ["switch", ["ups-1", "ups-2"]],
        },
        "pack-1": {"kind": "pack-4", "user": "fly-1", "keys": {"A1": "fly", "A3": "cue", "A4": "alarm"}},
        "pack-2": {"kind": "pack-4", "user": "fly-2", "keys": {"A1": "fly"}},
        "pack-3": {"kind": "rack", "user": "fly-3", "keys": {"A1": "fly", "A2": "fly"}},
        "spare": {"name": "Spare", "kind": "desk-8", "hardware": "02-00-5E-10-00-09", "place": "Store"},
        "if-1": {"kind": "ports-2"},
    },
    "bridges": {"party": {"kind": "two-wire", "device": "if-1", "port": 1, "target": "fly", "circuit": "house"}},
    "circuits": {"house": {"name": "House", "hears": True, "speaks": True}},
    "carriers": {"switch": {"name": "Deck switch"}, "ups-1": {}, "ups-2": {}},
}  # fmt: skip


def salt() -> Show:
    """The plot."""
    return show_from_tree(TREE)
