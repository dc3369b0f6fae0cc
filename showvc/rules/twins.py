"""Rules about two things that people cannot tell apart by what they are called."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations

from showvc.document.pointers import join
from showvc.rules.finding import Found, Scene

_BETWEEN = re.compile(r"[\W_]+")


def of_one_name(scene: Scene) -> Iterator[Found]:
    """Two groups or users of one name or label, whatever their case and spacing."""
    for field in ("name", "label"):
        called: dict[str, list[tuple[str, str]]] = defaultdict(list)
        for section in ("groups", "users"):
            for name, body in scene.show.section(section).items():
                if text := getattr(body, field):
                    called[" ".join(text.casefold().split())].append((section, name))
        for things in called.values():
            for one, other in combinations(sorted(things), 2):
                yield Found((join(*one, field), join(*other, field)), (one, other, field))


def circuits_of_nearly_one_name(scene: Scene) -> Iterator[Found]:
    """Two circuits whose names differ in case, spaces and signs alone."""
    called: dict[str, list[str]] = defaultdict(list)
    for name, body in scene.show.circuits.items():
        called[_BETWEEN.sub("", (body.name or name).casefold())].append(name)
    for names in called.values():
        for one, other in combinations(sorted(names), 2):
            yield Found((join("circuits", one), join("circuits", other)), (one, other))
