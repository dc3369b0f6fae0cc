"""The small show on which each rule is seen, and edits on it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from showvc.document import Show, show_from_tree
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import parse

Edits = Mapping[str, Any]
GONE = ABSENT
KNOWN = {"hears": True, "speaks": True, "carries": True}


def edited(show: Show, edits: Edits) -> Show:
    return put(show, {parse(path): value for path, value in edits.items()})


BASE = show_from_tree(
    {
        "title": "The Salt Road",
        "limits": {"targets": 10, "devices": 7, "channels": 6, "label": 8, "floor": -40},
        "lines": {"alarm": {"label": "ALARM", "critical": True}, "paging": {"label": "PAGE"}},
        "required": {"sm-fly": {"from": "sm", "to": "fly", "why": "fly cues are called here"}},
        "groups": {
            "fly": {"name": "Fly Rail", "label": "FLY", "critical": True},
            "lx": {"name": "Lighting", "label": "LX"},
            "snd": {"name": "Sound", "label": "SND"},
            "stage": {"name": "Stage Crew", "label": "STAGE"},
        },
        "users": {
            "sm": {
                "name": "Stage Manager",
                "label": "SM",
                "department": "stage",
                "channels": {
                    "lx": {"number": 1, "talk": "latch"},
                    "fly": {"number": 2, "talk": "momentary", "listen": "always", "priority": "high"},
                    "snd": {"number": 3, "talk": "latch"},
                    "asm": {"number": 4, "talk": "momentary"},
                },
                "lines": {"alarm": {"talk": "momentary"}},
            },
            "asm": {
                "name": "Assistant Stage Manager",
                "label": "ASM",
                "department": "stage",
                "channels": {"snd": {"number": 1, "talk": "latch"}, "stage": {"number": 2, "talk": "latch"}},
            },
            "fly-1": {
                "name": "Fly Cue",
                "label": "FLY 1",
                "department": "fly",
                "channels": {"fly": {"number": 1, "talk": "momentary", "listen": "always", "priority": "high"}},
            },
            "lx-op": {
                "name": "Lighting Desk",
                "label": "LX OP",
                "department": "lighting",
                "channels": {"lx": {"number": 1, "talk": "latch", "listen": "always"}},
            },
        },
        "devices": {
            "desk-01": {
                "name": "Prompt desk",
                "kind": "desk-8",
                "user": "sm",
                "hardware": "02-00-5E-10-00-01",
                "keys": {"A1": "lx", "A2": "fly", "A3": "snd", "A8": "alarm"},
            },
            "pack-01": {"kind": "pack-4", "user": "asm", "keys": {"A1": "snd"}},
            "pack-02": {"kind": "pack-4", "user": "fly-1", "keys": {"A1": "fly"}},
            "pack-03": {"name": "Spare pack", "kind": "pack-4"},
            "pack-04": {"kind": "pack-4", "user": "lx-op", "keys": {"A1": "lx"}},
            "if-01": {"name": "Rack interface", "kind": "ports-4"},
        },
        "circuits": {
            "house-a": {"name": "House party line A", **KNOWN},
            "radio-base": {"name": "Radio base", **KNOWN},
            "tape": {"name": "Tape return", **KNOWN},
        },
        "bridges": {
            "party-line": {"kind": "two-wire", "device": "if-01", "port": 1, "target": "lx", "circuit": "house-a"},
            "radio": {"kind": "radio", "device": "if-01", "port": 2, "target": "snd", "circuit": "radio-base"},
        },
    }
)
