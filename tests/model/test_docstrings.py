"""Every public function of the model says its units, what it raises and where it comes from."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from typing import TYPE_CHECKING

import pytest

import steepwell.model

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

UNIT = re.compile(r"\[[^\[\]]+\]")
# Helpers without physics, which need no source.
WITHOUT_SOURCE = {"clip", "require_positive"}


def public() -> Iterator[tuple[str, Callable[..., object]]]:
    for found in pkgutil.iter_modules(steepwell.model.__path__):
        module = importlib.import_module(f"steepwell.model.{found.name}")
        for name, member in vars(module).items():
            if name.startswith("_") or getattr(member, "__module__", "") != module.__name__:
                continue
            if inspect.isfunction(member):
                yield f"{found.name}.{name}", member
            elif inspect.isclass(member):
                yield f"{found.name}.{name}", member
                for method, function in inspect.getmembers(member, inspect.isfunction):
                    if not method.startswith("_"):
                        yield f"{found.name}.{name}.{method}", function


PUBLIC = dict(public())
FUNCTIONS = {
    name: member
    for name, member in PUBLIC.items()
    if inspect.isfunction(member) and len(name.split(".")) == len(("module", "function"))
}


def section(member: object, title: str) -> str:
    text = inspect.getdoc(member) or ""
    parts = re.split(r"^(\w+)\n-+$", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True)).get(title, "")


def described(text: str) -> dict[str, str]:
    """Return the words on each entry of a section, by its name."""
    entries = re.findall(r"^(\S.*)\n((?:[ \n].*\n?)+)", text, flags=re.MULTILINE)
    return {
        name.strip().lstrip("*"): words for names, words in entries for name in names.split(",")
    }


def test_the_model_is_found() -> None:
    modules = {name.split(".")[0] for name in PUBLIC}
    assert {"soil", "crop", "catchment", "geometry", "vessel", "ageing", "dilution"} <= modules


@pytest.mark.parametrize("name", FUNCTIONS)
def test_each_parameter_has_its_unit(name: str) -> None:
    words = described(section(FUNCTIONS[name], "Parameters"))
    assert list(words) == list(inspect.signature(FUNCTIONS[name]).parameters)
    assert [parameter for parameter, text in words.items() if not UNIT.search(text)] == []


@pytest.mark.parametrize("name", FUNCTIONS)
def test_the_result_has_its_unit(name: str) -> None:
    if inspect.signature(FUNCTIONS[name]).return_annotation != "None":
        words = described(section(FUNCTIONS[name], "Returns"))
        assert words
        assert all(UNIT.search(text) for text in words.values())


@pytest.mark.parametrize("name", PUBLIC)
def test_what_is_raised_is_said(name: str) -> None:
    member = PUBLIC[name]
    raises = re.search(r"^\s+(raise |require_positive\()", inspect.getsource(member), re.MULTILINE)
    assert bool(section(member, "Raises")) or not raises


@pytest.mark.parametrize("name", sorted(set(FUNCTIONS)))
def test_physics_has_a_source(name: str) -> None:
    if name.split(".")[1] not in WITHOUT_SOURCE:
        assert section(FUNCTIONS[name], "References").strip()


@pytest.mark.parametrize("name", sorted(set(PUBLIC) - set(FUNCTIONS)))
def test_classes_and_methods_name_a_unit(name: str) -> None:
    text = inspect.getdoc(PUBLIC[name]) or ""
    parameters = section(PUBLIC[name], "Parameters")
    assert UNIT.search(parameters or text) or name == "geometry.Shape"
