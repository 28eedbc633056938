// Drawing: solids, cuts with their hatch, what is seen through, lines, the shadow. WebGL2.
import { SOLID_VERTEX, SOLID_FRAGMENT, LINE_VERTEX, LINE_FRAGMENT, program } from "./view_shaders.js";
import { Bodies, AXES } from "./view_bodies.js";
import { uprights } from "./view_camera.js";
import { Shadow } from "./view_shadow.js";
import { sliceOf, dot, add, norm } from "./view_mesh.js";

/** @import { CastView } from "./view_gl.js" */
/** @import { Gizmo } from "./view_gizmo.js" */
/** @import { Labels } from "./view_labels.js" */
/** @import { Pace } from "./view_pace.js" */

const SOLIDS = ["part", "upper", "lower", "ports", "keys"];
const CAPPED = { part: "cutPart", upper: "cutUpper", lower: "cutLower", ports: "cutPorts" };
const HATCHES = 56; // of 9 units of a cut's hatch across what is shown

/** What draws bodies: as they are `dressed`, in a canvas. */
export class Picture extends Bodies {
  constructor() {
    super();
    /** @type {WebGL2RenderingContext} */ this.gl = /** @type {any} */ (null);
    /** @type {HTMLCanvasElement} */ this.canvas = /** @type {any} */ (null);
    /** @type {HTMLElement} */ this.root = /** @type {any} */ (null);
    /** @type {Labels} */ this.labels = /** @type {any} */ (null);
    /** @type {Gizmo} */ this.gizmo = /** @type {any} */ (null);
    /** @type {Pace} */ this.pace = /** @type {any} */ (null);
    /** @type {any} by name, with the places of their uniforms */ this.programs = null;
    /** @type {Object<string, any>} as `dress` has made them */ this.dressed = {};
    /** @type {Object<string, any>} on the graphics card: what is drawn as facets */ this.solids = {};
    /** @type {Object<string, any>} and as lines */ this.lines = {};
    /** @type {Object<string, string>} which outlines of cut bodies are there */ this.slices = {};
    /** @type {any} a square to close cuts with */ this.sheet = null;
    /** @type {any} what the eye sees: matrix and place */ this.view = null;
    /** @type {any} per facet of the part */ this.facets = null;
    /** @type {Object<string, any>} by key */ this.maps = {};
    /** @type {string | null} the map that colours the part */ this.mapKey = null;
    /** @type {number | null} step of the pour */ this.film = null;
    /** @type {number[][]} a line through points */ this.path = [];
    this.lineInk = "";
    this.hiding = 0;
    this.isWaiting = false;
  }

  /**
   * Draw anew before the next frame.
   * @this {CastView}
   */
  refresh() {
    if (this.isWaiting || !this.programs) return;
    this.isWaiting = true;
    requestAnimationFrame((now) => { this.isWaiting = false; this.camera.step(now); this._draw(); });
  }

  _compile() {
    const { gl } = this;
    this.programs = {
      solid: program(gl, SOLID_VERTEX, SOLID_FRAGMENT, ["aPoint", "aNormal", "aLook"]),
      line: program(gl, LINE_VERTEX, LINE_FRAGMENT, ["aFrom", "aTo"]),
    };
    this.shadow = new Shadow(gl);
  }

  /**
   * Hand over what is not there yet, and let go of what is gone.
   * @this {CastView}
   */
  _upload() {
    const { gl, solids: before } = this;
    this.solids = {};
    this.shadow.key = null;
    for (const [name, dressed] of Object.entries(this.dressed)) {
      const { corners, normals, edges } = dressed, look = name === "part" ? this._look() : null;
      const isKept = before[name]?.of === dressed;
      this.solids[name] = isKept ? { ...before[name], look } : { ...this._solid(corners, normals, look), of: dressed };
      if (!isKept && name !== "keys" && name !== "ports") this._setLines(`edges ${name}`, edges);
    }
    for (const [name, { of, buffers, array }] of Object.entries(before)) {
      if (this.solids[name]?.of === of) continue;
      buffers.forEach((buffer) => gl.deleteBuffer(buffer));
      gl.deleteVertexArray(array);
    }
    if (!this.sheet) this.sheet = this._solid(new Float32Array(18), new Int8Array(24), null);
    const { box, parting } = this.data;
    const around = box ? box.outline.map((p, k) => [p, box.outline[(k + 1) % box.outline.length]]) : [];
    const isCorner = around.length <= 8;
    this._setLines("box", around.flatMap(([p, q]) => [
      ...p, box.low, ...q, box.low, ...p, box.high, ...q, box.high, ...(isCorner ? [...p, box.low, ...p, box.high] : []),
    ]));
    this._setLines("parting", parting.flatMap((loop) => loop.slice(1).flatMap((p, k) => [...loop[k], ...p])));
    this.setPath(this.path);
    if (this.mapKey) this.setMap(this.mapKey); else this._fillLook();
  }

  _solid(corners, normals, look) {
    const { gl } = this;
    const made = { array: gl.createVertexArray(), count: corners.length / 3, look, buffers: [] };
    gl.bindVertexArray(made.array);
    [[corners, 3, gl.FLOAT], [normals, 4, gl.BYTE], [look, 4, gl.UNSIGNED_SHORT]].forEach(([values, size, type], k) => {
      if (!values) { gl.disableVertexAttribArray(k); return; }
      made.buffers[k] = gl.createBuffer();
      gl.bindBuffer(gl.ARRAY_BUFFER, made.buffers[k]);
      gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
      gl.enableVertexAttribArray(k);
      gl.vertexAttribPointer(k, size, type, type === gl.BYTE, 0, 0);
    });
    gl.bindVertexArray(null);
    return made;
  }

  /** What the film needs of each corner; the class comes with the map. */
  _look() {
    const { basin, floor, cutOff } = this.facets;
    const look = new Uint16Array(12 * basin.length);
    for (let k = 0; k < look.length; k += 4) {
      const f = Math.floor(k / 12);
      look[k + 1] = basin[f];
      look[k + 2] = floor[f];
      look[k + 3] = cutOff[f];
    }
    return look;
  }

  /** Tell the corners their classes, and what the film needs. */
  _fillLook(classes = null) {
    const { gl } = this, { look, buffers } = this.solids.part;
    for (let k = 0; classes && k < look.length; k += 4) look[k] = classes[Math.floor(k / 12)];
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

  /** @this {CastView} */
  _draw() {
    const { gl, canvas, root } = this;
    if (gl.isContextLost() || !root.clientWidth || !root.clientHeight) return;
    this.view = this._matrix();
    const dot2 = Math.min(window.devicePixelRatio || 1, 2) * this.pace.share(this.view.out);
    const size = [Math.round(root.clientWidth * dot2), Math.round(root.clientHeight * dot2)];
    if (canvas.width !== size[0] || canvas.height !== size[1]) [canvas.width, canvas.height] = size;
    const paper = colour(getComputedStyle(root).getPropertyValue("--view-ground").trim() || "#f6f3ec");
    this.lineInk = getComputedStyle(root).getPropertyValue("--view-line").trim() || "#1a1a1a";
    gl.viewport(0, 0, size[0], size[1]);
    gl.clearColor(paper[0], paper[1], paper[2], 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    const isThere = (name) => this._isShown(name) && this.solids[name] && (name !== "keys" || this._keysAreThere());
    const cut = this._planes();
    const all = [...SOLIDS, ...Object.keys(this.pieces)].filter(isThere);
    this._drawShadow(all, dot2);
    this._useSolid(dot2);
    const solids = this._solidOnes(all);
    for (const name of solids) this._drawSolid(name, cut);
    for (const name of all.filter((one) => this.pieces[one] || CAPPED[one])) {
      const levels = name === "part" && this.film !== null ? this._levels() : [];
      cut.forEach((plane) => this._drawCap(name, plane, levels.slice(0, 1), CAPPED[name] || "cutLoose"));
      levels.forEach((plane, k) => this._drawCap(name, plane, cut, "level", k + 1));
    }
    this._drawLines(size, dot2, cut, all);
    this._drawGhosts(all, cut, size, dot2);
    this.labels.place((point) => this._project(point), this._project(this.centre), root.clientWidth, root.clientHeight);
    this.gizmo.draw(this.view.eye);
    clearTimeout(this.hiding);
    if (this.labels.marks.length) this.hiding = setTimeout(() => this._dimMarks(), 150);
  }

  /** The shadow of what is shown on the bench under it. */
  _drawShadow(names, dot2) {
    const { up } = this.camera, ground = this._ground(names, up);
    if (!ground) return;
    const key = this._solidOnes(names).map((name) => `${name} ${this._shift(name)}`).join();
    this.shadow.draw(ground, key, this.view, [0, 0, 0], (matrix, { fade }) => {
      this._useSolid(dot2);
      const { at } = this.programs.solid, { gl } = this;
      gl.uniformMatrix4fv(at.uView, false, matrix);
      gl.uniform3fv(at.uUp, up);
      gl.uniform1f(at.uLow, dot(up, ground.middle));
      gl.uniform1f(at.uSpan, fade);
      gl.uniform1i(at.uMode, 4);
      this._setPlanes(at, []);
      for (const name of this._solidOnes(names)) this._drawBody(name);
    });
  }

  /** What is seen through: the nearest of its surfaces alone, and its edges faint. */
  _drawGhosts(all, cut, size, dot2) {
    const { gl } = this;
    const ghosts = all.filter((name) => this._isGhost(name));
    // The cavity that is still empty.
    if (this.film !== null && all.includes("part")) ghosts.push("part");
    if (!ghosts.length) return;
    this._useSolid(dot2);
    gl.uniform1f(this.programs.solid.at.uGhost, 1);
    gl.colorMask(false, false, false, false);
    for (const name of ghosts) this._drawDepth(name, cut);
    gl.colorMask(true, true, true, true);
    gl.enable(gl.BLEND);
    for (const name of ghosts) this._drawSolid(name, cut);
    this._useLines(size);
    for (const name of ghosts) this._line(`edges ${name}`, dot2, { shift: this._shift(name), solid: 0.45, planes: cut });
    gl.disable(gl.BLEND);
  }

  _useSolid(dot2) {
    const { gl } = this, { made, at } = this.programs.solid, { eye } = this.view;
    gl.useProgram(made);
    gl.uniformMatrix4fv(at.uView, false, this.view.out);
    gl.uniform1f(at.uDot, dot2);
    gl.uniform1f(at.uGhost, 0);
    gl.uniform3fv(at.uEye, eye.at);
    gl.uniform3fv(at.uInk, colour(this.data.colours.ink));
    gl.uniform3fv(at.uLight, norm(add(add(eye.back, eye.above, 0.75), eye.right, -0.5)));
    gl.uniform3fv(at.uFill, norm(add(eye.right, eye.above, -0.4)));
    if (!this.data.film) return;
    const { up, low, span, levels, basins, sills } = this.data.film;
    gl.uniform3fv(at.uUp, up);
    gl.uniform1f(at.uLow, low);
    gl.uniform1f(at.uSpan, span);
    if (this.film === null) return;
    gl.uniform1f(at.uLevel, levels[this.film]);
    gl.uniform1fv(at.uBasins, [0, ...basins[this.film]]);
    gl.uniform1fv(at.uSills, [0, ...sills]);
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
      if (name === "part" && this.film !== null) this._setClasses(2, this.data.film.classes);
      else if (name === "part" && this.mapKey) this._setClasses(1, this.maps[this.mapKey].classes);
      else this._setClasses(0, [{ colour: this.pieces[name] ? colours.loose : colours[name], hatch: name === "ports" ? 4 : 0 }]);
    }
    gl.uniform1i(at.uCount, count);
    this._setPlanes(at, planes);
    this._drawBody(name);
  }

  /** As solid as it is, without a look at colours; of a cavity half full what the resin wets. */
  _drawDepth(name, planes, count = 0) {
    const { gl } = this, { at } = this.programs.solid;
    if (name === "part" && this.film !== null) {
      this._setClasses(2, this.data.film.classes);
      this._drawSolid(name, planes, count);
      return;
    }
    gl.uniform1i(at.uMode, 4);
    this._setPlanes(at, planes);
    this._drawBody(name);
  }

  _drawBody(name) {
    const { gl } = this;
    gl.uniform3fv(this.programs.solid.at.uShift, this._shift(name));
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
    this._drawDepth(name, [plane], count);
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
    // Its hatch lies in it, as wide apart as what is shown is large.
    gl.uniform3fv(at.uAcross, x);
    gl.uniform3fv(at.uAlong, y);
    gl.uniform1f(at.uPitch, (2 * this.radius) / (9 * HATCHES));
    const wide = 2 * (this.size + this._travel());
    const corner = (s, t) => add(add(middle, x, s * wide), y, t * wide);
    const points = [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, -1), corner(1, 1), corner(-1, 1)];
    gl.bindBuffer(gl.ARRAY_BUFFER, this.sheet.buffers[0]);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(points.flat()), gl.DYNAMIC_DRAW);
    gl.uniform3fv(at.uShift, [0, 0, 0]);
    gl.bindVertexArray(this.sheet.array);
    gl.drawArrays(gl.TRIANGLES, 0, 6);
  }

  _useLines(size) {
    const { gl } = this, { made, at } = this.programs.line;
    gl.useProgram(made);
    gl.uniformMatrix4fv(at.uView, false, this.view.out);
    gl.uniform2fv(at.uSize, size);
    gl.uniform3fv(at.uEye, this.view.eye.at);
  }

  _line(name, dot2, { wide = 1, ink = this.data.colours.ink, dash = 0, shift = [0, 0, 0], lift = 0.003, solid = 1, planes = [] }) {
    if (!this.lines[name] || !this.lines[name].count) return;
    const { gl } = this, { at } = this.programs.line;
    gl.uniform1f(at.uWide, wide * dot2);
    gl.uniform3fv(at.uInk, colour(ink));
    gl.uniform1f(at.uSolid, solid);
    gl.uniform1f(at.uDash, dash * dot2);
    gl.uniform1f(at.uLift, lift * this.size);
    gl.uniform3fv(at.uShift, shift);
    this._setPlanes(at, planes);
    gl.bindVertexArray(this.lines[name].array);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, this.lines[name].count);
  }

  _drawLines(size, dot2, cut, all) {
    const { gl } = this, ink = this.lineInk;
    this._useLines(size);
    for (const name of this._solidOnes(all)) this._line(`edges ${name}`, dot2, { shift: this._shift(name), wide: 1.1, planes: cut });
    if (cut.length) this._outline(all, dot2);
    if (this.shown.parting && this.shown.part) {
      this._line("parting", dot2, { wide: 3, dash: 14, lift: 0.012, planes: cut });
      // Behind the part and in the silicone it is seen through them, thin.
      gl.enable(gl.BLEND);
      gl.depthFunc(gl.GREATER);
      gl.depthMask(false);
      this._line("parting", dot2, { wide: 1.6, dash: 8, solid: 0.55, lift: 0.012, planes: cut });
      gl.depthMask(true);
      gl.depthFunc(gl.LEQUAL);
      gl.disable(gl.BLEND);
    }
    if (this.shown.box) this._line("box", dot2, { wide: 1.6, ink });
    gl.disable(gl.DEPTH_TEST);
    this._line("path", dot2, { wide: 2.4, ink });
    gl.enable(gl.DEPTH_TEST);
    gl.bindVertexArray(null);
  }

  /** A heavy line round what is cut. */
  _outline(all, dot2) {
    const { axis, at } = this.section;
    for (const name of all.filter((one) => CAPPED[one] || this.pieces[one])) {
      const shift = this._shift(name), key = `${axis} ${at} ${shift}`;
      if (this.slices[name] !== key) {
        this.slices[name] = key;
        this._setLines(`slice ${name}`, sliceOf(this.meshes[name], [...AXES[axis], at], shift));
      }
      this._line(`slice ${name}`, dot2, { wide: 2, lift: 0.006 });
    }
  }
}

function colour(hex) { return [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16) / 255); }
