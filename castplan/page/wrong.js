// What stands in place of a plan that there is not: asked, cancelled, or told what is wrong.
import { h, show } from "./elements.js";
import { ask } from "./talk.js";
import { say } from "./say.js";

/** A card that waits. */
export function waitingCard() {
  return h("article", { class: "card" }, h("h2", {}, say("page_card.part")),
    h("p", { class: "decision" }, say("page.being_looked_at")),
    h("p", { class: "reason" }, say("page.cards_fill_up")));
}

/** @param {(what: string) => any} act */
export function stoppedCard(act) {
  return h("article", { class: "card", id: "card-stopped" }, h("h2", {}, say("page.planning_cancelled")),
    h("p", { class: "decision" }, say("page.nothing_lost")),
    h("p", {}, h("button", { class: "main", onclick: () => act("again") }, say("page.plan_now"))));
}

/**
 * @param {any} job
 * @param {import("./changes.js").Changes} changes
 * @param {(what: string) => any} act
 */
export function wrongCard(job, changes, act) {
  const { asks, error } = job.plan, isUnitOpen = asks === "unit", isSize = isUnitOpen || asks === "size";
  return h("article", { class: "card wrong", id: `card-wrong-${job.at}` },
    h("h2", {}, say(isUnitOpen ? "page.how_large" : "page.cannot_be_planned")),
    h("p", { class: "decision" }, isUnitOpen ? say("page.no_unit") : error),
    isSize ? sizes(job, isUnitOpen, changes) : answers(job, asks, changes, act),
    job.can_undo ? h("p", {}, h("button", { onclick: () => changes.step("undo") }, say("page.undo_what", { what: job.what_says }))) : null);
}

/** @param {any} job @param {boolean} isUnitOpen @param {import("./changes.js").Changes} changes */
function sizes(job, isUnitOpen, changes) {
  const place = h("div", { class: "controls", own: `${job.key} ${job.at}` });
  ask(`/api/jobs/${job.key}/sizes`).then((told) => {
    if (!told) return;
    const now = changes.choices().units;
    show(place, isUnitOpen ? null : h("p", { class: "live" }, say("page_control.size")),
      told.sizes.map((/** @type {any} */ size) => {
        const words = { unit: size.name, size: size.says };
        // Asked about this size already: a second yes is meant.
        if (size.unit === now && !size.is_believable) return h("button", { onclick: () => changes.change({ is_size_meant: true }) }, say("page.size_is_meant", words));
        return h("button", { onclick: () => changes.change({ units: size.unit }) }, say("page.size_in_unit", words));
      }));
  });
  return place;
}

/** @param {any} job @param {string} asks @param {import("./changes.js").Changes} changes @param {(what: string) => any} act */
function answers(job, asks, changes, act) {
  if (asks !== "back" && asks !== "thickness") {
    return h("div", { class: "controls" }, h("button", { onclick: () => act("again") }, say("page.try_again")));
  }
  const thick = {};
  return h("div", { class: "controls" },
    asks === "back" ? h("button", { onclick: () => changes.change({ close_to_plane: true }) }, say("page.close_flat_back")) : null,
    h("div", { class: "row" },
      h("label", {}, say("page.sheet_mm"), h("input", { type: "number", min: 0.1, step: 0.1, value: 3, ref: thick })),
      h("button", { onclick: () => changes.change({ thickness_mm: Number(thick.element.value) }) }, say("page.give_it_that_back"))));
}
