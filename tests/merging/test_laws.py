"""The laws of merging, over whole random shows and random scripts of edits.

Source of the laws: Pierce and Vouillon, "What's in Unison? A Formal Specification and Reference
Implementation of a File Synchronizer" (2004), from memory: an edit of one side alone is carried over, no
edit is lost, nothing appears that no side had.
"""

from hypothesis import given
from hypothesis import strategies as st

from showvc.changes import edits
from showvc.document import SECTIONS, Show
from showvc.document.editing import ABSENT, get
from showvc.document.pointers import parse
from showvc.merging import merge, settle
from tests.generator import apply_edits, random_edits
from tests.strategies import parallel_shows, plain_shows, seeds, shows


@st.composite
def three_shows(draw: st.DrawFn) -> tuple[Show, Show, Show]:
    """A show and what two engineers made of it, each without knowing of the other."""
    before = draw(plain_shows())
    counts = st.integers(0, 12)
    mine = apply_edits(before, random_edits(before, draw(seeds), draw(counts)))
    incoming = apply_edits(before, random_edits(before, draw(seeds), draw(counts)))
    return before, mine, incoming


@given(st.one_of(plain_shows(), shows()), seeds)
def test_merging_with_an_untouched_side_gives_the_other(before: Show, seed: int) -> None:
    edited = apply_edits(before, random_edits(before, seed, 8))
    for sides in ((edited, before), (before, edited)):
        merged = merge(before, *sides)
        assert merged.clean
        assert merged.show == edited


@given(three_shows())
def test_merging_equal_sides_gives_them(case: tuple[Show, Show, Show]) -> None:
    before, mine, _ = case
    merged = merge(before, mine, mine)
    assert merged.clean
    assert merged.show == mine


@given(three_shows())
def test_swapping_the_sides_swaps_nothing_but_the_names(case: tuple[Show, Show, Show]) -> None:
    before, mine, incoming = case
    one, other = merge(before, mine, incoming), merge(before, incoming, mine)
    assert one.show == other.show
    assert [(c.kind, set(c.paths), c.key) for c in one.conflicts] == [
        (c.kind, set(c.paths), c.key) for c in other.conflicts
    ]
    for first, second in zip(one.conflicts, other.conflicts, strict=True):
        assert dict(zip(first.paths, first.mine, strict=True)) == dict(zip(second.paths, second.incoming, strict=True))


@given(parallel_shows(most=16))
def test_edits_of_different_leaves_never_conflict_and_give_the_same_as_one_after_the_other(
    case: tuple[Show, list, list],
) -> None:
    before, ours, theirs = case
    merged = merge(before, apply_edits(before, ours), apply_edits(before, theirs))
    assert merged.conflicts == ()
    assert merged.show == apply_edits(apply_edits(before, ours), theirs)


def leaves(show: Show) -> dict[str, object]:
    """Every leaf of the single document by its pointer."""
    found: dict[str, object] = {}

    def walk(value: object, path: str) -> None:
        if isinstance(value, dict) and value:
            for name, inner in value.items():
                walk(inner, f"{path}/{name.replace('~', '~0').replace('/', '~1')}")
        else:
            found[path] = value

    walk(show.tree(), "")
    return found


def under(path: str, tops: set[str]) -> bool:
    return any(path == top or path.startswith(top + "/") or top.startswith(path + "/") for top in tops)


def merged_apart(path: str) -> bool:
    """Sets and texts are merged inside; their results may be new."""
    return path.endswith("/tags") or path == "/notes"


@given(three_shows())
def test_every_edit_that_is_not_in_a_conflict_is_in_the_result(case: tuple[Show, Show, Show]) -> None:
    before, mine, incoming = case
    merged = merge(before, mine, incoming)
    disputed = {path for conflict in merged.conflicts for path in conflict.paths}
    old, new = leaves(before), leaves(merged.show)
    for side in (mine, incoming):
        edited = leaves(side)
        for path in {*old, *edited}:
            if old.get(path) != edited.get(path) and not under(path, disputed) and not merged_apart(path):
                assert new.get(path) == edited.get(path), path


@given(three_shows())
def test_nothing_is_in_the_result_that_no_side_had(case: tuple[Show, Show, Show]) -> None:
    before, mine, incoming = case
    merged = merge(before, mine, incoming)
    sides = [leaves(side) for side in case]
    disputed = {path for conflict in merged.conflicts for path in conflict.paths}
    for path, value in leaves(merged.show).items():
        if not merged_apart(path) and not under(path, disputed):
            assert any(side.get(path) == value for side in sides), path
    for section in SECTIONS:
        assert set(merged.show.section(section)) <= set(mine.section(section)) | set(incoming.section(section))


@given(three_shows(), st.sampled_from(["mine", "incoming"]))
def test_settling_every_conflict_one_way_leaves_no_trace_of_the_other_there(
    case: tuple[Show, Show, Show], side: str
) -> None:
    settlements: list = []
    touched: dict[str, object] = {}
    for _ in range(20):  # an answer may make another conflict; it is settled the same way
        merged = merge(*case, settlements)
        if merged.clean:
            break
        settlements += [settle(conflict, side) for conflict in merged.conflicts]
        for conflict in merged.conflicts:
            touched.update(conflict.values_of(side))
    assert merged.clean
    for path, value in touched.items():
        found = get(merged.show, parse(path))
        taken = get(case[1] if side == "mine" else case[2], parse(path))
        assert value is ABSENT or found is ABSENT or found == taken or isinstance(value, dict), path
        if value is ABSENT:
            assert found is ABSENT, path


@given(three_shows())
def test_a_clean_merge_breaks_no_rule_that_both_sides_kept(case: tuple[Show, Show, Show]) -> None:
    from showvc.rules import check

    merged = merge(*case)
    if merged.clean:
        stops = {(finding.code, finding.paths) for finding in check(merged.show) if finding.severity == "block"}
        known = {(f.code, f.paths) for side in case[1:] for f in check(side) if f.severity == "block"}
        assert stops <= known


@given(plain_shows(), seeds, st.integers(1, 8))
def test_rolling_back_is_merging_with_the_snapshot_before(before: Show, seed: int, count: int) -> None:
    bad = apply_edits(before, random_edits(before, seed, count))
    merged = merge(bad, bad, before)
    assert merged.clean
    assert merged.show == before
    assert not edits(merged.show, before)
