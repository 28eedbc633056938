// The main room: the plan in three dimensions. It shows what the card under the eye speaks of.
import { ask, h, show } from "./talk.js";
import { say } from "./say.js";
import { CastView } from "./view_gl.js";
import { unpackAll } from "./view_mesh.js";

const MM_PER_INCH = 25.4;
// What each card is about: bodies, the maps worth a look, and the control that goes with it.
const SCENES = {
  part: { shown: ["part"], maps: ["", "thickness", "draft"] },
  kind: { shown: ["part", "upper", "lower", "keys"], maps: [""], control: "open" },
  split: { shown: ["part", "upper", "lower", "keys", "parting"], maps: ["", "held", "depth", "draft"], control: "open" },
  stand: { shown: ["part", "box", "ports"], maps: ["", "air"], isPour: true },
  air: { shown: ["part", "box", "ports"], maps: ["film", "air"], control: "film", isPour: true, marks: ["port", "peak"] },
  box: { shown: ["part", "upper", "lower", "box", "keys", "ports"], maps: [""], control: "cut" },
  materials: { shown: ["upper", "lower", "box", "part"], maps: [""], control: "open" },
};
const MAPS = {
  "": "page_room.its_own", held: "hold_card.map_held", depth: "hold_card.map_depth", draft: "hold_card.map_draft",
  thickness: "page_room.thickness", air: "pour_card.air", film: "pour_card.film",
};
const LIPS = { upper: "view.lip_upper", lower: "view.lip_lower", ports: "view.gate_or_vent" };
const BODIES = { upper: "view.silicone_upper", lower: "view.silicone_lower", ports: "view.gate_or_vent" };
const ALL = ["part", "upper", "lower", "box", "keys", "ports", "parting"];

export class Room {
  constructor(root) {
    this.root = root;
    this.view = this.told = this.wanted = null;
    this.card = "split";
    this.chosen = {}; // the map of each card
    this.share = { open: 0.6, film: 1, cut: 0.5 };
    this.ends = [];
    this.unit = "mm";
    this.about = { cards: [] };
    ask("/api/about").then((about) => { if (about) this.about = about; });
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.view && this.view.refresh());
  }

  show(isShown) { this.root.hidden = !isShown; if (isShown && this.view) this.view.refresh(); }

  clear() {
    this.root.replaceChildren();
    this.view = this.told = this.job = null;
    this.ends = [];
  }

  async load(job, cards, isCurrent) {
    if (this.told && this.job === job.key && this.at === job.plan.at) { this.apply(); return; }
    if (!this.view) show(this.root, h("p", { class: "waiting" }, say("page_room.building")));
    const told = await ask(`/api/jobs/${job.key}/view`);
    if (!told) return;
    told.view = await unpackAll(told.view);
    if (!isCurrent()) return;
    const isSame = this.job === job.key && this.told && String(this.told.turn) === String(told.turn);
    Object.assign(this, { told, job: job.key, at: job.plan.at });
    if (!this.view) { this.furnish(); if (!this.view) return; }
    this.view.setData(told.view, { isSamePart: isSame });
    this.setUnit(this.unit);
    this.apply();
    if (!isSame) this.frame();
  }

  furnish() {
    const picture = h("div", { class: "stage-picture" });
    this.note = h("p", { class: "note", role: "status" });
    this.legend = h("div", { class: "legends" });
    this.controls = h("div", { class: "row" });
    const units = ["mm", "inch"].map((unit) => h("button", { "data-unit-of": unit, onclick: () => this.setUnit(unit) }, unit === "inch" ? say("view.inch") : unit));
    show(this.root, h("div", { class: "stage" }, picture, h("div", { class: "strip" },
      h("div", { class: "row" }, this.controls, h("button", { onclick: () => this.frame() }, say("view.show_all")),
        h("button", { id: "measure", "aria-pressed": "false", onclick: () => this.measure() }, say("view_card.measure")), units),
      this.legend, this.note)));
    try {
      this.view = new CastView(picture, this.told.view, { onPick: (hit) => this.point(hit), onMark: (key) => this.goTo(key) });
      this.view.canvas.setAttribute("role", "application");
      this.view.canvas.setAttribute("aria-label", say("view.keys_of_picture"));
    } catch {
      show(this.root, h("p", { class: "waiting" }, say("page_room.no_picture")));
    }
  }

  // The card under the eye.
  speakOf(card) {
    if (!SCENES[card] || card === this.card) return;
    this.card = card;
    if (!this.view) return;
    this.apply();
    this.view.stand(this.stance());
  }

  map() {
    const { maps } = SCENES[this.card];
    return this.chosen[this.card] ?? maps[0];
  }

  apply() {
    if (!this.view) return;
    const scene = SCENES[this.card], key = this.map(), { box, film } = this.told.view;
    // A map is on the part: what hides it goes.
    const hidden = key && this.card === "split" ? ["upper", "lower", "keys"] : [];
    // Nor may an opening stand before the place that is to be clicked.
    if (this.wanted) hidden.push("ports");
    this.view.setShown(Object.fromEntries(ALL.map((name) => [name, scene.shown.includes(name) && !hidden.includes(name)])));
    this.view.setOpen(scene.control === "open" && this.told.view.meshes.upper ? this.share.open : 0);
    const middle = box.outline.map((point) => point[1]);
    const low = Math.min(...middle), high = Math.max(...middle);
    this.view.setSection(scene.control === "cut" ? { axis: "y", at: low + this.share.cut * (high - low) } : null);
    this.view.setMap(key && key !== "film" ? key : null);
    this.step = Math.round(this.share.film * (film.levels.length - 1));
    this.view.setFilm(key === "film" ? this.step : null);
    this.view.isSnapping = this.isMeasuring;
    this.view.setMarks(this.marks(scene));
    this.furnishStrip(scene, key);
  }

  furnishStrip(scene, key) {
    const slider = (name, label) => h("label", {}, label, h("input", { type: "range", min: 0, max: 1000, value: 1000 * this.share[name],
      oninput: (event) => { this.share[name] = Number(event.target.value) / 1000; this.applyShare(name); } }));
    const parts = [];
    if (scene.maps.length > 1) {
      parts.push(h("label", {}, say("page_room.colour_by"), h("select", { value: key, onchange: (event) => { this.chosen[this.card] = event.target.value; this.apply(); } },
        scene.maps.map((name) => h("option", { value: name }, say(MAPS[name]))))));
    }
    if (scene.control === "open" && this.told.view.meshes.upper && !(key && this.card === "split")) parts.push(slider("open", say(this.told.view.isCut ? "split_card.bend" : "split_card.open")));
    if (scene.control === "film" && key === "film") parts.push(slider("film", say("pour_card.resin_in")));
    if (scene.control === "cut") parts.push(slider("cut", say("cut_card.move")));
    show(this.controls, ...parts);
    const legends = this.told.legends[key];
    this.legend.replaceChildren(...(legends ? new DOMParser().parseFromString(legends, "text/html").body.children : []));
    if (this.wanted) this.say("", this.wanted.says);
    else if (key === "film") this.say("", this.told.film[this.step][this.unit]);
    else if (scene.shown.includes("upper") && this.told.why_no_halves) this.say(say("page_room.no_halves"), this.told.why_no_halves);
    else this.say("", say("page_room.click_part"));
  }

  applyShare(name) {
    if (name === "open") this.view.setOpen(this.share.open);
    else if (name === "film") {
      this.step = Math.round(this.share.film * (this.told.film.length - 1));
      this.view.setFilm(this.step);
      this.say("", this.told.film[this.step][this.unit]);
    } else {
      const across = this.told.view.box.outline.map((point) => point[1]);
      const low = Math.min(...across), high = Math.max(...across);
      this.view.setSection({ axis: "y", at: low + this.share.cut * (high - low) });
    }
  }

  marks(scene) {
    const kinds = { pocket: "square", port: "round", peak: "peak" };
    const shown = this.card === "split" ? ["pocket"] : scene.marks || [];
    const marks = this.told.places.filter((place) => place.at && place.is_marked && shown.includes(place.key.split("-")[0])).slice(0, 40)
      .map((place) => {
        const kind = place.key.split("-")[0];
        return { id: place.key, text: kind === "peak" ? `\u25b2${place.number}` : place.number, title: place.title, at: place.at, kind: kinds[kind] };
      });
    if (this.isMeasuring) this.ends.forEach((at, k) => marks.push({ id: "", text: "AB"[k], title: "", at, kind: "round" }));
    return marks;
  }

  stance() { return { up: SCENES[this.card].isPour ? this.told.view.film.up : [0, 0, 1] }; }

  frame() { if (this.view) this.view.frame(this.stance()); }

  // Fly to a place of the plan, and say what it is and what to do.
  goTo(key) {
    const place = this.told.places.find((each) => each.key === key);
    if (!place) return;
    this.say(place.title, place.do ? say("page_room.place", { what: place.what, do: place.do }) : place.what);
    if (place.at) this.view.flyTo(place.at, { distance: 1.4 * this.view.radius });
    this.view.labels.choose(key);
  }

  // Fly to a place told in the file's own axes.
  flyTo(place) {
    if (this.view) this.view.flyTo(this.turned(place), { distance: 1.4 * this.view.radius });
  }

  turned(place) { return this.told.turn.map((row) => row.reduce((sum, value, k) => sum + value * place[k], 0)); }

  back(place) { return [0, 1, 2].map((k) => this.told.turn.reduce((sum, row, r) => sum + row[k] * place[r], 0)); }

  // A place on the part, picked by the user, in the file's axes; null if they change their mind.
  pickPlace(says) {
    if (this.wanted) this.wanted.done(null);
    if (!this.view) return Promise.resolve(null);
    this.chosen.air = "air";
    return new Promise((done) => {
      this.wanted = { says, done: (place) => { this.wanted = null; this.apply(); done(place); } };
      this.apply();
      this.root.scrollIntoView({ block: "nearest" });
      this.view.canvas.focus();
    });
  }

  point(hit) {
    if (this.wanted) {
      if (hit && hit.mesh === "part") this.wanted.done(this.back(hit.point).map((value) => Math.round(value * 1000) / 1000));
      return;
    }
    if (this.isMeasuring) {
      if (hit) this.ends = this.ends.length > 1 ? [hit.point] : [...this.ends, hit.point];
      this.view.setPath(this.ends);
      this.view.setMarks(this.marks(SCENES[this.card]));
      this.sayLength();
      return;
    }
    if (!hit) { this.say("", ""); return; }
    if (this.told.view.pieces.some((piece) => piece.name === hit.mesh)) { this.say(say("view.loose_piece", { label: hit.mesh }), ""); return; }
    if (hit.mesh !== "part") { const bodies = this.told.view.isCut ? LIPS : BODIES; this.say(bodies[hit.mesh] ? say(bodies[hit.mesh]) : "", ""); return; }
    const { facets, maps } = this.view;
    const key = SCENES[this.card].isPour ? `peak-${facets.peak[hit.face]}` : `pocket-${facets.pocket[hit.face]}`;
    if (this.told.places.some((place) => place.key === key)) { this.goTo(key); return; }
    const read = (name) => maps[name].numbers[hit.face] * maps[name].step;
    const told = { draft: read("draft").toFixed(0), thickness: this.length(read("thickness")), depth: this.length(read("depth")) };
    this.say("", say(read("depth") > 0 ? "page_room.reading_deep" : "page_room.reading", told));
  }

  measure() {
    this.isMeasuring = !this.isMeasuring;
    this.root.querySelector("#measure").setAttribute("aria-pressed", String(this.isMeasuring));
    this.ends = [];
    this.view.setPath([]);
    this.apply();
    if (this.isMeasuring) this.sayLength();
  }

  sayLength() {
    const [a, b] = this.ends;
    if (!a) this.say("", say("page_room.first_point"));
    else if (!b) this.say("", say("view.first_point"));
    else this.say(say("page_room.a_to_b"), `${this.length(Math.hypot(...a.map((value, k) => b[k] - value)))} [c]`);
  }

  length(mm) { return this.unit === "mm" ? `${mm.toFixed(1)} mm` : `${(mm / MM_PER_INCH).toFixed(2)} in`; }

  setUnit(unit) {
    this.unit = unit;
    document.documentElement.dataset.unit = unit;
    for (const button of this.root.querySelectorAll("[data-unit-of]")) button.setAttribute("aria-pressed", String(button.dataset.unitOf === unit));
    if (this.view && this.told) this.furnishStrip(SCENES[this.card], this.map());
    if (this.isMeasuring) this.sayLength();
  }

  say(title, text) { show(this.note, title ? h("b", {}, `${title} `) : null, text); }
}
