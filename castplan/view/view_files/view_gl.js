// The view: a part in its mould, to turn in the hand. WebGL2, nothing from outside.
import { Camera } from "./view_camera.js";
import { AXES } from "./view_bodies.js";
import { Picture } from "./view_draw.js";
import { Labels } from "./view_labels.js";
import { Gizmo, sideOf } from "./view_gizmo.js";
import { Pace } from "./view_pace.js";
import { listen } from "./view_hands.js";
import { meet, middleOf, bestSide } from "./view_rays.js";
import { meshOf, dress, join, portRod, keyCap, dot, cross, add, norm } from "./view_mesh.js";

const SNAP_PX = 14;
// Sides to look from first: round the bench, then from higher up; from under it only at a face.
const YAWS = [0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6, 7, -7, 8].map((k) => -0.88 + (k * Math.PI) / 8);
const PITCHES = [0.475, 0.75], PITCH_UNDER = -0.35;
const MOST_LINE = 60; // points of the parting line that are looked for

/**
 * A canvas in `root` that shows a part, its halves, box, keys and openings.
 *
 * `data` is what the page carries, unpacked (see castplan/view/data.py). Callbacks:
 * onPick({mesh, face, point}) or onPick(null) for a click, onMark(id) for a click on a mark,
 * onEscape() for that key. Throws an Error where WebGL2 is missing.
 */
export class CastView extends Picture {
  /** @param {HTMLElement} root @param {any} data @param {{ onPick?: (hit: any) => void, onMark?: (id: string) => void, onEscape?: () => void }} [hooks] */
  constructor(root, data, { onPick = () => {}, onMark = () => {}, onEscape = () => {} } = {}) {
    super();
    this.root = root;
    this.onPick = onPick;
    this.onEscape = onEscape;
    this.isSnapping = false; // a click takes the corner beside it
    /** @type {Object<string, number[]>} sides to look from first, by the way that is up */
    this.sides = {};
    /** @type {Object<string, any>} where somebody put the camera, by the way that is up */
    this.kept = {};
    this.canvas = document.createElement("canvas");
    this.canvas.className = "castview-canvas";
    this.canvas.tabIndex = 0;
    this.gl = this.canvas.getContext("webgl2", { stencil: true, antialias: true, alpha: false });
    if (!this.gl) throw new Error("WebGL2 is missing");
    root.replaceChildren(this.canvas);
    this.labels = new Labels(root, onMark);
    this.gizmo = new Gizmo(root, { onFace: (face) => this.lookAt(face) });
    this.pace = new Pace(() => this.refresh());
    this.camera = new Camera(() => this.refresh(), () => [Math.max(root.clientWidth, 1), Math.max(root.clientHeight, 1)]);
    this.canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    this.canvas.addEventListener("webglcontextrestored", () => {
      Object.assign(this, { solids: {}, lines: {}, sheet: null });
      this._compile();
      this._upload();
    });
    this.watcher = new ResizeObserver(() => this.refresh());
    this.watcher.observe(root);
    listen(this);
    this._compile();
    this.setData(data);
  }

  // -- what is shown ---------------------------------------------------------

  /** Show another plan; from the start, or from where the camera stands. */
  setData(data, { isSamePart = false } = {}) {
    const before = { data: this.data, meshes: this.meshes, dressed: this.dressed };
    this.data = data;
    this.meshes = {};
    this.pieces = Object.fromEntries(data.pieces.map((piece) => [piece.name, piece]));
    // What is as it was stays, with its tree for rays and all that is drawn of it.
    const isKept = (name) => before.data && isSameMesh(before.data.meshes[name], data.meshes[name])
      && (name !== "part" || before.data.facets.open === data.facets.open);
    for (const [name, packed] of Object.entries(data.meshes)) this.meshes[name] = isKept(name) ? before.meshes[name] : meshOf(packed);
    if (data.ports.length) this.meshes.ports = join(data.ports.map(portRod));
    if (data.keys.places.length) this.meshes.keys = join(data.keys.places.map((at) => keyCap(at, data.keys)));
    this.facets = data.facets;
    this.maps = Object.fromEntries(data.maps.map((map) => [map.key, { ...map, numbers: map.values }]));
    if (!this.maps[this.mapKey]) this.mapKey = null;
    const { low, high } = this._bounds();
    this.centre = low.map((value, k) => 0.5 * (value + high[k]));
    this.size = 0.5 * Math.hypot(...add(high, low, -1));
    this.dressed = {};
    for (const name of Object.keys(this.meshes)) {
      this.dressed[name] = data.meshes[name] && isKept(name) ? before.dressed[name] : dress(this.meshes[name], name === "part" ? this.facets.open : null);
    }
    Object.assign(this, { sides: {}, ends: {}, slices: {} });
    this.gizmo.set(data.faces, (way) => { const [least, most] = this._ends("part", way); return most - least; });
    this._upload();
    if (isSamePart) { this._size(); this.refresh(); return; }
    this.kept = {}; // where somebody put the camera, by the way that is up
    this.frame({ isAtOnce: true });
  }

  /** Which bodies and lines are there: part, upper, lower, box, keys, ports, parting. */
  setShown(shown) { Object.assign(this.shown, shown); this.refresh(); }

  /** Whether the silicone is seen through. */
  setGhost(isGhost) { this.isGhost = isGhost; this.refresh(); }

  /** Colour the part by the map of this key; null for its own colour. */
  setMap(key) {
    this.mapKey = key;
    if (key) this._fillLook(this.classesOf(key));
    this.refresh();
  }

  /** How far the halves are drawn apart: 0 closed, 1 open. */
  setOpen(share) { this.open = share; this.refresh(); }

  /** Cut the mould square to 'x', 'y' or 'z' at a place in mm; null for whole. */
  setSection(section) { this.section = section; this.refresh(); }

  /** The pour at one of its steps; null for none. */
  setFilm(step) { this.film = step; this.refresh(); }

  /** Whether a click picks a place: the cursor says so. */
  setPicking(isPicking) { this.canvas.classList.toggle("is-picking", isPicking); }

  /** Numbered marks [{id, text, title, at, kind}] on the picture. */
  setMarks(marks) { this.labels.set(marks); this.refresh(); }

  /** A line through points, as for a length taken. */
  setPath(points) {
    this.path = points;
    this._setLines("path", points.slice(1).flatMap((p, k) => [...points[k], ...p]));
    this.refresh();
  }

  /** Class of each facet of the part in a map, by the map's limits. */
  classesOf(key) {
    const { numbers, step, classes } = this.maps[key];
    return Uint8Array.from(numbers, (value) => {
      let k = classes.length - 1;
      while (k > 0 && value * step < classes[k].from) k -= 1;
      return k;
    });
  }

  /** Where a group of facets of the part can be looked at: {at, from, size} in mm, or null. */
  findFacets(isWanted) { return middleOf(this.meshes.part, this.dressed.part.unit, isWanted); }

  // -- the camera ------------------------------------------------------------

  /**
   * Bring a point to the middle, as somebody asked for.
   * @param {number[]} target @param {{ distance?: number, from?: number[], up?: number[] }} [how]
   */
  flyTo(target, { distance, from, up } = {}) {
    if (up) this._turnUp(norm(up));
    this.camera.flyTo(target, { distance, from });
    this.camera.isOwn = true;
  }

  /** The whole of what is shown, from the side that shows most of the parting line and the face meant. */
  frame({ up = this.camera.up, from = null, isAtOnce = false } = {}) {
    const { camera } = this, { low, high } = this._bounds();
    this._size();
    camera.up = norm(up);
    const target = low.map((value, k) => 0.5 * (value + high[k]));
    const side = norm(from || this._side(camera.up));
    camera.flyTo(target, { distance: camera.fit(low, high, target, side), from: side, isAtOnce });
    camera.isOwn = false;
  }

  /** Stand as a card would have it, unless somebody put the camera: then as it was with this way up. */
  stand({ up = [0, 0, 1], from = null } = {}) {
    if (this._turnUp(norm(up)) || !this.camera.isOwn) this.frame({ up, from });
  }

  /** Turn the world another way up; whether the camera has yet to be placed for it. */
  _turnUp(up) {
    const { camera, kept } = this, key = String(up.map((value) => value.toFixed(3)));
    if (dot(camera.up, up) > 0.9999) return false;
    kept[String(camera.up.map((value) => value.toFixed(3)))] = camera.keep();
    camera.up = up;
    camera.isOwn = false;
    if (kept[key]?.isOwn) { camera.place(kept[key]); return false; }
    return true;
  }

  /** Look at a face of the part. */
  lookAt(face) {
    const { low, high } = this._bounds(), { camera } = this, side = sideOf(face, camera.up);
    const target = low.map((value, k) => 0.5 * (value + high[k]));
    camera.flyTo(target, { distance: camera.fit(low, high, target, side), from: side });
    camera.isOwn = true;
  }

  /** Turn round what stands at a pixel from now on. */
  pivot(x, y) {
    const hit = this.pick(x, y);
    if (hit) this.flyTo(hit.point);
  }

  /** Come closer to what stands at a pixel, or step back from it. */
  zoom(factor, at = null) {
    let about = null;
    if (at) {
      const { camera } = this, ray = camera.ray(...at), hit = this.pick(...at);
      const far = dot(add(camera.target, ray.at, -1), ray.eye.back) / dot(ray.way, ray.eye.back);
      about = hit ? hit.point : add(ray.at, ray.way, far);
    }
    this.camera.zoom(factor, about);
  }

  _side(up) {
    const key = String(up);
    if (!this.sides[key]) {
      const { camera } = this, { show, parting } = this.data;
      // What is poured stands on the bench; a part that lies on the face meant is looked at from under it.
      const isUnder = show && up[2] > 0.9999 && dot(show, up) < -0.7;
      const sides = [...PITCHES, ...(isUnder ? [PITCH_UNDER] : [])].flatMap((pitch) => YAWS.map((yaw) => camera.back(yaw, pitch, up)));
      const line = parting.flat(), few = line.filter((_, k) => k % Math.ceil(line.length / MOST_LINE) === 0);
      // How wide the part looks: of its box's sides, what lies across.
      const { step } = this.data.meshes.part, across = (side) => dot(step, norm(cross(up, side)).map(Math.abs));
      const widest = Math.max(...sides.map(across));
      this.sides[key] = bestSide(this.meshes.part, sides, { line: few, face: show, width: (side) => across(side) / widest, reachMm: 3 * this.size });
    }
    return this.sides[key];
  }

  /** Corners of what is shown, where it stands closed; the lines over it too. */
  _bounds() {
    const { box } = this.data;
    const { step } = this.data.meshes.part;
    let { low } = this.data.meshes.part, high = low.map((value, k) => value + 65535 * step[k]);
    if (box && (this.shown.box || (this.shown.upper && this.meshes.upper))) {
      const xs = box.outline.map((p) => p[0]), ys = box.outline.map((p) => p[1]);
      low = [Math.min(...xs), Math.min(...ys), box.low];
      high = [Math.max(...xs), Math.max(...ys), box.high];
    }
    for (const point of this.path) {
      low = low.map((value, k) => Math.min(value, point[k]));
      high = high.map((value, k) => Math.max(value, point[k]));
    }
    return { low, high };
  }

  _size() {
    const { low, high } = this._bounds();
    this.radius = 0.5 * Math.hypot(...add(high, low, -1));
    this.camera.radius = this.radius;
  }

  /** How far halves and pieces that are drawn apart push the eye back. */
  _spread() {
    if (!this.open) return 1;
    const { camera } = this, closed = this._bounds(), wide = { low: [...closed.low], high: [...closed.high] };
    for (const name of ["upper", "lower", ...Object.keys(this.pieces)]) {
      if (!this._isShown(name) || !this.meshes[name]) continue;
      const shift = this._shift(name);
      Object.values(AXES).forEach((axis, k) => {
        const [least, most] = this._ends(name, axis);
        wide.low[k] = Math.min(wide.low[k], least + shift[k]);
        wide.high[k] = Math.max(wide.high[k], most + shift[k]);
      });
    }
    const middle = closed.low.map((value, k) => 0.5 * (value + closed.high[k])), back = camera.back();
    return Math.max(1, camera.fit(wide.low, wide.high, middle, back) / camera.fit(closed.low, closed.high, middle, back));
  }

  _matrix() {
    this.camera.spread = this._spread();
    return this.camera.matrix(1.2 * (this.size + this._travel() + Math.hypot(...add(this.camera.target, this.centre, -1))));
  }

  _project(point) {
    const m = this.view.out;
    const [x, y, , w] = [0, 1, 2, 3].map((r) => m[r] * point[0] + m[4 + r] * point[1] + m[8 + r] * point[2] + m[12 + r]);
    const isAhead = w > 1e-6;
    return { x: (0.5 + (0.5 * x) / w) * this.root.clientWidth, y: (0.5 - (0.5 * y) / w) * this.root.clientHeight, isAhead };
  }

  // -- picking ---------------------------------------------------------------

  /** What stands at a pixel of the view: {mesh, face, point}, or null. What is seen through is not in the way. */
  pick(x, y) {
    this.view = this._matrix();
    const { at, way } = this.camera.ray(x, y);
    const hit = this._cast(at, way, this._solidOnes(["part", "upper", "lower", "ports", ...Object.keys(this.pieces)]));
    return this.isSnapping ? this._snap(x, y, hit) : hit;
  }

  /** What stands in the middle of the picture. */
  pickMiddle() { return this.pick(0.5 * this.root.clientWidth, 0.5 * this.root.clientHeight); }

  _cast(from, way, names) {
    const planes = this._planes();
    let best = null;
    for (const name of names.filter((one) => this._isShown(one) && this.meshes[one])) {
      const shift = this._shift(name);
      const isKept = (x, y, z) => planes.every((p) => p[0] * (x + shift[0]) + p[1] * (y + shift[1]) + p[2] * (z + shift[2]) <= p[3]);
      const hit = meet(this.meshes[name], add(from, shift, -1), way, isKept);
      if (hit && (!best || hit.distance < best.distance)) best = { mesh: name, ...hit };
    }
    return best && { ...best, point: add(from, way, best.distance) };
  }

  _snap(x, y, hit) {
    let best = null;
    for (const name of this._solidOnes(["part", "upper", "lower", ...Object.keys(this.pieces)]).filter((one) => this._isShown(one) && this.meshes[one])) {
      for (const at of this.dressed[name].cornerPoints) {
        const point = add(at, this._shift(name));
        const there = this._project(point);
        const away = Math.hypot(there.x - x, there.y - y);
        const depth = Math.hypot(...add(point, this.view.eye.at, -1));
        if (away > SNAP_PX || !there.isAhead || (hit && depth > 1.05 * hit.distance)) continue;
        if (!best || away < best.away) best = { mesh: name, face: -1, point, away };
      }
    }
    return best || hit;
  }

  /** Marks behind a surface step back, once the picture is still. */
  _dimMarks() {
    const eye = this.camera.eye().at, names = this._solidOnes(["part", "upper", "lower"]);
    this.labels.dim((point) => {
      const way = add(point, eye, -1), away = Math.hypot(...way);
      const hit = this._cast(eye, norm(way), names);
      return Boolean(hit) && hit.distance < away - 0.02 * this.radius;
    });
  }

  /** Let go of everything. */
  dispose() {
    this.watcher.disconnect();
    clearTimeout(this.hiding);
    this.programs = null;
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
    this.root.replaceChildren();
  }
}

function isSameMesh(one, other) {
  return Boolean(one && other) && one.points === other.points && one.faces === other.faces && String(one.low) === String(other.low) && String(one.step) === String(other.step);
}
