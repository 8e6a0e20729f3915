"""Every stack that can be made from a stock of spring shims."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valvetrain.mechanics.arrays import BoolArray, FloatArray

__all__ = ["ShimStacks", "ShimStock", "shim_stacks"]

# A stack may be this much above the limit: far below what a shim's own thickness is known to [m].
ROUNDING = 1e-9
MOST_STACKS = 20_000


@dataclass(frozen=True)
class ShimStock:
    """Shims at hand, one entry a kind.

    Attributes:
        thickness: [m], above zero.
        count: how many there are; `math.inf` where more can be had. Left empty: all unlimited.
        hardened: whether that kind is hardened. Left empty: none is.
    """

    thickness: tuple[float, ...]
    count: tuple[float, ...] = ()
    hardened: tuple[bool, ...] = ()

    def __post_init__(self) -> None:
        """Fill what was left empty and refuse what no drawer can hold."""
        kinds = len(self.thickness)
        if not self.count:
            object.__setattr__(self, "count", (np.inf,) * kinds)
        if not self.hardened:
            object.__setattr__(self, "hardened", (False,) * kinds)
        if len(self.count) != kinds or len(self.hardened) != kinds:
            raise ValueError(
                f"the shim stock has {kinds} thicknesses, {len(self.count)} counts and "
                f"{len(self.hardened)} hardened flags: there must be one of each for every kind."
            )
        for thickness, count in zip(self.thickness, self.count, strict=True):
            if not (np.isfinite(thickness) and thickness > 0.0):
                raise ValueError(f"a shim is {thickness:g} m thick: it must be finite and above zero.")
            if not count >= 0:
                raise ValueError(f"the count of a shim is {count:g}: it must not be negative.")


@dataclass(frozen=True)
class ShimStacks:
    """Stacks, the empty one first, then by thickness and number of shims.

    Attributes:
        counts: shims of each kind, shape [stacks, kinds].
        thickness: [m], shape [stacks].
        shims: number of shims, shape [stacks].
        hardened: every shim in the stack is hardened (true for the empty one), shape [stacks].
    """

    counts: NDArray[np.int64]
    thickness: FloatArray
    shims: NDArray[np.int64]
    hardened: BoolArray


def shim_stacks(
    stock: ShimStock, stack_limit: float, most_shims: int = 4, for_sale: BoolArray | None = None
) -> ShimStacks:
    """All stacks up to a thickness [m] and a number of shims, none using more than the stock has.

    Kinds that are `for_sale`, shape [kinds], may be used beyond it. Left out is a stack that another one of
    its thickness makes superfluous.

    Raises:
        ValueError: for a limit that is not a number >= 0, or more stacks than can be searched.
    """
    if not stack_limit >= 0.0:
        raise ValueError(f"the shim stack limit is {stack_limit:g} m: it must not be negative.")
    if most_shims < 0:
        raise ValueError(f"at most {most_shims} shims in a stack: it must not be negative.")
    kinds = len(stock.thickness)
    found: list[tuple[int, ...]] = [()]
    for kind in range(kinds):
        longer: list[tuple[int, ...]] = []
        for stack in found:
            used = sum(stack)
            height = sum(n * t for n, t in zip(stack, stock.thickness, strict=False))
            number = 0
            while (
                (number <= stock.count[kind] or (for_sale is not None and for_sale[kind]))
                and used + number <= most_shims
                and height + number * stock.thickness[kind] <= stack_limit + ROUNDING
            ):
                longer.append((*stack, number))
                number += 1
        if len(longer) > MOST_STACKS:
            raise ValueError(
                f"the stock makes more than {MOST_STACKS} different stacks: "
                "lower the stack limit, the most shims in a stack, or the kinds of shim."
            )
        found = longer
    counts = _worth_having(np.asarray(found, np.int64).reshape(len(found), kinds), stock)
    thickness = counts @ np.asarray(stock.thickness, float).reshape(kinds)
    shims = counts.sum(axis=1)
    soft = ~np.asarray(stock.hardened, bool).reshape(kinds)
    order = np.lexsort((shims, thickness))
    return ShimStacks(
        counts[order], thickness[order], shims[order], np.asarray(~(counts[order][:, soft] > 0).any(axis=1))
    )


def _worth_having(counts: NDArray[np.int64], stock: ShimStock) -> NDArray[np.int64]:
    """The stacks less those that have another of their thickness with no more shims.

    That one takes no more of any kind that can run short, and is as hard.
    """
    short = np.isfinite(np.asarray(stock.count, float))
    soft = counts @ (~np.asarray(stock.hardened, bool)).astype(np.int64) > 0
    thickness = counts @ np.asarray(stock.thickness, float)
    alike: dict[int, list[int]] = {}
    for index, each in enumerate(np.round(thickness / ROUNDING).astype(np.int64)):
        alike.setdefault(int(each), []).append(index)
    kept: list[int] = []
    for group in alike.values():
        for one in sorted(group, key=lambda index: int(counts[index].sum())):
            if not any(
                other in kept
                and soft[other] <= soft[one]
                and (counts[other][short] <= counts[one][short]).all()
                for other in group
                if other != one
            ):
                kept.append(one)
    return counts[sorted(kept)]
