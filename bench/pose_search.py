"""An independent search for the way of a flat piece among walls: all three freedoms on a grid, by distances of points only.

A cell of poses is free for sure where the pose at its middle keeps more room than any point moves within the cell, and
blocked for sure where it stands deeper in a wall than that. Cells that are neither are cut into eight.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import label

Floats = npt.NDArray[np.float64]
_BATCH = 40_000


@dataclass(frozen=True)
class Wall:
    """A convex solid: half planes n . p <= c, and its corners.

    Attributes:
        normals: outward, of unit length, shape (m, 2)
        offsets: shape (m,) [mm]
        corners: shape (k, 2) [mm]
    """

    normals: Floats
    offsets: Floats
    corners: Floats


def wall(*corners: tuple[float, float]) -> Wall:
    """From its corners, counter-clockwise; far corners stand for no corner at all."""
    points = np.array(corners, dtype=float)
    ahead = np.roll(points, -1, axis=0) - points
    normals = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return Wall(normals, (normals * points).sum(axis=1), points[np.abs(points).max(axis=1) < 1e4])


def block(x0: float, y0: float, x1: float, y1: float) -> Wall:
    """A level block."""
    return wall((x0, y0), (x1, y0), (x1, y1), (x0, y1))


@dataclass(frozen=True)
class Piece:
    """Rectangles x0, y0, x1, y1 about the point that it turns about, shape (k, 4) [mm]."""

    boxes: Floats

    def points(self, spacing: float = 60.0) -> Floats:
        """Corners, and points along the sides."""
        found = []
        for x0, y0, x1, y1 in self.boxes:
            for (ax, ay), (bx, by) in (
                ((x0, y0), (x1, y0)), ((x1, y0), (x1, y1)), ((x1, y1), (x0, y1)), ((x0, y1), (x0, y0)),
            ):  # fmt: skip
                count = max(1, math.ceil(math.hypot(bx - ax, by - ay) / spacing))
                share = np.arange(count)[:, None] / count
                found.append(np.array([ax, ay]) + share * np.array([bx - ax, by - ay]))
        return np.concatenate(found)


def _clear(piece: Piece, walls: list[Wall], points: Floats, poses: Floats) -> Floats:
    """Room at each pose (x, y, turn): of its points to the walls, of the walls' corners to it; never told too great."""
    found = np.empty(len(poses))
    for begin in range(0, len(poses), _BATCH):
        x, y, turn = poses[begin : begin + _BATCH].T
        cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
        px = x[:, None] + cos * points[:, 0] - sin * points[:, 1]
        py = y[:, None] + sin * points[:, 0] + cos * points[:, 1]
        room = np.full(len(x), np.inf)
        for one in walls:
            outside = np.full(px.shape, -np.inf)
            for (nx, ny), offset in zip(one.normals, one.offsets, strict=True):
                if abs(offset) < 9e4:
                    np.maximum(outside, nx * px + ny * py - offset, out=outside)
            room = np.minimum(room, outside.min(axis=1))
            if len(one.corners):
                dx, dy = one.corners[:, 0] - x[:, None], one.corners[:, 1] - y[:, None]
                qx, qy = cos * dx + sin * dy, -sin * dx + cos * dy
                for x0, y0, x1, y1 in piece.boxes:
                    beside = np.maximum(np.maximum(x0 - qx, qx - x1), np.maximum(y0 - qy, qy - y1))
                    room = np.minimum(room, beside.min(axis=1))
        found[begin : begin + _BATCH] = room
    return found


def passes(
    piece: Piece,
    walls: list[Wall],
    box: tuple[float, float, float, float],
    start: tuple[float, float, float, float],
    goal: tuple[float, float, float, float],
    *,
    finest: float = 9.0,
    budget: int = 1_500_000,
) -> bool | None:
    """Whether a way exists; None where the search is not fine enough to tell.

    Args:
        piece: what is moved
        walls: solids
        box: x0, y0, x1, y1 of the places of its point of turning [mm]
        start: rectangle that holds all of it at first [mm]
        goal: rectangle that holds all of it at last [mm]
        finest: smallest cell [mm]
        budget: most poses that are looked at
    """
    points = piece.points()
    corners = piece.boxes[:, [0, 1, 2, 1, 2, 3, 0, 3]].reshape(-1, 2)
    reach = float(np.hypot(*corners.T).max())
    step = 90.0
    counts = [
        max(3, math.ceil((box[2] - box[0]) / step)),
        max(3, math.ceil((box[3] - box[1]) / step)),
        max(8, math.ceil(2 * math.pi * reach / step)),
    ]
    free: npt.NDArray[np.int8] = np.zeros(counts, dtype=np.int8)
    mixed = np.ones(counts, dtype=bool)
    spent = 0
    while True:
        sizes = np.array([box[2] - box[0], box[3] - box[1], 2 * math.pi]) / free.shape
        at = np.argwhere(mixed)
        spent += len(at)
        if spent > budget:
            return None
        poses = np.array([box[0], box[1], 0.0]) + (at + 0.5) * sizes
        moved = math.hypot(sizes[0], sizes[1]) / 2.0 + reach * sizes[2] / 2.0
        room = _clear(piece, walls, points, poses)
        # 2: free for sure; 1: not known; 0: blocked for sure.
        free[mixed] = np.where(room > moved, 2, np.where(room < -moved, 0, 1))
        held = [_held(corners, free, box, sizes, where, moved) for where in (start, goal)]
        if _joined(free == 2, held[0][1], held[1][1]).any():
            return True
        reached = _joined(free > 0, held[0][0], held[1][0])
        if not reached.any():
            return False
        if max(sizes[0], sizes[1]) < finest:
            return None
        free[~reached] = 0
        mixed = np.repeat(np.repeat(np.repeat((free == 1), 2, 0), 2, 1), 2, 2)
        free = np.repeat(np.repeat(np.repeat(free, 2, 0), 2, 1), 2, 2)


def _held(
    corners: Floats,
    free: npt.NDArray[np.int8],
    box: tuple[float, float, float, float],
    sizes: Floats,
    where: tuple[float, float, float, float],
    moved: float,
) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Cells of which some pose may be, and of which every pose is, within a rectangle."""
    turn = (np.arange(free.shape[2]) + 0.5) * sizes[2]
    x = (box[0] + (np.arange(free.shape[0]) + 0.5) * sizes[0])[:, None]
    y = (box[1] + (np.arange(free.shape[1]) + 0.5) * sizes[1])[:, None]
    px = np.cos(turn)[:, None] * corners[:, 0] - np.sin(turn)[:, None] * corners[:, 1]
    py = np.sin(turn)[:, None] * corners[:, 0] + np.cos(turn)[:, None] * corners[:, 1]
    in_x = np.minimum(x + px.min(axis=1) - where[0], where[2] - x - px.max(axis=1))
    in_y = np.minimum(y + py.min(axis=1) - where[1], where[3] - y - py.max(axis=1))
    room = np.minimum(in_x[:, None, :], in_y[None, :, :])
    return room >= -moved, room >= moved


def _joined(
    free: npt.NDArray[np.bool_], start: npt.NDArray[np.bool_], goal: npt.NDArray[np.bool_]
) -> npt.NDArray[np.bool_]:
    """Cells of the parts that hold a start and a goal; turns close on themselves."""
    labels, count = label(free)
    part = np.arange(count + 1)

    def root(one: int) -> int:
        while part[one] != one:
            one = part[one]
        return int(one)

    seam = np.unique(np.column_stack([labels[:, :, 0].ravel(), labels[:, :, -1].ravel()]), axis=0)
    for one, two in seam:
        if one and two:
            part[root(one)] = root(two)
    roots = np.array([root(one) for one in range(count + 1)])
    starts, goals = np.zeros(count + 1, bool), np.zeros(count + 1, bool)
    starts[roots[labels[free & start]]] = True
    goals[roots[labels[free & goal]]] = True
    good = starts & goals
    good[0] = False
    found: npt.NDArray[np.bool_] = good[roots][labels]
    return found
