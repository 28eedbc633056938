// After the pour: what came out, what is wrong where, and why that may be.
import { ask, h, send, show } from "./talk.js";

export async function drawCasts(job, { room, redraw }) {
  const told = await ask(`/api/jobs/${job.key}/pours`);
  if (!told) return [];
  return [form(job, told, room, redraw), ...told.defects.map((found) => cause(found, room)), list(job, told, redraw)];
}

function form(job, told, room, redraw) {
  const defects = [];
  const field = (name, label, properties) => h("label", { class: "field" }, label, h("input", { name, ...properties }));
  const number = (name, label, least = 0) => field(name, label, { type: "number", min: least, step: "any" });
  const kind = h("select", { "aria-label": "What is wrong" }, told.kinds.map((each) => h("option", { value: each.id }, each.says)));
  const wide = h("input", { type: "number", min: 0.1, step: "any", placeholder: "mm", "aria-label": "How wide it is (mm)" });
  const found = h("ul", { class: "list" });
  const drawFound = () => show(found, ...defects.map((defect, at) => h("li", {},
    h("span", { class: "name" }, `${told.kinds.find((each) => each.id === defect.kind).says}${defect.told ? ` at ${defect.told}` : ""}${defect.size_mm ? `, ${defect.size_mm} mm across` : ""}`),
    h("button", { onclick: () => { defects.splice(at, 1); drawFound(); } }, "Remove"))));
  const add = async (isPlaced) => {
    const place = isPlaced ? await room.pickPlace("Click the place on the part where it is.") : null;
    if (isPlaced && !place) return;
    const size = Number(wide.value);
    defects.push({ kind: kind.value, ...(place ? { where_mm: place, told: place.map((value) => value.toFixed(1)).join(",") } : {}), ...(size > 0 ? { size_mm: size } : {}) });
    wide.value = "";
    drawFound();
  };
  const result = h("select", { name: "result" }, [["good", "good"], ["usable", "usable"], ["scrap", "scrap"]].map(([id, says]) => h("option", { value: id }, says)));
  const pour = h("select", { name: "pour" }, [["copy", "a copy (resin)"], ["upper", "the upper half (silicone)"], ["lower", "the lower half (silicone)"]].map(([id, says]) => h("option", { value: id }, says)));
  const sheet = h("form", { class: "controls", onsubmit: async (event) => {
    event.preventDefault();
    const values = {};
    for (const [name, value] of new FormData(sheet)) {
      if (value === "") continue;
      const isNumber = sheet.elements[name].type === "number";
      if (name === "lots" || name === "photos") values[name] = value.split(",").map((text) => text.trim()).filter(Boolean);
      else if (name === "humidity") values.humidity_fraction = Number(value) / 100;
      else values[name] = isNumber ? Number(value) : value;
    }
    if (await send("POST", `/api/jobs/${job.key}/pours`, { ...values, defects })) redraw();
  } },
  h("div", { class: "row" }, field("date", "Day of the pour", { type: "date", required: true }), h("label", { class: "field" }, "What was poured", pour),
    h("label", { class: "field" }, "How it came out", result)),
  h("div", { class: "row" }, number("temperature_c", "°C", -20), number("a_g", "A, as weighed (g)"), number("b_g", "B, as weighed (g)"), number("shot_g", "What came out (g)")),
  h("details", {}, h("summary", {}, "More about it"), h("div", { class: "row" }, field("mould", "Which mould", { type: "text", maxlength: 40, placeholder: "1" }),
    number("humidity", "% RH"), number("poured_min", "Mixing to poured (min)"), number("opened_h", "Opened after (h)"), number("pressure_bar", "Pressure (bar)"),
    field("lots", "Lots, comma between", { type: "text", maxlength: 120 }), field("photos", "Names of photos, comma between", { type: "text", maxlength: 200 }), field("note", "Anything else", { type: "text", maxlength: 200 }))),
  h("fieldset", {}, h("legend", {}, "What is wrong with it"), found,
    h("div", { class: "row" }, kind, wide, h("button", { onclick: () => add(true) }, "Click the place"), h("button", { onclick: () => add(false) }, "No one place"))),
  h("p", {}, h("button", { class: "main", type: "submit" }, "Log this pour")));
  return h("article", { class: "card" }, h("h2", {}, "Log a pour"),
    h("p", { class: "decision" }, told.life.length ? told.life.join(" ") : "Nothing is logged yet: write down the first pour as it was."),
    h("p", { class: "reason" }, "What you log finds the cause of the next fault. Lines are only ever added; a wrong one can be taken back."), sheet);
}

function cause(found, room) {
  return h("article", { class: "card" }, h("h2", {}, found.head),
    found.where_mm ? h("p", {}, h("button", { onclick: () => room.flyTo(found.where_mm) }, "Show the place")) : null,
    h("ol", { class: "causes" }, found.causes.map((each) => h("li", {}, h("p", { class: "decision" }, `${each.letter}  ${each.says}`),
      h("ul", {}, each.evidence.map((line) => h("li", {}, line))), h("p", { class: "reason" }, h("b", {}, "Test: "), each.test)))));
}

function list(job, told, redraw) {
  return h("article", { class: "card" }, h("h2", {}, "The log"),
    told.lines.length ? h("ul", { class: "list" }, told.lines.map((line) => h("li", {}, h("span", { class: "name" }, `${line.number}  ${line.says}${line.is_withdrawn ? " (taken back)" : ""}`),
      line.is_withdrawn ? null : h("button", { "aria-label": `Take back line ${line.number}`, onclick: async () => {
        if (await send("POST", `/api/jobs/${job.key}/pours/withdraw`, { of: line.number })) redraw();
      } }, "Take back")))) : h("p", { class: "decision" }, "No line yet."),
    told.lines.length ? h("p", {}, h("a", { class: "file", href: `/api/jobs/${job.key}/pours.csv`, download: "" }, "As a table (CSV)")) : null);
}
