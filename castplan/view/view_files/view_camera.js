// The eye: where it stands, what fits into its picture, how it flies, glides and turns.
import { dot, cross, add, norm } from "./view_mesh.js";

export const FIELD_OF_VIEW = (28 * Math.PI) / 180;
const FLIGHT_MS = 500;
const GLIDE_MS = 160; // after which a picture let go while it turns has lost most of its speed
const FASTEST = 0.006; // radians a ms that a throw counts
const STEEPEST = 1.55; // radians, just short of straight down

export class Camera {
  /** `refresh()` asks for a new picture, `size()` tells [width, height] in px. */
  constructor(refresh, size) {
    /** @type {() => void} */
    this.refresh = refresh;
    /** @type {() => number[]} */
    this.size = size;
    this.target = [0, 0, 0];
    this.distance = 100;
    this.yaw = -0.7;
    this.pitch = 0.45;
    this.up = [0, 0, 1];
    this.radius = 1; // of what is looked at, mm
    this.spread = 1; // how far bodies that are drawn apart push the eye back
    this.isOwn = false; // somebody put it
    /** @type {any} on the way to a place */
    this.flight = null;
    /** @type {any} turning on after a throw */
    this.glide = null;
  }

  aspect() { const [wide, high] = this.size(); return wide / high; }

  /** What stands for this view; `place` puts it back. */
  keep() { return { target: this.target, distance: this.distance, yaw: this.yaw, pitch: this.pitch, up: this.up, isOwn: this.isOwn }; }
  place(kept) { Object.assign(this, kept, { flight: null, glide: null }); this.refresh(); }

  /** Towards the eye from an angle round up and over level. */
  back(yaw = this.yaw, pitch = this.pitch, up = this.up) {
    const [x, y, z] = uprights(up), c = Math.cos(pitch);
    return [0, 1, 2].map((k) => c * Math.cos(yaw) * x[k] + c * Math.sin(yaw) * y[k] + Math.sin(pitch) * z[k]);
  }

  eye() {
    const back = this.back(), right = norm(cross(this.up, back));
    return { back, right, above: cross(back, right), at: add(this.target, back, this.distance * this.spread) };
  }

  /** From points to the picture, for things no farther than `reach` from the target. */
  matrix(reach) {
    const eye = this.eye(), distance = this.distance * this.spread;
    const near = Math.max(distance - reach, 0.01 * distance), far = distance + reach;
    const f = 1 / Math.tan(FIELD_OF_VIEW / 2);
    const rows = [eye.right, eye.above, eye.back].map((axis) => [...axis, -dot(axis, eye.at)]);
    const scale = [f / this.aspect(), f, (far + near) / (near - far)];
    const out = new Float32Array(16);
    for (let k = 0; k < 4; k += 1) {
      for (let r = 0; r < 3; r += 1) out[4 * k + r] = scale[r] * rows[r][k];
      out[4 * k + 3] = -rows[2][k];
    }
    out[14] += (2 * far * near) / (near - far);
    return { eye, out };
  }

  /** Millimetres that a pixel spans at the target. */
  mmPerPixel() { return (2 * this.distance * this.spread * Math.tan(FIELD_OF_VIEW / 2)) / this.size()[1]; }

  /** The way out of the eye through a pixel. */
  ray(x, y) {
    const eye = this.eye(), t = Math.tan(FIELD_OF_VIEW / 2), [wide, high] = this.size();
    const right = ((2 * x) / wide - 1) * t * this.aspect(), above = (1 - (2 * y) / high) * t;
    return { at: eye.at, way: norm(add(add(eye.back.map((value) => -value), eye.right, right), eye.above, above)), eye };
  }

  /** Bring a point to the middle: distance in mm, `from` the side to look from. */
  flyTo(target, { distance = this.distance, from = null, up = null, isAtOnce = false } = {}) {
    if (up) this.up = norm(up);
    const goal = { target, distance: Math.max(distance, 0.02 * this.radius), yaw: this.yaw, pitch: this.pitch };
    if (from) {
      const [x, y, z] = uprights(this.up), way = norm(from);
      goal.pitch = clamp(Math.asin(clamp(dot(way, z), -1, 1)), -STEEPEST, STEEPEST);
      if (Math.hypot(dot(way, x), dot(way, y)) > 0.05) goal.yaw = Math.atan2(dot(way, y), dot(way, x));
      goal.yaw = this.yaw + Math.atan2(Math.sin(goal.yaw - this.yaw), Math.cos(goal.yaw - this.yaw));
    }
    const isStill = isAtOnce || isCalm();
    if (isStill) Object.assign(this, goal);
    this.glide = null;
    this.flight = isStill ? null : { goal, start: performance.now(), from: this.keep() };
    this.refresh();
  }

  /** How far back a box between two corners fits the picture, seen from a side. */
  fit(low, high, target, back) {
    const right = norm(cross(this.up, back)), above = cross(back, right);
    const t = Math.tan(FIELD_OF_VIEW / 2);
    let distance = 0;
    for (let k = 0; k < 8; k += 1) {
      const corner = add([k & 1 ? high[0] : low[0], k & 2 ? high[1] : low[1], k & 4 ? high[2] : low[2]], target, -1);
      const ahead = dot(corner, back);
      const wide = Math.abs(dot(corner, right)) / (t * this.aspect()), tall = Math.abs(dot(corner, above)) / t;
      distance = Math.max(distance, ahead + wide, ahead + tall);
    }
    return 1.1 * distance;
  }

  /** A step of what moves by itself; `now` in ms. */
  step(now) {
    if (this.glide) {
      // However few pictures there are, it comes as far and as soon to rest.
      const { speed, last } = this.glide, past = Math.max(now - last, 0), left = Math.exp(-past / GLIDE_MS);
      this.yaw += speed[0] * GLIDE_MS * (1 - left);
      this.pitch = clamp(this.pitch + speed[1] * GLIDE_MS * (1 - left), -STEEPEST, STEEPEST);
      this.glide = left * Math.hypot(...speed) > 2e-5 ? { speed: speed.map((value) => left * value), last: now } : null;
      if (this.glide) this.refresh();
    }
    if (!this.flight) return;
    const { goal, start, from } = this.flight;
    const t = clamp((now - start) / FLIGHT_MS, 0, 1), s = t * t * (3 - 2 * t);
    for (const name of ["distance", "yaw", "pitch"]) this[name] = from[name] + s * (goal[name] - from[name]);
    this.target = from.target.map((value, k) => value + s * (goal.target[k] - value));
    if (t >= 1) this.flight = null; else this.refresh();
  }

  /** From here on it stands where somebody put it. */
  own() { Object.assign(this, { flight: null, glide: null, isOwn: true }); this.refresh(); }

  turn(yaw, pitch) {
    this.own();
    this.yaw += yaw;
    this.pitch = clamp(this.pitch + pitch, -STEEPEST, STEEPEST);
  }

  /** Go on turning at a speed in radians a ms, and come to rest. */
  letGo(speed) {
    if (isCalm() || Math.hypot(...speed) < 2e-4) return;
    const share = Math.min(1, FASTEST / Math.hypot(...speed));
    this.glide = { speed: speed.map((value) => share * value), last: performance.now() };
    this.refresh();
  }

  pan(x, y) {
    this.own();
    const { right, above } = this.eye(), mm = this.mmPerPixel();
    this.target = add(add(this.target, right, -x * mm), above, y * mm);
  }

  /** Step back by a factor, or closer below 1; what lies at `about` stays where it is seen. */
  zoom(factor, about = null) {
    this.own();
    const before = this.distance;
    this.distance = clamp(before * factor, 0.02 * this.radius, 30 * this.radius);
    const share = 1 - this.distance / before;
    if (about) this.target = this.target.map((value, k) => value + share * (about[k] - value));
  }
}

/** Axes across and along an upward way; the first two level. */
export function uprights(up) {
  const lead = Math.abs(up[0]) < 0.9 ? [1, 0, 0] : [0, 1, 0];
  const y = norm(cross(up, lead));
  return [cross(y, up), y, up];
}

export function clamp(value, low, high) { return Math.min(Math.max(value, low), high); }

function isCalm() { return window.matchMedia("(prefers-reduced-motion: reduce)").matches; }
