// The page: which job is open, what is asked of the server, what is shown of its answer.
import { drawPictures, patch, show, h } from "./elements.js";
import { ask, call, line, notice, part, send, upload } from "./talk.js";
import { Changes } from "./changes.js";
import { drawHead, isBusy } from "./head.js";
import { drawPlan } from "./plan.js";
import { drawBench } from "./bench.js";
import { drawCasts } from "./casts.js";
import { drawHome } from "./home.js";
import { drawCompare } from "./compare.js";
import { stoppedCard, waitingCard, wrongCard } from "./wrong.js";
import { Room, versionOf } from "./room.js";
import { keepAwake, runTimers } from "./timers.js";
import { say } from "./say.js";

const LOOK_MS = 2000; // how often another window's changes are looked for
const column = part("column"), main = part("main"), doing = part("doing");
const room = new Room(part("room"));
const SIDES = ["plan", "bench", "casts"];

let poke = () => {}; // ends the pause before the next look

/**
 * What the page stands at.
 * @type {{ job: any, told: any, shownAt: number | null, side: string, spot: string, open: string,
 *   turn: number, fault: { names: string[], error: string } | null, drawings: Object<string, string> }}
 */
const state = { job: null, told: null, shownAt: null, side: "plan", spot: "", open: "", turn: 0, fault: null, drawings: {} };

// What was told of plans that stood a moment ago, newest last: to go back asks for nothing.
const MOST_TOLD = 8;
/** @type {Map<string, any>} cards by version and unit, drawings by version */
const kept = new Map();

/** @param {string} what @param {any} told */
function keep(what, told) {
  kept.delete(what);
  kept.set(what, told);
  if (kept.size > 2 * MOST_TOLD) kept.delete(kept.keys().next().value);
}

let unit = localStorage.getItem("unit") === "inch" ? "inch" : "mm";
room.unit = unit;
document.documentElement.dataset.unit = unit;
room.onUnit = (/** @type {string} */ chosen) => {
  if (chosen === unit) return;
  unit = chosen;
  localStorage.setItem("unit", unit);
  head();
  if (state.job && state.told) showPlan(state.job);
};

room.onBlind = () => { if (state.told) draw(); };

const changes = new Changes({ told: take, refused, changed: () => { head(); if (state.told) draw(); } });
line.changed = () => head();

function head() { drawHead({ ...state, unit, setUnit: (/** @type {string} */ chosen) => room.setUnit(chosen) }, changes, act); }

/** @param {string} [name] */
function sideOf(name = "plan") { return SIDES.includes(name) ? name : "plan"; }

/** @param {string} key */
async function open(key) {
  const turn = ++state.turn;
  Object.assign(state, { told: null, shownAt: null, fault: null, drawings: {}, open: sessionStorage.getItem(`open/${key}`) || "" });
  room.clear();
  const answer = await call("GET", `/api/jobs/${encodeURIComponent(key)}`);
  if (turn !== state.turn) return;
  if (answer.state !== "ok") {
    notice(answer.error);
    if (answer.status) location.hash = ""; else setTimeout(() => { if (turn === state.turn) open(key); }, LOOK_MS);
    return;
  }
  changes.open(answer.told);
  take(answer.told);
  follow(answer.told.key, turn);
}

/** The newest state of the job, whoever changed it. @param {any} job */
function take(job) {
  const before = state.job?.key === job.key ? state.job : null;
  state.job = job;
  if (state.side !== "bench") room.expect(job);
  document.title = say("page.title", { name: job.name });
  if (before?.at !== job.at) state.fault = null;
  head();
  if (job.plan.state === "done") {
    if (state.shownAt !== job.at) showPlan(job);
    else if (String(Object.entries(before?.marks || {})) !== String(Object.entries(job.marks))) draw();
  } else if (!isBusy(job.plan) || !state.told) draw();
  // What is under way is waited for from now on, not at the next look.
  if (isBusy(job.plan)) poke();
}

changes.channel.addEventListener("message", () => poke());
document.addEventListener("visibilitychange", () => poke());

/** @param {number} ms */
function pause(ms) {
  return new Promise((done) => { poke = () => done(null); setTimeout(done, ms); });
}

// Wait for the plan, and look for what other windows change.
/** @param {string} key @param {number} turn */
async function follow(key, turn) {
  while (turn === state.turn) {
    const isWaited = isBusy(state.job.plan);
    if (!isWaited || !changes.isIdle) await pause(changes.isIdle ? LOOK_MS : 100);
    if (turn !== state.turn) return;
    if (!changes.isIdle || (document.hidden && !isBusy(state.job.plan))) continue;
    const at = changes.turn;
    const answer = await call("GET", `/api/jobs/${key}${isBusy(state.job.plan) ? "?wait=0.4" : ""}`);
    if (turn !== state.turn) return;
    if (answer.state === "offline") await pause(LOOK_MS);
    else if (answer.status === 404) { notice(answer.error); location.hash = ""; return; } else if (answer.state === "ok" && at === changes.turn) changes.take(answer.told);
  }
}

/** @param {any} job */
async function showPlan(job) {
  const { turn } = state, version = versionOf(job), inUnit = unit;
  const isNow = () => turn === state.turn && state.job.at === job.at && inUnit === unit;
  let told = kept.get(`${version} ${inUnit}`);
  if (!told) {
    const answer = await call("GET", `/api/jobs/${job.key}/cards?unit=${inUnit}`);
    if (!isNow()) return;
    // Changed meanwhile is no fault; any other will not go away by asking again.
    if (answer.state === "refused" && answer.status !== 409) { state.shownAt = job.at; notice(answer.error); }
    if (answer.state !== "ok") return;
    ({ told } = answer);
  }
  keep(`${version} ${inUnit}`, told);
  if (!state.told && state.open) room.speakOf(state.open);
  Object.assign(state, { told, shownAt: job.at });
  draw();
  column.dataset.at = job.at;
  head();
  furnish();
  // Numbers do not wait for the drawings; until they come those of the plan before stand.
  const drawings = kept.get(version) || (await call("GET", `/api/jobs/${job.key}/drawings`)).told;
  if (!drawings) return;
  keep(version, drawings);
  if (!isNow() || state.drawings === drawings) return;
  state.drawings = drawings;
  if (state.side === "plan") draw();
}

/** @param {string[]} names @param {string} error */
function refused(names, error) {
  state.fault = { names, error };
  if (!state.told) notice(error);
  draw();
}

/** @param {string} what */
async function act(what) {
  const job = await send("POST", `/api/jobs/${state.job.key}/${what}`, {});
  if (job && state.job?.key === job.key) changes.take(job);
}

function draw() {
  const { told, side } = state, isView = (Boolean(told) || room.isPreviewing) && side !== "bench";
  const job = { ...state.job, choices: changes.choices(), marks: changes.marks() };
  main.classList.toggle("has-view", isView);
  main.dataset.side = side;
  room.show(isView);
  runTimers(told, () => changes.marks(), (name, value) => changes.mark(name, value));
  keepAwake(side === "bench");
  if (!told) { patch(column, job.plan.state === "wrong" ? wrongCard(job, changes, act) : job.plan.state === "stopped" ? stoppedCard(act) : waitingCard()); return; }
  if (side === "casts") { drawCastsOf(job); return; }
  const tools = { room, changes, act, addPart, go, redraw: draw, unit, drawings: state.drawings };
  patch(column, job.plan.state === "stopped" ? stoppedCard(act) : null,
    side === "bench" ? drawBench(job, told, state.spot, { ...tools, at: state.shownAt })
      : drawPlan(job, told, { ...tools, fault: faultOf(job), open: state.open, turnTo }));
  drawPictures(column);
}

// The picture of the plan that is shown.
function furnish() {
  const { job, told, side, turn } = state;
  if (told && side !== "bench" && state.shownAt === job.at && job.plan.state === "done") room.load(job, told, () => turn === state.turn);
}

// What is wrong with the last change, and of which choices: the plan before it stays.
/** @param {any} job */
function faultOf(job) {
  if (state.fault) return state.fault;
  return job.plan.state === "wrong" ? { names: job.what.split(", "), error: job.plan.error } : null;
}

/** @param {string} card */
function turnTo(card) {
  state.open = state.open === card ? "" : card;
  sessionStorage.setItem(`open/${state.job.key}`, state.open);
  if (state.open) room.speakOf(state.open);
  draw();
  document.getElementById(`card-${card}`)?.scrollIntoView({ block: "nearest" });
}

/** @param {string} spot */
function go(spot) { location.hash = `${state.job.key}/${state.side}${spot ? `/${spot}` : ""}`; }

/** @param {any} job */
async function drawCastsOf(job) {
  const { turn } = state;
  const cards = await drawCasts(job, { room, redraw: () => drawCastsOf(job) });
  if (turn !== state.turn || state.side !== "casts") return;
  room.speakOf("air");
  patch(column, cards);
}

// No job is open.
function leave() {
  Object.assign(state, { job: null, told: null, turn: state.turn + 1 });
  changes.close();
  runTimers(null, () => ({}), () => {});
  keepAwake(false);
  document.title = "castplan";
  room.clear();
  room.show(false);
  main.classList.remove("has-view");
  main.dataset.side = "home";
  head();
  return state.turn;
}

async function home() {
  const turn = leave();
  const [about, jobs] = await Promise.all([ask("/api/about"), ask("/api/jobs")]);
  if (!about || !jobs || turn !== state.turn) return;
  patch(column, drawHome(about, jobs.jobs, { go: (/** @type {string} */ key) => { location.hash = key; }, refresh: home, take: uploaded }));
}

// One part more in the box of the job.
/** @param {File} file */
async function addPart(file) {
  const job = await upload(file, `/api/jobs/${state.job.key}/parts`);
  if (job && state.job?.key === job.key) changes.take(job);
}

// Files one after the other; the first is opened, all stand in the list.
/** @type {File[]} */
const arriving = [];
let isTaking = false;

/** @param {FileList | File[]} files */
async function uploaded(files) {
  arriving.push(...files);
  if (isTaking) return;
  isTaking = true;
  const keys = [];
  for (let file = arriving.shift(); file; file = arriving.shift()) {
    const suffix = file.name.toLowerCase().split(".").at(-1) || "", most = (room.about.most_bytes || {})[suffix];
    // A browser does not read the answer to what it is still sending.
    if (file.size > most) {
      notice(say("page.too_large", { file: file.name, size: Math.round(file.size / 1e6), most: Math.round(most / 1e6) }));
      continue;
    }
    show(doing, h("progress", { "aria-label": say("page_stage.read") }), ` ${say("page.taking_in")}`);
    const job = await upload(file);
    if (job) keys.push(job.key);
  }
  isTaking = false;
  head();
  if (!keys.length) return;
  if (keys.length > 1) notice(say("page.several_taken", { n: keys.length }));
  [location.hash] = keys;
}

async function route() {
  const [key, side, spot = ""] = location.hash.slice(1).split("/");
  if (!key) { await home(); return; }
  if (key === "compare") {
    const turn = leave(), cards = await drawCompare(side);
    if (turn === state.turn) patch(column, cards);
    return;
  }
  const isNew = state.side !== sideOf(side) || state.spot !== spot;
  Object.assign(state, { side: sideOf(side), spot });
  if (state.job?.key !== key) { await open(key); return; }
  head();
  draw();
  furnish();
  if (!isNew) return;
  window.scrollTo(0, 0);
  // The button that led here went with its step: go on reading where the new one begins.
  if (document.activeElement === document.body) document.getElementById("head-step")?.focus();
}

// The address names the job: a link into the page would lose it.
for (const link of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(".skip"))) {
  link.addEventListener("click", (event) => { event.preventDefault(); part(String(link.dataset.to)).focus(); });
}
part("home").addEventListener("click", () => { location.hash = ""; });
window.addEventListener("hashchange", route);
window.addEventListener("beforeunload", (event) => { if (state.job && !changes.isIdle) event.preventDefault(); });
for (const kind of ["dragover", "drop"]) {
  window.addEventListener(kind, (event) => {
    event.preventDefault();
    const files = /** @type {DragEvent} */ (event).dataTransfer?.files;
    if (kind === "drop" && files?.length) uploaded(files);
  });
}
// Head and timers may wrap, and timers come and go: what stands under them keeps clear of them.
const bars = new ResizeObserver(() => {
  for (const name of ["head", "timers"]) document.documentElement.style.setProperty(`--${name}`, `${part(name).offsetHeight}px`);
});
bars.observe(part("head"));
bars.observe(part("timers"));
route();
