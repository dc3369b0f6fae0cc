"""What the tour did to the plot of The Salt Road: towns, two engineers at once, a bad night.

Towns and houses are invented. Every edit is a plain function from one show to the next.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from showvc.demo.plot import Tree
from showvc.demo.production import hardware, production
from showvc.document import Show
from showvc.document.editing import ABSENT, get, put
from showvc.document.pointers import parse

Change = Callable[[Show], Show]

# --- the tour ---


@dataclass(frozen=True, slots=True)
class Step:
    """One recorded edit of the story: who made it, the note they left, and the edit itself.

    `mark` names the snapshot that it makes, where the story gives it a name.
    """

    who: str
    note: str
    change: Change
    mark: str | None = None


def edited(show: Show, values: dict[str, Any]) -> Show:
    """The show with these values at their pointers; None takes a place out."""
    return put(show, {parse(pointer): ABSENT if value is None else value for pointer, value in values.items()})


def _pack(user: str, name: str, place: str, kind: str, address: int, *keys: str) -> Tree:
    held = {f"A{number + 1}": channel for number, channel in enumerate(keys)}
    return {"name": name, "kind": kind, "user": user, "hardware": hardware(address), "place": place, "keys": held}


def at_skerrowby(show: Show) -> Show:
    """The Net Loft, Skerrowby: hemp flying, a long gallery, a house party line of its own."""
    fly_4 = {
        "name": "Fly Cue 4",
        "label": "FLY 4",
        "department": "flys",
        "channels": {
            "fly": {"number": 1, "talk": "momentary", "listen": "always", "priority": "high"},
            "cue": {"number": 2, "listen": "always"},
        },
    }
    return edited(
        show,
        {
            "/users/fly-4": fly_4,
            "/devices/unit-fly-4": _pack("fly-4", "Fly Cue 4 unit", "Fly floor", "pack-2", 0x60, "fly"),
            "/required/rail/at-least": 4,
            "/circuits/house-ring/name": "Net Loft party line, red",
            "/circuits/booth-ring/name": "Net Loft party line, blue",
            "/groups/foh/name": "House and Foyer",
            "/notes": show.head.notes + "Skerrowby: hemp house, four on the rail.\n",
        },
    )


def at_tarnhollow(show: Show) -> Show:
    """The Assize Hall, Tarnhollow: no wing on the right, one watch for the cart, a second pit camera."""
    return edited(
        show,
        {
            "/users/auto-right": None,
            "/devices/unit-auto-right": None,
            "/required/watch-auto-right": None,
            "/users/fly-4": None,
            "/required/rail/at-least": 3,
            "/devices/spare-3/away": None,
            "/devices/spare-3/place": "Case 5",
            "/devices/unit-fly-4": None,
            "/users/cam-2/name": "Camera 2, Pit Left",
            "/users/deck-4/channels/auto/number": 3,
            "/users/deck-4/channels/props": {"number": 2, "talk": "latch"},
            "/devices/unit-deck-4/keys/A2": "props",
            "/circuits/house-ring/name": "Assize Hall ring A",
            "/bridges/spot-booth": None,
            "/circuits/booth-ring": None,
            "/notes": show.head.notes.replace("Skerrowby: hemp house, four on the rail.\n", "")
            + "Tarnhollow: no wing on the right, the cart parks left.\n",
        },
    )


def at_velmoor(show: Show) -> Show:
    """The Old Granary, Velmoor: spots on a bridge over the house, a wing on the right again."""
    started = production()
    return edited(
        show,
        {
            "/users/auto-right": get(started, ("users", "auto-right")),
            "/devices/unit-auto-right": get(started, ("devices", "unit-auto-right")),
            "/required/watch-auto-right": get(started, ("required", "watch-auto-right")),
            "/bridges/spot-booth": get(started, ("bridges", "spot-booth")),
            "/circuits/booth-ring": {**get(started, ("circuits", "booth-ring")), "name": "Granary bridge line"},
            "/groups/spots/label": "BRIDGE",
            # No cable to the house: both ways to the truck end on the deck switch.
            "/devices/if-04/on": ["deck-switch"],
            "/devices/if-04/place": "Comms rack",
            "/devices/belt-comms/lent": None,
            "/users/lx-desk/channels/spots/level": 3,
            "/users/spot-3/name": "Follow Spot 3, Bridge",
            "/devices/unit-spot-3/place": "Bridge",
            "/devices/unit-dsm/keys/A2": get(show, ("devices", "unit-dsm", "keys", "A3")),
            "/devices/unit-dsm/keys/A3": get(show, ("devices", "unit-dsm", "keys", "A2")),
            "/notes": show.head.notes.replace("Tarnhollow: no wing on the right, the cart parks left.\n", "")
            + "Velmoor: the spot bridge is reached through the house, allow ten minutes.\n",
        },
    )


def at_brinemouth(show: Show) -> Show:
    """The Tide House, Brinemouth: powered flying beside the rail, the pit under the stage."""
    return edited(
        show,
        {
            "/groups/spots/label": "SPOTS",
            "/devices/if-04/on": ["house-switch"],
            "/devices/if-04/place": "Sound position",
            "/users/fly-3/name": "Fly Cue 3, Winch Desk",
            "/users/fly-3/channels/auto": {"number": 3, "talk": "momentary", "listen": "always", "priority": "high"},
            "/devices/unit-fly-3/kind": "pack-4",
            "/devices/unit-fly-3/keys/A2": "auto",
            "/devices/unit-fly-3/keys/A4": "alarm",
            "/required/winch-auto": {
                "from": "fly-3",
                "to": "auto-op",
                "both": True,
                "why": "winch and cart share the left track",
            },
            "/circuits/house-ring/name": "Tide House line 1",
            "/bridges/pit-link/kind": "audio-network",
            "/users/md/channels/cue/listen": "always",
            "/notes": show.head.notes.replace(
                "Velmoor: the spot bridge is reached through the house, allow ten minutes.\n", ""
            )
            + "Brinemouth: winches and rail together, the winch desk is on AUTO.\n",
        },
    )


STOPS = (
    Step("touring engineer", "Skerrowby: four on the rail, house lines renamed", at_skerrowby, "skerrowby"),
    Step("touring engineer", "Tarnhollow: no wing right, one watch, no spot booth line", at_tarnhollow, "tarnhollow"),
    Step("touring engineer", "Velmoor: spots on the bridge, right wing back", at_velmoor, "velmoor"),
    Step("touring engineer", "Brinemouth: winch desk beside the rail", at_brinemouth, "brinemouth"),
)
"""The four towns, each made from the plot of the one before."""


# --- two engineers at once -------------------------------------------------------------------------------------------


def of_the_deck_engineer(show: Show) -> Show:
    """Clears the cue group of everybody on the rail, and plots what the deck asked for."""
    values: dict[str, Any] = {
        # Clashes: channel 18 of the stage manager, the talk of the deputy, the house radio under its own id.
        "/users/sm/channels/dock": {"number": 18, "talk": "momentary"},
        "/users/dsm/channels/lx/talk": "momentary",
        "/groups/house-radio": {"name": "House Radio", "label": "RADIO", "tags": ["house"]},
        "/users/carp/channels/house-radio": {"number": 5, "talk": "momentary"},
        "/users/tech/channels/house-radio": {"number": 4, "talk": "momentary"},
        # Agrees with the other side, word for word.
        "/groups/ward/label": "DRESS",
        # Goes together with the other side.
        "/groups/stage/tags": sorted([*show.groups["stage"].tags, "deck"]),
        "/users/carp/channels/dock/number": 6,
        "/users/deck-1/name": "Deck 1, Cart",
        "/notes": "Deck: the cart has its own page of keys from tonight.\n" + show.head.notes,
    }
    # "They hear every cue on FLY anyhow": true for as long as the stage manager is on FLY.
    for user in show.users:
        if user.startswith("fly-") and "cue" in show.users[user].channels:
            values[f"/users/{user}/channels/cue"] = None
            for key, channel in show.devices[f"unit-{user}"].keys.items():
                if channel == "cue":
                    values[f"/devices/unit-{user}/keys/{key}"] = None
    return edited(show, values)


def of_the_front_of_house_engineer(show: Show) -> Show:
    """Tidies the stage manager's panel, and plots what the house asked for."""
    fly_keys = [key for key, channel in show.devices["unit-sm"].keys.items() if channel == "fly"]
    return edited(
        show,
        {
            "/users/sm/channels/sec": {"number": 18, "talk": "momentary"},
            "/users/dsm/channels/lx/talk": "dual",
            "/groups/radio-house": {"name": "House radio", "label": "HSE RAD"},
            "/users/house/channels/radio-house": {"number": 7, "talk": "momentary"},
            "/users/medic/channels/radio-house": {"number": 4, "talk": "momentary"},
            "/groups/ward/label": "DRESS",
            "/groups/stage/tags": sorted([*show.groups["stage"].tags, "show"]),
            "/users/carp/channels/dock/level": 3,
            "/users/foh-circle/label": "UPPER",
            # "The rail hears the stage manager on CUE": true for as long as the rail is on CUE.
            "/users/sm/channels/fly": None,
            **{f"/devices/unit-sm/keys/{key}": "sec" for key in fly_keys},
            "/notes": show.head.notes + "House: security asked for a key on the prompt panel.\n",
        },
    )


DECK = Step(
    "deck engineer", "Rail off the cue group, dock key for the stage manager, house radio", of_the_deck_engineer
)
FRONT_OF_HOUSE = Step(
    "front-of-house engineer",
    "Security key for the stage manager, house radio, doors renamed",
    of_the_front_of_house_engineer,
)
"""Two edits of the same plot, made at the same time; neither alone takes a required path away."""


# --- a bad night, and what was good in it ----------------------------------------------------------------------------


def bad_edit(show: Show) -> Show:
    """A hurried tidy-up: what looks unused is silenced, and with it the watch that stops the cart and the loaders."""
    return edited(
        show,
        {
            "/users/auto-op/channels/auto/listen": "none",
            "/users/auto-op/channels/fly/listen": "none",
            "/users/pyro-op/channels/cue/listen": "none",
            "/users/pyro-watch/channels/pyro/talk": "none",
            "/bridges/dock-radio/direction": "in",
            "/users/spot-1/channels/cue/listen": "none",
            "/users/spot-2/channels/cue/listen": "none",
            "/users/spot-3/channels/cue/listen": "none",
        },
    )


def spare_for_the_pit(show: Show) -> Show:
    """A spare goes to the second camera, which had lost its pack."""
    return edited(
        show,
        {
            "/devices/unit-cam-2/hardware": get(show, ("devices", "spare-2", "hardware")),
            "/devices/spare-2": None,
            "/accepted/spare-2": None,
        },
    )


def louder_for_the_watch(show: Show) -> Show:
    """The watch asked for more level, the automation desk for its own name on the strip."""
    return edited(
        show,
        {
            "/users/auto-left/channels/auto/level": 6,
            "/users/auto-op/label": "CART",
            "/users/auto-op/channels/auto/level": 3,
        },
    )


BAD = Step("front-of-house engineer", "Tidied up listens nobody uses", bad_edit)
GOOD_AFTER = (
    Step("deck engineer", "Spare pack to camera 2", spare_for_the_pit),
    Step("deck engineer", "More level for the cart watch, CART on the strip", louder_for_the_watch),
)
"""Recorded after the bad edit; a rollback of that one keeps these."""
