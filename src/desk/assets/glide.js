// Turns the picture: at once for all that reckons, smoothly for the eye.

import { blend } from './space.js';

const GLIDE_MS = matchMedia('(prefers-reduced-motion: reduce)').matches ? 0 : 320;

export class Glide {
  /** `state` holds the rotation; `drawing` shows it, where there is one. */
  constructor(state, drawing) {
    this.state = state;
    this.drawing = drawing;
    this.seen = state.rotation;
    this.gliding = 0;
  }

  /** Turns to a rotation at once, and smoothly for the eye. */
  to(rotation) {
    cancelAnimationFrame(this.gliding);
    this.state.rotation = rotation;
    const from = this.seen, began = performance.now();
    const step = (t) => {
      const share = Math.min(1, Math.max(0, (t - began) / GLIDE_MS));
      this.seen = share < 1 ? blend(from, rotation, share * share * (3 - 2 * share)) : rotation;
      this.drawing.turn(this.seen);
      if (share < 1) this.gliding = requestAnimationFrame(step);
    };
    if (this.drawing?.part && GLIDE_MS) this.gliding = requestAnimationFrame(step);
    else this.stand(rotation);
  }

  /** Shows a rotation without ado. */
  stand(rotation, steady = false) {
    cancelAnimationFrame(this.gliding);
    this.state.rotation = this.seen = rotation;
    this.drawing?.turn(rotation, steady);
  }
}
