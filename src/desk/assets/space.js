// Rotations as unit quaternions [x, y, z, w] and matrices by rows; all of it small enough
// to read. A pose turns a point of the part into the build frame: Z up from the bed.

const RAD = Math.PI / 180;

export const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
export const unit = (a) => {
  const s = Math.hypot(...a) || 1;
  return a.map((x) => x / s);
};
/** Degrees between two unit directions; exact for small ones as well. */
export const between = (a, b) => Math.atan2(Math.hypot(...cross(a, b)), dot(a, b)) / RAD;

/** First `b`, then `a`. */
export function times(a, b) {
  const [x, y, z, w] = a, [p, q, r, s] = b;
  return unit([
    w * p + x * s + y * r - z * q,
    w * q - x * r + y * s + z * p,
    w * r + x * q - y * p + z * s,
    w * s - x * p - y * q - z * r,
  ]);
}

export const inverse = ([x, y, z, w]) => [-x, -y, -z, w];

export function about(axis, deg) {
  const s = Math.sin((deg * RAD) / 2);
  return [...unit(axis).map((x) => x * s), Math.cos((deg * RAD) / 2)];
}

export function rows([x, y, z, w]) {
  return [
    [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
    [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
    [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
  ];
}

export function fromRows(m) {
  const t = m[0][0] + m[1][1] + m[2][2];
  if (t > 0) {
    const s = 2 * Math.sqrt(1 + t);
    return unit([(m[2][1] - m[1][2]) / s, (m[0][2] - m[2][0]) / s, (m[1][0] - m[0][1]) / s, s / 4]);
  }
  const i = m[1][1] > m[0][0] ? (m[2][2] > m[1][1] ? 2 : 1) : m[2][2] > m[0][0] ? 2 : 0;
  const [j, k] = [(i + 1) % 3, (i + 2) % 3];
  const s = 2 * Math.sqrt(1 + m[i][i] - m[j][j] - m[k][k]);
  const q = [0, 0, 0, (m[k][j] - m[j][k]) / s];
  q[i] = s / 4;
  q[j] = (m[j][i] + m[i][j]) / s;
  q[k] = (m[k][i] + m[i][k]) / s;
  return unit(q);
}

/** A direction of the part in the build frame. */
export const turned = (q, v) => rows(q).map((r) => dot(r, v));

/** A direction of the build frame in that of the part. */
export const backed = (q, v) => turned(inverse(q), v);

/** The direction of the part that points down to the bed. */
export const downOf = (q) => rows(q)[2].map((x) => -x);

/** The rotation from `q` that brings a direction of the part down, by the shortest way. */
export function laid(q, down) {
  const now = turned(q, unit(down));
  const axis = cross(now, [0, 0, -1]);
  if (Math.hypot(...axis) < 1e-9) return now[2] < 0 ? q : times(about([1, 0, 0], 180), q);
  return times(about(axis, between(now, [0, 0, -1])), q);
}

/** Between two rotations, by the shorter way; `t` from 0 to 1. */
export function blend(a, b, t) {
  let c = a.reduce((s, x, i) => s + x * b[i], 0);
  const to = c < 0 ? b.map((x) => -x) : b;
  c = Math.min(1, Math.abs(c));
  const angle = Math.acos(c);
  if (angle < 1e-6) return to;
  const [u, v] = [Math.sin((1 - t) * angle), Math.sin(t * angle)].map((s) => s / Math.sin(angle));
  return unit(a.map((x, i) => u * x + v * to[i]));
}
