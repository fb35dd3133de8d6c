// The shaders: lines of even width, dashed where hidden, and paper with hatching.

import { DoubleSide, GreaterDepth, LessEqualDepth, ShaderMaterial, Vector2, Vector3 } from './three.js';

/** Uniforms that all materials share. */
export const shared = () => ({
  paper: { value: new Vector3() },
  ink: { value: new Vector3() },
  blue: { value: new Vector3() },
  eye: { value: new Vector3() },
  size: { value: new Vector2() },
  dot: { value: 1 },
  steep: { value: 0.71 },
  touch: { value: 0.1 },
  known: { value: 0 },
  perMm: { value: 1 },
  wash: { value: 0.1 },
});

const LINE = `
attribute vec3 a; attribute vec3 b; attribute vec3 n1; attribute vec3 n2; attribute float kind;
uniform vec3 eye; uniform vec2 size; uniform float dot1; uniform float thin; uniform float thick; uniform float bias;
varying float across; varying float halfWidth; varying vec2 way;
void main() {
  mat3 turn = mat3(modelMatrix);
  bool outline = dot(turn * n1, eye) * dot(turn * n2, eye) <= 0.0;
  if (kind < 0.5 && !outline) { gl_Position = vec4(2.0, 2.0, 2.0, 1.0); return; }
  float width = (kind < 1.5 && outline ? thick : thin) * dot1;
  vec4 from = projectionMatrix * viewMatrix * modelMatrix * vec4(a, 1.0);
  vec4 to = projectionMatrix * viewMatrix * modelMatrix * vec4(b, 1.0);
  vec2 p = from.xy * size * 0.5, q = to.xy * size * 0.5;
  float len = length(q - p);
  way = len > 1e-4 ? (q - p) / len : vec2(1.0, 0.0);
  float reach = 0.5 * width + 0.5;
  vec4 end = position.x < 0.5 ? from : to;
  vec2 at = position.x < 0.5 ? p - way * 0.3 * width : q + way * 0.3 * width;
  at += vec2(-way.y, way.x) * position.y * reach;
  across = position.y * reach;
  halfWidth = 0.5 * width;
  gl_Position = vec4(at / (size * 0.5), end.z - bias, 1.0);
}`;

const STROKE = `
uniform vec3 colour; uniform float dash; uniform float dot1;
varying float across; varying float halfWidth; varying vec2 way;
void main() {
  float ink = clamp(halfWidth + 0.5 - abs(across), 0.0, 1.0) * min(1.0, 2.0 * halfWidth);
  if (dash > 0.0 && fract(dot(gl_FragCoord.xy, way) / (9.0 * dot1)) > 0.66) discard;
  if (ink < 0.02) discard;
  gl_FragColor = vec4(colour, ink * (dash > 0.0 ? 0.75 : 1.0));
}`;

const FACE = `
attribute vec3 flatNormal; attribute float mark; attribute float pick; attribute vec3 strand;
varying vec3 n; varying vec3 at; varying vec3 cross1; varying float what; varying float picked;
void main() {
  mat3 turn = mat3(modelMatrix);
  n = turn * flatNormal;
  cross1 = turn * strand;
  vec4 world = modelMatrix * vec4(position, 1.0);
  at = world.xyz;
  what = mark;
  picked = pick;
  gl_Position = projectionMatrix * viewMatrix * world;
}`;

// Meaning: 0 plain, 1 lies on the bed, 2 hangs over, 3 a bridge carries it.
const PAPER = `
uniform vec3 paper; uniform vec3 ink; uniform vec3 blue; uniform vec3 eye;
uniform float steep; uniform float touch; uniform float known; uniform float perMm; uniform float dot1; uniform float wash;
varying vec3 n; varying vec3 at; varying vec3 cross1; varying float what; varying float picked;
float stripe(float place, float pitch, float width) {
  float off = abs(fract(place / pitch) - 0.5) * pitch;
  return clamp(0.5 * width + 0.5 - off, 0.0, 1.0);
}
void main() {
  float meaning = floor(what + 0.5);
  if (known < 0.5) meaning = -n.z > steep ? (at.z < touch ? 1.0 : 2.0) : 0.0;
  float tone = wash * (0.5 - 0.5 * dot(n, normalize(vec3(-0.35, -0.55, 0.75))));
  vec3 colour = mix(paper, ink, tone);
  float who = floor(picked + 0.5);
  if (who > 0.5) colour = mix(colour, blue, who > 1.5 ? 0.12 : 0.3);
  if (who > 1.5) {
    vec2 cell = fract(gl_FragCoord.xy / (7.0 * dot1)) - 0.5;
    float spot = clamp(1.5 * dot1 - length(cell) * 7.0 * dot1 + 0.5, 0.0, 1.0);
    colour = mix(colour, blue, spot);
  }
  if (meaning > 2.5) {
    colour = mix(colour, ink, 0.8 * stripe(dot(at, cross1) * perMm, 5.0 * dot1, 0.9 * dot1));
  } else if (meaning > 1.5) {
    colour = mix(colour, ink, 0.9 * stripe((gl_FragCoord.x + gl_FragCoord.y) * 0.7071, 5.5 * dot1, 1.1 * dot1));
  } else if (meaning > 0.5) {
    colour = ink;
  }
  gl_FragColor = vec4(colour, 1.0);
}`;

const rename = (u) => ({ ...u, dot1: u.dot });

/** Paper and what is written on it by hatching. */
export function paper(u) {
  return new ShaderMaterial({ uniforms: rename(u), vertexShader: FACE, fragmentShader: PAPER, side: DoubleSide });
}

/** A pen: colour is one of the shared uniforms; widths are in CSS px. */
export function pen(u, { colour = 'ink', thin, thick = thin, hidden = false, over = false }) {
  return new ShaderMaterial({
    uniforms: {
      ...rename(u), colour: u[colour], thin: { value: thin }, thick: { value: thick },
      bias: { value: 0.004 }, dash: { value: hidden ? 1 : 0 },
    },
    vertexShader: LINE,
    fragmentShader: STROKE,
    side: DoubleSide,
    transparent: true,
    depthWrite: false,
    depthTest: !over,
    depthFunc: hidden ? GreaterDepth : LessEqualDepth,
  });
}
