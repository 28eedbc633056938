// The plan on two screens: in short first, then the decisions, one of them open at a time.
import { fold, h, picture, table } from "./elements.js";
import { controlsOf } from "./controls.js";
import { printButton } from "./head.js";
import { say } from "./say.js";

/** @type {Object<string, string>} */
const SEVERITIES = { stop: "page_card.stop", warn: "page_card.warn", note: "page_card.note" };
const FILES = [
  ["details.pdf", "page_card.details"], ["boards.dxf", "page_card.boards_dxf"], ["boards.svg", "page_card.boards_svg"],
];
const MORE = [["halves.3mf", "page_card.halves"], ["plan.json", "page_card.plan_json"]];
const HALVES = [["upper.stl", "page_card.upper_stl"], ["lower.stl", "page_card.lower_stl"]];
const WHOLE = [["mould.stl", "page_card.mould_stl"]];

/**
 * @param {any} job
 * @param {any} told the cards
 * @param {any} tools
 */
export function drawPlan(job, told, tools) {
  const given = { ...tools, choices: told.controls, change: (/** @type {any} */ choices) => tools.changes.change(choices) };
  return [
    inShort(job, told, tools),
    told.cards.map((/** @type {any} */ card, /** @type {number} */ at) => decision(job, card, at + 1, given)),
    files(job, told, tools),
    h("p", { class: "hint" }, told.basis),
  ];
}

// What mould, what to watch, what it costs, Print.
/** @param {any} job @param {any} told @param {any} tools */
function inShort(job, told, tools) {
  const cards = told.cards.map((/** @type {any} */ card) => card.controls).flat();
  const { fault } = tools;
  const isHomeless = fault && !fault.names.some((/** @type {string} */ name) => cards.includes(name));
  return h("article", { class: "card", id: "card-short", "aria-labelledby": "head-short" },
    h("h2", { id: "head-short" }, say("page_card.in_short")),
    fault && job.plan.state === "wrong" ? h("p", { class: "error" }, say("page_card.plan_before"), " ",
      h("button", { onclick: () => tools.changes.step("undo") }, say("page.undo_what", { what: job.what_says }))) : null,
    isHomeless ? h("p", { class: "error" }, fault.error) : null,
    h("p", { class: "decision" }, told.short.mould),
    told.short.watch.length
      ? h("ul", { class: "findings" }, told.short.watch.map((/** @type {any} */ each) => h("li", { class: each.severity },
        h("b", {}, say(SEVERITIES[each.severity])), " ", each.message, " ",
        tools.open === each.card ? null : h("button", { class: "small", "aria-label": say("page_card.look_at", { card: each.title }), onclick: () => tools.turnTo(each.card) }, say("page_card.look")))))
      : h("p", { class: "reason" }, say("page_card.nothing_to_watch")),
    h("dl", { class: "costs" }, told.short.costs.map((/** @type {string[]} */ [what, value]) => h("div", {}, h("dt", {}, what), h("dd", {}, value)))),
    h("p", { class: "row" }, printButton(job)));
}

/** @param {any} job @param {any} card @param {number} number @param {any} tools */
function decision(job, card, number, tools) {
  const isOpen = tools.open === card.id, chosen = card.controls.filter((/** @type {string} */ name) => name in job.choices);
  const faulty = tools.fault && card.controls.some((/** @type {string} */ name) => tools.fault.names.includes(name));
  return h("article", { class: `card${isOpen ? " open" : ""}`, id: `card-${card.id}`, "aria-labelledby": `head-${card.id}` },
    h("h2", { id: `head-${card.id}` }, h("button", {
      class: "line", "aria-expanded": String(isOpen), "aria-controls": `body-${card.id}`, onclick: () => tools.turnTo(card.id),
    }, h("span", { class: "number" }, String(number)),
    h("span", { class: "what" }, card.title, h("span", { class: "answer" }, card.answer)),
    mark(card, faulty),
    h("span", { class: "whose" }, chosen.length ? say("page_card.your_choice") : ""))),
    h("div", { class: "body", id: `body-${card.id}`, hidden: !isOpen }, body(job, card, tools, { chosen, faulty })));
}

// How bad it is, in a word.
/** @param {any} card @param {boolean} faulty */
function mark(card, faulty) {
  const worst = ["stop", "warn"].find((severity) => card.findings.some((/** @type {any} */ finding) => finding.severity === severity));
  if (faulty) return h("span", { class: "mark-of stop" }, say("page_card.wrong"));
  return worst ? h("span", { class: `mark-of ${worst}` }, say(worst === "stop" ? "page_card.stop_mark" : "page_card.watch_mark")) : null;
}

/** @param {any} job @param {any} card @param {any} tools @param {{ chosen: string[], faulty: boolean }} how */
function body(job, card, tools, { chosen, faulty }) {
  const { fault } = tools, isAtField = fault && fault.names.some((/** @type {string} */ name) => name === "measured" || tools.choices[name]?.label);
  return [
    h("p", { class: "decision" }, card.decision),
    faulty && !isAtField ? h("p", { class: "error" }, fault.error) : null,
    h("p", { class: "reason" }, card.reason),
    picture(tools.drawings[card.picture]),
    card.cost ? h("p", { class: "cost" }, card.cost) : null,
    findings(card.findings, tools.room),
    h("div", { class: "controls" }, controlsOf(job, card, tools)),
    chosen.length ? h("p", { class: "reason" }, h("button", {
      onclick: () => tools.change(Object.fromEntries(chosen.map((name) => [name, null]))),
    }, say("page_card.choose_again"))) : null,
    more(card),
  ];
}

/** @param {any[]} found @param {any} room */
function findings(found, room) {
  if (!found.length) return null;
  return h("ul", { class: "findings" }, found.map((finding) => h("li", { class: finding.severity },
    h("b", {}, say(SEVERITIES[finding.severity])), " ", finding.message, " ", h("em", {}, finding.do), " ",
    finding.where_mm && !room.isBlind ? h("button", { class: "small", onclick: () => room.flyTo(finding.where_mm) }, say("page_card.show_it")) : null)));
}

/** @param {any} card */
function more(card) {
  if (!card.rows.length && !card.more.length) return null;
  return fold(say("page_card.numbers_behind"), [
    card.rows.length ? table(say("page_card.numbers", { card: card.title }), card.heads, card.rows) : null,
    h("ul", {}, card.more.map((/** @type {string} */ line) => h("li", {}, line))),
  ]);
}

/** @param {any} job @param {any} told @param {any} tools */
function files(job, told, tools) {
  const isOpen = tools.open === "files", isDone = job.plan.state === "done";
  const link = (/** @type {string[]} */ [name, key]) => (isDone
    ? h("a", { class: "file", href: `/api/jobs/${job.key}/files/${name}`, download: "" }, say(key))
    : h("button", { disabled: true }, say(key)));
  return h("article", { class: `card${isOpen ? " open" : ""}`, id: "card-files", "aria-labelledby": "head-files" },
    h("h2", { id: "head-files" }, h("button", { class: "line", "aria-expanded": String(isOpen), "aria-controls": "body-files", onclick: () => tools.turnTo("files") },
      h("span", { class: "number" }, String(told.cards.length + 1)),
      h("span", { class: "what" }, say("page_card.files"), h("span", { class: "answer" }, say("page_card.files_answer"))))),
    h("div", { class: "body", id: "body-files", hidden: !isOpen },
      h("p", { class: "decision" }, say("page_card.sheets_decision")),
      h("p", { class: "reason" }, say("page_card.sheets_reason")),
      h("div", { class: "controls" }, h("div", { class: "row" }, link(["sheets.pdf", "page_card.sheets"])),
        fold(say("page_card.files_for"), [h("div", { class: "row" }, [...FILES, ...(told.is_one_pour ? WHOLE : HALVES), ...MORE].map(link))]))));
}
