// What the file and the page do alike with the picture: places, cuts, the pour, lengths, words.
import { say } from "./say.js";
import { CastView } from "./view_gl.js";

const MM_PER_INCH = 25.4;
const PLAY_MS = 110;
const MOST_MARKS = 40;
const KINDS = { pocket: "square", port: "round", peak: "peak", finding: "", part: "part" };
const PLACE_DIGITS = 1; // of a millimetre, as places are told in the log of pours
const HELD = ["view.held_free", "view.held_upper", "view.held_lower", "view.held_closed"];
const LIPS_HELD = ["view.held_free", "view.held_upper_lip", "view.held_lower_lip", "view.held_closed"];
const LIPS = { upper: "view.lip_upper", lower: "view.lip_lower", ports: "view.gate_or_vent" };
const OTHERS = { upper: "view.silicone_upper", lower: "view.silicone_lower", ports: "view.gate_or_vent" };
const WALLS = { x: "view.from_left", y: "view.from_front", z: "view.over_board" };
// The side to look at a cut from: its front, a little from above and aside.
const FRONTS = { x: [0.9, -0.35, 0.3], y: [0.3, -0.9, 0.3], z: [0.3, -0.55, 0.8] };

export class Stage {
  /**
   * A picture in `root` of what is `told`: {view, film, places, smallAir, turn}, unpacked.
   *
   * Hooks: onPick(hit), onPlace(key), onEscape(), onStep() when the pour stands at another
   * step, onPlay(isPlaying). Throws an Error where WebGL2 is missing.
   */
  constructor(root, told, { onPick, onPlace, onEscape, onStep, onPlay }) {
    this.onStep = onStep;
    this.onPlay = onPlay;
    this.unit = "mm";
    this.step = 0; // of the pour
    /** @type {number[][]} of a length, one or two */
    this.ends = [];
    /** @type {any} */
    this.told = null;
    /** @type {any} what of it the view shows */
    this.data = null;
    /** @type {any[]} the pour in words */
    this.film = [];
    this.view = new CastView(root, told.view, { onPick, onMark: onPlace, onEscape });
    this.view.canvas.setAttribute("role", "application");
    this.view.canvas.setAttribute("aria-label", say("view.keys_of_picture"));
    this.take(told);
  }

  /** Another plan; the camera stays where the part is the same. */
  setTold(told, { isSamePart }) {
    this.stop();
    this.view.setData(told.view, { isSamePart });
    this.take(told);
  }

  take(told) {
    Object.assign(this, { told, data: told.view, film: told.film });
    this.places = new Map(told.places.map((place) => [place.key, place]));
    this.looks = new Map();
    this.step = Math.min(this.step, this.film.length - 1);
  }

  // -- lengths ---------------------------------------------------------------

  length(mm) {
    if (this.unit === "mm") return `${mm.toFixed(1)} mm`;
    const parts = Math.round((mm / MM_PER_INCH) * 32);
    let top = parts % 32, under = 32;
    while (top && top % 2 === 0) { top /= 2; under /= 2; }
    const whole = Math.floor(parts / 32);
    return `${whole || !top ? whole : ""}${whole && top ? " " : ""}${top ? `${top}/${under}` : ""} in`;
  }

  setEnds(ends) {
    this.ends = ends;
    this.view.setPath(ends);
  }

  /** One more end of a length, or the first of a new one. */
  addEnd(point) { this.setEnds(this.ends.length > 1 ? [point] : [...this.ends, point]); }

  endsText() {
    const [a, b] = this.ends;
    if (!a) return say("view.no_point");
    if (!b) return say("view.first_point");
    return raised(say("view.apart", { length: this.length(Math.hypot(...a.map((value, k) => b[k] - value))) }));
  }

  // -- what the picture shows ------------------------------------------------

  /** The way the upper half leaves, over the middle of the box. */
  arrow() {
    const { low, high, outline } = this.data.box;
    const middle = [0, 1].map((k) => 0.5 * (Math.min(...outline.map((p) => p[k])) + Math.max(...outline.map((p) => p[k]))));
    const tall = 0.5 * (high - low), tip = high + tall;
    const at = (x, z) => [middle[0] + x, middle[1], z];
    return [at(0, high), at(0, tip), at(-0.2 * tall, tip - 0.3 * tall), at(0, tip), at(0.2 * tall, tip - 0.3 * tall)];
  }

  /** A cut square to an axis, a share of the way through the box, and where that is in words. */
  cut(axis, share) {
    const { box } = this.data, n = { x: 0, y: 1 }[axis];
    const low = axis === "z" ? box.low : Math.min(...box.outline.map((p) => p[n]));
    const high = axis === "z" ? box.high : Math.max(...box.outline.map((p) => p[n]));
    return { section: { axis, at: low + share * (high - low) }, says: say(WALLS[axis], { length: this.length(share * (high - low)) }) };
  }

  /** What is up, and the side to look from, for a scene with the pour or with a cut. */
  stance({ isPour, axis = null }) { return { up: isPour ? this.data.film.up : [0, 0, 1], from: axis && FRONTS[axis] }; }

  /** Marks of the places of these kinds, and of what goes with them. */
  marks(kinds, { isArrow = false } = {}) {
    const marks = [];
    for (const place of this.places.values()) {
      const kind = place.key.split("-")[0];
      if (!kinds.includes(kind) || !place.isMarked || !place.at || marks.length >= MOST_MARKS) continue;
      const at = kind === "pocket" ? this.lookAt(place).at : place.at;
      const text = kind === "peak" ? `\u25b2${place.number}` : place.number;
      marks.push({ id: place.key, text, title: place.title, at, kind: KINDS[kind] });
    }
    if (isArrow) marks.push({ id: "", text: say("view.pull"), title: "", at: this.arrow()[1], kind: "" });
    this.ends.forEach((at, k) => marks.push({ id: "", text: "AB"[k], title: "", at, kind: "round" }));
    return marks;
  }

  // -- places ----------------------------------------------------------------

  /** Where to look to see a place: the facets that belong to it, or its point. */
  lookAt(place) {
    const [kind, number] = place.key.split("-");
    if (!this.looks.has(place.key)) {
      const of = { pocket: this.view.facets.pocket, peak: this.view.facets.peak }[kind];
      const found = of && this.view.findFacets((f) => of[f] === Number(number));
      this.looks.set(place.key, found || { at: place.at, from: null, size: 0.3 * this.view.radius });
    }
    return this.looks.get(place.key);
  }

  /** Fly to a place, through what is seen through. */
  flyTo(place, { up = null } = {}) {
    if (!place.at) return;
    const { at, from, size } = this.lookAt(place);
    const distance = Math.min(Math.max(5 * size, 1.1 * this.view.radius), 3.4 * this.view.radius);
    const isPlain = place.key.startsWith("port") || place.key.startsWith("finding");
    this.view.flyTo(at, { distance, from: isPlain ? null : from, up });
    this.view.labels.choose(place.key);
  }

  /** A place of the draw frame in the file's own axes, and back. */
  toFile(at) { return [0, 1, 2].map((k) => this.told.turn.reduce((sum, row, r) => sum + row[k] * at[r], 0)); }
  fromFile(at) { return this.told.turn.map((row) => row.reduce((sum, value, k) => sum + value * at[k], 0)); }

  /** A place as `castplan cast --defect` takes it. */
  placeText(at) {
    return this.toFile(at).map((mm) => (Math.round(mm * 10 ** PLACE_DIGITS) / 10 ** PLACE_DIGITS + 0).toFixed(PLACE_DIGITS)).join(",");
  }

  /** What a click met, in words: {title, lines}, and the key of the place where it is one of the list. */
  read(hit, { isPour = false } = {}) {
    if (!hit) return { title: "", lines: [] };
    if (this.data.pieces.some((piece) => piece.name === hit.mesh)) return { title: say("view.loose_piece", { label: hit.mesh }), lines: [] };
    if (hit.mesh !== "part") return { title: say((this.data.isCut ? LIPS : OTHERS)[hit.mesh]), lines: [] };
    const { facets, maps } = this.view, kind = isPour ? "peak" : "pocket";
    const key = `${kind}-${facets[kind][hit.face]}`, values = this.values(hit.face);
    if (this.places.has(key)) return { key, title: this.places.get(key).title, lines: [values] };
    if (isPour && facets.caught[hit.face]) return { title: say("view.air_stays"), lines: [this.told.smallAir] };
    return { title: say((this.data.isCut ? LIPS_HELD : HELD)[maps.held.numbers[hit.face]]), lines: [values] };
  }

  values(face) {
    const read = (key) => this.view.maps[key].numbers[face] * this.view.maps[key].step;
    const told = { draft: read("draft").toFixed(0), thickness: this.length(read("thickness")) };
    if (!(read("depth") > 0)) return raised(say("view.values", told));
    return raised(say("view.values_in_pocket", { ...told, depth: this.length(read("depth")) }));
  }

  // -- the pour --------------------------------------------------------------

  setStep(step) {
    this.step = step;
    this.view.setFilm(step);
    this.onStep();
  }

  stepText() { return raised(this.film[this.step][this.unit]); }

  play() {
    if (this.timer) { this.stop(); return; }
    if (this.step >= this.film.length - 1) this.setStep(0);
    this.timer = setInterval(() => {
      this.setStep(this.step + 1);
      if (this.step >= this.film.length - 1) this.stop();
    }, PLAY_MS);
    this.onPlay(true);
  }

  stop() {
    if (!this.timer) return;
    clearInterval(this.timer);
    this.timer = null;
    this.onPlay(false);
  }
}

/** How the picture is turned, and a button for every face of the part. */
export function turningHelp(view) {
  const box = document.createElement("div"), ways = document.createElement("p"), row = document.createElement("div");
  box.className = "turning";
  ways.textContent = say("view.ways_to_turn_it");
  row.className = "faces";
  row.setAttribute("role", "group");
  row.setAttribute("aria-label", say("view.look_at"));
  for (const face of view.data.faces) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = face.name;
    button.addEventListener("click", () => view.lookAt(face));
    row.append(button);
  }
  box.append(ways, row);
  return box;
}

/** Basis letters as raised letters: all that a picture computes is computed. */
function raised(text) { return text.replace(/ ?\[c\]/g, "\u1d9c"); }
