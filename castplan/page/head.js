// The head of the page: which job, how it stands, and what can be done with all of it.
import { h, patch, show } from "./elements.js";
import { line, notice, part } from "./talk.js";
import { say } from "./say.js";

// Stages of a plan, and how a job stands that is not being planned.
/** @type {Object<string, string>} */
const STAGES = {
  read: "page_stage.read", draw: "page_stage.draw", columns: "page_stage.columns",
  undercuts: "page_stage.undercuts", parting: "page_stage.parting", air: "page_stage.air",
  mould: "page_stage.mould", amounts: "page_stage.amounts", schedule: "page_stage.schedule",
  box: "page_stage.box", fill: "page_stage.fill", pictures: "page_stage.pictures",
};
/** @type {Object<string, string>} */
const STANDS = { done: "page.saved", wrong: "page.saved_wrong", stopped: "page.saved_stopped" };
const SIDES = [["plan", "page.plan"], ["bench", "page.bench"], ["casts", "page.casts"]];

/** @param {any} plan */
export function isBusy(plan) { return plan.state === "busy" || plan.state === "waiting"; }

function hour() {
  return new Date(line.since).toLocaleTimeString([], { timeStyle: "short" });
}

/**
 * @param {{ job: any, side: string, shownAt: number | null }} state
 * @param {import("./changes.js").Changes} changes
 * @param {(what: string) => any} act
 */
function standing({ job, shownAt }, changes, act) {
  const waiting = changes.waiting.length;
  if (line.since) return [say(waiting ? "page.offline_waiting" : "page.offline", { hour: hour(), n: waiting })];
  if (!job) return [];
  if (waiting) return [say("page.saving")];
  const { plan } = job;
  if (isBusy(plan)) {
    const what = say(plan.state === "waiting" ? "page.waiting_its_turn" : STAGES[plan.stage] || "page.planning");
    return [h("progress", { max: 1, value: plan.fraction || undefined, "aria-label": what }), ` ${what} `,
      h("button", { onclick: () => act("stop") }, say("page.cancel"))];
  }
  return [say(plan.state === "done" && shownAt !== job.at ? "page.saved_showing" : STANDS[plan.state])];
}

/**
 * @param {{ job: any, side: string, shownAt: number | null, unit: string, setUnit: (unit: string) => void }} state
 * @param {import("./changes.js").Changes} changes
 * @param {(what: string) => any} act
 */
export function drawHead(state, changes, act) {
  const { job } = state, name = job ? job.name : say("page.your_jobs");
  patch(part("doing"), ...standing(state, changes, act));
  patch(part("job-name"), name);
  part("job-name").title = name;
  if (!job) { show(part("actions")); return; }
  const side = (/** @type {string[]} */ [key, says]) => h("button", {
    "aria-pressed": String(state.side === key),
    onclick: () => { location.hash = key === "plan" ? job.key : `${job.key}/${key}`; },
  }, say(says));
  patch(part("actions"), SIDES.map(side),
    h("button", { disabled: !job.can_undo, title: job.can_undo ? say("page.undo_what", { what: job.what_says }) : say("page.undo_nothing"),
      onclick: () => changes.step("undo") }, say("page.undo")),
    h("button", { disabled: !job.can_redo, title: job.redo ? say("page.redo_what", { what: job.redo_says }) : say("page.redo_nothing"),
      onclick: () => changes.step("redo") }, say("page.redo")),
    h("span", { class: "units", role: "group", "aria-label": say("page.lengths_in") }, ["mm", "inch"].map((unit) => h("button", {
      "aria-pressed": String(state.unit === unit), onclick: () => state.setUnit(unit) }, unit === "inch" ? say("view.inch") : unit))),
    printButton(job));
}

/** @param {any} job */
export function printButton(job) {
  return h("button", { class: "main", disabled: job.plan.state !== "done", onclick: () => {
    notice(say("page.making_sheets"));
    window.open(`/api/jobs/${job.key}/files/sheets.pdf`, "_blank", "noopener");
  } }, say("page.print"));
}
