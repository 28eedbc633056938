// Two plans, in words first and then side by side.
import { h, table } from "./elements.js";
import { ask } from "./talk.js";
import { say } from "./say.js";

/** @param {string} [keys] two, with a comma between */
export async function drawCompare(keys = "") {
  const [one, other] = keys.split(",");
  const told = await ask(`/api/compare?one=${encodeURIComponent(one)}&other=${encodeURIComponent(other)}`);
  const back = h("p", { class: "reason" }, h("button", { onclick: () => { location.hash = ""; } }, say("page_home.back")));
  if (!told) {
    return [h("article", { class: "card wrong", id: "card-compare" }, h("h2", {}, say("page_home.nothing_to_compare")),
      h("p", { class: "decision" }, say("page_home.finish_both")), back)];
  }
  const rows = told.rows.map((/** @type {any} */ row) => [row.what,
    ...row.values.map((/** @type {string} */ value) => (row.values[0] === row.values[1] ? value : h("b", {}, value)))]);
  return [h("article", { class: "card", id: "card-compare" }, h("h2", {}, say("page_home.two_plans")),
    h("ul", { class: "words" }, told.words.map((/** @type {string} */ line) => h("li", {}, line))),
    h("p", { class: "reason" }, say("page_home.bold")),
    table(say("page_home.differs"), ["", ...told.names], rows), back)];
}
