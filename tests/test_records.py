"""Records are held against what the decorator of the standard library makes of the same classes."""

import copy
import dataclasses
import pickle
from collections.abc import Callable
from dataclasses import dataclass as standard
from dataclasses import field, replace
from typing import Any

import pytest

from seamcheck.records import dataclass as ours


class _Point:
    """A point."""

    x: float
    y: float = 0.0
    seen: list[str] = field(default_factory=list, compare=False)
    at: str = field(default="nowhere", repr=False)


class _Named:
    """A class all of whose fields are named."""

    name: str
    of: int = 3


class _Doubled:
    """A field that is worked out of another, and words and a number of its own."""

    value: int
    twice: int = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "twice", 2 * self.value)

    def __repr__(self) -> str:
        return "two"

    def __hash__(self) -> int:
        return 7


class _One:
    """A single field."""

    only: object


class _Empty:
    """No field at all."""


CLASSES: list[tuple[type, tuple[Any, ...], dict[str, Any]]] = [
    (_Point, (1.0,), {"at": "hem"}),
    (_Named, (), {"name": "front"}),
    (_Doubled, (4,), {}),
    (_One, ((),), {}),
    (_Empty, (), {}),
]
OPTIONS: list[dict[str, bool]] = [
    {"frozen": True, "slots": True},
    {"frozen": True, "slots": True, "kw_only": True},
    {"frozen": True},
    {"frozen": True, "eq": False},
    {"frozen": True, "slots": True, "repr": False},
    {"slots": True},
    {"slots": True, "eq": False},
    {},
]


def told(call: Callable[[], object]) -> object:
    """What a call gives, or what it fails with."""
    try:
        return call()
    except (TypeError, AttributeError) as error:  # an error of a frozen class is an attribute's
        return type(error).__name__, str(error).replace("standard", "").replace("ours", "")


def behaviour(
    decorator: Any, body: type, given: tuple[Any, ...], named: dict[str, Any], options: dict[str, bool]
) -> Any:
    """All that is seen of a class and its objects from without."""
    namespace = {name: value for name, value in vars(body).items() if name not in ("__dict__", "__weakref__")}
    cls = decorator(**options)(type(body.__name__, (), namespace))
    if options.get("kw_only"):
        named = dict(zip(cls.__annotations__, given, strict=False)) | named
        given = ()
    one, other = cls(*given, **named), cls(*given, **named)
    first = next(iter(cls.__annotations__), "none")
    changed = copy.copy(one)
    return {
        "fields": [(f.name, f.init, f.compare, f.repr, f.kw_only) for f in dataclasses.fields(cls)],
        "match": cls.__match_args__,
        "slots": getattr(cls, "__slots__", None),
        "values": [getattr(one, f.name) for f in dataclasses.fields(cls)],
        "own lists": getattr(one, "seen", 1) is not getattr(other, "seen", 2),
        "repr": repr(one).startswith("<") or repr(one),
        "equal": (one == other, one == changed, one != other, one == 1, one == cls),
        "differs": told(lambda: one == replace(one, **{first: 5.0})),
        "hash": told(lambda: hash(one) == hash(other)),
        # Where there is no field, the standard library fails at the wrong error.
        "assigned": told(lambda: setattr(changed, first, 9)) if cls.__annotations__ else None,
        "deleted": told(lambda: delattr(changed, first)) if cls.__annotations__ else None,
        "too many": told(lambda: cls(1, 2, 3, 4, 5))[0],
        "too few": told(lambda: cls())[0] if cls.__annotations__ else None,
        "unknown": told(lambda: cls(*given, **named, unknown=1))[0],
        "copied": copy.deepcopy(one) == one,
    }


@pytest.mark.parametrize("options", OPTIONS, ids=str)
@pytest.mark.parametrize(("body", "given", "named"), CLASSES, ids=[body.__name__ for body, *_ in CLASSES])
def test_a_record_is_as_the_standard_library_makes_it(
    body: type, given: tuple[Any, ...], named: dict[str, Any], options: dict[str, bool]
) -> None:
    assert behaviour(ours, body, given, named, options) == behaviour(standard, body, given, named, options)


@ours(frozen=True, slots=True, kw_only=True)
class Kept:
    """One that is pickled."""

    name: str
    more: tuple[int, ...] = ()


@ours(frozen=True, slots=True, kw_only=True)
class Longer(Kept):
    """One with a field more."""

    last: str = "end"


def test_a_record_is_pickled_whole() -> None:
    for one in (Kept(name="a", more=(1, 2)), Longer(name="b", last="c")):
        again = pickle.loads(pickle.dumps(one))
        assert again == one
        assert hash(again) == hash(one)
        with pytest.raises(dataclasses.FrozenInstanceError):
            again.name = "other"


def test_a_field_of_a_base_comes_first_and_classes_are_told_apart() -> None:
    assert repr(Longer(name="b")) == "Longer(name='b', more=(), last='end')"
    assert Longer(name="b") != Kept(name="b")


@pytest.mark.parametrize(("base", "child"), [(ours, standard), (standard, ours)], ids=["ours first", "ours last"])
def test_a_class_is_derived_from_one_of_the_other_kind(base, child):
    @base(frozen=True, slots=True)
    class Base:
        """One field."""

        value: int

    @child(frozen=True, slots=True)
    class Child(Base):
        """And one more."""

        more: str = "x"

    one = replace(Child(3), more="y")
    assert (one.value, one.more, one == Child(3, "y")) == (3, "y", True)
    for name in ("value", "more"):
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(one, name, 1)
    with pytest.raises(TypeError, match="cannot inherit non-frozen dataclass from a frozen one"):
        child()(type("Free", (Base,), {"__doc__": "It may be changed.", "__annotations__": {}}))


def test_init_is_written_once_and_for_its_own_class() -> None:
    @ours(frozen=True)
    class Base:
        """One field."""

        value: int

    class Child(Base):
        """One that is made by the method of its base."""

    assert Child(3).value == 3
    written = Base.__init__
    assert Base(4).value == 4
    assert Base.__init__ is written
    assert "__init__" not in vars(Child)


def test_words_of_a_record_that_holds_itself_end() -> None:
    @ours
    class Loop:
        """One list."""

        parts: list[object]

    one = Loop([])
    one.parts.append(one)
    assert repr(one).endswith("Loop(parts=[...])")
