// Turning the part by hand: pointer, keys, typed angles. Says where the part points and
// whether the hand has let go.

import { about, cross, downOf, laid, times, unit } from './space.js';

/** Degrees a pixel of dragging. */
const DRAG = 0.4;

/** A key turn is at rest when no other follows within this time, ms. */
const REST = 300;

/** A pointer that moved less than this clicked, px. */
const CLICK = 4;

export class Hand {
  /**
   * `does` is told what the hand does: moved(rotation, rest), looked(), clicked(x, y),
   * settle() for Enter, home() for Home, undo() for U. `state` gives `rotation` and `look`.
   */
  constructor(root, state, does) {
    this.state = state;
    this.does = does;
    this.root = root;
    root.addEventListener('pointerdown', (e) => this.#down(e));
    root.addEventListener('keydown', (e) => this.#key(e));
  }

  #down(e) {
    if (e.button !== 0 || !e.isPrimary) return;
    const { root, does, state } = this;
    root.setPointerCapture(e.pointerId);
    root.focus({ preventScroll: true });
    const round = e.shiftKey;
    let [x, y] = [e.clientX, e.clientY];
    const start = [x, y];
    let moved = false;
    const move = (m) => {
      const [dx, dy] = [m.clientX - x, m.clientY - y];
      const way = [m.clientX - start[0], m.clientY - start[1]].map(Math.abs);
      if (!moved && Math.hypot(...way) < CLICK) return;
      // A finger that sets out upwards or downwards scrolls the page.
      if (!moved && e.pointerType === 'touch' && way[1] >= way[0]) return end(m);
      moved = true;
      [x, y] = [m.clientX, m.clientY];
      if (round) {
        state.look = [state.look[0] + dx * DRAG, Math.max(-90, Math.min(90, state.look[1] + dy * DRAG))];
        does.looked();
        return;
      }
      const { right, up } = this.axes();
      const by = times(about(up, dx * DRAG), about(right, dy * DRAG));
      does.moved(times(by, state.rotation), false);
    };
    const end = (m) => {
      root.removeEventListener('pointermove', move);
      root.removeEventListener('pointerup', end);
      root.removeEventListener('pointercancel', end);
      if (moved && !round) does.moved(state.rotation, true);
      else if (!moved && m.type === 'pointerup') does.clicked(m.clientX, m.clientY);
    };
    root.addEventListener('pointermove', move);
    root.addEventListener('pointerup', end);
    root.addEventListener('pointercancel', end);
  }

  /** Axes of the sheet in the build frame. */
  axes() {
    const [az, el] = this.state.look.map((d) => (d * Math.PI) / 180);
    const right = [Math.cos(az), -Math.sin(az), 0];
    const up = [Math.sin(az) * Math.sin(el), Math.cos(az) * Math.sin(el), Math.cos(el)];
    return { right, up };
  }

  #key(e) {
    if (e.target !== this.root) return;
    const undo = e.key.toLowerCase() === 'u' || ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === 'z');
    if ((e.ctrlKey || e.metaKey || e.altKey) && !undo) return;
    if (undo) {
      this.does.undo();
    } else if (e.key.startsWith('Arrow')) {
      this.tip(e.key, e.shiftKey ? 1 : 5);
    } else if (e.key === 'Enter') {
      this.does.settle();
    } else if (e.key === 'Home') {
      this.does.home();
    } else if (e.key === 'a' || e.key === 'd') {
      this.orbit(e.key === 'a' ? 1 : -1);
    } else if (e.key === '+' || e.key === '=' || e.key === '-') {
      this.does.closer(e.key === '-' ? 1 / 1.25 : 1.25);
    } else {
      return;
    }
    e.preventDefault();
  }

  /** Tips the part the way of an arrow key, so many degrees. */
  tip(key, deg) {
    const { right } = this.axes();
    const away = unit(cross([0, 0, 1], right));
    const tips = { ArrowDown: [right, deg], ArrowUp: [right, -deg], ArrowRight: [away, deg], ArrowLeft: [away, -deg] };
    this.#tip(...tips[key]);
  }

  /** Orbits the view by a step, 1 to the left and -1 to the right. */
  orbit(way) {
    this.state.look = [this.state.look[0] + 15 * way, this.state.look[1]];
    this.does.looked();
  }

  #tip(axis, deg) {
    this.does.moved(times(about(axis, deg), this.state.rotation), false);
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.does.moved(this.state.rotation, true), REST);
  }

  /** Any other move overtakes a key turn that is not at rest yet. */
  drop() {
    clearTimeout(this.resting);
  }

  /** From a base pose, so far forwards and so far to the right. */
  tipped(base, forwards, rightwards) {
    return times(about([0, 1, 0], rightwards), times(about([1, 0, 0], forwards), base));
  }

  /** The rotation from the one now that brings a direction down. */
  pointed(down) {
    return laid(this.state.rotation, down);
  }

  down() {
    return downOf(this.state.rotation);
  }
}
