// The drawing of the part on the bed: one view that is walked around, one from below.
// Lines and hatching by the conventions of the sheets; see ink.js.

import { BufferAttribute, BufferGeometry, Matrix4, Mesh, OrthographicCamera, Scene, Vector3, WebGLRenderer } from './three.js';
import { paper, pen, shared } from './ink.js';
import { Helpers } from './helpers.js';
import { backed, dot, rows, turned, unit } from './space.js';
import { Outlines, lines, strokes } from './strokes.js';
import { facing, make } from './words.js';

/** Edges beyond which a part is washed like a scan and hidden edges are left out. */
const HIDDEN_MOST = 30000;

/** Triangles from which on, and milliseconds a picture above which, one view is drawn while the part moves. */
const HURRIED_FROM = 20000;
const HURRIED_MS = 50;

/** Paper, ink and accent of a print. */
const PRINT = [[1, 1, 1], [0.086, 0.094, 0.11], [0.114, 0.247, 0.561]];

/** Length of the longest arrow of the axes, and its distance from the corner, px. */
const TRIPOD = 30;
const TRIPOD_OFF = 46;

/** A drawing narrower than this has its views one below the other, px. */
const NARROW = 640;

/** What the looks are called under a view. */
const FROM = { front: 'from the front', left: 'from the left', right: 'from the right', back: 'from the back', above: 'from above', below: 'from below' };

/** Azimuth and elevation of the one who looks, degrees. */
export const LOOKS = {
  corner: [45, 35.264], front: [0, 0], left: [90, 0], right: [-90, 0], back: [180, 0], above: [0, 90], below: [0, -90],
};

/** Right, up and toward the one who looks, for an azimuth and an elevation. */
function axes([az, el]) {
  const [sa, ca] = [Math.sin((az * Math.PI) / 180), Math.cos((az * Math.PI) / 180)];
  const [se, ce] = [Math.sin((el * Math.PI) / 180), Math.cos((el * Math.PI) / 180)];
  return { right: [ca, -sa, 0], up: [sa * se, ca * se, ce], toward: [-sa * ce, -ca * ce, se] };
}

export class Drawing {
  /** Throws where there is no WebGL. */
  constructor(root) {
    this.root = root;
    const canvas = document.createElement('canvas');
    const context = canvas.getContext('webgl2', { alpha: true, antialias: false, preserveDrawingBuffer: true });
    if (!context) throw new Error('no WebGL');
    this.renderer = new WebGLRenderer({ canvas, context });
    this.renderer.autoClear = false;
    this.renderer.setClearColor(0, 0);
    this.canvas = canvas;
    this.canvas.setAttribute('aria-hidden', 'true');
    this.labels = make('div', { className: 'labels' });
    this.labels.setAttribute('aria-hidden', 'true');
    root.replaceChildren(this.canvas, this.labels);
    this.uniforms = shared();
    this.scene = new Scene();
    this.camera = new OrthographicCamera();
    this.look = [...LOOKS.corner];
    this.zoom = 1;
    this.rotation = [0, 0, 0, 1];
    this.pens = {
      hidden: pen(this.uniforms, { thin: 0.9, hidden: true }),
      edge: pen(this.uniforms, { thin: 1.1, thick: 2.1 }),
      thin: pen(this.uniforms, { thin: 0.8 }),
      bridge: pen(this.uniforms, { thin: 1.4, over: true }),
      purpose: pen(this.uniforms, { colour: 'blue', thin: 1.6, over: true }),
    };
    new ResizeObserver(() => this.redraw()).observe(root);
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.#colours());
    this.#colours();
  }

  #colours() {
    const style = getComputedStyle(document.documentElement);
    for (const name of ['paper', 'ink', 'blue']) {
      const hex = style.getPropertyValue(`--${name}`).trim().replace('#', '');
      const full = hex.length === 3 ? [...hex].map((c) => c + c).join('') : hex;
      const rgb = [0, 2, 4].map((i) => parseInt(full.slice(i, i + 2), 16) / 255);
      this.uniforms[name].value.set(...rgb);
    }
    this.redraw();
  }

  /** Draws the sheet's picture into a plain canvas, at the size and in the ink of a print. */
  printInto(canvas) {
    if (!this.part) return;
    const { uniforms } = this;
    const kept = ['paper', 'ink', 'blue'].map((name) => uniforms[name].value.clone());
    ['paper', 'ink', 'blue'].forEach((name, i) => uniforms[name].value.set(...PRINT[i]));
    this.#draw(960, 440, 2);
    canvas.width = 1920;
    canvas.height = 880;
    const pen2 = canvas.getContext('2d');
    pen2.drawImage(this.canvas, 0, 0);
    pen2.scale(2, 2);
    pen2.font = '15px Bahnschrift, "DIN Alternate", "Liberation Sans", Arial, sans-serif';
    pen2.textAlign = 'center';
    pen2.textBaseline = 'middle';
    pen2.strokeStyle = '#16181c';
    for (const end of this.tripod.ends) {
      pen2.beginPath();
      pen2.moveTo(...this.tripod.from);
      pen2.lineTo(...end);
      pen2.stroke();
    }
    for (const { text, x, y } of this.words) {
      const wide = pen2.measureText(text).width + 6;
      pen2.fillStyle = '#fff';
      pen2.fillRect(x - wide / 2, y - 9, wide, 18);
      pen2.fillStyle = '#16181c';
      pen2.fillText(text, x, y);
    }
    ['paper', 'ink', 'blue'].forEach((name, i) => uniforms[name].value.copy(kept[i]));
    this.redraw();
  }

  /** Puts a part (see part.js) on the paper, or takes it off with `null`. */
  lay(part) {
    for (const child of [...this.scene.children]) {
      this.scene.remove(child);
      child.geometry.dispose();
    }
    this.part = part;
    this.extra = [];
    this.clean = [];
    this.purposeMarks = [];
    if (!part) return;
    const n = part.count;
    const corners = new Float32Array(9 * n), normals = new Float32Array(9 * n);
    for (let i = 0; i < 3 * n; i++) {
      for (let k = 0; k < 3; k++) {
        corners[3 * i + k] = part.points[3 * part.triangles[i] + k];
        normals[3 * i + k] = part.normals[3 * Math.trunc(i / 3) + k];
      }
    }
    const g = new BufferGeometry();
    g.setAttribute('position', new BufferAttribute(corners, 3));
    g.setAttribute('flatNormal', new BufferAttribute(normals, 3));
    g.setAttribute('strand', new BufferAttribute(new Float32Array(9 * n), 3));
    g.setAttribute('mark', new BufferAttribute(new Uint8Array(3 * n), 1));
    g.setAttribute('pick', new BufferAttribute(new Uint8Array(3 * n), 1));
    this.surface = g;
    const dense = part.edges.count > HIDDEN_MOST;
    this.uniforms.wash.value = dense ? 0.42 : 0.13;
    this.body = [];
    this.outlines = [];
    const add = (geometry, material, order) => {
      const mesh = new Mesh(geometry, material);
      mesh.frustumCulled = false;
      mesh.matrixAutoUpdate = false;
      mesh.renderOrder = order;
      this.scene.add(mesh);
      this.body.push(mesh);
      return mesh;
    };
    add(g, paper(this.uniforms), 0);
    if (dense) {
      this.outlines = [0, 1].map(() => new Outlines(part.edges)).map((o) => ({ from: o, mesh: add(o.geometry, this.pens.edge, 2) }));
    } else {
      const edges = strokes(part.edges);
      add(edges, this.pens.hidden, 1);
      add(edges, this.pens.edge, 2);
    }
    this.frame = null;
    this.meaning(null);
    this.redraw();
  }

  /** What each triangle means (bytes) and where bridges run; `null`: judged here by its lean. */
  meaning(bytes, spans = [], slender = null) {
    this.uniforms.known.value = bytes ? 1 : 0;
    this.spans = spans;
    this.slender = slender;
    if (bytes) {
      const mark = this.surface.getAttribute('mark');
      const strand = this.surface.getAttribute('strand');
      const { normals, points, triangles } = this.part;
      for (let i = 0; i < bytes.length; i++) {
        mark.array.fill(bytes[i], 3 * i, 3 * i + 3);
        if (bytes[i] !== 3) continue;
        const p = [0, 1, 2].map((k) => points[3 * triangles[3 * i] + k]);
        const n = [0, 1, 2].map((k) => normals[3 * i + k]);
        const near = spans.reduce((best, s) => (!best || gap(s.middle, p) < gap(best.middle, p) ? s : best), null);
        const along = near ? near.along : [n[1], -n[0], 0.3];
        const across = unit([n[1] * along[2] - n[2] * along[1], n[2] * along[0] - n[0] * along[2], n[0] * along[1] - n[1] * along[0]]);
        for (let c = 0; c < 3; c++) strand.array.set(across, 9 * i + 3 * c);
      }
      mark.needsUpdate = true;
      strand.needsUpdate = true;
    }
    this.redraw();
  }

  /** Marks what the part may be for: see `purposeMarks` in marks.js. */
  purposes(marks) {
    this.purposeMarks = marks;
    this.redraw();
  }

  /** Overhang limit and height of the first layer, for what is judged here. */
  limits(settings) {
    this.uniforms.steep.value = Math.sin(((settings.limit_deg + 0.5) * Math.PI) / 180);
    this.uniforms.touch.value = settings.first_layer_mm / 2;
    this.redraw();
  }

  /** Tints triangles: 1 for the face pointed at, 2 for cosmetic sides, which carry a word too. */
  tint(picked, clean) {
    const pick = this.surface.getAttribute('pick');
    pick.array.fill(0);
    const { normals, points, triangles, count } = this.part;
    // Sums of corners of each side, and how many they are: where its word stands.
    const sums = clean.map(() => [0, 0, 0, 0]);
    for (let i = 0; clean.length && i < count; i++) {
      const n = [normals[3 * i], normals[3 * i + 1], normals[3 * i + 2]];
      // The cone of the figure "marks on clean sides".
      const side = clean.findIndex((d) => dot(n, d) > 0.5);
      if (side < 0) continue;
      pick.array.fill(2, 3 * i, 3 * i + 3);
      for (let c = 0; c < 3; c++) {
        for (let k = 0; k < 3; k++) sums[side][k] += points[3 * triangles[3 * i + c] + k];
        sums[side][3] += 1;
      }
    }
    this.clean = sums.filter((s) => s[3]).map((s) => [0, 1, 2].map((k) => s[k] / s[3]));
    for (const i of picked) pick.array.fill(1, 3 * i, 3 * i + 3);
    pick.needsUpdate = true;
    this.redraw();
  }

  /** Turns the part; `steady` keeps the scale where the part still fits. */
  turn(rotation, steady = false) {
    this.rotation = rotation;
    this.steady = steady;
    this.redraw();
  }

  redraw() {
    this.waiting ??= requestAnimationFrame(() => {
      this.waiting = null;
      if (this.part && this.root.clientWidth > 0) this.#draw();
    });
  }

  /** The views on the paper: left, top, width and height in px, and axes of the look. */
  #views(w, h) {
    const wide = w >= NARROW;
    this.narrow = !wide;
    const main = wide ? [0, 0, w * 0.66, h] : [0, 0, w, h * 0.64];
    const below = wide ? [w * 0.68, h * 0.08, w * 0.32, h * 0.8] : [w * 0.08, h * 0.67, w * 0.84, h * 0.31];
    return [{ at: main, axes: axes(this.look), main: true }, { at: below, axes: axes(LOOKS.below), main: false }];
  }

  #draw(w = this.root.clientWidth, h = this.root.clientHeight, ratio = Math.min(2, devicePixelRatio || 1)) {
    const { renderer, part } = this;
    if (renderer.getPixelRatio() !== ratio) renderer.setPixelRatio(ratio);
    if (this.size !== `${w} ${h}`) {
      renderer.setSize(w, h);
      this.size = `${w} ${h}`;
    }
    const turn = rows(this.rotation);
    const { lo, hi } = part.bounds(turn);
    const shift = [-(lo[0] + hi[0]) / 2, -(lo[1] + hi[1]) / 2, -lo[2]];
    this.shift = shift;
    const matrix = new Matrix4().set(...turn[0], shift[0], ...turn[1], shift[1], ...turn[2], shift[2], 0, 0, 0, 1);
    for (const mesh of this.body) mesh.matrix.copy(matrix);
    const half = [(hi[0] - lo[0]) / 2, (hi[1] - lo[1]) / 2];
    const high = hi[2] - lo[2];
    this.#helpers(half, high);
    renderer.setScissorTest(true);
    const views = this.#views(w, h);
    if (this.#hurried()) {
      // The view from below waits until the hand lets go.
      this.words = this.words.filter((word) => word.still);
      views.pop();
    } else {
      this.words = [];
      renderer.setScissor(0, 0, w, h);
      renderer.clear();
    }
    for (const view of views) this.#view(view, half, high, ratio, h);
    for (const at of this.words) {
      // Lettering keeps off the edges; 4.2 px is half a character.
      const reach = 4.2 * at.text.length;
      at.x = Math.max(reach, Math.min(w - reach, at.x));
    }
    this.labels.replaceChildren(arms(this.tripod, w, h), ...this.words.map(word));
  }

  /** While the part is moved: do pictures follow each other too slowly on this machine? */
  #hurried() {
    const t = performance.now();
    const gap1 = t - (this.last ?? 0);
    this.last = t;
    if (!this.steady) return false;
    // A pause of the hand tells nothing about the machine.
    if (gap1 < 400) this.pace = 0.7 * (this.pace ?? 16) + 0.3 * gap1;
    return this.part.count > HURRIED_FROM && this.pace > HURRIED_MS;
  }

  #view({ at: [left, top, wide, tall], axes: { right, up, toward }, main }, half, high, ratio, h) {
    const { renderer, uniforms, part, words } = this;
    const reach = (a) => Math.abs(a[0]) * half[0] + Math.abs(a[1]) * half[1] + (Math.abs(a[2]) * high) / 2;
    // Room for the dimension lines around the part.
    const room = main ? 58 : 8;
    const fit = Math.min((wide - 2 * room) / (2 * reach(right)), (tall - 2 * room) / (2 * reach(up)));
    let perMm = fit * (main ? this.zoom : 1);
    if (main) {
      if (this.steady && this.frame) perMm = Math.min(this.frame, perMm);
      this.frame = perMm;
      this.perMm = perMm;
    }
    const middle = [0, 0, high / 2];
    const camera = this.camera;
    const far = 6 * part.radius;
    Object.assign(camera, { left: -wide / perMm / 2, right: wide / perMm / 2, top: tall / perMm / 2, bottom: -tall / perMm / 2, near: 0, far: 2 * far });
    camera.position.set(...middle.map((m, k) => m + toward[k] * far));
    camera.up.set(...up);
    camera.lookAt(new Vector3(...middle));
    camera.updateProjectionMatrix();
    uniforms.eye.value.set(...toward);
    uniforms.size.value.set(wide * ratio, tall * ratio);
    uniforms.dot.value = ratio;
    uniforms.perMm.value = perMm * ratio;
    for (const mesh of this.extra) mesh.visible = main || mesh.both;
    this.outlines.forEach(({ from, mesh }, i) => {
      mesh.visible = main === (i === 0);
      if (mesh.visible) from.choose(backed(this.rotation, toward));
    });
    renderer.setViewport(left, h - top - tall, wide, tall);
    renderer.setScissor(left, h - top - tall, wide, tall);
    renderer.clear();
    renderer.render(this.scene, camera);
    const place = (p) => {
      const d = p.map((x, k) => x - middle[k]);
      return [left + wide / 2 + dot(d, right) * perMm, top + tall / 2 - dot(d, up) * perMm];
    };
    for (const note of this.notes) {
      if (!main && !note.both) continue;
      const [x, y] = place(note.at);
      words.push({ text: note.text, x, y, mark: note.mark, still: !main });
    }
    const own = facing(backed(this.rotation, toward));
    const side = own.includes(' ') ? `(${own})` : `(${own} side)`;
    if (main) {
      this.view = { left, top, wide, tall, right, up, toward, middle, perMm };
      // In a narrow view lower, clear of the lettering of the dimensions.
      this.#tripod([left, top + tall + (this.narrow ? 20 : 0)], right, up);
      const name = Object.keys(FROM).find((k) => LOOKS[k].every((v, i) => v === this.look[i]));
      if (name) words.push({ text: `${FROM[name]} ${side}`, x: left + wide / 2, y: top + tall - 12 });
    } else words.push({ text: `from below ${side}`, still: true, x: left + wide / 2, y: Math.min(h - 10, top + tall / 2 + reach(up) * perMm + 18) });
  }

  /** The axes of the part as arrows in a corner of the view. */
  #tripod([left, bottom], right, up) {
    const from = [left + TRIPOD_OFF, bottom - TRIPOD_OFF];
    this.tripod = { from, ends: [] };
    for (const [k, text] of ['X', 'Y', 'Z'].entries()) {
      const axis = turned(this.rotation, [0, 1, 2].map((i) => Number(i === k)));
      const [u, v] = [dot(axis, right), dot(axis, up)];
      const size = Math.hypot(u, v);
      const end = [from[0] + TRIPOD * u, from[1] - TRIPOD * v];
      this.tripod.ends.push(end);
      // Seen from its end an axis has no direction: its letter stands beside the corner.
      const way = size > 0.12 ? [u / size, -v / size] : [-0.7, -0.7];
      this.words.push({ text, x: end[0] + 10 * way[0], y: end[1] + 10 * way[1], axis: true });
    }
  }

  /** Ground, dimension lines, arrows of bridges, the slender piece and what the part may be for, made anew. */
  #helpers(half, high) {
    for (const mesh of this.extra) {
      this.scene.remove(mesh);
      mesh.geometry.dispose();
    }
    this.extra = [];
    this.notes = [];
    const draw = (list, material, both = false) => {
      if (!list.length) return;
      const mesh = new Mesh(lines(list), material);
      mesh.frustumCulled = false;
      mesh.renderOrder = 3;
      mesh.both = both;
      this.scene.add(mesh);
      this.extra.push(mesh);
    };
    const helpers = new Helpers(this.part.radius, half, high);
    const place = { point: (p) => this.build(p), way: (d) => turned(this.rotation, d) };
    draw(helpers.ground(), this.pens.thin);
    const arrows = this.spans.flatMap((s) => helpers.span(place, s));
    if (this.slender) arrows.push(...helpers.slender(place, this.slender));
    for (const at of this.clean) helpers.notes.push({ at: this.build(at), text: 'cosmetic side', mark: true, both: true });
    draw(arrows, this.pens.bridge, true);
    draw(this.purposeMarks.flatMap((m) => helpers.purpose(place, m)), this.pens.purpose);
    this.notes = helpers.notes;
  }

  /** A point of the part in the build frame. */
  build(p) {
    return turned(this.rotation, p).map((v, k) => v + this.shift[k]);
  }

  /** The triangle under a place of the page (client px), or -1. */
  under(clientX, clientY) {
    const box = this.canvas.getBoundingClientRect();
    const { left, top, wide, tall, right, up, toward, middle, perMm } = this.view;
    const [u, v] = [(clientX - box.left - left - wide / 2) / perMm, -(clientY - box.top - top - tall / 2) / perMm];
    if (Math.abs(u) > wide / perMm / 2 || Math.abs(v) > tall / perMm / 2) return -1;
    const from = middle.map((m, k) => m + u * right[k] + v * up[k] + toward[k] * 6 * this.part.radius - this.shift[k]);
    return this.part.hit(backed(this.rotation, from), backed(this.rotation, toward.map((t) => -t)));
  }
}

const gap = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** The arms of the tripod of axes. */
function arms({ from, ends }, w, h) {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('viewBox', `0 0 ${w} ${h}`);
  for (const end of ends) {
    const arm = document.createElementNS(svg.namespaceURI, 'path');
    arm.setAttribute('d', `M${from.map((v) => v.toFixed(1))}L${end.map((v) => v.toFixed(1))}`);
    svg.append(arm);
  }
  return svg;
}

function word({ text, x, y, mark, axis }) {
  const node = make('span', { className: axis ? 'axis' : mark ? 'mark' : '' }, text);
  node.style.left = `${x}px`;
  node.style.top = `${y}px`;
  return node;
}
