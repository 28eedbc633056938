// What can be chosen on each card: the controls of the plan's decisions.
import { h, fold } from "./elements.js";
import { boxParts } from "./box_parts.js";
import { disc } from "./disc.js";
import { say } from "./say.js";

/** @type {[string, number[]][]} */
const AXES = [["+x", [1, 0, 0]], ["-x", [-1, 0, 0]], ["+y", [0, 1, 0]], ["-y", [0, -1, 0]], ["+z", [0, 0, 1]], ["-z", [0, 0, -1]]];
const PARTS = { kit: "page_option.both_parts", A: "page_option.part_a", B: "page_option.part_b" };
const MM_PER_INCH = 25.4;

// Kinds that need no more than the table of choices says; what is drawn in a way of its own.
const PLAIN = ["number", "count", "word"], BY_HAND = ["parting_height_mm"];

/**
 * What the controls work with.
 * @typedef {object} Tools
 * @property {any} room
 * @property {Object<string, any>} choices the table of what may be chosen
 * @property {(choices: Object<string, any>) => void} change
 * @property {string} unit "mm" or "inch"
 * @property {{ names: string[], error: string } | null} fault
 * @property {(what: string, body?: any) => any} act
 * @property {(file: File) => any} addPart
 * @property {(name: string, own?: any) => any} plain a control as the table of choices has it
 */

/**
 * The controls of a card.
 * @param {any} job
 * @param {any} card
 * @param {Omit<Tools, "plain">} given
 * @returns {any[]}
 */
export function controlsOf(job, card, given) {
  // An open mould is parted at its back, and its back is its only opening.
  const drawn = new Set([...BY_HAND, ...(card.is_open ? card.controls : [])]);
  const plain = (/** @type {string} */ name, /** @type {any} */ own) => { drawn.add(name); return control(job, name, given, own); };
  const controls = { part, kind, split, stand, air, box, materials }[/** @type {"part"} */ (card.id)](job, card, { ...given, plain });
  const rest = card.controls.filter((/** @type {string} */ name) => PLAIN.includes(given.choices[name].kind) && !drawn.has(name));
  if (rest.length) controls.push(fold(say("page_control.more"), rest.map((/** @type {string} */ name) => plain(name)), { isOpen: rest.some((/** @type {string} */ name) => name in job.choices) }));
  return controls;
}

/**
 * What is wrong with a choice, to stand under its control; none where nothing is.
 * @param {{ fault: Tools["fault"] }} tools
 * @param {string} name
 */
function wrong({ fault }, name) {
  if (!fault || !fault.names.includes(name)) return { says: null, marks: {} };
  const id = `error-${name}`;
  return { says: h("p", { class: "error", id }, fault.error), marks: { "aria-invalid": "true", "aria-describedby": id } };
}

/** @param {[string, string][]} pairs */
function options(pairs) { return pairs.map(([key, says]) => h("option", { value: key }, says)); }

/** @param {string} label @param {string} value @param {any[]} pairs @param {(value: string) => void} changed @param {any} [fault] */
function select(label, value, pairs, changed, fault = { says: null, marks: {} }) {
  return h("label", {}, label, h("select", { value, onchange: (event) => changed(event.target.value), ...fault.marks }, options(pairs)), fault.says);
}

/**
 * A control as the table of choices has it; `own` says otherwise. Lengths are typed in the
 * unit that is shown, and told to the server in mm.
 * @param {any} job @param {string} name @param {Omit<Tools, "plain">} tools @param {any} [own]
 */
function control(job, name, tools, own = {}) {
  const { choices, change, unit } = tools;
  const told = { ...choices[name], ...own }, fault = wrong(tools, name);
  const set = (value) => change({ [name]: value, ...(told.with ? told.with(value) : {}) });
  if (told.kind === "word") {
    const whose = told.default ? [] : [["", told.blank ?? say("page_option.castplans")]];
    return select(told.label, job.choices[name] || told.default || "", [...whose, ...told.words],
      (word) => set(word && word !== told.default ? word : null), fault);
  }
  const isInch = unit === "inch" && name.endsWith("_mm"), factor = isInch ? MM_PER_INCH : 1;
  const shown = (value) => (value === null || value === undefined ? "" : String(Number((value / factor).toPrecision(isInch ? 4 : 12))));
  const blank = told.blank ?? (told.default === null ? say("page_option.castplans") : shown(told.default));
  return h("label", { "data-key": `${name} ${unit}` }, isInch ? told.label.replace("(mm)", "(in)") : told.label, h("input", {
    type: "number", min: told.least / factor, max: told.most / factor, step: told.kind === "count" ? 1 : "any",
    value: shown(job.choices[name]), placeholder: blank, ...fault.marks,
    onchange: (event) => {
      const { value } = event.target;
      if (event.target.reportValidity()) set(value === "" ? null : Number((Number(value) * factor).toPrecision(12)));
    } }), fault.says);
}

function part(job, card, tools) {
  const { change, plain, act, addPart, room } = tools;
  const shown = AXES.find(([, way]) => String(way) === String(job.choices.show_face));
  const measured = {}, fault = wrong(tools, "measured");
  return [
    select(say("page_control.show_face"), shown ? shown[0] : "", [["", card.guessed ? say("page_card.guessed", { axis: card.guessed }) : say("page_option.not_said")], ...AXES.map(([name]) => [name, say("page_card.file_axis", { axis: name })])],
      (name) => change({ show_face: name ? AXES.find(([axis]) => axis === name)[1] : null })),
    h("form", { class: "row", onsubmit: (event) => { event.preventDefault(); change({ measured: measured.element.value.trim() || null }); } },
      h("label", {}, say("page_control.measured_scale"),
        h("input", { type: "text", name: "measured", value: job.choices.measured || "", placeholder: "longest=142mm", maxlength: 40, ref: measured, ...fault.marks })),
      h("button", { type: "submit" }, say("page_control.check"))),
    fault.says,
    plain("water_ml", { blank: say("page_option.not_measured") }),
    boxParts(job, room.about.formats.map((name) => `.${name}`).join(","), { change, act, addPart }),
  ];
}

function kind(job, card, { change, plain }) {
  const answers = card.answers.map((answer) => h("div", {}, h("h3", {}, answer.title), h("b", {}, answer.kind),
    answer.lines.map((line) => h("p", {}, line)), h("button", { onclick: () => change({ show_face: answer.shown }) }, answer.tell)));
  return [answers.length ? h("div", { class: "answers" }, answers) : null, plain("mould")];
}

function split(job, card, { change, plain, choices, unit }) {
  const ways = h("fieldset", {}, h("legend", {}, say("page_control.draw")),
    card.ways.map((way, at) => h("label", { class: "choice" },
      h("input", { type: "radio", name: "way", checked: same(way.direction, card.direction),
        onchange: () => change({ draw: at || job.choices.draw ? way.direction : null }) }),
      h("span", {}, say("page_card.way_costs", { way: way.says, cost: way.cost_min })))));
  const hand = fold(say("page_control.draw_by_hand"), () => [disc({ label: say("page_card.way_disc"),
    points: [], at: card.direction, says: inWords, done: (way) => change({ draw: way }) })], { own: String(card.direction) });
  const live = {}, last = card.heights_mm.length - 1, now = nearest(card.heights_mm, card.height_mm);
  const tell = (at) => {
    const held = card.trapped_ml[at];
    return say(held < 0.005 ? "page_card.height_holds_nothing" : "page_card.height_holds",
      { height: lengthOf(card.heights_mm[at] + card.board_mm, unit), held: held.toPrecision(2) });
  };
  const slider = h("input", { type: "range", min: 0, max: last, value: now, "aria-label": say("page_control.parting_height_mm"),
    oninput: (event) => { live.element.textContent = tell(Number(event.target.value)); },
    onchange: (event) => change({ parting: "level", parting_height_mm: card.heights_mm[Number(event.target.value)] }) });
  if (card.is_open) return [];
  return [
    ...(card.is_loose ? [plain("slides")] : []), ways, hand,
    plain("parting", {
      blank: say("page_card.castplans_choice_of", { kind: Object.fromEntries(choices.parting.words)[card.kind] }),
      with: (line) => (line === "level" ? {} : { parting_height_mm: null }),
    }),
    h("div", {}, h("label", {}, say("page_control.parting_height_mm"), slider), h("p", { class: "live", role: "status", ref: live }, tell(now))),
  ];
}

function stand(job, card, { change }) {
  const { map } = card;
  const most = Math.max(...map.caught_ml, 1e-9);
  const find = (way) => map.seen.reduce((best, up, k) => {
    const near = up[0] * way[0] + up[1] * way[1] + up[2] * way[2];
    return near > best[0] ? [near, k] : best;
  }, [-2, 0])[1];
  const says = (way) => {
    const k = find(way);
    return say("page_card.map_air", { air: map.caught_ml[k].toPrecision(2), n: map.n_vents[k] });
  };
  const hand = fold(say("page_control.up_on_map"), () => [h("p", { class: "hint" }, say("page_card.map_middle")),
    disc({ label: say("page_card.map_disc"),
      points: map.seen.map((at, k) => ({ at, shade: map.caught_ml[k] / most })),
      at: map.seen[find(map.seen[upOf(card)])], says, done: (way) => change({ up: map.up[find(way)] }) })],
  { own: JSON.stringify([card.up, map.caught_ml]) });
  return [h("fieldset", {}, h("legend", {}, say("page_control.up")),
    card.options.map((option, at) => h("label", { class: "choice" },
      h("input", { type: "radio", name: "stand", checked: same(option.up, card.up),
        onchange: () => change({ up: at || job.choices.up ? option.up : null }) }),
      h("span", {}, say("page_card.stand_vents", { stand: option.says, n: option.n_vents }))))), hand];
}

function upOf(card) {
  return card.map.up.reduce((best, up, k) => {
    const near = up[0] * card.up[0] + up[1] * card.up[1] + up[2] * card.up[2];
    return near > best[0] ? [near, k] : best;
  }, [-2, 0])[1];
}

function air(job, card, { change, room, plain, choices }) {
  if (card.is_open) return [];
  const places = card.vents.map((vent) => vent.place_mm), stays = {};
  const remove = (at) => {
    if (card.must_stay) stays.element.hidden = false;
    else change({ vents_at: places.filter((_, k) => k !== at) });
  };
  const pick = async (says, made) => {
    const place = await room.pickPlace(says);
    if (place) change({ vents_at: made(place) });
  };
  return [
    h("fieldset", {}, h("legend", {}, card.stays),
      h("ul", { class: "list" }, card.vents.map((vent, at) => h("li", {},
        h("span", { class: "name" }, say("page_card.vent", { label: vent.label })),
        room.isBlind ? null : h("button", { "aria-label": say("page_card.show_vent", { label: vent.label }), onclick: () => room.goTo(`port-${vent.label}`) }, say("page_card.show")),
        h("button", { "aria-label": say("page_card.move_vent", { label: vent.label }), onclick: () => pick(say("page_card.click_move", { label: vent.label }),
          (place) => places.map((old, k) => (k === at ? place : old))) }, say("page_card.move")),
        h("button", { "aria-label": say("page_card.remove_vent", { label: vent.label }), onclick: () => remove(at) }, say("page_card.remove"))))),
      h("p", { class: "error", id: "vent-stays", role: "alert", hidden: true, ref: stays }, card.must_stay),
      h("button", { onclick: () => pick(say("page_card.click_add"), (place) => [...places, place]) }, say("page_control.add_vent")),
      "vents_at" in job.choices ? h("button", { onclick: () => change({ vents_at: null }) }, say("page_card.own_vents")) : null),
    keptOff(job, { change, room, choices }),
    plain("feed"),
    plain("gate_mm"),
  ];
}

function keptOff(job, { change, room, choices }) {
  const spots = job.choices.keep_off || [];
  const numbers = (spot) => spot.slice(0, 3).map((value) => value.toFixed(0)).join(", ");
  const without = (at) => (spots.length > 1 ? spots.filter((_, k) => k !== at) : null);
  const add = async () => {
    const place = await room.pickPlace(say("page_card.click_keep_off"));
    if (place) change({ keep_off: [...spots, [...place, choices.keep_off.radius_mm]] });
  };
  return h("div", {},
    h("ul", { class: "list" }, spots.map((spot, at) => h("li", {},
      h("span", { class: "name" }, say("page_card.kept_off", { radius: spot[3], numbers: numbers(spot) })),
      h("button", { "aria-label": say("page_card.free_again", { numbers: numbers(spot) }), onclick: () => change({ keep_off: without(at) }) }, say("page_card.use_again"))))),
    h("button", { onclick: add }, say("page_control.keep_off")));
}

function box(job, card, { plain, choices }) {
  return [
    // Four boards are what there is without a choice.
    plain("box", { blank: say("page_option.rectangle"), words: choices.box.words.filter(([word]) => word !== "rectangle") }),
    h("div", { class: "row" }, plain("wall_mm", { blank: say("page_option.by_size") }), plain("over_mm")),
    fold(say("page_control.more_box"), [
      h("div", { class: "row" }, plain("under_mm"), plain("board_mm")),
      plain("bed"),
    ], { isOpen: ["under_mm", "board_mm", "bed"].some((name) => name in job.choices) }),
  ];
}

function materials(job, card, { change, room, plain }) {
  const of = (wanted) => room.about.cards.filter((each) => each.kind === wanted).map((each) => [each.id, each.title]);
  const packs = job.choices.packs || [];
  const fresh = Object.fromEntries(["name", "card", "part", "mass_g", "price"].map((name) => [name, /** @type {any} */ ({})]));
  const labels = { name: say("page_control.pack_name"), mass_g: say("page_control.pack_weight"), price: say("page_control.pack_price") };
  const fields = [
    h("input", { type: "text", ref: fresh.name, placeholder: labels.name, "aria-label": labels.name }),
    h("select", { ref: fresh.card, "aria-label": say("page_control.pack_card") }, options([...of("silicone"), ...of("resin")])),
    h("select", { ref: fresh.part, "aria-label": say("page_control.pack_part") }, options(said(PARTS))),
    h("input", { type: "number", ref: fresh.mass_g, placeholder: labels.mass_g, "aria-label": labels.mass_g, min: 0, step: "any" }),
    h("input", { type: "number", ref: fresh.price, placeholder: labels.price, "aria-label": labels.price, min: 0, step: "any" }),
  ];
  const add = () => {
    const pack = Object.fromEntries(Object.entries(fresh).map(([name, { element }]) => [name, element.type === "number" ? Number(element.value) : element.value]));
    if (!pack.name || !(pack.mass_g > 0)) { fresh[pack.name ? "mass_g" : "name"].element.focus(); return; }
    change({ packs: [...packs, pack] });
    for (const name of ["name", "mass_g", "price"]) fresh[name].element.value = "";
  };
  return [
    select(say("page_control.silicone"), job.choices.silicone || "", [["", say("page_card.castplans_choice")], ...of("silicone")], (id) => change({ silicone: id || null })),
    select(say("page_control.resin"), job.choices.resin || "", [["", say("page_card.castplans_choice")], ...of("resin")], (id) => change({ resin: id || null })),
    plain("copies"),
    fold(say("page_control.shop_and_place"), [
      plain("shop_temperature_c"),
      plain("place", { blank: say("page_option.not_said") }),
      h("label", {}, say("page_control.start"), h("input", { type: "datetime-local", value: (job.choices.start || "").replace(" ", "T"),
        onchange: (event) => change({ start: event.target.value ? event.target.value.slice(0, 16).replace("T", " ") : null }) })),
    ], { isOpen: ["shop_temperature_c", "place", "start"].some((name) => name in job.choices) }),
    fold(packs.length ? say("page_card.packs_number", { number: packs.length }) : say("page_card.packs"), [
      packs.map((pack, at) => h("p", {}, say("page_card.pack", { pack: pack.name, weight: pack.mass_g, price: pack.price }), " ",
        h("button", { "aria-label": say("page_card.remove_pack", { pack: pack.name }), onclick: () => change({ packs: packs.length > 1 ? packs.filter((_, k) => k !== at) : null }) }, say("page_card.remove")))),
      h("div", { class: "row" }, fields, h("button", { onclick: add }, say("page_control.pack_add"))),
    ], { key: "packs" }),
  ];
}

// Options of a select from a table of keys, in its order.
/** @param {Object<string, string>} keys @returns {[string, string][]} */
function said(keys) { return Object.entries(keys).map(([value, key]) => [value, say(key)]); }

function lengthOf(mm, unit) { return unit === "inch" ? `${(mm / MM_PER_INCH).toFixed(2)} in` : `${mm.toFixed(1)} mm`; }

function nearest(values, wanted) {
  return values.reduce((best, value, k) => (Math.abs(value - wanted) < Math.abs(values[best] - wanted) ? k : best), 0);
}

function same(one, other) {
  return one.every((value, k) => Math.abs(value - other[k]) < 1e-4);
}

function inWords(way) {
  return say("page_card.towards", { numbers: way.map((value) => value.toFixed(2)).join(", ") });
}
