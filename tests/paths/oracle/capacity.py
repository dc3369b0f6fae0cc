"""What runs out: what carriers give, and what hangs on them."""

from __future__ import annotations

from tests.paths.oracle.there import Doc, Scene, Thing, kind_of, section


def alternatives(doc: Doc) -> set[str]:
    """The carriers that an inner list names."""
    bodies = [*section(doc, "devices").values(), *section(doc, "carriers").values()]
    return {one for body in bodies for each in body.get("on", ()) if not isinstance(each, str) for one in each}


def standing_devices(doc: Doc, out: frozenset[Thing]) -> set[str]:
    """Devices that draw something: those that are away, lent or without a carrier are left out."""
    return Scene(doc, out=out).devices


def must_hold(doc: Doc, carrier: str, out: frozenset[Thing]) -> set[str]:
    """What can hang nowhere else, directly or through carriers: the devices that stand, and would not without it."""
    return standing_devices(doc, out) - standing_devices(doc, out | {("carriers", carrier)})


def over_full(doc: Doc, out: frozenset[Thing] = frozenset()) -> set[tuple[str, str]]:
    """With none or any one alternative out, each carrier must hold what can hang nowhere else: (carrier, word) that do not."""
    found: set[tuple[str, str]] = set()
    for gone in [out, *(out | {("carriers", each)} for each in sorted(alternatives(doc)))]:
        for carrier, body in section(doc, "carriers").items():
            hung = must_hold(doc, carrier, gone) if "gives" in body else set()
            for word, gives in (body.get("gives") or {}).items():
                if sum(kind_of(doc, each).get("needs", {}).get(word, 0) for each in hung) > gives:
                    found.add((carrier, word))
    return found


def sure_devices(scene: Scene) -> set[str]:
    """A path through an over-full carrier is unsure; where there are alternatives, when each of them is over-full."""
    full = {carrier for carrier, _ in over_full(scene.doc, scene.out)}
    bodies = section(scene.doc, "carriers")
    good = scene.carriers - full
    while bad := {name for name in good if not _served(bodies.get(name, {}).get("on", ()), good)}:
        good -= bad
    return {name for name, body in section(scene.doc, "devices").items() if _served(body.get("on", ()), good)}


def _served(on: list[str | list[str]], good: set[str]) -> bool:
    return all(each in good if isinstance(each, str) else any(one in good for one in each) for each in on)
