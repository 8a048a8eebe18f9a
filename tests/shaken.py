"""Other processors than there are here, simulated: what one may round otherwise is moved by a last bit, by chance.

`install(SEED)` comes before seamcheck and the drafting scripts are imported. Their sources are then compiled with every product,
quotient and power, and every call of a function that is not rounded alike everywhere, sent through here. What IEEE 754 lays down
to the bit stays as it is: sums, differences, products and quotients of real numbers, square roots, and whatever is exact.
"""

from __future__ import annotations

import ast
import importlib.abc
import importlib.machinery
import sys
import zlib
from collections.abc import Callable
from pathlib import Path
from types import CodeType
from typing import Any

import numpy as np

ROOT = Path(__file__).parent.parent
# Functions of numpy and math whose last bit hangs on the processor, the library of mathematics, or the order of a sum.
MEASURES = {"abs", "hypot", "dist"}
SUMS = {"sum", "mean", "nansum", "fmean"}
CURVED = {
    *("exp", "expm1", "log", "log2", "log10", "log1p", "sin", "cos", "tan", "sinh", "cosh", "tanh", "power", "pow"),
    *("arctan2", "arctan", "arcsin", "arccos", "atan2", "atan", "asin", "acos", "angle", "phase", "rect", "polar"),
}
ALGEBRA = {"lstsq", "svd", "inv", "solve", "eigvals", "slogdet", "einsum", "matmul", "dot", "polyval", "roots", "det"}
OPERATORS = {ast.Mult: "*", ast.Div: "/", ast.Pow: "**", ast.MatMult: "@"}
GRID = 2.0**30  # sums of whole multiples of 1/GRID are exact in any order
seed = 0


def install(number: int) -> None:
    """Have seamcheck and the drafting scripts shaken, as they are imported from now on."""
    global seed
    seed = number
    sys.meta_path.insert(0, _Finder())


class _Finder(importlib.abc.MetaPathFinder):
    def find_spec(self, name: str, path: Any, target: Any = None) -> importlib.machinery.ModuleSpec | None:
        spec = importlib.machinery.PathFinder.find_spec(name, path, target)
        if spec is not None and spec.origin and spec.origin.endswith(".py"):
            origin = Path(spec.origin)
            if any(origin.is_relative_to(ROOT / folder) for folder in ("seamcheck", "fixtures")):
                spec.loader = _Loader(name, spec.origin)
                return spec
        return None


class _Loader(importlib.machinery.SourceFileLoader):
    def get_code(self, fullname: str) -> CodeType:
        path = self.get_filename(fullname)
        tree = _Sent().visit(ast.parse(self.get_source(fullname) or "", path))
        return compile(ast.fix_missing_locations(tree), path, "exec", dont_inherit=True)

    def exec_module(self, module: Any) -> None:
        module.__dict__["__operated__"], module.__dict__["__called__"] = operated, called
        super().exec_module(module)


class _Sent(ast.NodeTransformer):
    """Sends operators and calls through `operated` and `called`."""

    def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
        self.generic_visit(node)
        sign = OPERATORS.get(type(node.op))
        if sign is None or all(isinstance(side, ast.Constant) for side in (node.left, node.right)):
            return node
        return ast.copy_location(_call("__operated__", ast.Constant(sign), node.left, node.right), node)

    def visit_AugAssign(self, node: ast.AugAssign) -> ast.AST:
        self.generic_visit(node)
        return node

    def visit_Call(self, node: ast.Call) -> ast.AST:
        self.generic_visit(node)
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name not in MEASURES | SUMS | CURVED | ALGEBRA:
            return node
        node.args[:0] = [ast.Constant(name), node.func]
        node.func = ast.copy_location(ast.Name("__called__", ast.Load()), node)
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        node.value = None if node.value is None else self.visit(node.value)
        return node


def _call(name: str, *arguments: ast.expr) -> ast.Call:
    return ast.Call(ast.Name(name, ast.Load()), list(arguments), [])


def operated(sign: str, left: Any, right: Any) -> Any:
    """The result of an operator, shaken where it is not exact."""
    if sign == "*":
        result = left * right
        if not (_is_complex(left) and _is_complex(right)):
            return result
        a, b = np.asarray(left), np.asarray(right)
        real = _fused(a.real, b.real, -a.imag, b.imag)
        imag = _fused(a.real, b.imag, a.imag, b.real)
        return _as(result, real + 1j * imag if not np.isscalar(real) else complex(real, imag))
    if sign == "/":
        result = left / right
        if not _is_complex(right) or not np.any(np.asarray(right).imag):
            return result
        return _shaken(result)
    if sign == "**":
        result = left**right
        return result if isinstance(right, int) and right in (0, 1, 2) and not _is_complex(left) else _shaken(result)
    result = left @ right
    return _shaken(result) if _is_number(result) else result


def called(name: str, function: Callable[..., Any], *arguments: Any, **options: Any) -> Any:
    """The result of a call, shaken where it is not exact."""
    result = function(*arguments, **options)
    owner = getattr(function, "__self__", None)
    if isinstance(owner, np.ndarray):
        arguments = (owner, *arguments)
    if name in MEASURES:
        if name == "abs" and not _is_complex(arguments[0]):
            return result
        parts = arguments if name == "hypot" else (np.real(arguments[0]), np.imag(arguments[0]))
        if name == "dist":
            return _shaken(result)
        if not all(map(_is_number, parts)) or options.get("out") is not None:
            return result
        if len(parts) != 2:
            return result if np.count_nonzero(parts) < 2 else _shaken(result)
        exact = (np.equal(parts[0], 0)) | (np.equal(parts[1], 0)) | _is_root(result, *parts)
        return _as(result, np.where(exact, result, _shaken(result)))
    if name in SUMS:
        values = arguments[0] if arguments else ()
        if not isinstance(values, np.ndarray):
            return result if _is_grid(result) else _shaken(result)
        if values.dtype.kind not in "fc" or (name == "sum" and _is_grid(values)) or options.get("out") is not None:
            return result
        return _shaken(result)
    if name in ALGEBRA and isinstance(result, tuple):
        parts = [_shaken(part, whole=True) for part in result]
        return type(result)(*parts) if hasattr(result, "_fields") else tuple(parts)
    if options.get("out") is not None:
        return result
    return _shaken(result, whole=name in ALGEBRA)


def _is_number(value: Any) -> bool:
    return isinstance(value, float | complex | np.floating | np.complexfloating) or (
        isinstance(value, np.ndarray) and value.dtype.kind in "fc"
    )


def _is_complex(value: Any) -> bool:
    return isinstance(value, complex | np.complexfloating) or (
        isinstance(value, np.ndarray) and value.dtype.kind == "c"
    )


def _is_grid(values: Any) -> bool:
    """Whether all values are short enough that their sum is exact in any order."""
    parts = np.stack([np.real(values), np.imag(values)]) if _is_complex(values) else np.asarray(values)
    if parts.dtype.kind != "f":
        return True
    with np.errstate(invalid="ignore", over="ignore"):
        return bool(np.all((parts * GRID == np.rint(parts * GRID)) & (np.abs(parts) < 2.0**22)))


def _as(like: Any, value: Any) -> Any:
    """The value in the type of what it stands for."""
    if isinstance(like, np.ndarray):
        return np.asarray(value, dtype=like.dtype)
    return type(like)(value)


def _error(a: Any, b: Any) -> Any:
    """What is lost where a product of two reals is rounded (Dekker)."""

    def halves(x: Any) -> Any:
        big = x * 134217729.0
        high = big - (big - x)
        return high, x - high

    with np.errstate(all="ignore"):
        product = a * b
        (p, q), (r, s) = halves(a), halves(b)
        lost = q * s - (((product - p * r) - q * r) - p * s)
        return np.where(np.isfinite(lost), lost, 0.0)


def _fused(a: Any, b: Any, c: Any, d: Any) -> Any:
    """a * b + c * d, one of the products perhaps not rounded before the sum, as by a fused instruction."""
    with np.errstate(all="ignore"):
        plain = a * b + c * d
        chance = _chance(plain)
        first, second = _error(a, b), _error(c, d)
        moved = np.where(
            chance < -1 / 3, c * d + (a * b + first), np.where(chance > 1 / 3, a * b + (c * d + second), plain)
        )
        lost = np.where(chance < -1 / 3, first, np.where(chance > 1 / 3, second, 0.0))
        # What cancels leaves just what the rounding lost.
        moved = np.where(moved == plain, plain + lost, moved)
    return np.where(np.isfinite(moved), moved, plain)[()]


def _is_root(result: Any, x: Any, y: Any) -> Any:
    with np.errstate(all="ignore"):
        exact = (_error(x, x) == 0) & (_error(y, y) == 0) & (_error(result, result) == 0)
        return exact & (np.multiply(result, result) == np.multiply(x, x) + np.multiply(y, y))


def _chance(value: Any) -> Any:
    array = np.asarray(value)
    return np.random.default_rng([seed, zlib.crc32(array.tobytes())]).uniform(-1.0, 1.0, array.shape)


def _shaken(value: Any, *, whole: bool = False) -> Any:
    """A number or an array, each moved by up to two last bits; by as much of the greatest where it comes as a `whole`."""
    if isinstance(value, list | tuple) and value and all(map(_is_number, value)):
        return type(value)(_shaken(one) for one in value)
    if not _is_number(value):
        return value
    array = np.asarray(value)
    with np.errstate(all="ignore"):
        size = np.abs(array)
        if whole and array.size:
            size = np.full(array.shape, np.where(np.isfinite(size), size, 0).max())
            size = size * 8
        move = 2.0**-52 * size * 2
        if array.dtype.kind == "c":
            moved = array + move * (_chance(array.real) + 1j * _chance(array.imag))
        else:
            moved = array + move * _chance(array)
        moved = np.where(np.isfinite(array), moved, array)
    return _as(value, moved)
