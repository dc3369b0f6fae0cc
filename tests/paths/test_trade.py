"""Cases from the trade, as they are plotted. Common practice, no source."""

from __future__ import annotations

from showvc.paths import alone, explain, hands_of, required_states, rings_of, talk_paths, thin_groups
from tests.paths.plots import paths_in, worked


def test_a_party_line_bridged_into_a_group_hears_and_is_heard() -> None:
    # The house's old two-wire line comes in twice: once to the fly rail, once to the stage crew of the new system.
    show = worked(
        {"sm": {"fly": "both"}, "fly-1": {"fly": "both"}, "deck": {"stage": "both"}},
        "fly stage",
        {"house-fly": ("fly", "House party line A", "both"), "house-stage": ("stage", "House party line A", "both")},
    )
    assert {"sm > deck", "deck > sm", "fly-1 > deck", "deck > fly-1"} <= paths_in(show)


def test_a_party_line_that_is_brought_in_only_is_not_talked_to() -> None:
    show = worked(
        {"sm": {"fly": "both"}, "deck": {"stage": "both"}},
        "fly stage",
        {"house-fly": ("fly", "House party line A", "in"), "house-stage": ("stage", "House party line A", "both")},
    )
    assert paths_in(show) == {"deck > sm"}


def test_a_radio_base_as_a_group_that_only_transmits() -> None:
    # Calls go out on the radio; nobody listens on the group, and nothing comes back.
    show = worked(
        {"sm": {"radio": "talk"}, "deck": {"stage": "both"}}, "radio stage", {"base": ("radio", "Radio base", "out")}
    )
    assert paths_in(show) == set()
    assert alone(talk_paths(show)).hears_nobody == ("deck", "sm")
    radio = next(group for group in thin_groups(show, talk_paths(show)) if group.group == "radio")
    assert radio.carried_out and not radio.unheard, "the radios outside are its listeners"


def test_two_bridges_to_one_circuit_carry_from_group_to_group() -> None:
    show = worked(
        {"lx": {"lx": "talk"}, "snd": {"snd": "listen"}},
        "lx snd",
        {"a": ("lx", "Truck", "out"), "b": ("snd", "Truck", "in")},
    )
    assert paths_in(show) == {"lx > snd"}
    assert rings_of(show) == ()


def test_bridges_of_different_circuits_carry_nothing_between_them() -> None:
    users = {"lx": {"lx": "talk"}, "snd": {"snd": "listen"}}
    named = worked(users, "lx snd", {"a": ("lx", "Truck", "out"), "b": ("snd", "Truck 2", "in")})
    without_names = worked(users, "lx snd", {"a": ("lx", "", "out"), "b": ("snd", "", "in")})
    assert paths_in(named) == paths_in(without_names) == set()


def test_sound_goes_on_over_a_chain_of_circuits() -> None:
    show = worked(
        {"sm": {"fly": "talk"}, "truck": {"cams": "listen"}},
        "fly stage cams",
        {
            "a": ("fly", "House party line A", "out"),
            "b": ("stage", "House party line A", "in"),
            "c": ("stage", "Truck", "out"),
            "d": ("cams", "Truck", "in"),
        },
    )
    assert paths_in(show) == {"sm > truck"}
    assert [hop.step for hop in explain(show, "sm", "truck").way] == ["talk", "out", "in", "out", "in", "hear"]


def test_a_director_s_program_feed_is_listened_to_and_never_answered() -> None:
    show = worked({"director": {"feed": "open"}, "cam-1": {"feed": "listen"}, "cam-2": {"feed": "listen"}}, "feed")
    assert paths_in(show) == {"director > cam-1", "director > cam-2"}
    assert alone(talk_paths(show)).heard_by_nobody == ("cam-1", "cam-2")


def test_a_stage_manager_who_has_fly_in_the_menu_only() -> None:
    show = worked(
        {"sm": {"lx": "both", "fly": "both"}, "fly-1": {"fly": "both"}, "lx-op": {"lx": "both"}},
        "lx fly",
        keys={"sm": "lx"},
        required={"sm-fly": {"from": "sm", "to": "fly", "why": "fly cues are called here"}},
    )
    hands = hands_of(show, talk_paths(show))
    assert hands.hand("sm", "lx-op") == "key"
    assert hands.hand("sm", "fly-1") == "menu"
    (state,) = required_states(show)
    assert (state.state, state.in_menu) == ("menu", (("sm", "fly-1"),))


def test_an_interface_user_passes_on_what_comes_in_over_his_open_channels_alone() -> None:
    show = worked(
        {
            "port": {"stage": "open", "fly": "talk"},
            "truck": {"cams": "talk"},
            "deck": {"stage": "listen"},
            "fly-1": {"fly": "listen"},
        },
        "stage fly cams",
        {"out": ("cams", "Truck", "out"), "in": ("port", "Truck", "in")},
    )
    assert {"truck > deck"} == {path for path in paths_in(show) if path.startswith("truck")}
    assert "port > fly-1" in paths_in(show), "his own key to FLY is a path of his"


def test_an_interface_user_carries_out_what_he_hears() -> None:
    show = worked(
        {"port": {"stage": "listen"}, "sm": {"stage": "talk"}, "dsm": {"port": "talk"}, "truck": {"cams": "listen"}},
        "stage cams",
        {"out": ("port", "Truck", "out"), "in": ("cams", "Truck", "in")},
    )
    assert {"sm > truck", "dsm > truck"} <= paths_in(show)


def test_an_open_channel_that_calls_somebody_is_a_call_from_the_interface_user() -> None:
    bridges = {"out": ("cams", "Truck", "out"), "in": ("port", "Truck", "in")}
    users = {"port": {"sm": "open"}, "truck": {"cams": "talk"}, "sm": {}}
    assert "truck > sm" in paths_in(worked(users, "cams", bridges))
    assert "truck > sm" not in paths_in(worked({**users, "sm": {"port": "neither"}}, "cams", bridges))
    assert "truck > sm" in paths_in(worked({**users, "sm": {"truck": "neither"}}, "cams", bridges)), "the port calls"
