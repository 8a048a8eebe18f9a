"""Classes made of fields, as the decorator of the standard library makes them, ready in a quarter of its time.

The standard one writes and compiles six methods for every class as its module is imported, which was a fourth of the time that
the check of a small pattern takes. Here methods are shared, and `__init__` is written when the first object of a class is made:
of the classes that are imported, most runs use the smaller part.
"""

from __future__ import annotations

import dataclasses
from dataclasses import MISSING, FrozenInstanceError, fields
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, NoReturn

if TYPE_CHECKING:
    from collections.abc import Callable
    from dataclasses import dataclass as dataclass
else:

    def dataclass(
        cls: type[Any] | None = None, /, *, eq: bool = True, repr: bool = True, frozen: bool = False, **options: bool
    ) -> Any:
        """The class with its fields and methods. `options`: `slots` and `kw_only` of the standard decorator."""
        if cls is None:
            return lambda cls: dataclass(cls, eq=eq, repr=repr, frozen=frozen, **options)
        # The standard decorator writes what refuses changes, too; it must, where it sees that a base does.
        derived = any(one.__dataclass_params__.frozen for one in cls.__bases__ if dataclasses.is_dataclass(one))
        bare = dataclasses.dataclass(init=False, repr=False, eq=False, frozen=frozen and derived, **options)(cls)
        bare.__dataclass_params__.frozen = frozen
        return _with_methods(bare, eq=eq, shown=repr, frozen=frozen)


def _with_methods(cls: type[Any], *, eq: bool, shown: bool, frozen: bool) -> type[Any]:
    """The class with the methods that it does not define itself."""
    methods: dict[str, Any] = {"__init__": _init(cls, frozen)}
    if shown:
        methods["__repr__"] = _repr
    if eq:
        values = _values(cls)
        methods |= {"__eq__": _eq(values), "__hash__": (lambda self: hash(values(self))) if frozen else None}
    if frozen:
        methods |= {"__setattr__": _refuse, "__delattr__": _refuse}
    if frozen and "__slots__" in vars(cls):
        methods |= {"__getstate__": _state, "__setstate__": _set_state}
    for name, method in methods.items():
        if vars(cls).get(name) is None:  # Python gives a class that defines `__eq__` alone None for `__hash__`
            setattr(cls, name, method)
    return cls


def _init(cls: type[Any], frozen: bool) -> Callable[..., None]:
    """An `__init__` that gives way to the one it writes as soon as it is called."""

    def __init__(self: object, *given: object, **named: object) -> None:  # noqa: N807
        if vars(cls)["__init__"] is __init__:
            cls.__init__ = _written(cls, frozen)
        cls.__init__(self, *given, **named)

    return __init__


def _written(cls: type[Any], frozen: bool) -> Callable[..., None]:
    """The `__init__` of a class, compiled."""
    given, named, lines = ["self"], ["*"], []
    known: dict[str, Any] = {"_set": object.__setattr__, "_missing": MISSING}
    for field in fields(cls):
        parameter = value = field.name
        if field.default is not MISSING:
            known[f"_default_{value}"] = field.default
            parameter += f"=_default_{value}"
        elif field.default_factory is not MISSING:
            known[f"_make_{value}"] = field.default_factory
            parameter += "=_missing"
            value = f"_make_{value}() if {value} is _missing else {value}"
        if field.init:  # others are set by `__post_init__`
            (named if field.kw_only else given).append(parameter)
            lines.append(f"_set(self, {field.name!r}, {value})" if frozen else f"self.{field.name} = {value}")
    if hasattr(cls, "__post_init__"):
        lines.append("self.__post_init__()")
    parameters = ", ".join(given + named if len(named) > 1 else given)
    exec("\n ".join([f"def __init__({parameters}):", *lines, "return"]), known)
    known["__init__"].__qualname__ = f"{cls.__qualname__}.__init__"
    written: Callable[..., None] = known["__init__"]
    return written


def _values(cls: type[Any]) -> Callable[[Any], Any]:
    """What reads the fields by which objects of a class are compared."""
    names = [field.name for field in fields(cls) if field.compare]
    return attrgetter(*names) if len(names) > 1 else lambda one: tuple(getattr(one, name) for name in names)


def _eq(values: Callable[[Any], Any]) -> Callable[[Any, object], bool]:
    def __eq__(self: Any, other: object) -> bool:  # noqa: N807
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    return __eq__


@recursive_repr()
def _repr(self: Any) -> str:
    told = (f"{field.name}={getattr(self, field.name)!r}" for field in fields(self) if field.repr)
    return f"{self.__class__.__qualname__}({', '.join(told)})"


def _refuse(self: object, name: str, *value: object) -> NoReturn:
    raise FrozenInstanceError(f"cannot {'assign to' if value else 'delete'} field {name!r}")


def _state(self: Any) -> list[object]:
    return [getattr(self, field.name) for field in fields(self)]


def _set_state(self: Any, state: list[object]) -> None:
    for field, value in zip(fields(self), state, strict=True):
        object.__setattr__(self, field.name, value)
