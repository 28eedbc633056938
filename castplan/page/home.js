// The first page: drop a part, open a sample, go on with a job.
import { fold, h, patch } from "./elements.js";
import { moment, notice, part, send } from "./talk.js";
import { say } from "./say.js";

const MANY = 5; // jobs from which on they can be searched
let sought = "";

/**
 * @typedef {object} Ways
 * @property {(key: string) => void} go
 * @property {() => any} refresh
 * @property {(files: File[]) => any} take
 */

/** @param {any} about @param {any[]} jobs @param {Ways} ways */
export function drawHome(about, jobs, ways) {
  const open = jobs.filter((job) => !job.is_archived && !job.is_deleted);
  return [start(about, ways), about.samples.length ? samples(about, ways) : null, list(jobs, open, ways),
    open.length > 1 ? pair(open) : null];
}

/** @param {any} about @param {Ways} ways */
function start(about, { take }) {
  const formats = about.formats.map((/** @type {string} */ name) => `.${name}`).join(",");
  const over = (/** @type {boolean} */ isOver) => (/** @type {any} */ event) => { event.currentTarget.classList.toggle("over", isOver); };
  return h("article", { class: "card", id: "card-start" }, h("h2", {}, say("page_home.start")),
    h("div", { class: "drop", ondragenter: over(true), ondragover: over(true), ondragleave: over(false), ondrop: over(false) },
      h("p", { class: "decision" }, say("page_home.drop")),
      h("label", { class: "file", for: "file" }, say("page_home.choose_file"), h("input", {
        type: "file", id: "file", multiple: true, accept: `${formats},.zip`,
        onchange: (/** @type {any} */ event) => { if (event.target.files.length) take([...event.target.files]); event.target.value = ""; },
      })),
      h("p", { class: "hint" }, say("page_home.formats", { formats: about.formats.join(", ") }))));
}

/** @param {any} about @param {Ways} ways */
function samples(about, { go }) {
  return h("article", { class: "card", id: "card-samples" }, h("h2", {}, say("page_home.samples")),
    h("p", { class: "reason" }, say("page_home.samples_reason")),
    h("div", { class: "tiles" }, about.samples.map((/** @type {string} */ name) => h("button", {
      class: "tile",
      onclick: async () => {
        const job = await send("POST", `/api/samples/${name}`, {});
        if (job) go(job.key);
      },
    }, h("img", { src: `/api/samples/${name}/picture`, alt: "", width: 120, height: 90 }), name.replaceAll("_", " ")))));
}

/** @param {any[]} jobs @param {any[]} open @param {Ways} ways */
function list(jobs, open, ways) {
  const away = jobs.filter((job) => job.is_archived && !job.is_deleted), gone = jobs.filter((job) => job.is_deleted);
  const draw = () => patch(part("jobs"), ...rows());
  const rows = () => {
    const found = open.filter((job) => job.name.toLowerCase().includes(sought));
    return [found.length ? found.map((job) => row(job, ways)) : h("li", { class: "decision" }, say(open.length ? "page_home.none_found" : "page_home.no_job"))];
  };
  return h("article", { class: "card", id: "card-jobs" }, h("h2", {}, say("page_home.jobs")),
    open.length >= MANY ? h("label", { class: "field search" }, say("page_home.search"), h("input", { type: "search", value: sought,
      oninput: (/** @type {any} */ event) => { sought = event.target.value.trim().toLowerCase(); draw(); } })) : null,
    h("ul", { class: "list", id: "jobs" }, rows()),
    away.length ? fold(say("page_home.jobs_away", { number: away.length }), [h("ul", { class: "list" }, away.map((job) => row(job, ways)))], { key: "away" }) : null,
    gone.length ? fold(say("page_home.jobs_gone", { number: gone.length }), [h("p", { class: "hint" }, say("page_home.gone_when")),
      h("ul", { class: "list" }, gone.map((job) => row(job, ways)))], { key: "gone" }) : null);
}

/** @type {Object<string, string>} */
const STANDS = { done: "page_home.planned", wrong: "page_home.wrong", stopped: "page_home.stopped", waiting: "page_home.waiting", busy: "page_home.busy" };

/** @param {any} job @param {Ways} ways */
function row(job, { go, refresh }) {
  const { name } = job;
  const act = (/** @type {string} */ what, /** @type {any} */ body) => async () => {
    if (await send("POST", `/api/jobs/${job.key}/${what}`, body)) await refresh();
  };
  const remove = async () => {
    if (!await send("POST", `/api/jobs/${job.key}/remove`, { is_deleted: true })) return;
    await refresh();
    notice(say("page_home.removed", { name }), { says: say("page.undo"), work: act("remove", { is_deleted: false }) });
  };
  const rename = async () => {
    const wanted = window.prompt(say("page_home.new_name"), name);
    if (wanted && wanted.trim() && wanted !== name) await act("name", { name: wanted.trim() })();
  };
  const button = (/** @type {string} */ says, /** @type {string} */ label, /** @type {() => any} */ onclick) => h("button", { "aria-label": label, onclick }, says);
  const back = job.is_deleted ? act("remove", { is_deleted: false }) : act("archive", { is_archived: !job.is_archived });
  return h("li", { "data-key": job.key },
    h("img", { src: `/api/jobs/${job.key}/picture?of=${job.mesh}`, alt: "", width: 80, height: 60, onerror: (/** @type {any} */ event) => { event.currentTarget.classList.add("none"); } }),
    h("span", { class: "name" }, name, h("span", { class: "hint" }, job.plan.answer || say(STANDS[job.plan.state] || "page_home.not_planned")),
      h("span", { class: "hint" }, say("page_home.saved", { when: moment(job.changed_s) }))),
    job.is_deleted ? null : h("button", { class: "main", "aria-label": say("page_home.open_job", { name }), onclick: () => go(job.key) }, say("page_home.open")),
    job.is_deleted || job.is_archived ? button(say("page_home.bring_back"), say("page_home.bring_back_job", { name }), back) : null,
    job.is_deleted ? null : fold(say("page_home.more"), [h("div", { class: "row" },
      button(say("page_home.rename"), say("page_home.rename_job", { name }), rename),
      button(say("page_home.duplicate"), say("page_home.duplicate_job", { name }), act("copy", {})),
      h("a", { class: "file", href: `/api/jobs/${job.key}/export`, download: "", "aria-label": say("page_home.export_job", { name }) }, say("page_home.export")),
      job.is_archived ? null : button(say("page_home.put_away"), say("page_home.put_away_job", { name }), back),
      button(say("page_home.remove"), say("page_home.remove_job", { name }), remove))], { key: `more-${job.key}` }));
}

/** @param {any[]} jobs */
function pair(jobs) {
  const select = (/** @type {string} */ label, /** @type {number} */ at, /** @type {any} */ ref) => h("label", { class: "field" }, label,
    h("select", { value: jobs[at].key, ref }, jobs.map((job) => h("option", { value: job.key }, job.name))));
  const first = /** @type {any} */ ({}), second = /** @type {any} */ ({});
  return h("article", { class: "card", id: "card-pair" }, h("h2", {}, say("page_home.compare")),
    h("div", { class: "row controls plain" }, select(say("page_home.first_plan"), 0, first), select(say("page_home.second_plan"), 1, second),
      h("button", { onclick: () => { location.hash = `compare/${first.element.value},${second.element.value}`; } }, say("page_home.side_by_side"))));
}
