// After the pour: what came out, what is wrong where, and why that may be.
import { h, show } from "./elements.js";
import { ask, send } from "./talk.js";
import { say } from "./say.js";

export async function drawCasts(job, { room, redraw }) {
  const told = await ask(`/api/jobs/${job.key}/pours`);
  if (!told) return [];
  return [form(job, told, room, redraw), ...told.defects.map((found) => cause(found, room)), list(job, told, redraw)];
}

function form(job, told, room, redraw) {
  const defects = [];
  const field = (name, label, properties) => h("label", { class: "field" }, label, h("input", { name, ...properties }));
  const number = (name, label, least = 0) => field(name, label, { type: "number", min: least, step: "any" });
  const kind = h("select", { "aria-label": say("page_casts.what_is_wrong") }, told.kinds.map((each) => h("option", { value: each.id }, each.says)));
  const wide = h("input", { type: "number", min: 0.1, step: "any", placeholder: "mm", "aria-label": say("page_casts.how_wide") });
  // On which part of a box of several: a place tells it by itself.
  const whose = told.parts.length ? h("select", { "aria-label": say("casts_box.on_which") }, h("option", { value: "" }, say("casts_box.any")), told.parts.map((part) => h("option", { value: part.number }, part.says))) : null;
  const found = h("ul", { class: "list" });
  const drawFound = () => show(found, ...defects.map((defect, at) => h("li", {},
    h("span", { class: "name" }, inWords(defect, told)),
    h("button", { onclick: () => { defects.splice(at, 1); drawFound(); } }, say("page_casts.remove")))));
  const add = async (isPlaced) => {
    const place = isPlaced ? await room.pickPlace(say("page_casts.click_where")) : null;
    if (isPlaced && !place) return;
    const size = Number(wide.value);
    const placed = place ? { where_mm: place, ...(whose ? {} : { told: place.map((value) => value.toFixed(1)).join(",") }) } : {};
    const owned = whose && !place && whose.value ? { part: Number(whose.value) } : {};
    defects.push({ kind: kind.value, ...placed, ...owned, ...(size > 0 ? { size_mm: size } : {}) });
    wide.value = "";
    drawFound();
  };
  const results = [["good", say("page_casts.good")], ["usable", say("page_casts.usable")], ["scrap", say("page_casts.scrap")]];
  const options = () => results.map(([id, says]) => h("option", { value: id }, says));
  const result = h("select", { name: "result" }, options());
  const each = told.parts.map((part) => ({ part: part.number, says: part.says, select: h("select", {}, h("option", { value: "" }, say("casts_box.as_above")), options()) }));
  const pour = h("select", { name: "pour" }, [["copy", say("page_casts.copy")], ["upper", say("page_casts.upper")], ["lower", say("page_casts.lower")]].map(([id, says]) => h("option", { value: id }, says)));
  const sheet = h("form", { class: "controls", own: `${job.key} ${told.lines.length}`, onsubmit: async (event) => {
    event.preventDefault();
    const values = {};
    for (const [name, given] of new FormData(sheet)) {
      const value = String(given);
      if (value === "") continue;
      const isNumber = sheet.elements[name].type === "number";
      if (name === "lots" || name === "photos") values[name] = value.split(",").map((text) => text.trim()).filter(Boolean);
      else if (name === "humidity") values.humidity_fraction = Number(value) / 100;
      else values[name] = isNumber ? Number(value) : value;
    }
    const parts = each.filter((part) => part.select.value).map((part) => ({ part: part.part, result: part.select.value }));
    if (await send("POST", `/api/jobs/${job.key}/pours`, { ...values, defects, parts })) redraw();
  } },
  h("div", { class: "row" }, field("date", say("page_casts.day"), { type: "date", required: true }), h("label", { class: "field" }, say("page_casts.what_poured"), pour),
    h("label", { class: "field" }, say("page_casts.came_out"), result)),
  each.length ? h("details", {}, h("summary", {}, say("casts_box.came_out")), h("div", { class: "row" }, each.map((part) => h("label", { class: "field" }, part.says, part.select)))) : null,
  h("div", { class: "row" }, number("temperature_c", "°C", -20), number("a_g", say("page_bench.a_g")), number("b_g", say("page_bench.b_g")), number("shot_g", say("page_casts.what_came_out"))),
  h("details", {}, h("summary", {}, say("page_casts.more")), h("div", { class: "row" }, field("mould", say("page_casts.mould"), { type: "text", maxlength: 40, placeholder: "1" }),
    number("humidity", say("page_bench.humidity")), number("poured_min", say("page_casts.poured_min")), number("opened_h", say("page_casts.opened_h")), number("pressure_bar", say("page_casts.pressure_bar")),
    field("lots", say("page_casts.lots"), { type: "text", maxlength: 120 }), field("photos", say("page_casts.photos"), { type: "text", maxlength: 200 }), field("note", say("page_casts.note"), { type: "text", maxlength: 200 }))),
  h("fieldset", {}, h("legend", {}, say("page_casts.what_is_wrong_with_it")), found,
    h("div", { class: "row" }, kind, whose, wide, h("button", { onclick: () => add(true) }, say("page_casts.click_place")), h("button", { onclick: () => add(false) }, say("page_casts.no_place")))),
  h("p", {}, h("button", { class: "main", type: "submit" }, say("page_casts.log_this"))));
  return h("article", { class: "card" }, h("h2", {}, say("page_casts.log_pour")),
    h("p", { class: "decision" }, told.life.length ? told.life.join(" ") : say("page_casts.no_pour")),
    told.tally.length ? h("ul", {}, told.tally.map((line) => h("li", {}, line))) : null,
    h("p", { class: "reason" }, say("page_casts.why_log")), sheet);
}

function inWords(defect, { kinds, parts }) {
  const kind = kinds.find((each) => each.id === defect.kind).says;
  const part = parts.find((each) => each.number === defect.part);
  const clicked = parts.length > 0 && defect.where_mm;
  const says = part ? say("casts_box.on", { defect: kind, part: part.says }) : clicked ? say("casts_box.clicked", { defect: kind }) : kind;
  const placed = defect.told ? say("page_casts.defect_at", { defect: says, place: defect.told }) : says;
  return defect.size_mm ? say("page_casts.defect_across", { defect: placed, size: defect.size_mm }) : placed;
}

function cause(found, room) {
  return h("article", { class: "card" }, h("h2", {}, found.head),
    found.where_mm && !room.isBlind ? h("p", {}, h("button", { onclick: () => room.flyTo(found.where_mm) }, say("page_casts.show_place"))) : null,
    h("ol", { class: "causes" }, found.causes.map((each) => h("li", {}, h("p", { class: "decision" }, `${each.letter}  ${each.says}`),
      h("ul", {}, each.evidence.map((line) => h("li", {}, line))), h("p", { class: "reason" }, h("b", {}, say("page_casts.test")), " ", each.test)))));
}

function list(job, told, redraw) {
  return h("article", { class: "card" }, h("h2", {}, say("page_casts.log")),
    told.lines.length ? h("ul", { class: "list" }, told.lines.map((line) => h("li", {}, h("span", { class: "name" }, `${line.number}  ${line.is_withdrawn ? say("page_casts.taken_back", { line: line.says }) : line.says}`),
      line.is_withdrawn ? null : h("button", { "aria-label": say("page_casts.take_back_line", { line: line.number }), onclick: async () => {
        if (await send("POST", `/api/jobs/${job.key}/pours/withdraw`, { of: line.number })) redraw();
      } }, say("page_casts.take_back"))))) : h("p", { class: "decision" }, say("page_casts.no_line")),
    told.lines.length ? h("p", {}, h("a", { class: "file", href: `/api/jobs/${job.key}/pours.csv`, download: "" }, say("page_casts.as_table"))) : null);
}
