"""Samples side by side: one vector register holds one grid cell of `LANES` samples.

LANES                            how many samples run abreast
pack, unpack                     (n, ny, nx) surfaces to (blocks, ny, nx, LANES) and back
empty_lanes                      an aligned buffer
kernel                           compile for threads: no interpreter lock, cached on disk
load, store, spread, low, high, any_less, ...   the vector operations that the kernels are written in

A compiler turns a plain inner loop over lanes into vectors only where it can prove that arrays do not overlap; in a
sweep that reads and writes one array it cannot. So the kernels say vector, and LLVM picks the registers of the machine.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import pairwise
from typing import Any, TypeVar, cast

import numba
import numpy as np
from llvmlite import ir
from numba.core import cgutils, types
from numba.core.datamodel import models
from numba.extending import intrinsic, register_model
from numpy.typing import NDArray

__all__ = [
    "LANES",
    "add",
    "all_finite",
    "any_less",
    "blocks_of",
    "count_less",
    "empty_lanes",
    "high",
    "kernel",
    "load",
    "low",
    "lowest_bit",
    "multiply",
    "multiply_add",
    "over_blocks",
    "pack",
    "pack_block",
    "spread",
    "store",
    "subtract",
    "total",
    "transpose",
    "unpack",
    "unpack_block",
    "zeros_above",
]

LANES = 16
"""One 64-byte cache line of float32, and one AVX-512 register."""

_ALIGN = 64
_FLOAT = ir.FloatType()
_VECTOR = ir.VectorType(_FLOAT, LANES)

_Result = TypeVar("_Result")
_Function = TypeVar("_Function", bound=Callable[..., Any])


def kernel(function: _Function) -> _Function:
    """Compile `function` so that it runs without the interpreter lock, cached on disk where there is a place to write.

    The cache looks at the file of `function` only: after a change in this module, clear it.
    """
    compile_as = partial(numba.njit, nogil=True, error_model="numpy")
    try:
        compiled = compile_as(cache=True)(function)
    except RuntimeError:
        compiled = compile_as(cache=False)(function)
    return cast("_Function", compiled)


def _operation(function: Callable[..., Any]) -> Any:
    """An operation of kernels, written in LLVM's terms; typed as Any because its caller is compiled, not called."""
    return intrinsic(function)


class _Lanes(types.Type):
    """`LANES` float32 values in one register."""


@register_model(_Lanes)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, manager: Any, kind: Any) -> None:
        cast("Any", super()).__init__(manager, kind, _VECTOR)


_LANES = cast("Any", _Lanes)(f"float32x{LANES}")


def _call(builder: Any, name: str, kinds: list[Any], result: Any, args: Any, flags: tuple[str, ...] = ()) -> Any:
    """Call an intrinsic function of LLVM."""
    declare = cast("Any", cgutils.get_or_insert_function)
    return builder.call(declare(builder.module, ir.FunctionType(result, kinds), name), args, fastmath=flags)


def _cell(context: Any, builder: Any, array_type: Any, array: Any, index: Any) -> Any:
    """Pointer to the vector that starts at flat float `index` of a contiguous array."""
    data = context.make_array(array_type)(context, builder, array).data
    return builder.bitcast(builder.gep(data, [index]), _VECTOR.as_pointer())


@_operation
def load(typingctx: Any, array: Any, index: Any) -> Any:
    """The lanes of the cell whose first float is array[index]; no bounds are checked."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.load(_cell(context, builder, signature.args[0], args[0], args[1]), align=4)

    return _LANES(array, types.intp), code


@_operation
def store(typingctx: Any, array: Any, index: Any, value: Any) -> Any:
    """Write lanes to the cell whose first float is array[index]; no bounds are checked."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        builder.store(args[2], _cell(context, builder, signature.args[0], args[0], args[1]), align=4)
        return context.get_dummy_value()

    return types.void(array, types.intp, _LANES), code


@_operation
def spread(typingctx: Any, value: Any) -> Any:
    """One float32 in every lane."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        one = builder.insert_element(ir.Constant(_VECTOR, ir.Undefined), args[0], ir.Constant(ir.IntType(32), 0))
        zeros = ir.Constant(ir.VectorType(ir.IntType(32), LANES), [0] * LANES)
        return builder.shuffle_vector(one, ir.Constant(_VECTOR, ir.Undefined), zeros)

    return _LANES(types.float32), code


def _exchange(builder: Any, a: Any, b: Any, step: int) -> tuple[Any, Any]:
    """Swap the lanes of a that have bit `step` with those of b that do not."""
    lanes = range(LANES)
    upper = [LANES + lane - step if lane & step else lane for lane in lanes]
    lower = [LANES + lane if lane & step else lane + step for lane in lanes]
    kind = ir.VectorType(ir.IntType(32), LANES)
    first = builder.shuffle_vector(a, b, ir.Constant(kind, upper))
    return first, builder.shuffle_vector(a, b, ir.Constant(kind, lower))


@_operation
def transpose(typingctx: Any, source: Any, start: Any, stride: Any, target: Any, at: Any, step: Any) -> Any:
    """Turn a square of numbers about its diagonal.

    Its rows start at source[start + k * stride], those of the result at target[at + k * step], k < LANES.
    """

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        def places(kind: Any, array: Any, index: Any, by: Any) -> Any:
            for k in range(LANES):
                far = builder.add(index, builder.mul(by, ir.Constant(by.type, k)))
                yield _cell(context, builder, kind, array, far)

        rows = [builder.load(place, align=4) for place in places(signature.args[0], *args[:3])]
        step = 1
        while step < LANES:
            for k in range(LANES):
                if not k & step:
                    rows[k], rows[k | step] = _exchange(builder, rows[k], rows[k | step], step)
            step *= 2
        for row, place in zip(rows, places(signature.args[3], *args[3:]), strict=True):
            builder.store(row, place, align=4)
        return context.get_dummy_value()

    index = types.intp
    return types.void(source, index, index, target, index, index), code


def _arithmetic(name: str) -> Any:
    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return getattr(builder, name)(*args)

    return code


@_operation
def add(typingctx: Any, a: Any, b: Any) -> Any:
    """Lane by lane a + b."""
    return _LANES(_LANES, _LANES), _arithmetic("fadd")


@_operation
def subtract(typingctx: Any, a: Any, b: Any) -> Any:
    """Lane by lane a - b."""
    return _LANES(_LANES, _LANES), _arithmetic("fsub")


@_operation
def multiply(typingctx: Any, a: Any, b: Any) -> Any:
    """Lane by lane a * b."""
    return _LANES(_LANES, _LANES), _arithmetic("fmul")


@_operation
def multiply_add(typingctx: Any, a: Any, b: Any, c: Any) -> Any:
    """Lane by lane a * b + c, rounded once where the machine can."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return _call(builder, f"llvm.fmuladd.v{LANES}f32", [_VECTOR] * 3, _VECTOR, args)

    return _LANES(_LANES, _LANES, _LANES), code


def _pick(order: str) -> Any:
    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.select(builder.fcmp_ordered(order, args[0], args[1]), args[0], args[1])

    return code


@_operation
def low(typingctx: Any, a: Any, b: Any) -> Any:
    """Lane by lane the lesser."""
    return _LANES(_LANES, _LANES), _pick("<")


@_operation
def high(typingctx: Any, a: Any, b: Any) -> Any:
    """Lane by lane the greater."""
    return _LANES(_LANES, _LANES), _pick(">")


def _less_bits(builder: Any, a: Any, b: Any) -> Any:
    return builder.bitcast(builder.fcmp_ordered("<", a, b), ir.IntType(LANES))


@_operation
def any_less(typingctx: Any, a: Any, b: Any) -> Any:
    """Whether a < b in some lane."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        bits = _less_bits(builder, args[0], args[1])
        return builder.icmp_unsigned("!=", bits, ir.Constant(bits.type, 0))

    return types.boolean(_LANES, _LANES), code


@_operation
def all_finite(typingctx: Any, a: Any) -> Any:
    """Whether no lane is infinite or not a number."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        zero = builder.fsub(args[0], args[0])
        bits = builder.bitcast(builder.fcmp_ordered("==", zero, zero), ir.IntType(LANES))
        return builder.icmp_unsigned("==", bits, ir.Constant(bits.type, -1))

    return types.boolean(_LANES), code


@_operation
def count_less(typingctx: Any, a: Any, b: Any) -> Any:
    """In how many lanes a < b."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.zext(builder.ctpop(_less_bits(builder, args[0], args[1])), ir.IntType(64))

    return types.int64(_LANES, _LANES), code


def _zeros(name: str) -> Any:
    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return getattr(builder, name)(args[0], ir.Constant(ir.IntType(1), 1))

    return code


@_operation
def lowest_bit(typingctx: Any, word: Any) -> Any:
    """Place of the lowest set bit of an integer that is not zero."""
    return types.int64(types.int64), _zeros("cttz")


@_operation
def zeros_above(typingctx: Any, word: Any) -> Any:
    """How many of the 64 bits stand above the highest set bit of an integer that is not zero."""
    return types.int64(types.int64), _zeros("ctlz")


@_operation
def total(typingctx: Any, a: Any) -> Any:
    """The sum over lanes, added in a tree."""

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        start = ir.Constant(_FLOAT, 0.0)
        name = f"llvm.vector.reduce.fadd.v{LANES}f32"
        return _call(builder, name, [_FLOAT, _VECTOR], _FLOAT, [start, args[0]], ("reassoc",))

    return types.float32(_LANES), code


def blocks_of(n: int) -> int:
    """How many blocks of lanes hold n samples."""
    return -(-n // LANES)


def empty_lanes(blocks: int, *shape: int) -> NDArray[np.float32]:
    """An unset (blocks, *shape, LANES) float32 buffer that starts on a cache line, so that no vector straddles two."""
    count = blocks * int(np.prod(shape)) * LANES
    raw = np.empty(4 * count + _ALIGN, np.uint8)
    start = -raw.ctypes.data % _ALIGN
    return raw[start : start + 4 * count].view(np.float32).reshape(blocks, *shape, LANES)


def over_blocks(work: Callable[[int, int], _Result], blocks: int, threads: int) -> list[_Result]:
    """Run work(first, last) over all blocks, cut into one run a thread; returns what each run returned."""
    if threads < 1:
        raise ValueError(f"one thread or more, got {threads}")
    cuts = [blocks * k // threads for k in range(threads + 1)]
    runs = [(a, b) for a, b in pairwise(cuts) if a < b]
    if len(runs) < 2:
        return [work(a, b) for a, b in runs]
    with ThreadPoolExecutor(len(runs)) as pool:
        return [run.result() for run in [pool.submit(work, a, b) for a, b in runs]]


def pack(z: NDArray[np.float32]) -> NDArray[np.float32]:
    """Samples in lanes.

    z : (n, ny, nx) float32, n > 0
    returns (blocks, ny, nx, LANES) float32; sample k stands in block k // LANES, lane k % LANES. The last block is
    filled up with repeats of the last sample.
    """
    n, ny, nx = z.shape
    samples = np.ascontiguousarray(z, np.float32).reshape(-1)
    lanes = empty_lanes(blocks_of(n), ny, nx)
    for block, cells in enumerate(lanes):
        pack_block(samples, block * LANES, cells.reshape(-1), 0, ny * nx)
    return lanes


def unpack(lanes: NDArray[np.float32], n: int) -> NDArray[np.float32]:
    """The first n samples of (blocks, ny, nx, LANES) lanes, as (n, ny, nx) float32."""
    _, ny, nx, _ = lanes.shape
    z = np.empty((n, ny, nx), np.float32)
    for block in range(blocks_of(n)):
        unpack_block(np.ascontiguousarray(lanes[block], np.float32).reshape(-1), block * LANES, z.reshape(-1))
    return z


@kernel
def pack_block(z: Any, first: int, cells: Any, start: int, stop: int) -> None:
    """Cells start to stop of samples first to first + LANES into the flat cells of one block.

    z : (n * count,) all samples one after another; cells : (count * LANES,)
    """
    count = len(cells) // LANES
    n = len(z) // count
    if first + LANES > n or stop - start < LANES:
        for lane in range(LANES):
            offset = min(first + lane, n - 1) * count
            for k in range(start, stop):
                cells[k * LANES + lane] = z[offset + k]
        return
    for square in range((stop - start + LANES - 1) // LANES):
        k = min(start + square * LANES, stop - LANES)
        transpose(z, first * count + k, count, cells, k * LANES, LANES)


@kernel
def unpack_block(cells: Any, first: int, z: Any) -> None:
    """The inverse of `pack_block`."""
    count = len(cells) // LANES
    n = len(z) // count
    if first + LANES > n or count < LANES:
        for lane in range(min(LANES, n - first)):
            start = (first + lane) * count
            for k in range(count):
                z[start + k] = cells[k * LANES + lane]
        return
    for square in range((count + LANES - 1) // LANES):
        k = min(square * LANES, count - LANES)
        transpose(cells, k * LANES, LANES, z, first * count + k, count)
