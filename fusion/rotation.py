"""Unit quaternions for one instant, as plain tuples of floats.

Hamilton, scalar first (w, x, y, z); `q_to_from` turns coordinates in `from` into coordinates in `to`:
`v_to = rotate(q_to_from, v_from)`, and neighbours in a product match: `mul(q_c_b, q_b_a) = q_c_a`.
Plain floats are forty times faster than arrays for a single product, and one sample at a time is how a swing arrives.
"""

from __future__ import annotations

import math

Quat = tuple[float, float, float, float]
Vec = tuple[float, float, float]

IDENTITY: Quat = (1.0, 0.0, 0.0, 0.0)
TINY_RAD = 1e-6
"""Of rotations smaller than this the sine is the angle."""


def mul(a: Quat, b: Quat) -> Quat:
    """Hamilton product: first b, then a."""
    aw, ax, ay, az = a
    bw, bx, by, bz = b
    return (
        aw * bw - ax * bx - ay * by - az * bz,
        aw * bx + ax * bw + ay * bz - az * by,
        aw * by - ax * bz + ay * bw + az * bx,
        aw * bz + ax * by - ay * bx + az * bw,
    )


def relative(a: Quat, b: Quat) -> Quat:
    """`mul(inverse(a), b)`, to the last bit, in one call: what is left to do when a has been done."""
    aw, ax, ay, az = a
    bw, bx, by, bz = b
    return (
        aw * bw + ax * bx + ay * by + az * bz,
        aw * bx - ax * bw - ay * bz + az * by,
        aw * by + ax * bz - ay * bw - az * bx,
        aw * bz - ax * by + ay * bx - az * bw,
    )


def inverse(q: Quat) -> Quat:
    """Conjugate of a unit quaternion."""
    return (q[0], -q[1], -q[2], -q[3])


def rotate(q: Quat, v: Vec) -> Vec:
    """Coordinates of v in the frame that q leads to."""
    w, x, y, z = q
    vx, vy, vz = v
    tx, ty, tz = 2 * (y * vz - z * vy), 2 * (z * vx - x * vz), 2 * (x * vy - y * vx)
    return (vx + w * tx + y * tz - z * ty, vy + w * ty + z * tx - x * tz, vz + w * tz + x * ty - y * tx)


def exp(phi: Vec) -> Quat:
    """Quaternion of a rotation vector, radians."""
    x, y, z = phi
    angle = math.sqrt(x * x + y * y + z * z)
    if angle < TINY_RAD:
        return normalised((1.0, x / 2, y / 2, z / 2))
    s = math.sin(angle / 2) / angle
    return (math.cos(angle / 2), s * x, s * y, s * z)


def about_z(angle_rad: float) -> Quat:
    """Turn about the vertical."""
    return (math.cos(angle_rad / 2), 0.0, 0.0, math.sin(angle_rad / 2))


def normalised(q: Quat) -> Quat:
    """Scale to unit length."""
    w, x, y, z = q
    n = math.sqrt(w * w + x * x + y * y + z * z)
    return (w / n, x / n, y / n, z / n)


def shortest(a: Vec, b: Vec) -> Quat:
    """Smallest rotation that takes direction a to direction b (unit vectors); a half turn about any axis if opposite."""
    w = 1.0 + a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    if w < 1e-9:
        axis = (0.0, -a[2], a[1]) if abs(a[0]) < 0.9 else (-a[1], a[0], 0.0)
        return normalised((0.0, *axis))
    return normalised((w, a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]))


def from_axes(x: Vec, y: Vec, z: Vec) -> Quat:
    """Turn of a frame whose axes lie along these directions, unit vectors square to each other.

    By the largest of the four parts, which loses no digits (Shepperd, J Guid Control 1(3), 1978, from memory).
    """
    trace = x[0] + y[1] + z[2]
    largest = max(x[0], y[1], z[2], trace)
    if largest == x[0]:
        i, j, k, w = 1 - trace + 2 * x[0], x[1] + y[0], x[2] + z[0], y[2] - z[1]
    elif largest == y[1]:
        i, j, k, w = y[0] + x[1], 1 - trace + 2 * y[1], y[2] + z[1], z[0] - x[2]
    elif largest == z[2]:
        i, j, k, w = z[0] + x[2], z[1] + y[2], 1 - trace + 2 * z[2], x[1] - y[0]
    else:
        i, j, k, w = y[2] - z[1], z[0] - x[2], x[1] - y[0], 1 + trace
    n = math.sqrt(i * i + j * j + k * k + w * w)
    return (w / n, i / n, j / n, k / n)


def between(a: Quat, b: Quat, fraction: float) -> Quat:
    """Normalised linear interpolation; at most 0.01 deg from the great arc for the 10 deg a club turns in a sample."""
    aw, ax, ay, az = a
    bw, bx, by, bz = b
    u, v = 1.0 - fraction, fraction if aw * bw + ax * bx + ay * by + az * bz >= 0 else -fraction
    w, x, y, z = u * aw + v * bw, u * ax + v * bx, u * ay + v * by, u * az + v * bz
    n = math.sqrt(w * w + x * x + y * y + z * z)
    return (w / n, x / n, y / n, z / n)


def angle(q: Quat) -> float:
    """Size of the rotation, radians in [0, pi]."""
    return 2.0 * math.atan2(math.sqrt(q[1] * q[1] + q[2] * q[2] + q[3] * q[3]), abs(q[0]))


def twist(q: Quat, axis: Vec) -> float:
    """Angle of the rotation about a unit axis in the swing-twist decomposition q = swing * twist, radians in (-pi, pi]."""
    w, along = q[0], q[1] * axis[0] + q[2] * axis[1] + q[3] * axis[2]
    if w < 0:
        w, along = -w, -along
    return 2.0 * math.atan2(along, w)


def dot(a: Vec, b: Vec) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec, b: Vec) -> Vec:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def unit(v: Vec) -> Vec:
    """Scale a vector to unit length."""
    n = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
    return (v[0] / n, v[1] / n, v[2] / n)


def angle_between(a: Vec, b: Vec) -> float:
    """Angle between two directions, radians in [0, pi]."""
    ax, ay, az = a
    bx, by, bz = b
    across = math.hypot(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)
    return math.atan2(across, ax * bx + ay * by + az * bz)
