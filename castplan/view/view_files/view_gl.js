// The view: a part in its mould, to turn in the hand. WebGL2, nothing from outside.
import { SOLID_VERTEX, SOLID_FRAGMENT, LINE_VERTEX, LINE_FRAGMENT, program } from './view_shaders.js';
import { listen } from './view_hands.js';
import { unpack, unpackMesh, dress, meet, middleOf, join, portRod, keyCap, dot, cross, add, norm } from './view_mesh.js';

const FIELD_OF_VIEW = (28 * Math.PI) / 180;
const SNAP_PX = 14;
const FLIGHT_MS = 500;
const STEEPEST = 1.55; // radians, just short of straight down
const OPEN_SHARE = { upper: 1, lower: -0.45 }; // of the box's height that a half travels
const SOLIDS = ['part', 'upper', 'lower', 'ports', 'keys'];
const PULLED_FIRST = 0.5; // of the halves' way: then the loose pieces are out
const CAPPED = { part: 'cutPart', upper: 'cutUpper', lower: 'cutLower', ports: 'cutPorts' };

/**
 * A canvas in `root` that shows a part, its halves, box, keys and openings.
 *
 * `data` is what the page carries (see castplan/view/data.py). Callbacks:
 * onPick({mesh, face, point}) or onPick(null) for a click, onMark(id) for a click on a mark.
 * Throws an Error where WebGL2 is missing.
 */
export class CastView {
  constructor(root, data, { onPick = () => {}, onMark = () => {} } = {}) {
    Object.assign(this, { root, onPick, onMark, isSnapping: false });
    this.canvas = document.createElement('canvas');
    this.canvas.className = 'castview-canvas';
    this.canvas.tabIndex = 0;
    this.gl = this.canvas.getContext('webgl2', { stencil: true, antialias: true, alpha: false });
    if (!this.gl) throw new Error('WebGL2 is missing');
    this.labels = document.createElement('div');
    this.labels.className = 'castview-labels';
    root.replaceChildren(this.canvas, this.labels);
    this.camera = { target: [0, 0, 0], distance: 100, yaw: -0.7, pitch: 0.45, up: [0, 0, 1] };
    this.canvas.addEventListener('webglcontextlost', (event) => event.preventDefault());
    this.canvas.addEventListener('webglcontextrestored', () => { this._compile(); this._upload(); });
    Object.assign(this, { open: 0, section: null, film: null, mapKey: null, marks: [], path: [], flight: null });
    this.shown = { part: true, upper: true, lower: true, box: true, keys: true, ports: true, parting: true };
    this.watcher = new ResizeObserver(() => this.refresh());
    this.watcher.observe(root);
    listen(this);
    this._compile();
    this.setData(data);
  }

  // -- what is shown ---------------------------------------------------------

  /** Show another plan, from the start. */
  setData(data) {
    this.data = data;
    this.meshes = {};
    this.pieces = Object.fromEntries(data.pieces.map((piece) => [piece.name, piece]));
    for (const [name, packed] of Object.entries(data.meshes)) this.meshes[name] = unpackMesh(packed);
    if (data.ports.length) this.meshes.ports = join(data.ports.map(portRod));
    if (data.keys.places.length) this.meshes.keys = join(data.keys.places.map((at) => keyCap(at, data.keys)));
    this.facets = Object.fromEntries(Object.entries(data.facets).map(([name, packed]) => [name, unpack(packed)]));
    this.maps = Object.fromEntries(data.maps.map((map) => [map.key, { ...map, numbers: unpack(map.values) }]));
    const { low, high } = this._bounds();
    this.centre = low.map((value, k) => 0.5 * (value + high[k]));
    this.size = 0.5 * Math.hypot(...add(high, low, -1));
    this.dressed = {};
    for (const name of Object.keys(this.meshes)) this.dressed[name] = dress(this.meshes[name]);
    this._upload();
    this.frame({ isAtOnce: true });
  }

  /** Which bodies and lines are there: part, upper, lower, box, keys, ports, parting. */
  setShown(shown) { Object.assign(this.shown, shown); this.refresh(); }

  /** Loose pieces are there wherever a half is. */
  _isShown(name) { return this.pieces[name] ? this.shown.upper || this.shown.lower : this.shown[name]; }

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

  /** Numbered marks [{id, text, title, at, kind}] on the picture. */
  setMarks(marks) {
    this.marks = marks.map((mark) => {
      const label = document.createElement('button');
      label.type = 'button';
      label.tabIndex = -1;
      label.className = `castview-mark ${mark.kind}`;
      label.textContent = mark.text;
      label.title = mark.title;
      label.setAttribute('aria-hidden', 'true');
      label.addEventListener('click', () => this.onMark(mark.id));
      return { ...mark, label };
    });
    this.labels.replaceChildren(...this.marks.map((mark) => mark.label));
    this.refresh();
  }

  /** A line through points, as for a length taken. */
  setPath(points) {
    this.path = points;
    this._setLines('path', points.slice(1).flatMap((p, k) => [...points[k], ...p]));
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

  /** Bring a point to the middle: distance in mm, `from` the side to look from. */
  flyTo(target, { distance = this.camera.distance, from = null, up = null, isAtOnce = false } = {}) {
    const camera = this.camera;
    const goal = { target, distance: Math.max(distance, 0.02 * this.radius), yaw: camera.yaw, pitch: camera.pitch };
    if (up) camera.up = norm(up);
    if (from) {
      const [x, y, z] = uprights(camera.up);
      const way = norm(from);
      goal.pitch = clamp(Math.asin(clamp(dot(way, z), -1, 1)), -1.3, 1.3);
      if (Math.hypot(dot(way, x), dot(way, y)) > 0.05) goal.yaw = Math.atan2(dot(way, y), dot(way, x));
      goal.yaw = camera.yaw + Math.atan2(Math.sin(goal.yaw - camera.yaw), Math.cos(goal.yaw - camera.yaw));
    }
    const isStill = isAtOnce || window.matchMedia('(prefers-reduced-motion: reduce)').matches;
    if (isStill) Object.assign(camera, goal);
    this.flight = isStill ? null : { goal, start: performance.now(), from: { ...camera } };
    this.refresh();
  }

  /** The whole of what is shown, from the corner a bench is seen from. */
  frame({ up = [0, 0, 1], from = null, isAtOnce = false } = {}) {
    const { low, high } = this._bounds();
    this.radius = 0.5 * Math.hypot(...add(high, low, -1));
    const target = low.map((value, k) => 0.5 * (value + high[k]));
    const [x, y, z] = uprights(norm(up));
    const side = from || add(add(x.map((value) => 0.62 * value), y, -0.75), z, 0.5);
    this.flyTo(target, { distance: this._fit(low, high, target, norm(side), z), from: side, up, isAtOnce });
  }

  /** How far back a box between two corners fits the picture, seen from a side. */
  _fit(low, high, target, back, up) {
    const right = norm(cross(up, back)), above = cross(back, right);
    const t = Math.tan(FIELD_OF_VIEW / 2);
    let distance = 0;
    for (let k = 0; k < 8; k += 1) {
      const corner = add([k & 1 ? high[0] : low[0], k & 2 ? high[1] : low[1], k & 4 ? high[2] : low[2]], target, -1);
      const ahead = dot(corner, back);
      const wide = Math.abs(dot(corner, right)) / (t * this._aspect()), tall = Math.abs(dot(corner, above)) / t;
      distance = Math.max(distance, ahead + wide, ahead + tall);
    }
    return 1.1 * distance;
  }

  _bounds() {
    const { box } = this.data;
    if (this.shown.box || (this.shown.upper && this.meshes.upper)) {
      const xs = box.outline.map((p) => p[0]), ys = box.outline.map((p) => p[1]);
      return { low: [Math.min(...xs), Math.min(...ys), box.low], high: [Math.max(...xs), Math.max(...ys), box.high] };
    }
    const { low, step } = this.data.meshes.part;
    return { low, high: low.map((value, k) => value + 65535 * step[k]) };
  }

  _aspect() { return Math.max(this.root.clientWidth, 1) / Math.max(this.root.clientHeight, 1); }

  /** How far halves that are drawn apart push the eye back. */
  _spread() {
    const { low, high } = this.data.box;
    const half = 0.5 * (high - low), across = Math.sqrt(Math.max(this.radius ** 2 - half ** 2, 0));
    const isThere = (this.shown.upper && this.meshes.upper) || (this.shown.lower && this.meshes.lower);
    return isThere ? Math.hypot(across, half + 0.8 * this._travel()) / Math.hypot(across, half) : 1;
  }

  _travel(half = 'upper') { return OPEN_SHARE[half] * this.open * (this.data.box.high - this.data.box.low); }

  _shift(name) {
    const piece = this.pieces[name], keys = this.data.keys.isRaised ? 'lower' : 'upper';
    if (piece) return piece.way.map((value) => value * piece.far * Math.min(1, this.open / PULLED_FIRST));
    const side = name === 'keys' ? keys : name;
    return [0, 0, side in OPEN_SHARE ? this._travel(side) : 0];
  }

  _eye() {
    const { target, distance, yaw, pitch, up } = this.camera;
    const [x, y, z] = uprights(up);
    const c = Math.cos(pitch);
    const back = [0, 1, 2].map((k) => c * Math.cos(yaw) * x[k] + c * Math.sin(yaw) * y[k] + Math.sin(pitch) * z[k]);
    const right = norm(cross(z, back));
    return { back, right, above: cross(back, right), at: add(target, back, distance * this._spread()) };
  }

  _matrix() {
    const eye = this._eye();
    const distance = this.camera.distance * this._spread();
    const reach = 1.2 * (this.size + this._travel() + Math.hypot(...add(this.camera.target, this.centre, -1)));
    const near = Math.max(distance - reach, 0.01 * distance), far = distance + reach;
    const f = 1 / Math.tan(FIELD_OF_VIEW / 2);
    const rows = [eye.right, eye.above, eye.back].map((axis) => [...axis, -dot(axis, eye.at)]);
    const scale = [f / this._aspect(), f, (far + near) / (near - far)];
    const out = new Float32Array(16);
    for (let k = 0; k < 4; k += 1) {
      for (let r = 0; r < 3; r += 1) out[4 * k + r] = scale[r] * rows[r][k];
      out[4 * k + 3] = -rows[2][k];
    }
    out[14] += (2 * far * near) / (near - far);
    return { eye, out };
  }

  _project(point) {
    const m = this.view.out;
    const [x, y, , w] = [0, 1, 2, 3].map((r) => m[r] * point[0] + m[4 + r] * point[1] + m[8 + r] * point[2] + m[12 + r]);
    const isAhead = w > 1e-6;
    return { x: (0.5 + (0.5 * x) / w) * this.root.clientWidth, y: (0.5 - (0.5 * y) / w) * this.root.clientHeight, isAhead };
  }

  // -- picking ---------------------------------------------------------------

  /** What stands at a pixel of the view: {mesh, face, point}, or null. */
  pick(x, y) {
    this.view = this._matrix();
    const { eye } = this.view;
    const t = Math.tan(FIELD_OF_VIEW / 2);
    const right = ((2 * x) / this.root.clientWidth - 1) * t * this._aspect();
    const above = (1 - (2 * y) / this.root.clientHeight) * t;
    const way = norm(add(add(eye.back.map((value) => -value), eye.right, right), eye.above, above));
    const hit = this._cast(eye.at, way, ['part', 'upper', 'lower', 'ports', ...Object.keys(this.pieces)]);
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
    for (const name of ['part', 'upper', 'lower', ...Object.keys(this.pieces)].filter((one) => this._isShown(one) && this.meshes[one])) {
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

  _planes() {
    if (!this.section) return [];
    const axis = { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] }[this.section.axis];
    // The side towards the eye goes, so that the cut is always seen.
    const sign = dot(axis, this._eye().back) >= 0 ? 1 : -1;
    return [[...axis.map((value) => sign * value), sign * this.section.at]];
  }

  // -- drawing ---------------------------------------------------------------

  /** Draw anew before the next frame. */
  refresh() {
    if (this.isWaiting || !this.programs) return;
    this.isWaiting = true;
    requestAnimationFrame((now) => { this.isWaiting = false; this._step(now); this._draw(); });
  }

  _step(now) {
    if (!this.flight) return;
    const { goal, start, from } = this.flight;
    const t = clamp((now - start) / FLIGHT_MS, 0, 1), s = t * t * (3 - 2 * t);
    for (const name of ['distance', 'yaw', 'pitch']) this.camera[name] = from[name] + s * (goal[name] - from[name]);
    this.camera.target = from.target.map((value, k) => value + s * (goal.target[k] - value));
    if (t >= 1) this.flight = null; else this.refresh();
  }

  _compile() {
    const { gl } = this;
    this.programs = {
      solid: program(gl, SOLID_VERTEX, SOLID_FRAGMENT, ['aPoint', 'aNormal', 'aLook']),
      line: program(gl, LINE_VERTEX, LINE_FRAGMENT, ['aFrom', 'aTo']),
    };
  }

  _upload() {
    const { gl } = this;
    Object.assign(this, { solids: {}, lines: {} });
    for (const [name, { corners, normals, edges }] of Object.entries(this.dressed)) {
      this.solids[name] = this._solid(corners, normals, name === 'part' ? this._look() : null);
      if (name !== 'keys' && name !== 'ports') this._setLines(`edges ${name}`, edges);
    }
    this.sheet = this._solid(new Float32Array(18), new Int8Array(24), null);
    const { box, parting } = this.data;
    const around = box.outline.map((p, k) => [p, box.outline[(k + 1) % box.outline.length]]);
    const isCorner = box.outline.length <= 8;
    this._setLines('box', around.flatMap(([p, q]) => [
      ...p, box.low, ...q, box.low, ...p, box.high, ...q, box.high, ...(isCorner ? [...p, box.low, ...p, box.high] : []),
    ]));
    this._setLines('parting', parting.flatMap((loop) => loop.slice(1).flatMap((p, k) => [...loop[k], ...p])));
    this.setPath(this.path);
    this.setMap(this.mapKey);
  }

  _solid(corners, normals, look) {
    const { gl } = this;
    const made = { array: gl.createVertexArray(), count: corners.length / 3, look, buffers: [] };
    gl.bindVertexArray(made.array);
    [[corners, 3, gl.FLOAT], [normals, 4, gl.BYTE], [look, 4, gl.UNSIGNED_BYTE]].forEach(([values, size, type], k) => {
      if (!values) { gl.disableVertexAttribArray(k); return; }
      made.buffers[k] = gl.createBuffer();
      gl.bindBuffer(gl.ARRAY_BUFFER, made.buffers[k]);
      gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
      gl.enableVertexAttribArray(k);
      gl.vertexAttribPointer(k, size, type, type !== gl.FLOAT, 0, 0);
    });
    gl.bindVertexArray(null);
    return made;
  }

  /** What the film needs of each corner; the class comes with the map. */
  _look() {
    const { caught, spill, cutOff } = this.facets;
    const look = new Uint8Array(12 * caught.length);
    for (let k = 0; k < look.length; k += 4) {
      const f = Math.floor(k / 12);
      look.set([0, spill[f], cutOff[f], caught[f]], k);
    }
    return look;
  }

  _fillLook(classes) {
    const { gl } = this, { look, buffers } = this.solids.part;
    for (let k = 0; k < look.length; k += 4) look[k] = classes[Math.floor(k / 12)];
    gl.bindBuffer(gl.ARRAY_BUFFER, buffers[2]);
    gl.bufferData(gl.ARRAY_BUFFER, look, gl.DYNAMIC_DRAW);
  }

  /** Segments as from and to, six numbers each. */
  _setLines(name, numbers) {
    const { gl } = this;
    const made = this.lines[name] || { array: gl.createVertexArray(), buffer: gl.createBuffer() };
    made.count = numbers.length / 6;
    gl.bindVertexArray(made.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, made.buffer);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(numbers), gl.STATIC_DRAW);
    for (const k of [0, 1]) {
      gl.enableVertexAttribArray(k);
      gl.vertexAttribPointer(k, 3, gl.FLOAT, false, 24, 12 * k);
      gl.vertexAttribDivisor(k, 1);
    }
    gl.bindVertexArray(null);
    this.lines[name] = made;
  }

  _draw() {
    const { gl, canvas, root } = this;
    if (gl.isContextLost() || !root.clientWidth || !root.clientHeight) return;
    const dot2 = Math.min(window.devicePixelRatio || 1, 2);
    const size = [Math.round(root.clientWidth * dot2), Math.round(root.clientHeight * dot2)];
    if (canvas.width !== size[0] || canvas.height !== size[1]) [canvas.width, canvas.height] = size;
    this.view = this._matrix();
    const paper = colour(getComputedStyle(root).getPropertyValue('--view-ground').trim() || '#f6f3ec');
    this.lineInk = getComputedStyle(root).getPropertyValue('--view-line').trim() || '#1a1a1a';
    gl.viewport(0, 0, ...size);
    gl.clearColor(...paper, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    this._useSolid(dot2);
    const isThere = (name) => this._isShown(name) && this.solids[name] && (name !== 'keys' || this._keysAreThere());
    const cut = this._planes();
    const solids = [...SOLIDS, ...Object.keys(this.pieces)].filter(isThere);
    for (const name of solids) this._drawSolid(name, cut);
    for (const name of solids.filter((one) => this.pieces[one] || CAPPED[one])) {
      const levels = name === 'part' && this.film !== null ? this._levels() : [];
      cut.forEach((plane) => this._drawCap(name, plane, levels.slice(0, 1), CAPPED[name] || 'cutLoose'));
      levels.forEach((plane, k) => this._drawCap(name, plane, cut, 'level', k + 1));
    }
    this._drawLines(size, dot2, cut);
    this._placeMarks();
  }

  _keysAreThere() {
    const half = this.data.keys.isRaised ? 'lower' : 'upper';
    return !this.meshes[half] || this.shown[half];
  }

  _useSolid(dot2) {
    const { gl } = this, { made, at } = this.programs.solid, { eye } = this.view;
    gl.useProgram(made);
    gl.uniformMatrix4fv(at.uView, false, this.view.out);
    gl.uniform1f(at.uDot, dot2);
    gl.uniform3fv(at.uInk, colour(this.data.colours.ink));
    gl.uniform3fv(at.uLight, norm(add(add(eye.back, eye.above, 0.75), eye.right, -0.5)));
    gl.uniform3fv(at.uFill, norm(add(eye.right, eye.above, -0.4)));
    const { up, low, span, levels } = this.data.film;
    gl.uniform3fv(at.uUp, up);
    gl.uniform1f(at.uLow, low);
    gl.uniform1f(at.uSpan, span);
    gl.uniform1f(at.uLevel, this.film === null ? 0 : levels[this.film]);
    gl.uniform1f(at.uFilled, this.film === null ? 0 : (255 * this.film) / (levels.length - 1));
  }

  /** Planes of the resin's levels: under the gate, and where it runs over an edge. */
  _levels() {
    const { up, low, span, levels, rising } = this.data.film;
    const level = levels[this.film], basin = rising[this.film];
    // The last level lies in the roof itself: there is nothing left to close.
    const open = [level, ...(basin < level ? [basin] : [])].filter((z) => z < 0.999 * span);
    return open.map((z) => [...up, low + z]);
  }

  _setPlanes(at, planes) {
    const { gl } = this;
    gl.uniform1i(at.uPlanes, planes.length);
    if (planes.length) gl.uniform4fv(at.uPlane, planes.flat());
  }

  _setClasses(mode, classes) {
    const { gl } = this, { at } = this.programs.solid;
    gl.uniform1i(at.uMode, mode);
    gl.uniform3fv(at.uColours, classes.flatMap((one) => colour(one.colour)));
    gl.uniform1iv(at.uHatches, classes.map((one) => one.hatch));
  }

  _drawSolid(name, planes, count = 0) {
    const { gl } = this, { at } = this.programs.solid, { colours } = this.data;
    if (!count) {
      if (name === 'part' && this.film !== null) this._setClasses(2, this.data.film.classes);
      else if (name === 'part' && this.mapKey) this._setClasses(1, this.maps[this.mapKey].classes);
      else this._setClasses(0, [{ colour: this.pieces[name] ? colours.loose : colours[name], hatch: name === 'ports' ? 4 : 0 }]);
    }
    gl.uniform1i(at.uCount, count);
    gl.uniform3fv(at.uShift, this._shift(name));
    this._setPlanes(at, planes);
    gl.bindVertexArray(this.solids[name].array);
    gl.drawArrays(gl.TRIANGLES, 0, this.solids[name].count);
  }

  /** Close a cut body: where more of its back than of its front lies behind the plane, it is solid. */
  _drawCap(name, plane, others, look, count = 1) {
    const { gl } = this, { at } = this.programs.solid;
    gl.enable(gl.STENCIL_TEST);
    gl.clear(gl.STENCIL_BUFFER_BIT);
    gl.colorMask(false, false, false, false);
    gl.disable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.ALWAYS, 0, 0xff);
    gl.stencilOpSeparate(gl.FRONT, gl.KEEP, gl.KEEP, gl.DECR_WRAP);
    gl.stencilOpSeparate(gl.BACK, gl.KEEP, gl.KEEP, gl.INCR_WRAP);
    // Of a cavity half full only what the resin wets counts.
    const isFilm = name === 'part' && this.film !== null;
    this._setClasses(isFilm ? 2 : 0, isFilm ? this.data.film.classes : [this.data.cuts[look]]);
    this._drawSolid(name, [plane], count);
    gl.colorMask(true, true, true, true);
    gl.enable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.NOTEQUAL, 0, 0xff);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
    this._setClasses(3, [this.data.cuts[look]]);
    this._setPlanes(at, others);
    this._drawSheet(plane);
    gl.disable(gl.STENCIL_TEST);
  }

  /** A large square in a plane (a, b, c, d): a x + b y + c z = d. */
  _drawSheet(plane) {
    const { gl } = this, { at } = this.programs.solid;
    const [x, y, z] = uprights(plane.slice(0, 3));
    const middle = add(this.centre, z, plane[3] - dot(this.centre, z));
    const wide = 2 * (this.size + this._travel());
    const corner = (s, t) => add(add(middle, x, s * wide), y, t * wide);
    const points = [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, -1), corner(1, 1), corner(-1, 1)];
    gl.bindBuffer(gl.ARRAY_BUFFER, this.sheet.buffers[0]);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(points.flat()), gl.DYNAMIC_DRAW);
    gl.uniform3fv(at.uShift, [0, 0, 0]);
    gl.bindVertexArray(this.sheet.array);
    gl.drawArrays(gl.TRIANGLES, 0, 6);
  }

  _drawLines(size, dot2, cut) {
    const { gl } = this, { made, at } = this.programs.line, { colours } = this.data;
    gl.useProgram(made);
    gl.uniformMatrix4fv(at.uView, false, this.view.out);
    gl.uniform2fv(at.uSize, size);
    gl.uniform3fv(at.uEye, this.view.eye.at);
    const line = (name, { wide = 1, ink = colours.ink, dash = 0, shift = [0, 0, 0], lift = 0.003, planes = cut }) => {
      if (!this.lines[name] || !this.lines[name].count) return;
      gl.uniform1f(at.uWide, wide * dot2);
      gl.uniform3fv(at.uInk, colour(ink));
      gl.uniform1f(at.uDash, dash * dot2);
      gl.uniform1f(at.uLift, lift * this.size);
      gl.uniform3fv(at.uShift, shift);
      this._setPlanes(at, planes);
      gl.bindVertexArray(this.lines[name].array);
      gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, this.lines[name].count);
    };
    for (const name of ['part', 'upper', 'lower', ...Object.keys(this.pieces)]) {
      if (this._isShown(name)) line(`edges ${name}`, { shift: this._shift(name), wide: 1.1 });
    }
    if (this.shown.parting && this.shown.part) line('parting', { wide: 3, dash: 14, lift: 0.012 });
    if (this.shown.box) line('box', { wide: 1.6, ink: this.lineInk, planes: [] });
    gl.disable(gl.DEPTH_TEST);
    line('path', { wide: 2.4, ink: this.lineInk, planes: [] });
    gl.enable(gl.DEPTH_TEST);
    gl.bindVertexArray(null);
  }

  _placeMarks() {
    const taken = [];
    for (const mark of this.marks) {
      const { x: x0, y, isAhead } = this._project(mark.at);
      let x = x0;
      while (taken.some((one) => Math.abs(one.x - x) < 24 && Math.abs(one.y - y) < 22)) x += 25;
      taken.push({ x, y });
      mark.label.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px) translate(-50%, -50%)`;
      mark.label.hidden = !isAhead || x < 0 || y < 0 || x > this.root.clientWidth || y > this.root.clientHeight;
    }
    clearTimeout(this.hiding);
    if (this.marks.length) this.hiding = setTimeout(() => this._hideMarks(), 150);
  }

  /** Marks behind a surface step back, once the picture is still. */
  _hideMarks() {
    const eye = this._eye().at;
    for (const mark of this.marks) {
      const way = add(mark.at, eye, -1), away = Math.hypot(...way);
      const hit = this._cast(eye, norm(way), ['part', 'upper', 'lower']);
      mark.label.classList.toggle('is-behind', Boolean(hit) && hit.distance < away - 0.02 * this.radius);
    }
  }

  // -- moves -----------------------------------------------------------------

  /** Turn by angles in radians, round up and up or down. */
  turn(yaw, pitch) {
    this.flight = null;
    this.camera.yaw += yaw;
    this.camera.pitch = clamp(this.camera.pitch + pitch, -STEEPEST, STEEPEST);
    this.refresh();
  }

  /** Move the picture by pixels. */
  pan(x, y) {
    this.flight = null;
    const { right, above } = this._eye();
    const mm = (2 * this.camera.distance * this._spread() * Math.tan(FIELD_OF_VIEW / 2)) / Math.max(this.root.clientHeight, 1);
    this.camera.target = add(add(this.camera.target, right, -x * mm), above, y * mm);
    this.refresh();
  }

  /** Step back by a factor, or closer below 1. */
  zoom(factor) {
    this.flight = null;
    this.camera.distance = clamp(this.camera.distance * factor, 0.02 * this.radius, 30 * this.radius);
    this.refresh();
  }

  /** Let go of everything. */
  dispose() {
    this.watcher.disconnect();
    clearTimeout(this.hiding);
    this.programs = null;
    this.gl.getExtension('WEBGL_lose_context')?.loseContext();
    this.root.replaceChildren();
  }
}

/** Axes across and along an upward way; the first two level. */
function uprights(up) {
  const lead = Math.abs(up[0]) < 0.9 ? [1, 0, 0] : [0, 1, 0];
  const y = norm(cross(up, lead));
  return [cross(y, up), y, up];
}

function clamp(value, low, high) { return Math.min(Math.max(value, low), high); }

function colour(hex) { return [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16) / 255); }
