// What is shown of a mould, and where its bodies stand at the moment.
import { dot, add } from "./view_mesh.js";

/** @import { Camera } from "./view_camera.js" */

const OPEN_SHARE = { upper: 1, lower: -0.45 }; // of the box's height that a half travels
const RUBBER = ["upper", "lower", "keys"];
const PULLED_FIRST = 0.5; // of the halves' way: then the loose pieces are out
export const AXES = { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] };

/**
 * A surface: points in mm, three numbers each, three corners a facet, two ends an edge.
 * @typedef {{ points: Float32Array, faces: Uint32Array, edges?: any, tree?: any }} Mesh
 */

/** Bodies of a view, and how they are shown; a camera and data come with them. */
export class Bodies {
  constructor() {
    /** @type {any} what is told, unpacked: see castplan/view/data.py */
    this.data = null;
    /** @type {Camera} */
    this.camera = /** @type {any} */ (null);
    /** @type {Object<string, Mesh>} by name of the body */
    this.meshes = {};
    /** @type {Object<string, any>} loose pieces by name, as told */
    this.pieces = {};
    /** @type {Object<string, number[]>} least and most of a body along a way, once asked for */
    this.ends = {};
    /** @type {Object<string, boolean>} */
    this.shown = { part: true, upper: true, lower: true, box: true, keys: true, ports: true, parting: true };
    this.isGhost = false; // the silicone is seen through
    this.open = 0; // how far the halves are drawn apart, 0 to 1
    /** @type {{ axis: string, at: number } | null} where the mould is cut */
    this.section = null;
    this.centre = [0, 0, 0]; // of all bodies, closed
    this.size = 1; // half of their diagonal, mm
    this.radius = 1; // of what is shown, mm
  }

  /** Loose pieces are there wherever a half is. */
  _isShown(name) { return this.pieces[name] ? this.shown.upper || this.shown.lower : this.shown[name]; }

  _isGhost(name) { return this.isGhost && (RUBBER.includes(name) || Boolean(this.pieces[name])); }

  _solidOnes(names) { return names.filter((name) => !this._isGhost(name)); }

  /** Least and most of a body along a way, where it was made. */
  _ends(name, way) {
    const key = `${name} ${way}`;
    if (!this.ends[key]) {
      const { points } = this.meshes[name];
      let least = Infinity, most = -Infinity;
      for (let k = 0; k < points.length; k += 3) {
        const at = points[k] * way[0] + points[k + 1] * way[1] + points[k + 2] * way[2];
        least = Math.min(least, at);
        most = Math.max(most, at);
      }
      this.ends[key] = [least, most];
    }
    return this.ends[key];
  }

  _travel(half = "upper") { return this.data.box ? OPEN_SHARE[half] * this.open * (this.data.box.high - this.data.box.low) : 0; }

  _shift(name) {
    const piece = this.pieces[name], keys = this.data.keys.isRaised ? "lower" : "upper";
    if (piece) return piece.way.map((value) => value * piece.far * Math.min(1, this.open / PULLED_FIRST));
    const side = name === "keys" ? keys : name;
    return [0, 0, side in OPEN_SHARE ? this._travel(side) : 0];
  }

  _planes() {
    if (!this.section) return [];
    const axis = AXES[this.section.axis];
    // The side towards the eye goes, so that the cut is always seen.
    const sign = dot(axis, this.camera.back()) >= 0 ? 1 : -1;
    return [[...axis.map((value) => sign * value), sign * this.section.at]];
  }

  /** Where the bench is: under the lowest of what is shown. */
  _ground(names, up) {
    let least = Infinity;
    for (const name of names) least = Math.min(least, this._ends(name, up)[0] + dot(up, this._shift(name)));
    if (this.shown.box && this.data.box) {
      const { outline, low, high } = this.data.box;
      for (const [x, y] of outline) for (const z of [low, high]) least = Math.min(least, dot(up, [x, y, z]));
    }
    if (!Number.isFinite(least)) return null;
    return { middle: add(this.centre, up, least - dot(up, this.centre)), up, radius: this.radius };
  }

  _keysAreThere() {
    const half = this.data.keys.isRaised ? "lower" : "upper";
    return !this.meshes[half] || this.shown[half];
  }
}
