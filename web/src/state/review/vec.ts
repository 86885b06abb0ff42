/** Points and turns, as in `fusion/rotation.py`: Hamilton, scalar first, `v_to = rotate(q_to_from_from, v_from)`. */
export type Vec = readonly [number, number, number];
export type Quat = readonly [number, number, number, number];

export function rotate(q: Quat, v: Vec): Vec {
  const [w, x, y, z] = q;
  const t: Vec = [2 * (y * v[2] - z * v[1]), 2 * (z * v[0] - x * v[2]), 2 * (x * v[1] - y * v[0])];
  return [v[0] + w * t[0] + y * t[2] - z * t[1], v[1] + w * t[1] + z * t[0] - x * t[2], v[2] + w * t[2] + x * t[1] - y * t[0]];
}

/** `a` and `by` times `b`. */
export function plus(a: Vec, b: Vec, by = 1): Vec {
  return [a[0] + by * b[0], a[1] + by * b[1], a[2] + by * b[2]];
}

export function dot(a: Vec, b: Vec): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
