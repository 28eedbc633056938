// The column of cards: a decision, its reason, a picture, up to three controls, what it costs.
import { h, picture, scrolled } from "./talk.js";
import { boxParts } from "./box_parts.js";
import { disc } from "./disc.js";
import { say } from "./say.js";

const AXES = [["+x", [1, 0, 0]], ["-x", [-1, 0, 0]], ["+y", [0, 1, 0]], ["-y", [0, -1, 0]], ["+z", [0, 0, 1]], ["-z", [0, 0, -1]]];
const SEVERITIES = { stop: "page_card.stop", warn: "page_card.warn", note: "page_card.note" };
const PARTS = { kit: "page_option.both_parts", A: "page_option.part_a", B: "page_option.part_b" };

// Kinds that need no more than the table of choices says; what is drawn in a way of its own.
const PLAIN = ["number", "count", "word"], BY_HAND = ["parting_height_mm"];

export function drawCards(job, told, tools) {
  return [...told.cards.map((card, at) => drawCard(job, card, at + 1, { ...tools, choices: told.controls })), takeAlong(job, told)];
}

function drawCard(job, card, number, tools) {
  const drawn = new Set(BY_HAND);
  const plain = (name, own) => { drawn.add(name); return control(job, name, tools, own); };
  const controls = { part, kind, split, stand, air, box, materials }[card.id](job, card, { ...tools, plain });
  const rest = card.controls.filter((name) => PLAIN.includes(tools.choices[name].kind) && !drawn.has(name));
  if (rest.length) controls.push(fold(say("page_control.more"), rest.map((name) => plain(name)), rest.some((name) => name in job.choices)));
  return h("article", { class: "card", id: `card-${card.id}`, "aria-labelledby": `head-${card.id}`,
    onpointerenter: () => tools.room.speakOf(card.id), onfocusin: () => tools.room.speakOf(card.id) },
  h("h2", { id: `head-${card.id}` }, h("span", { class: "number" }, String(number)), card.title,
    h("span", { class: "whose" }, say(card.is_chosen ? "page_card.your_choice" : "page_card.castplans_choice"))),
  h("p", { class: "decision" }, card.decision),
  h("p", { class: "reason" }, card.reason),
  picture(card.picture),
  card.cost ? h("p", { class: "cost" }, say("page_card.costs", { cost: card.cost })) : null,
  findings(card.findings, tools.room),
  h("div", { class: "controls" }, controls),
  card.is_chosen ? h("p", { class: "reason" }, h("button", {
    onclick: () => tools.change(Object.fromEntries(card.controls.filter((name) => name in job.choices).map((name) => [name, null]))),
  }, say("page_card.choose_again"))) : null,
  more(card));
}

function findings(found, room) {
  if (!found.length) return null;
  return h("ul", { class: "findings" }, found.map((finding) => h("li", { class: finding.severity },
    h("b", {}, say(SEVERITIES[finding.severity])), " ", finding.message, " ", h("em", {}, finding.do), " ",
    finding.where_mm ? h("button", { onclick: () => room.flyTo(finding.where_mm) }, say("page_card.show_it")) : null)));
}

function more(card) {
  if (!card.rows.length && !card.more.length) return null;
  return h("details", {}, h("summary", {}, say("page_card.numbers_behind")),
    card.rows.length ? scrolled(say("page_card.numbers", { card: card.title }), h("table", {},
      card.heads.length ? h("thead", {}, h("tr", {}, card.heads.map((head) => h("th", { scope: "col" }, head)))) : null,
      h("tbody", {}, card.rows.map((row) => h("tr", {}, row.map((cell) => h("td", {}, cell))))))) : null,
    h("ul", {}, card.more.map((line) => h("li", {}, line))));
}

function select(label, value, options, changed) {
  return h("label", {}, label, h("select", { value, onchange: (event) => changed(event.target.value) },
    options.map(([key, says]) => h("option", { value: key }, says))));
}

function number(label, value, { least, most, step = 1, blank = "", changed }) {
  return h("label", {}, label, h("input", { type: "number", min: least, max: most, step, value: value ?? "", placeholder: blank,
    onchange: (event) => {
      if (!event.target.reportValidity()) return;
      changed(event.target.value === "" ? null : Number(event.target.value));
    } }));
}

// A control as the table of choices has it; `own` says otherwise.
function control(job, name, { choices, change }, own = {}) {
  const told = { ...choices[name], ...own };
  const set = (value) => change({ [name]: value, ...(told.with ? told.with(value) : {}) });
  if (told.kind === "word") {
    const whose = told.default ? [] : [["", told.blank ?? say("page_option.castplans")]];
    return select(told.label, job.choices[name] || told.default || "", [...whose, ...told.words],
      (word) => set(word && word !== told.default ? word : null));
  }
  return number(told.label, job.choices[name], { least: told.least, most: told.most, step: told.kind === "count" ? 1 : "any",
    blank: told.blank ?? (told.default === null ? say("page_option.castplans") : String(told.default)), changed: set });
}

function part(job, card, { change, plain, act, addPart, room }) {
  const shown = AXES.find(([, way]) => String(way) === String(job.choices.show_face));
  const measured = h("input", { type: "text", value: job.choices.measured || "", placeholder: "longest=142mm", maxlength: 40 });
  return [
    select(say("page_control.show_face"), shown ? shown[0] : "", [["", card.guessed ? say("page_card.guessed", { axis: card.guessed }) : say("page_option.not_said")], ...AXES.map(([name]) => [name, say("page_card.file_axis", { axis: name })])],
      (name) => change({ show_face: name ? AXES.find(([axis]) => axis === name)[1] : null })),
    h("div", { class: "row" }, h("label", {}, say("page_control.measured_scale"), measured),
      h("button", { onclick: () => change({ measured: measured.value.trim() || null }) }, say("page_control.check"))),
    plain("water_ml", { blank: say("page_option.not_measured") }),
    boxParts(job, room.about.formats.map((name) => `.${name}`).join(","), { change, act, addPart }),
  ];
}

function kind(job, card, { change, plain }) {
  const answers = card.answers.map((answer) => h("div", {}, h("h3", {}, answer.title), h("b", {}, answer.kind),
    answer.lines.map((line) => h("p", {}, line)), h("button", { onclick: () => change({ show_face: answer.shown }) }, answer.tell)));
  return [answers.length ? h("div", { class: "answers" }, answers) : null, plain("mould")];
}

function split(job, card, { change, plain, choices }) {
  const ways = h("fieldset", {}, h("legend", {}, say("page_control.draw")),
    card.ways.map((way, at) => h("label", { class: "choice" },
      h("input", { type: "radio", name: "way", ...(same(way.direction, card.direction) ? { checked: true } : {}),
        onchange: () => change({ draw: at || job.choices.draw ? way.direction : null }) }),
      h("span", {}, say("page_card.way_costs", { way: way.says, cost: way.cost_min })))));
  const hand = h("details", {}, h("summary", {}, say("page_control.draw_by_hand")));
  hand.addEventListener("toggle", () => {
    if (hand.open && hand.children.length === 1) {
      hand.append(disc({ label: say("page_card.way_disc"),
        points: [], at: card.direction, says: inWords, done: (way) => change({ draw: way }) }));
    }
  });
  const live = h("p", { class: "live", role: "status" });
  const last = card.heights_mm.length - 1;
  const tell = (at) => {
    const held = card.trapped_ml[at];
    live.textContent = say(held < 0.005 ? "page_card.height_holds_nothing" : "page_card.height_holds",
      { height: lengthOf(card.heights_mm[at]), held: held.toPrecision(2) });
  };
  const now = nearest(card.heights_mm, card.height_mm);
  const slider = h("input", { type: "range", min: 0, max: last, value: now, "aria-label": say("page_control.parting_height_mm"),
    oninput: (event) => tell(Number(event.target.value)),
    onchange: (event) => change({ parting: "level", parting_height_mm: card.heights_mm[Number(event.target.value)] }) });
  tell(now);
  // An open mould is parted at its back.
  if (card.is_open) return [];
  return [
    ...(card.is_loose ? [plain("slides")] : []), ways, hand,
    plain("parting", {
      blank: say("page_card.castplans_choice_of", { kind: Object.fromEntries(choices.parting.words)[card.kind] }),
      with: (kind) => (kind === "level" ? {} : { parting_height_mm: null }),
    }),
    h("div", {}, h("label", {}, say("page_control.parting_height_mm"), slider), live),
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
  const hand = h("details", {}, h("summary", {}, say("page_control.up_on_map")));
  hand.addEventListener("toggle", () => {
    if (hand.open && hand.children.length === 1) {
      hand.append(h("p", { class: "hint" }, say("page_card.map_middle")),
        disc({ label: say("page_card.map_disc"),
          points: map.seen.map((at, k) => ({ at, shade: map.caught_ml[k] / most })),
          at: map.seen[find(map.seen[card_up(card)])], says, done: (way) => change({ up: map.up[find(way)] }) }));
    }
  });
  return [h("fieldset", {}, h("legend", {}, say("page_control.up")),
    card.options.map((option, at) => h("label", { class: "choice" },
      h("input", { type: "radio", name: "stand", ...(at === 0 ? { checked: true } : {}),
        onchange: () => change({ up: option.up }) }),
      h("span", {}, say("page_card.stand_vents", { stand: option.says, n: option.n_vents }))))), hand];
}

function card_up(card) {
  return card.map.up.reduce((best, up, k) => {
    const near = up[0] * card.up[0] + up[1] * card.up[1] + up[2] * card.up[2];
    return near > best[0] ? [near, k] : best;
  }, [-2, 0])[1];
}

function air(job, card, { change, room, plain, choices }) {
  // An open mould has its back, and no opening to choose.
  if (card.is_open) return [];
  const places = card.vents.map((vent) => vent.place_mm);
  const pick = async (says, made) => {
    const place = await room.pickPlace(says);
    if (place) change({ vents_at: made(place) });
  };
  return [
    h("fieldset", {}, h("legend", {}, card.stays),
      h("ul", { class: "list" }, card.vents.map((vent, at) => h("li", {},
        h("span", { class: "name" }, say("page_card.vent", { label: vent.label })),
        h("button", { "aria-label": say("page_card.show_vent", { label: vent.label }), onclick: () => room.goTo(`port-${vent.label}`) }, say("page_card.show")),
        h("button", { "aria-label": say("page_card.move_vent", { label: vent.label }), onclick: () => pick(say("page_card.click_move", { label: vent.label }),
          (place) => places.map((old, k) => (k === at ? place : old))) }, say("page_card.move")),
        h("button", { "aria-label": say("page_card.remove_vent", { label: vent.label }), onclick: () => change({ vents_at: places.filter((_, k) => k !== at) }) }, say("page_card.remove"))))),
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
    ], ["under_mm", "board_mm", "bed"].some((name) => name in job.choices)),
  ];
}

function materials(job, card, { change, room, plain }) {
  const of = (kind) => room.about.cards.filter((each) => each.kind === kind).map((each) => [each.id, each.title]);
  const packs = job.choices.packs || [];
  const fresh = ["name", "card", "part", "mass_g", "price"].map((name) => {
    if (name === "card") return [name, h("select", { "aria-label": say("page_control.pack_card") }, [...of("silicone"), ...of("resin")].map(([id, says]) => h("option", { value: id }, says)))];
    if (name === "part") return [name, h("select", { "aria-label": say("page_control.pack_part") }, said(PARTS).map(([id, says]) => h("option", { value: id }, says)))];
    const labels = { name: say("page_control.pack_name"), mass_g: say("page_control.pack_weight"), price: say("page_control.pack_price") };
    return [name, h("input", { type: name === "name" ? "text" : "number", placeholder: labels[name], "aria-label": labels[name], min: 0, step: "any" })];
  });
  const add = () => {
    const pack = Object.fromEntries(fresh.map(([name, input]) => [name, ["mass_g", "price"].includes(name) ? Number(input.value) : input.value]));
    if (!pack.name || !(pack.mass_g > 0)) { fresh[0][1].focus(); return; }
    change({ packs: [...packs, pack] });
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
    ], ["shop_temperature_c", "place", "start"].some((name) => name in job.choices)),
    h("details", {}, h("summary", {}, packs.length ? say("page_card.packs_number", { number: packs.length }) : say("page_card.packs")),
      packs.map((pack, at) => h("p", {}, say("page_card.pack", { pack: pack.name, weight: pack.mass_g, price: pack.price }), " ",
        h("button", { "aria-label": say("page_card.remove_pack", { pack: pack.name }), onclick: () => change({ packs: packs.length > 1 ? packs.filter((_, k) => k !== at) : null }) }, say("page_card.remove")))),
      h("div", { class: "row" }, fresh.map(([, input]) => input), h("button", { onclick: add }, say("page_control.pack_add")))),
  ];
}

const FILES = [
  ["details.pdf", "page_card.details"], ["boards.dxf", "page_card.boards_dxf"], ["boards.svg", "page_card.boards_svg"],
];
const MORE = [["halves.3mf", "page_card.halves"], ["plan.json", "page_card.plan_json"]];
const HALVES = [["upper.stl", "page_card.upper_stl"], ["lower.stl", "page_card.lower_stl"]];
const WHOLE = [["mould.stl", "page_card.mould_stl"]];

function takeAlong(job, told) {
  const number = told.cards.length + 1;
  const link = (name, key) => h("a", { class: "file", href: `/api/jobs/${job.key}/files/${name}`, download: "" }, say(key));
  return h("article", { class: "card", id: "card-files", "aria-labelledby": "head-files" },
    h("h2", { id: "head-files" }, h("span", { class: "number" }, String(number)), say("page_card.files")),
    h("p", { class: "decision" }, say("page_card.sheets_decision")),
    h("p", { class: "reason" }, say("page_card.sheets_reason")),
    h("div", { class: "controls" }, h("div", { class: "row" }, link("sheets.pdf", "page_card.sheets")),
      fold(say("page_card.files_for"), [h("div", { class: "row" }, [...FILES, ...(told.is_one_pour ? WHOLE : HALVES), ...MORE].map(([name, key]) => link(name, key)))])));
}

// What is not needed every time.
function fold(says, inside, isOpen = false) {
  return h("details", { open: isOpen }, h("summary", {}, says), h("div", { class: "controls plain" }, inside));
}

// Options of a select from a table of keys, in its order.
function said(keys) { return Object.entries(keys).map(([value, key]) => [value, say(key)]); }

function lengthOf(mm) { return `${mm.toFixed(1)} mm (${(mm / 25.4).toFixed(2)} in)`; }

function nearest(values, wanted) {
  return values.reduce((best, value, k) => (Math.abs(value - wanted) < Math.abs(values[best] - wanted) ? k : best), 0);
}

function same(one, other) {
  return one.every((value, k) => Math.abs(value - other[k]) < 1e-4);
}

function inWords(way) {
  return say("page_card.towards", { numbers: way.map((value) => value.toFixed(2)).join(", ") });
}
