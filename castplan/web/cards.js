// The column of cards: a decision, its reason, a picture, up to three controls, what it costs.
import { h, picture, scrolled } from "./talk.js";
import { disc } from "./disc.js";

const AXES = [["+x", [1, 0, 0]], ["-x", [-1, 0, 0]], ["+y", [0, 1, 0]], ["-y", [0, -1, 0]], ["+z", [0, 0, 1]], ["-z", [0, 0, -1]]];
const HEADS = {
  split: ["no.", "kind", "held", "depth", "neck, belly", "stretch", "verdict"],
  stand: ["", "how", "vents", "minutes", "why"],
  air: ["", "way", "bore", "length", "mouth, from the corner", "above the box", "when"],
  materials: ["material", "need", "buy", "left", "cost"],
};

export function drawCards(job, told, tools) {
  return [...told.cards.map((card, at) => drawCard(job, card, at + 1, tools)), takeAlong(job, told.cards.length + 1)];
}

function drawCard(job, card, number, tools) {
  const controls = { part, split, stand, air, box, materials }[card.id](job, card, tools);
  return h("article", { class: "card", id: `card-${card.id}`, "aria-labelledby": `head-${card.id}`,
    onpointerenter: () => tools.room.speakOf(card.id), onfocusin: () => tools.room.speakOf(card.id) },
  h("h2", { id: `head-${card.id}` }, h("span", { class: "number" }, String(number)), card.title,
    h("span", { class: "whose" }, card.is_chosen ? "your choice" : "castplan's choice")),
  h("p", { class: "decision" }, card.decision),
  h("p", { class: "reason" }, card.reason),
  picture(card.picture),
  card.cost ? h("p", { class: "cost" }, card.cost) : null,
  findings(card.findings, tools.room),
  h("div", { class: "controls" }, controls),
  card.is_chosen ? h("p", { class: "reason" }, h("button", {
    onclick: () => tools.change(Object.fromEntries(card.controls.filter((name) => name in job.choices).map((name) => [name, null]))),
  }, "Let castplan choose again")) : null,
  more(card));
}

function findings(found, room) {
  if (!found.length) return null;
  const words = { stop: "Stop:", warn: "Watch:", note: "Note:" };
  return h("ul", { class: "findings" }, found.map((finding) => h("li", { class: finding.severity },
    h("b", {}, words[finding.severity]), " ", finding.message, " ", h("em", {}, finding.do), " ",
    finding.where_mm ? h("button", { onclick: () => room.flyTo(finding.where_mm) }, "Show it") : null)));
}

function more(card) {
  if (!card.rows.length && !card.more.length) return null;
  const heads = HEADS[card.id];
  return h("details", {}, h("summary", {}, "The numbers behind it"),
    card.rows.length ? scrolled(`Numbers: ${card.title}`, h("table", {},
      heads ? h("thead", {}, h("tr", {}, heads.map((head) => h("th", { scope: "col" }, head)))) : null,
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

function part(job, card, { change }) {
  const shown = AXES.find(([, way]) => String(way) === String(job.choices.show_face));
  const measured = h("input", { type: "text", value: job.choices.measured || "", placeholder: "longest=142mm", maxlength: 40 });
  return [
    select("Which way does the face that shows look?", shown ? shown[0] : "", [["", "not said"], ...AXES.map(([name]) => [name, `the file's ${name}`])],
      (name) => change({ show_face: name ? AXES.find(([axis]) => axis === name)[1] : null })),
    h("div", { class: "row" }, h("label", {}, "A length of the original, to check the scale", measured),
      h("button", { onclick: () => change({ measured: measured.value.trim() || null }) }, "Check")),
    number("What it pushes aside in water (ml)", job.choices.water_ml, { least: 0.001, step: "any", blank: "not measured", changed: (ml) => change({ water_ml: ml }) }),
  ];
}

function split(job, card, { change }) {
  const ways = h("fieldset", {}, h("legend", {}, "Which way does the upper half leave?"),
    card.ways.map((way, at) => h("label", { class: "choice" },
      h("input", { type: "radio", name: "way", ...(same(way.direction, card.direction) ? { checked: true } : {}),
        onchange: () => change({ draw: at || job.choices.draw ? way.direction : null }) }),
      h("span", {}, `${way.says} About ${way.cost_min} min [a].`))));
  const hand = h("details", {}, h("summary", {}, "Another way, by hand"));
  hand.addEventListener("toggle", () => {
    if (hand.open && hand.children.length === 1) {
      hand.append(disc({ label: "Way the upper half leaves, in the file's axes; the middle is +z",
        points: [], at: card.direction, says: inWords, done: (way) => change({ draw: way }) }));
    }
  });
  const live = h("p", { class: "live", role: "status" });
  const last = card.heights_mm.length - 1;
  const tell = (at) => {
    const held = card.trapped_ml[at];
    live.textContent = `${lengthOf(card.heights_mm[at])} above its lowest point: ${held < 0.005 ? "holds nothing" : `holds ${held.toPrecision(2)} ml`} [c]`;
  };
  const now = nearest(card.heights_mm, card.height_mm);
  const slider = h("input", { type: "range", min: 0, max: last, value: now, "aria-label": "Height of a level split",
    oninput: (event) => tell(Number(event.target.value)),
    onchange: (event) => change({ parting: "level", parting_height_mm: card.heights_mm[Number(event.target.value)] }) });
  tell(now);
  return [
    ways, hand,
    select("How does the split run?", job.choices.parting || "", [["", `castplan's choice (${card.kind})`], ["level", "level"], ["tilted", "a tilted plane"], ["stepped", "in steps"], ["following", "follows the part"]],
      (kind) => change({ parting: kind || null, ...(kind === "level" ? {} : { parting_height_mm: null }) })),
    h("div", {}, h("label", {}, "Height of a level split", slider), live),
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
    return `${map.caught_ml[k].toPrecision(2)} ml of air without vents, ${map.n_vents[k]} ${map.n_vents[k] === 1 ? "vent" : "vents"} [c]`;
  };
  const hand = h("details", {}, h("summary", {}, "Another way, on the map"));
  hand.addEventListener("toggle", () => {
    if (hand.open && hand.children.length === 1) {
      hand.append(h("p", { class: "hint" }, "The middle is the upper half up, the dashed circle a box on its side, the rim the upper half down. Large dots keep more air."),
        disc({ label: "What is up at the pour; the middle is the upper half up",
          points: map.seen.map((at, k) => ({ at, shade: map.caught_ml[k] / most })),
          at: map.seen[find(map.seen[card_up(card)])], says, done: (way) => change({ up: map.up[find(way)] }) }));
    }
  });
  return [h("fieldset", {}, h("legend", {}, "How does the mould stand at the pour?"),
    card.options.map((option, at) => h("label", { class: "choice" },
      h("input", { type: "radio", name: "stand", ...(at === 0 ? { checked: true } : {}),
        onchange: () => change({ up: option.up }) }),
      h("span", {}, `${option.says}, ${option.n_vents} ${option.n_vents === 1 ? "vent" : "vents"}`)))), hand];
}

function card_up(card) {
  return card.map.up.reduce((best, up, k) => {
    const near = up[0] * card.up[0] + up[1] * card.up[1] + up[2] * card.up[2];
    return near > best[0] ? [near, k] : best;
  }, [-2, 0])[1];
}

function air(job, card, { change, room }) {
  const places = card.vents.map((vent) => vent.place_mm);
  const pick = async (says, made) => {
    const place = await room.pickPlace(says);
    if (place) change({ vents_at: made(place) });
  };
  return [
    h("fieldset", {}, h("legend", {}, `Vents; ${card.caught === "nothing" ? "no air" : `${card.caught} of air`} stays with them`),
      h("ul", { class: "list" }, card.vents.map((vent, at) => h("li", {},
        h("span", { class: "name" }, `Vent ${vent.label}`),
        h("button", { "aria-label": `Show vent ${vent.label}`, onclick: () => room.goTo(`port-${vent.label}`) }, "Show"),
        h("button", { "aria-label": `Move vent ${vent.label}`, onclick: () => pick(`Click where vent ${vent.label} is to stand.`,
          (place) => places.map((old, k) => (k === at ? place : old))) }, "Move"),
        h("button", { "aria-label": `Remove vent ${vent.label}`, onclick: () => change({ vents_at: places.filter((_, k) => k !== at) }) }, "Remove")))),
      h("button", { onclick: () => pick("Click the place on the part where air is to get out.", (place) => [...places, place]) }, "Add a vent"),
      "vents_at" in job.choices ? h("button", { onclick: () => change({ vents_at: null }) }, "castplan's vents again") : null),
    select("Where does the gate feed it?", job.choices.feed || "auto", [["auto", "whichever costs less"], ["top", "from the top"], ["riser", "from below, by a riser"]], (feed) => change({ feed: feed === "auto" ? null : feed })),
    number("Bore of the gate (mm)", job.choices.gate_mm, { least: 1, most: 100, step: 0.5, blank: "castplan's", changed: (mm) => change({ gate_mm: mm }) }),
  ];
}

function box(job, card, { change }) {
  const length = (label, name, blank) => number(label, job.choices[name], { least: 1, most: 2000, step: 0.5, blank, changed: (mm) => change({ [name]: mm }) });
  return [
    select("Shape of the box", job.choices.box || "", [["", "four boards"], ["round", "a pipe"], ["outline", "a wall that follows the outline"]], (shape) => change({ box: shape || null })),
    h("div", { class: "row" }, length("Silicone beside it (mm)", "wall_mm", "by size"), length("above (mm)", "over_mm", "12")),
    fold("More about the box", [
      h("div", { class: "row" }, length("Silicone below (mm)", "under_mm", "12"), length("Boards (mm)", "board_mm", "12")),
      select("What does the part lie in?", job.choices.bed || "", [["", "clay"], ["printed", "a printed bed"]], (bed) => change({ bed: bed || null })),
    ], ["under_mm", "board_mm", "bed"].some((name) => name in job.choices)),
  ];
}

function materials(job, card, { change, room }) {
  const of = (kind) => room.about.cards.filter((each) => each.kind === kind).map((each) => [each.id, each.title]);
  const packs = job.choices.packs || [];
  const fresh = ["name", "card", "part", "mass_g", "price"].map((name) => {
    if (name === "card") return [name, h("select", { "aria-label": "Pack of" }, [...of("silicone"), ...of("resin")].map(([id, says]) => h("option", { value: id }, says)))];
    if (name === "part") return [name, h("select", { "aria-label": "Parts in it" }, [["kit", "both parts"], ["A", "part A"], ["B", "part B"]].map(([id, says]) => h("option", { value: id }, says)))];
    const labels = { name: "Name of the pack", mass_g: "Weight (g)", price: "Price" };
    return [name, h("input", { type: name === "name" ? "text" : "number", placeholder: labels[name], "aria-label": labels[name], min: 0, step: "any" })];
  });
  const add = () => {
    const pack = Object.fromEntries(fresh.map(([name, input]) => [name, ["mass_g", "price"].includes(name) ? Number(input.value) : input.value]));
    if (!pack.name || !(pack.mass_g > 0)) { fresh[0][1].focus(); return; }
    change({ packs: [...packs, pack] });
  };
  return [
    select("Silicone", job.choices.silicone || "", [["", "castplan's choice"], ...of("silicone")], (id) => change({ silicone: id || null })),
    select("Resin", job.choices.resin || "", [["", "castplan's choice"], ...of("resin")], (id) => change({ resin: id || null })),
    number("Copies", job.choices.copies, { least: 1, most: 10000, blank: "1", changed: (n) => change({ copies: n }) }),
    fold("Shop and place", [
      number("Shop (°C)", job.choices.shop_temperature_c, { least: -20, most: 60, step: 0.5, blank: "23", changed: (c) => change({ shop_temperature_c: c }) }),
      select("Where will the part live?", job.choices.place || "", [["", "not said"], ["indoors", "indoors"], ["shade", "outdoors in the shade"], ["glovebox", "in a glovebox"], ["console", "on a console"], ["dashboard", "on a dashboard"]],
        (place) => change({ place: place || null })),
      h("label", {}, "When does the work start?", h("input", { type: "datetime-local", value: (job.choices.start || "").replace(" ", "T"),
        onchange: (event) => change({ start: event.target.value ? event.target.value.slice(0, 16).replace("T", " ") : null }) })),
    ], ["shop_temperature_c", "place", "start"].some((name) => name in job.choices)),
    h("details", {}, h("summary", {}, `Packs to buy from${packs.length ? ` (${packs.length})` : ""}`),
      packs.map((pack, at) => h("p", {}, `${pack.name}: ${pack.mass_g} g, ${pack.price} `,
        h("button", { "aria-label": `Remove ${pack.name}`, onclick: () => change({ packs: packs.length > 1 ? packs.filter((_, k) => k !== at) : null }) }, "Remove"))),
      h("div", { class: "row" }, fresh.map(([, input]) => input), h("button", { onclick: add }, "Add the pack"))),
  ];
}

const FILES = [
  ["boards.dxf", "Boards (DXF)"], ["boards.svg", "Boards (SVG)"], ["upper.stl", "Upper half (STL)"],
  ["lower.stl", "Lower half (STL)"], ["halves.3mf", "Both halves (3MF)"], ["plan.json", "Plan (JSON)"],
];

function takeAlong(job, number) {
  const link = (name, says) => h("a", { class: "file", href: `/api/jobs/${job.key}/files/${name}`, download: "" }, says);
  return h("article", { class: "card", id: "card-files", "aria-labelledby": "head-files" },
    h("h2", { id: "head-files" }, h("span", { class: "number" }, String(number)), "Take it along"),
    h("p", { class: "decision" }, "Print the sheets at 100 % and check the ruler on them."),
    h("p", { class: "reason" }, "They hold this plan with its steps, mixes and drill places at 1:1."),
    h("div", { class: "controls" }, h("div", { class: "row" }, link("sheets.pdf", "Sheets (PDF)")),
      fold("Files for saw, router and printer", [h("div", { class: "row" }, FILES.map(([name, says]) => link(name, says)))])));
}

// What is not needed every time.
function fold(says, inside, isOpen = false) {
  return h("details", { open: isOpen }, h("summary", {}, says), h("div", { class: "controls plain" }, inside));
}

function lengthOf(mm) { return `${mm.toFixed(1)} mm (${(mm / 25.4).toFixed(2)} in)`; }

function nearest(values, wanted) {
  return values.reduce((best, value, k) => (Math.abs(value - wanted) < Math.abs(values[best] - wanted) ? k : best), 0);
}

function same(one, other) {
  return one.every((value, k) => Math.abs(value - other[k]) < 1e-4);
}

function inWords(way) {
  return `towards ${way.map((value) => value.toFixed(2)).join(", ")} of the file's axes`;
}
