// Numbers and directions in words, with the same rounding as the terminal.

const MINUS = '\u2212';
const AXES = ['X', 'Y', 'Z'];
/** Within this angle of an axis a direction is called by the axis alone, as on the server. */
const ON_AXIS_DEG = 1;
/** Estimates below this are no better than a guess, min. */
const LEAST_ESTIMATE = 5;

/** At most `places` decimals, trailing zeros left out, a true minus sign. */
export function decimal(value, places) {
  if (!Number.isFinite(value)) return '\u2013';
  let text = value.toFixed(places);
  if (text.includes('.')) text = text.replace(/\.?0+$/, '');
  if (text === '-0') return '0';
  return text.replace('-', MINUS);
}

/** Three significant digits, written out. */
export function three(value) {
  if (value === 0 || !Number.isFinite(value)) return decimal(value, 0);
  const exponent = Number(Math.abs(value).toExponential(2).split('e')[1]);
  return decimal(value, Math.min(4, Math.max(0, 2 - exponent)));
}

/** The same with two decimals at most: what nobody can measure is noise. */
function size(value) {
  if (value === 0 || !Number.isFinite(value)) return decimal(value, 0);
  const exponent = Number(Math.abs(value).toExponential(2).split('e')[1]);
  return decimal(value, Math.min(2, Math.max(0, 2 - exponent)));
}

export const length = (mm) =>
  Math.abs(mm) >= 10000 ? `${size(mm / 1000)} m` : `${size(mm)} mm`;
export const area = (mm2) =>
  Math.abs(mm2) >= 1000 ? `${size(mm2 / 100)} cm²` : `${size(mm2)} mm²`;
export const volume = (mm3) =>
  Math.abs(mm3) >= 1000 ? `${size(mm3 / 1000)} cm³` : `${size(mm3)} mm³`;
export const mass = (g) =>
  Math.abs(g) >= 1000 ? `${decimal(g / 1000, 1)} kg` : `${decimal(g, Math.abs(g) < 100 ? 1 : 0)} g`;
/** A time that was estimated: a few minutes are all one. */
export const estimate = (min) =>
  min > 0 && min < LEAST_ESTIMATE ? `under ${LEAST_ESTIMATE} min` : min <= 0 ? '0 min' : duration(min);
export const degrees = (deg) => `${decimal(deg, Math.abs(deg) < 10 ? 1 : 0)}°`;

/** How values of a quantity of the table are written beside each other: as on the server. */
export function scale(quantity, values) {
  const most = Math.max(0, ...values.filter(Number.isFinite).map(Math.abs));
  const time = quantity.digits === 'time';
  const [unit, size] = most >= quantity.step ? quantity.large : quantity.small;
  const little = (value) => time && value > 0 && value < LEAST_ESTIMATE;
  const hours = time && most >= 99.5;
  const places = (v) => {
    if (quantity.digits === 'angle') return Math.abs(v) < 10 ? 1 : 0;
    if (quantity.digits !== 'three') return time ? 0 : quantity.digits.places;
    if (v === 0 || !Number.isFinite(v)) return 0;
    return Math.min(quantity.finest, Math.max(0, 2 - Number(Math.abs(v).toExponential(2).split('e')[1])));
  };
  const rounded = (value) => {
    const v = value / size;
    return [Number.isFinite(v) ? Number(v.toFixed(places(v))) : v, places(v)];
  };
  const cell = (v, p) => {
    if (!hours || !Number.isFinite(v)) return decimal(v, p);
    return `${v < 0 ? MINUS : ''}${Math.floor(Math.abs(v) / 60)}:${String(Math.abs(v) % 60).padStart(2, '0')}`;
  };
  const say = (v, p) => {
    if (!time) return decimal(v, p) + unit;
    return v !== 0 && Number.isFinite(v) ? duration(v) : `${decimal(v, 0)} min`;
  };
  return {
    unit: hours ? 'h:min' : unit.trim(),
    cell: (value) => (little(value) ? `<${hours ? '0:0' : ''}${LEAST_ESTIMATE}` : cell(...rounded(value))),
    say: (value) => (little(value) ? estimate(value) : say(...rounded(value))),
    /** Difference of two values as they are printed, no finer than either or than a value of its size, with its sign; '' where both read the same. */
    apart: (a, b, bare = false) => {
      if (little(a) && little(b)) return '';
      const [[x, more], [y, less]] = [rounded(a), rounded(b)];
      const p = Math.min(Math.max(more, less), places(x - y));
      return x === y ? '' : (x > y ? '+' : '') + (bare ? cell : say)(Number((x - y).toFixed(p)), p);
    },
  };
}

export function duration(min) {
  if (!Number.isFinite(min)) return decimal(min, 0);
  if (Math.abs(min) < 1) return `${decimal(min * 60, 0)} s`;
  const whole = Math.round(Math.abs(min));
  const sign = min < 0 ? MINUS : '';
  if (whole < 60) return `${sign}${whole} min`;
  return `${sign}${Math.floor(whole / 60)} h ${String(whole % 60).padStart(2, '0')} min`;
}

export const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;

/** Nearest axis of a direction, its tilt from there and where the rest leans to. */
function split(d) {
  let main = 0;
  for (let i = 1; i < 3; i++) if (Math.abs(d[i]) > Math.abs(d[main]) + 1e-6) main = i;
  const name = (i) => (d[i] < 0 ? MINUS : '+') + AXES[i];
  const rest = Math.hypot(...[0, 1, 2].filter((i) => i !== main).map((i) => d[i]));
  const tilt = (Math.atan2(rest, Math.abs(d[main])) * 180) / Math.PI;
  if (tilt < ON_AXIS_DEG) return [name(main), 0, []];
  const to = [0, 1, 2].filter((i) => i !== main && Math.abs(d[i]) >= 0.38 * rest).map(name);
  return [name(main), tilt, to];
}

/** "−Y side down, tilted 7° to +Z" */
export function sideDown(d) {
  const [main, tilt, to] = split(d);
  return to.length ? `${main} side down, tilted ${degrees(tilt)} to ${to.join(' and ')}` : `${main} side down`;
}

/** "−Y", or "30° from −Y to +X" */
export function facing(d) {
  const [main, tilt, to] = split(d);
  return to.length ? `${degrees(tilt)} from ${main} to ${to.join(' and ')}` : main;
}

/**
 * What to do to the part of the file: "turn it 90° about X", by the right hand about the axes of the
 * file; two turns where one axis is not enough, nothing where the side is down already.
 */
export function act(d) {
  const [x, y, z] = d;
  const deg = (s, c) => (Math.atan2(s, c) * 180) / Math.PI;
  // About X until nothing of it points along Y, then about Y until all of it points down.
  const level = Math.abs(y) < 1e-6 && Math.abs(x) > 1e-6;
  const first = level ? 0 : deg(Math.abs(y) < 1e-6 ? 0 : -y, -z);
  const second = deg(x, level ? -z : Math.hypot(y, z));
  const turns = [[first, 'X'], [second, 'Y']].filter(([a]) => Math.abs(a) >= ON_AXIS_DEG / 2);
  if (!turns.length) return 'as stored in the file';
  return `from the file: turn it ${turns.map(([a, axis]) => `${degrees(a)} about ${axis}`).join(', then ')}`;
}

/** A direction typed by hand: three numbers, or an axis with its sign. `null` where it is neither. */
export function direction(text) {
  const plain = text.trim().replaceAll(MINUS, '-').toLowerCase();
  const axis = /^([+-]?)([xyz])$/.exec(plain);
  if (axis) {
    const d = [0, 0, 0];
    d['xyz'.indexOf(axis[2])] = axis[1] === '-' ? -1 : 1;
    return d;
  }
  const d = plain.split(/[\s,;]+/).filter(Boolean).map(Number);
  const size = Math.hypot(...d);
  if (d.length !== 3 || !Number.isFinite(size) || size < 1e-9) return null;
  return d.map((x) => x / size);
}

/** Three numbers as they are typed: "0,-1,0". */
export const typed = (d) => d.map((x) => String(Number(x.toFixed(4)) + 0)).join(',');

/** An element with text and children. */
export function make(tag, props = {}, ...inside) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(props)) {
    if (value === undefined || value === null) continue;
    if (key in node && key !== 'list' && key !== 'form') node[key] = value;
    else node.setAttribute(key, value);
  }
  node.append(...inside.filter((i) => i !== null && i !== undefined));
  return node;
}
