"""Required paths: on a key, in the menu only, or lost."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, show_from_tree
from showvc.paths import RequiredState, hands_of, required_state, required_states, required_words, talk_paths
from tests.paths.plots import random_plot, worked

CREW = {"sm": {"fly": "both"}, "fly-1": {"fly": "both"}, "fly-2": {"fly": "both"}}
ALL_KEYS = {"sm": "fly", "fly-1": "fly", "fly-2": "fly"}


def state(show: Show) -> RequiredState:
    return required_state(show, "r")


def asked(to: str, both: bool = False, start: str = "sm") -> dict[str, object]:
    return {"r": {"from": start, "to": to, "both": both, "why": "fly cues are called here"}}


def test_a_path_to_a_user_holds_on_a_key() -> None:
    show = worked(CREW, "fly", keys={"sm": "fly"}, required=asked("fly-1"))
    assert state(show).state == "holds"
    assert required_words(show, state(show)) == "sm to fly-1: holds (required path r: fly cues are called here)"


def test_a_path_without_a_key_is_in_the_menu() -> None:
    show = worked(CREW, "fly", required=asked("fly"))
    assert (state(show).state, state(show).in_menu) == ("menu", (("sm", "fly-1"), ("sm", "fly-2")))
    assert required_words(show, state(show)) == (
        "fly-1 and fly-2 hear sm from the menu only, without a key (required path r: fly cues are called here)"
    )


def test_an_open_channel_needs_no_key() -> None:
    show = worked({**CREW, "sm": {"fly": "open"}}, "fly", required=asked("fly"))
    assert state(show).state == "holds"


def test_both_ways_asks_for_the_way_back() -> None:
    show = worked(CREW, "fly", keys={"sm": "fly"}, required=asked("fly-1", both=True))
    assert (state(show).state, state(show).in_menu) == ("menu", (("fly-1", "sm"),))
    deaf = worked({**CREW, "sm": {"fly": "talk"}}, "fly", keys=ALL_KEYS, required=asked("fly-1", both=True))
    assert (state(deaf).state, state(deaf).missing) == ("lost", (("fly-1", "sm"),))
    assert "sm does not hear fly-1" in required_words(deaf, state(deaf))


def test_what_is_missing_outweighs_what_is_in_the_menu() -> None:
    show = worked({**CREW, "fly-1": {"fly": "listen"}}, "fly", required=asked("fly", both=True))
    assert state(show).state == "lost"
    assert (state(show).missing, len(state(show).in_menu)) == ((("fly-1", "sm"),), 3)


def test_a_path_to_a_group_is_one_to_every_listener() -> None:
    # fly-2 has shut nobody out, and listens: but sm talks to fly-1 only by a direct call.
    users = {"sm": {"fly-1": "talk"}, "fly-1": {"fly": "listen"}, "fly-2": {"fly": "listen"}}
    show = worked(users, "fly", keys={"sm": "fly-1"}, required=asked("fly"))
    assert (state(show).state, state(show).missing) == ("lost", (("sm", "fly-2"),))


def test_both_ways_with_a_group_asks_every_listener_for_the_way_back() -> None:
    users = {**CREW, "fly-2": {"fly": "listen"}}
    show = worked(users, "fly", keys=ALL_KEYS, required=asked("fly", both=True))
    assert (state(show).state, state(show).missing) == ("lost", (("fly-2", "sm"),))


def test_a_group_on_which_nobody_else_listens_is_lost() -> None:
    show = worked({"sm": {"fly": "both"}}, "fly", keys={"sm": "fly"}, required=asked("fly"))
    assert (state(show).state, state(show).reason) == ("lost", "nobody else listens on FLY")
    assert required_words(show, state(show)) == (
        "sm to FLY: lost, nobody else listens on FLY (required path r: fly cues are called here)"
    )


def test_what_was_removed_is_lost_with_near_names() -> None:
    gone = state(worked(CREW, "fly", required=asked("fly-3")))
    assert (gone.state, gone.missing) == ("lost", ())
    assert gone.reason == "there is no group or user fly-3; did you mean fly-2 or fly-1 or fly?"
    start = state(worked(CREW, "fly", required=asked("fly", start="fly-9")))
    assert start.state == "lost" and "there is no user fly-9; did you mean" in str(start.reason)


def test_a_path_starts_at_a_user() -> None:
    group = state(worked(CREW, "fly", required=asked("sm", start="fly")))
    assert group.state == "lost" and "fly is a group" in str(group.reason)
    line = state(worked(CREW, "fly", required=asked("sm", start="alarm")))
    assert line.state == "lost" and "alarm is a line" in str(line.reason)
    self_call = state(worked(CREW, "fly", required=asked("sm")))
    assert self_call.state == "lost" and self_call.reason == "sm needs no path to sm"


def test_many_missing_are_counted_in_words_and_kept_in_data() -> None:
    users = {"sm": {}, **{f"fly-{number}": {"fly": "listen"} for number in range(1, 8)}}
    show = worked(users, "fly", required=asked("fly"))
    assert len(state(show).missing) == 7
    assert required_words(show, state(show)).startswith("fly-1, fly-2, fly-3, fly-4 and 3 more do not hear sm (")


@given(st.integers(0, 10**9))
def test_the_state_is_that_of_its_worst_pair(seed: int) -> None:
    show = show_from_tree(random_plot(seed))
    hands = hands_of(show, talk_paths(show))
    assert [found.name for found in required_states(show)] == sorted(show.required)
    for found in required_states(show, hands.matrix):
        if found.reason is None:
            start, end = found.required.from_, found.required.to
            listeners = (
                [end]
                if end not in show.groups
                else [
                    name
                    for name, user in show.users.items()
                    if name != start
                    and any(at.split("#")[0] == end and entry.listen != "none" for at, entry in user.channels.items())
                ]
            )
            pairs = [(start, name) for name in listeners]
            pairs += [(name, start) for name in listeners] if found.required.both else []
            worst = {None: "lost", "menu": "menu", "open": "holds", "key": "holds"}
            states = {worst[hands.hand(*pair)] for pair in pairs}
            assert found.state == min(states, key=["lost", "menu", "holds"].index)
            assert set(found.missing) == {pair for pair in pairs if hands.hand(*pair) is None}
