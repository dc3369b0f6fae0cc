"""What we write says the same to the YAML readers of others, of YAML 1.1 and of 1.2, and to JSON's.

References: PyYAML's SafeLoader (YAML 1.1), ruamel.yaml's safe loader in both versions, Python's json.
"""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from showvc.document import SECTIONS, Show
from showvc.formats.folder import folder_texts
from showvc.formats.single import single_text
from showvc.formats.writing import quoted, scalar, value_text
from tests.strategies import NASTY, ids, json_texts, json_values, shows, texts


def of_pyyaml(text: str) -> Any:
    # The C build differs in its scanner alone; what a scalar means is decided by the same code.
    return yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))


def of_ruamel(version: str, text: str) -> Any:
    reader = YAML(typ="safe", pure=True)
    reader.version = version
    return reader.load(io.StringIO(text))


READERS = {
    "PyYAML's own scanner, YAML 1.1": yaml.safe_load,
    "PyYAML, YAML 1.1": of_pyyaml,
    "ruamel.yaml, YAML 1.1": lambda text: of_ruamel("1.1", text),
    "ruamel.yaml, YAML 1.2": lambda text: of_ruamel("1.2", text),
}

# Each of these some reader takes for a number, a flag, a date, nothing, or a mark.
# Sources: YAML 1.1 type repository (bool, int, float, null, timestamp, merge, value); YAML 1.2.2, section 10.3.2.
GUESSED = [
    "y", "Y", "yes", "Yes", "YES", "n", "N", "no", "No", "NO", "true", "True", "TRUE", "false", "on", "On", "ON", "off", "OFF",
    "~", "null", "Null", "NULL", "", "0b1010", "014", "0o14", "685_230", "0x_0A_74_AE", "190:20:30", "+12", "-17",
    "6.8523015e+5", "685.230_15e+03", "685_230.15", "190:20:30.15", "-.inf", ".NaN", ".5", "5.", "1e3", "1E3", "1.e3",
    "2001-12-14t21:59:43.10-05:00", "2001-12-14 21:59:43.10 -5", "2002-12-14", "<<", "=", "12e03", "0x", "0b", "08", "1_", "_1",
]  # fmt: skip


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("text", [*GUESSED, *NASTY])
def test_a_text_that_a_reader_guesses_at_stays_that_text(reader: str, text: str) -> None:
    assert READERS[reader](f"a: {scalar(text)}\n") == {"a": text}
    assert READERS[reader](f"{{{scalar(text)}: [{scalar(text)}, {scalar(text)}]}}\n") == {text: [text, text]}


@pytest.mark.parametrize("reader", READERS)
@given(text=st.one_of(texts, json_texts, st.text(alphabet="0123456789._:+-eExobTZ tfnyNulasr~#&", max_size=9)))
@example(text="\U0001f3ad")
@example(text="\x85")
def test_any_text_is_read_as_itself(reader: str, text: str) -> None:
    read = READERS[reader]
    assert read(f"a: {scalar(text)}\n") == {"a": text}
    assert read(f"a: {quoted(text)}\n") == {"a": text}
    assert read(f"a: {{b: {scalar(text)}}}\n") == {"a": {"b": text}}
    assert read(f"? {scalar(text)}\n: 1\n" if len(text) > 100 else f"{scalar(text)}: 1\n") == {text: 1}


@pytest.mark.parametrize("reader", READERS)
@given(name=ids)
def test_any_id_is_read_as_a_text(reader: str, name: str) -> None:
    assert READERS[reader](f"{scalar(name)}: {{number: 1}}\n") == {name: {"number": 1}}


@pytest.mark.parametrize("number", [1e16, 5e-324, -1.5e300, 1e-7, 123456789012345680000.0, -0.0, 0.1, 1e22])
@pytest.mark.parametrize("reader", READERS)
def test_a_number_with_an_exponent_is_a_number(reader: str, number: float) -> None:
    """YAML 1.1 takes `1e+16` for a text: its floats have a dot (type repository, float)."""
    assert said(READERS[reader](f"a: {value_text(number)}\n")["a"]) == said(number)


@pytest.mark.parametrize("reader", READERS)
@given(value=json_values)
def test_any_json_value_in_extra_is_read_as_itself(reader: str, value: Any) -> None:
    got = READERS[reader](f"a: {value_text(value)}\n")["a"]
    assert said(got) == said(value)


@pytest.mark.parametrize("reader", ["PyYAML, YAML 1.1", "ruamel.yaml, YAML 1.1", "ruamel.yaml, YAML 1.2"])
@given(show=shows())
def test_a_whole_show_is_read_as_the_same_strings_and_numbers(reader: str, show: Show) -> None:
    assert said(READERS[reader](single_text(show))) == said(show.tree())


@given(show=shows())
def test_each_file_of_a_folder_is_read_as_the_same_strings_and_numbers(show: Show) -> None:
    tree = show.tree()
    for path, text in folder_texts(show).items():
        section, _, name = path.removesuffix(".yaml").partition("/")
        wanted = tree[section][name] if name else {key: value for key, value in tree.items() if key not in SECTIONS}
        assert said(of_pyyaml(text)) == said(wanted)


def said(value: Any) -> str:
    """A value with its types told apart: true is not 1, and 1.0 is not 1."""
    return json.dumps(value, sort_keys=True)


@given(shows())
def test_json_is_read_by_every_reader_of_json(show: Show) -> None:
    assert said(json.loads(single_text(show, ".json"))) == said(show.tree())
