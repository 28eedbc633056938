// The bench: a step a screen, with its picture, its weights and its timers; all kept in the job.
import { h, table } from "./elements.js";
import { pourTimers, timerButton, waitOf } from "./timers.js";
import { say } from "./say.js";

const ALL = "all";

/**
 * @param {any} job
 * @param {any} told the cards
 * @param {string} spot number of the step that is shown, or all of them; else the next to do
 * @param {any} tools
 */
export function drawBench(job, told, spot, tools) {
  const { steps } = told, { marks } = job;
  const next = steps.findIndex((/** @type {any} */ step) => !marks[`step ${step.number}`]);
  const asked = steps.findIndex((/** @type {any} */ step) => String(step.number) === spot);
  const at = asked >= 0 ? asked : next < 0 ? steps.length - 1 : next;
  return spot === ALL ? drawAll(job, told, tools) : [drawStep(job, told, at, tools)];
}

/** @param {any} job @param {any} told @param {number} at @param {any} tools */
function drawStep(job, told, at, tools) {
  const step = told.steps[at], { marks } = job, { changes, go } = tools, name = `step ${step.number}`;
  const keep = (/** @type {string} */ mark, /** @type {any} */ value) => changes.mark(mark, value);
  const initials = /** @type {any} */ ({}), missing = /** @type {any} */ ({}), isDone = Boolean(marks[name]);
  const mixes = told.mixes.filter((/** @type {any} */ mix) => step.mixes.includes(mix.id));
  const to = (/** @type {number} */ other) => () => go(String(told.steps[other].number));
  const done = () => {
    if (step.is_hold && !initials.element.value.trim()) {
      missing.element.hidden = false;
      initials.element.setAttribute("aria-invalid", "true");
      initials.element.focus();
      return;
    }
    if (step.is_hold) keep(`${name} by`, initials.element.value.trim());
    keep(name, true);
    if (at + 1 < told.steps.length) to(at + 1)();
  };
  return h("article", { class: `card step${step.is_hold ? " hold" : ""}`, id: `card-step-${step.number}`, "aria-labelledby": "head-step" },
    h("h2", { id: "head-step", tabindex: -1 }, say("page_bench.step_of", { number: step.number, count: told.steps.length }),
      h("span", { class: "whose" }, isDone ? say("page_bench.done") : step.times.join(", "))),
    h("progress", { max: told.steps.length, value: told.steps.filter((/** @type {any} */ each) => marks[`step ${each.number}`]).length, "aria-label": say("page_bench.steps_done") }),
    step.pictures.map((/** @type {string} */ picture) => h("img", { class: "step-picture", "data-key": picture, src: `/api/jobs/${job.key}/steps/${picture}?at=${tools.at}`, alt: say("page_bench.picture_of", { number: step.number }) })),
    h("p", { class: "text" }, step.text),
    step.is_pour ? null : mixes.map((/** @type {any} */ mix) => drawMix(mix, marks, keep)),
    h("div", { class: "row controls plain" }, step.is_pour ? mixes.flatMap(pourTimers).map((/** @type {any} */ timer) => timerButton(timer, marks, keep)) : null,
      step.wait_min && !step.is_pour ? timerButton(waitOf(step), marks, keep) : null),
    step.cautions.map((/** @type {any} */ caution) => h("details", { class: "caution", "data-key": caution.title, open: true }, h("summary", {}, h("b", {}, caution.title)), h("p", {}, caution.text))),
    step.is_hold ? h("div", { class: "holds" }, h("label", {}, h("b", {}, say("page_bench.hold")), h("input", { type: "text", name: "initials", autocomplete: "off", maxlength: 12, size: 8, value: marks[`${name} by`] || "", ref: initials,
      // Not when the field is left: the button would move away under the click.
      oninput: () => { missing.element.hidden = true; },
      onchange: (/** @type {any} */ event) => keep(`${name} by`, event.target.value.trim() || null) })),
    h("p", { class: "error", hidden: true, role: "alert", ref: missing }, say("page_bench.initials_first"))) : null,
    h("div", { class: "steps-nav" },
      h("button", { disabled: at === 0, onclick: at ? to(at - 1) : undefined }, say("page_bench.back")),
      isDone ? h("button", { onclick: () => keep(name, null) }, say("page_bench.not_done")) : null,
      isDone && at + 1 < told.steps.length ? h("button", { class: "main", onclick: to(at + 1) }, say("page_bench.next"))
        : h("button", { class: "main", disabled: isDone, onclick: done }, say(step.is_hold ? "page_bench.sign_next" : "page_bench.done_next")),
      h("button", { onclick: () => go(ALL) }, say("page_bench.all_steps"))));
}

/** @param {any} job @param {any} told @param {any} tools */
function drawAll(job, told, tools) {
  const { marks } = job, { changes, go } = tools;
  const clear = () => {
    if (!window.confirm(say("page_bench.clear_all_sure"))) return;
    for (const name of Object.keys(marks)) changes.mark(name, null);
    tools.redraw();
  };
  return [
    h("article", { class: "card", id: "card-bench-short" }, h("h2", {}, say("page_bench.in_short")),
      told.summary.map((/** @type {string} */ line) => h("p", { class: "reason" }, line)), h("p", { class: "hint" }, told.basis)),
    h("article", { class: "card", id: "card-steps" }, h("h2", {}, say("page_bench.steps")),
      h("ol", { class: "steps" }, told.steps.map((/** @type {any} */ step) => drawLine(step, marks, go)))),
    h("article", { class: "card", id: "card-afresh" }, h("h2", {}, say("page_bench.afresh")),
      h("p", { class: "reason" }, h("button", { onclick: clear }, say("page_bench.clear_all")))),
  ];
}

/** @param {any} step @param {Object<string, any>} marks @param {(spot: string) => void} go */
function drawLine(step, marks, go) {
  const isDone = Boolean(marks[`step ${step.number}`]), by = marks[`step ${step.number} by`];
  return h("li", { "data-key": `line-${step.number}`, class: isDone ? "done" : "" }, h("button", { class: "line", onclick: () => go(String(step.number)) },
    h("span", { class: "number" }, isDone ? "\u2713" : String(step.number)), h("span", { class: "what" }, step.text),
    step.is_hold ? h("span", { class: "mark-of stop" }, by ? say("page_bench.held_by", { by }) : say("page_bench.hold_mark")) : null));
}

/** @param {any} mix @param {Object<string, any>} marks @param {(name: string, value: any) => void} keep */
function drawMix(mix, marks, keep) {
  const name = `mix ${mix.id}`;
  const actual = (/** @type {string} */ what, /** @type {string} */ label) => h("label", { class: "field" }, label, h("input", {
    type: "number", inputmode: "decimal", min: what === "C" ? -20 : 0, step: "any", value: marks[`${name} ${what}`] ?? "",
    onchange: (/** @type {any} */ event) => { if (event.target.reportValidity()) keep(`${name} ${what}`, event.target.value === "" ? null : Number(event.target.value)); } }));
  const heads = ["", say("page_bench.weigh"), say("page_bench.ounces"), say("page_bench.volume"), say("page_bench.scale_shows")];
  const rows = mix.rows.map((/** @type {string[]} */ row) => row.map((cell, k) => (k === 1 || k === 4 ? h("span", { class: "big" }, cell) : cell)));
  return h("section", { class: "mix", "data-key": mix.id, "aria-label": mix.name },
    h("h3", {}, mix.name, " ", h("span", { class: "hint" }, mix.card)), h("p", { class: "decision" }, mix.times),
    table(say("page_bench.weights", { mix: mix.name }), heads, rows),
    h("div", { class: "row controls plain" }, actual("A g", say("page_bench.a_g")), actual("B g", say("page_bench.b_g")), actual("C", say("page_bench.shop_c")), actual("RH", say("page_bench.humidity"))),
    h("ul", { class: "findings" }, mix.notes.filter(Boolean).map((/** @type {string} */ note) => h("li", {}, note))));
}
