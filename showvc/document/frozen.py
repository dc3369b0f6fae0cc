"""Maps and lists that cannot be changed: parsed bodies are shared, so what stands in them must never be.

They have a hash, so that pydantic takes them for defaults that need no copy.
"""

from __future__ import annotations

from typing import Any, NoReturn


def _refuse(self: Any, *args: Any, **kwargs: Any) -> NoReturn:
    raise TypeError("what stands in a show cannot be changed in place: make another with `put`")


class FrozenMap(dict[str, Any]):
    """A dict for its readers, json and deepdiff among them; whoever would change it is refused."""

    __slots__ = ()
    __setitem__ = __delitem__ = __ior__ = clear = pop = popitem = setdefault = update = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self))

    def __copy__(self) -> FrozenMap:
        return self

    def __deepcopy__(self, memo: Any) -> FrozenMap:
        return self

    def __reduce__(self) -> Any:
        return FrozenMap, (dict(self),)


class FrozenList(list[Any]):
    """The same for a list."""

    __slots__ = ()
    __setitem__ = __delitem__ = __iadd__ = __imul__ = append = clear = extend = insert = _refuse
    pop = remove = reverse = sort = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(len(self))

    def __copy__(self) -> FrozenList:
        return self

    def __deepcopy__(self, memo: Any) -> FrozenList:
        return self

    def __reduce__(self) -> Any:
        return FrozenList, (list(self),)


NOTHING = FrozenMap()
"""The one empty map: a show has a hundred thousand of them."""
