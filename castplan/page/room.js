// The main room: the plan in three dimensions. It shows what the card under the eye speaks of.
import { h, show } from "./elements.js";
import { ask } from "./talk.js";
import { askPlace } from "./places.js";
import { say } from "./say.js";
import { CastView } from "./view_gl.js";
import { Stage, turningHelp } from "./view_stage.js";
import { unpack, unpackAll } from "./view_mesh.js";

// What each card is about: bodies, the maps worth a look, and the control that goes with it.
// Where something inside the silicone is spoken of, it is seen through.
const SCENES = {
  part: { shown: ["part"], maps: ["", "thickness", "draft"] },
  kind: { shown: ["part", "upper", "lower", "keys", "parting"], maps: [""], control: "open" },
  split: { shown: ["part", "upper", "lower", "keys", "parting"], maps: ["", "held", "depth", "draft"], control: "open", marks: ["pocket"] },
  stand: { shown: ["part", "upper", "lower", "box", "ports"], maps: ["", "air"], isPour: true, isInside: true },
  air: { shown: ["part", "upper", "lower", "box", "ports"], maps: ["film", "air"], control: "film", isPour: true, isInside: true, marks: ["port", "peak"] },
  box: { shown: ["part", "upper", "lower", "box", "keys", "ports"], maps: [""], control: "cut" },
  materials: { shown: ["upper", "lower", "box", "part", "keys"], maps: [""], control: "open" },
};
const MAPS = {
  "": "page_room.its_own", held: "hold_card.map_held", depth: "hold_card.map_depth", draft: "hold_card.map_draft",
  thickness: "page_room.thickness", air: "pour_card.air", film: "pour_card.film",
};
const ALL = ["part", "upper", "lower", "box", "keys", "ports", "parting"];
const BODIES = { part: "split_card.part", upper: "split_card.upper", lower: "split_card.lower", box: "split_card.box", keys: "split_card.keys", ports: "split_card.ports" };
const LIPS = { upper: "split_card.upper_lip", lower: "split_card.lower_lip" };
const AXES = { y: "cut_card.axis_y", x: "cut_card.axis_x", z: "cut_card.axis_z" };
const MOST_VERSIONS = 8; // of plans whose pictures are kept at hand
const CLOSED = 0.03; // share of the way under which halves stand closed

export class Room {
  constructor(root) {
    this.root = root;
    this.view = this.told = this.wanted = null;
    /** @type {any} */
    this.bare = null;
    /** @type {any} */
    this.stage = null;
    this.job = ""; // whose plan is shown, and which version of it
    this.at = 0;
    this.card = "split";
    this.chosen = {}; // the map of each card
    this.share = { open: 0.6, film: 1, cut: 0.5 };
    this.axis = "y";
    this.hidden = new Set(); // bodies that somebody put away
    // By choices: what is told of a version; by sum: its arrays.
    this.versions = new Map();
    this.coming = new Map();
    this.arrays = new Map();
    this.unit = "mm";
    this.onUnit = (/** @type {string} */ unit) => {}; // eslint-disable-line no-unused-vars
    this.isBlind = false; // the browser shows no picture
    this.onBlind = () => {};
    this.about = { cards: [] };
    ask("/api/about").then((about) => { if (about) this.about = about; });
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.view && this.view.refresh());
  }

  show(isShown) { this.root.hidden = !isShown; if (isShown && this.view) this.view.refresh(); }

  clear() {
    this.root.replaceChildren();
    if (this.stage) this.stage.stop();
    if (this.isPreviewing) this.bare.view.dispose();
    this.view = this.stage = this.told = this.bare = null;
    this.job = "";
    this.hidden.clear();
  }

  async load(job, cards, isCurrent) {
    if (this.told && this.job === job.key && this.at === job.plan.at) { this.apply(); return; }
    if (!this.view && !this.isPreviewing) show(this.root, h("p", { class: "waiting" }, say("page_room.building")));
    const told = await this.comingOf(job);
    if (told && isCurrent()) this.take(job, told);
  }

  // The plan of a job stands, or will: what is at hand of it is shown at once. The rest is asked
  // for when the numbers are there (`load`): both at once would be slower than one after the other.
  expect(job) {
    const told = this.versions.get(versionOf(job));
    // Before it is read it may lack a unit, or be no mesh at all.
    const isRead = job.plan.state === "busy" && job.plan.stage !== "read";
    if (isRead && !this.isBlind && !this.view && !this.bare) this.preview(job);
    if (told && this.view && this.job === job.key && this.at !== job.at) this.take(job, told, job.at);
  }

  // The part as it was read, while its first plan is made; nothing where it cannot be read yet.
  async preview(job) {
    const bare = this.bare = { job: job.key, view: null };
    const response = await fetch(`/api/jobs/${job.key}/mesh`);
    if (!response.ok) return;
    const data = await unpackAll(await response.json());
    if (this.bare !== bare || this.view) return;
    const picture = h("div", { class: "stage-picture" });
    show(this.root, h("div", { class: "stage" }, picture, h("div", { class: "strip" }, h("p", { class: "note" }, say("page_room.as_read")))));
    try { bare.view = new CastView(picture, data); } catch { show(this.root); return; }
    this.root.hidden = false;
    document.getElementById("main").classList.add("has-view");
    bare.view.frame();
  }

  // Whether the part is shown without a plan.
  get isPreviewing() { return Boolean(this.bare && this.bare.view); }

  // What is told of a version, from here or from the server; asked for once.
  comingOf(job) {
    const version = versionOf(job);
    if (this.versions.has(version)) return Promise.resolve(this.versions.get(version));
    if (!this.coming.has(version)) {
      const coming = this.fetch(job, version).finally(() => this.coming.delete(version));
      this.coming.set(version, coming);
    }
    return this.coming.get(version);
  }

  // Only arrays that are not here yet are sent.
  async fetch(job, version) {
    const told = await ask(`/api/jobs/${job.key}/view?known=${[...this.arrays.keys()].join(",")}`);
    if (!told) return null;
    const sums = new Set();
    told.view = await unpackAll(told.view, async (/** @type {any} */ packed) => {
      sums.add(packed.sum);
      if (!this.arrays.has(packed.sum)) this.arrays.set(packed.sum, await unpack(packed));
      return this.arrays.get(packed.sum);
    });
    told.sums = sums;
    this.versions.set(version, told);
    if (this.versions.size > MOST_VERSIONS) this.versions.delete(this.versions.keys().next().value);
    // What another answer under way counts on stays.
    if (this.coming.size > 1) return told;
    for (const sum of this.arrays.keys()) if (![...this.versions.values()].some((one) => one.sums.has(sum))) this.arrays.delete(sum);
    return told;
  }

  take(job, told, at = job.plan.at) {
    const isSame = this.job === job.key && this.told && String(this.told.turn) === String(told.turn);
    const isNew = this.told !== told;
    Object.assign(this, { told, job: job.key, at });
    if (!this.view) { this.furnish(); if (!this.view) return; } else if (isNew) this.stage.setTold(told, { isSamePart: isSame });
    if (!isSame) show(this.help, turningHelp(this.view));
    this.setUnit(this.unit);
    this.apply();
    if (!isSame) this.frame();
    this.root.dataset.at = at;
  }

  furnish() {
    if (this.isPreviewing) this.bare.view.dispose();
    this.bare = null;
    const picture = h("div", { class: "stage-picture" });
    this.note = h("p", { class: "note", role: "status" });
    this.legend = h("div", { class: "legends" });
    this.controls = h("div", { class: "row" });
    this.bodies = h("fieldset", { class: "bodies" });
    this.follows = h("p", { class: "follows" });
    this.help = h("div", {});
    show(this.root, h("div", { class: "stage" }, picture, h("div", { class: "strip" },
      h("div", { class: "row" }, this.controls, h("button", { onclick: () => this.frame() }, say("view.show_all")),
        h("button", { id: "measure", "aria-pressed": "false", onclick: () => this.measure() }, say("view_card.measure"))),
      this.bodies, this.legend, this.note, h("details", { class: "keys" }, h("summary", {}, say("view.how_to_turn_it")), this.help))));
    try {
      this.stage = new Stage(picture, this.told, { onPick: (hit) => this.point(hit), onPlace: (key) => this.goTo(key),
        onEscape: () => this.escape(), onStep: () => this.showStep(), onPlay: (isPlaying) => this.showPlaying(isPlaying) });
      this.view = this.stage.view;
      picture.append(this.follows);
    } catch {
      this.isBlind = true;
      show(this.root, h("p", { class: "waiting" }, say("page_room.no_picture")));
      this.onBlind();
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
    const scene = SCENES[this.card], key = this.map(), { stage, view } = this;
    // A map is on the part, and an opening may not stand before the place that is to be clicked.
    const hidden = new Set([...this.hidden, ...(this.wanted ? ["ports"] : []), ...(key && this.card === "split" ? ["keys"] : [])]);
    view.setShown(Object.fromEntries(ALL.map((name) => [name, scene.shown.includes(name) && !hidden.has(name)])));
    const isOpened = scene.control === "open" && this.told.view.meshes.upper && !(key && this.card === "split");
    view.setOpen(isOpened ? this.share.open : 0);
    // Closed halves, and a mould without a lower one, hide all that is inside.
    view.setGhost(Boolean(scene.isInside || this.wanted || (scene.control === "open" && (!isOpened || this.share.open < CLOSED || !this.told.view.meshes.lower))));
    view.setSection(scene.control === "cut" ? stage.cut(this.axis, this.share.cut).section : null);
    view.setMap(key && key !== "film" ? key : null);
    if (key !== "film") stage.stop();
    stage.step = Math.round(this.share.film * (stage.film.length - 1));
    view.setFilm(key === "film" ? stage.step : null);
    view.isSnapping = this.isMeasuring;
    view.setPicking(Boolean(this.isMeasuring || this.wanted));
    view.setMarks(stage.marks(scene.marks || []));
    this.furnishStrip(scene, key);
    this.mark();
  }

  // The card that the picture follows is marked, here and there.
  mark() {
    const main = document.getElementById("main"), title = document.querySelector(`#head-${this.card} .what`);
    main.dataset.followed = this.card;
    const card = [...(title ? title.childNodes : [])].filter((node) => node.nodeType === Node.TEXT_NODE).map((node) => node.textContent.trim()).join("");
    show(this.follows, card ? say("view.follows", { card }) : "");
  }

  furnishStrip(scene, key) {
    const { stage } = this;
    const slider = (name, label) => h("label", {}, label, h("input", { type: "range", min: 0, max: 1000, value: 1000 * this.share[name], "data-share": name,
      oninput: (event) => { this.share[name] = Number(event.target.value) / 1000; this.applyShare(name); } }));
    const parts = [];
    if (scene.maps.length > 1) {
      parts.push(h("label", {}, say("page_room.colour_by"), h("select", { value: key, onchange: (event) => { this.chosen[this.card] = event.target.value; this.apply(); } },
        scene.maps.map((name) => h("option", { value: name }, say(MAPS[name]))))));
    }
    if (scene.control === "open" && this.told.view.meshes.upper && !(key && this.card === "split")) parts.push(slider("open", say(this.told.view.isCut ? "split_card.bend" : "split_card.open")));
    if (scene.control === "film" && key === "film") {
      parts.push(slider("film", say("pour_card.resin_in")), h("button", { id: "play", onclick: () => stage.play() }, say(stage.timer ? "view.stop" : "view.play")));
    }
    if (scene.control === "cut") {
      parts.push(h("fieldset", { class: "axes" }, h("legend", {}, say("cut_card.move")), Object.entries(AXES).map(([axis, label]) =>
        h("label", { class: "pick" }, h("input", { type: "radio", name: "axis", value: axis, checked: axis === this.axis, onchange: () => this.turnCut(axis) }), h("span", {}, say(label))))),
      slider("cut", say("cut_card.where")));
    }
    show(this.controls, ...parts);
    const there = scene.shown.filter((name) => name in BODIES && (name === "part" || name === "box" || this.view.meshes[name]));
    show(this.bodies, h("legend", {}, say("split_card.show")), ...there.map((name) => h("label", { class: "pick" },
      h("input", { type: "checkbox", value: name, checked: !this.hidden.has(name), onchange: (event) => this.toggle(name, event.target.checked) }),
      h("span", {}, say((this.told.view.isCut && LIPS[name]) || BODIES[name])))));
    const legends = this.told.legends[key];
    this.legend.replaceChildren(...(legends ? new DOMParser().parseFromString(legends, "text/html").body.children : []));
    if (this.wanted) this.say("", this.wanted.says);
    else if (key === "film") this.say("", stage.stepText());
    else if (scene.control === "cut") this.say("", stage.cut(this.axis, this.share.cut).says);
    else if (scene.shown.includes("upper") && this.told.whyNoHalves) this.say(say("page_room.no_halves"), this.told.whyNoHalves);
    else this.say("", say("page_room.click_part"));
  }

  applyShare(name) {
    const { stage } = this;
    if (name === "open") { this.view.setOpen(this.share.open); this.view.setGhost(this.share.open < CLOSED || !this.told.view.meshes.lower); } else if (name === "film") {
      stage.stop();
      stage.setStep(Math.round(this.share.film * (stage.film.length - 1)));
    } else {
      const { section, says } = stage.cut(this.axis, this.share.cut);
      this.view.setSection(section);
      this.say("", says);
    }
  }

  toggle(name, isShown) {
    if (isShown) this.hidden.delete(name); else this.hidden.add(name);
    this.view.setShown({ [name]: isShown });
  }

  turnCut(axis) {
    this.axis = axis;
    this.applyShare("cut");
    this.view.stand(this.stance());
  }

  // The pour stands at another step.
  showStep() {
    const { stage } = this;
    this.share.film = stage.step / (stage.film.length - 1);
    const slider = this.controls.querySelector("[data-share=film]");
    if (slider) slider.value = String(1000 * this.share.film);
    this.say("", stage.stepText());
  }

  showPlaying(isPlaying) {
    const play = this.controls.querySelector("#play");
    if (play) show(play, say(isPlaying ? "view.stop" : "view.play"));
  }

  stance() { const { isPour, control } = SCENES[this.card]; return this.stage.stance({ isPour, axis: control === "cut" ? this.axis : null }); }

  frame() { if (this.view) this.view.frame(this.stance()); }

  // Fly to a place of the plan, and say what it is and what to do.
  goTo(key) {
    const place = this.stage?.places.get(key);
    if (!place) return;
    this.say(place.title, place.do ? say("page_room.place", { what: place.what, do: place.do }) : place.what);
    this.view.setGhost(true);
    this.stage.flyTo(place);
  }

  // Fly to a place told in the file's own axes: what is in the way is seen through.
  flyTo(place) {
    if (!this.view) return;
    this.view.setGhost(true);
    this.view.flyTo(this.stage.fromFile(place), { distance: 1.4 * this.view.radius });
  }

  // A place on the part, picked by the user, in the file's axes; null if they change their mind.
  pickPlace(says) {
    if (this.wanted) this.wanted.done(null);
    if (!this.view) return askPlace(says);
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
      if (hit && hit.mesh === "part") this.wanted.done(this.stage.toFile(hit.point).map((value) => Math.round(value * 1000) / 1000));
      return;
    }
    if (this.isMeasuring) {
      if (hit) this.stage.addEnd(hit.point);
      this.view.setMarks(this.stage.marks(SCENES[this.card].marks || []));
      this.sayLength();
      return;
    }
    const { key, title, lines } = this.stage.read(hit, { isPour: SCENES[this.card].isPour });
    if (key) this.goTo(key); else this.say(title, lines.join(" "));
  }

  // What is under way is called off: a place that was asked for, a length.
  escape() {
    if (this.wanted) this.wanted.done(null);
    else if (this.isMeasuring) this.measure();
  }

  measure() {
    this.isMeasuring = !this.isMeasuring;
    this.root.querySelector("#measure").setAttribute("aria-pressed", String(this.isMeasuring));
    this.stage.setEnds([]);
    this.apply();
    if (this.isMeasuring) this.sayLength();
  }

  sayLength() { this.say("", this.stage.endsText()); }

  setUnit(unit) {
    this.unit = unit;
    if (this.stage) this.stage.unit = unit;
    document.documentElement.dataset.unit = unit;
    this.onUnit(unit);
    if (this.view && this.told) this.furnishStrip(SCENES[this.card], this.map());
    if (this.isMeasuring) this.sayLength();
  }

  say(title, text) { show(this.note, title ? h("b", {}, `${title} `) : null, text); }
}

// The same choices are the same plan.
export function versionOf(job) { return `${job.key} ${job.name} ${JSON.stringify(Object.entries(job.choices).sort())}`; }
