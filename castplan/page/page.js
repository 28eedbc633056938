// The page: which job is open, what is asked of the server, what is shown of its answer.
import { h, show, ask, send, notice, upload } from "./talk.js";
import { drawCards } from "./cards.js";
import { drawBench } from "./bench.js";
import { drawCasts } from "./casts.js";
import { drawHome, drawCompare } from "./home.js";
import { Room } from "./room.js";
import { say } from "./say.js";

const column = document.getElementById("column");
const main = document.getElementById("main");
const doing = document.getElementById("doing");
const room = new Room(document.getElementById("room"));
const SIDES = ["plan", "bench", "casts"];
const state = { job: null, told: null, side: "plan", turn: 0 };

// Stages of a plan, and how a job stands that is not being planned.
const STAGES = {
  read: "page_stage.read", draw: "page_stage.draw", columns: "page_stage.columns",
  undercuts: "page_stage.undercuts", parting: "page_stage.parting", air: "page_stage.air",
  mould: "page_stage.mould", amounts: "page_stage.amounts", schedule: "page_stage.schedule",
  box: "page_stage.box", fill: "page_stage.fill", pictures: "page_stage.pictures",
};
const STANDS = { done: "page.saved", wrong: "page.saved_wrong", stopped: "page.saved_stopped" };

function sideOf(name) { return SIDES.includes(name) ? name : "plan"; }

async function open(key) {
  state.turn += 1;
  state.told = state.shownAt = null;
  state.side = sideOf(location.hash.split("/")[1]);
  room.clear();
  const job = await ask(`/api/jobs/${encodeURIComponent(key)}`);
  if (!job) { location.hash = ""; return; }
  take(job);
}

// The newest state of the job: show it, and wait for its plan.
function take(job) {
  state.job = job;
  room.expect(job);
  document.title = `${job.name}: castplan`;
  drawHead();
  if (job.plan.state === "done") showPlan(job);
  else if (job.plan.state === "waiting" || job.plan.state === "busy") watch(job);
  else draw();
}

async function watch(job) {
  const turn = ++state.turn;
  if (!state.told) draw();
  for (;;) {
    const next = await ask(`/api/jobs/${job.key}?wait=0.4`);
    if (turn !== state.turn) return;
    if (!next) { await new Promise((go) => setTimeout(go, 1500)); continue; }
    state.job = next;
    room.expect(next);
    drawHead();
    if (next.plan.state === "done") { showPlan(next); return; }
    if (next.plan.state !== "waiting" && next.plan.state !== "busy") { draw(); return; }
  }
}

async function showPlan(job) {
  const turn = ++state.turn;
  const told = await ask(`/api/jobs/${job.key}/cards`);
  if (turn !== state.turn || !told) return;
  state.told = told;
  state.shownAt = job.at;
  draw();
  drawHead();
  if (state.side !== "bench") room.load(job, told, () => turn === state.turn);
}

// Send a change; the answer is the job as it is then. Until then it is not called saved.
async function change(choices) {
  show(doing, say("page.saving"));
  const job = await send("PATCH", `/api/jobs/${state.job.key}`, { at: state.job.at, choices });
  if (job) take(job); else reload();
}

async function act(what, body = {}) {
  show(doing, say("page.saving"));
  const job = await send("POST", `/api/jobs/${state.job.key}/${what}`, body);
  if (job) take(job); else reload();
}

async function addPart(file) {
  show(doing, h("progress", { "aria-label": say("page_stage.read") }), ` ${say("page.taking_in")}`);
  const job = await upload(file, `/api/jobs/${state.job.key}/parts`);
  if (job) take(job); else reload();
}

async function reload() {
  const job = await ask(`/api/jobs/${state.job.key}`);
  if (job) take(job);
}

function drawHead() {
  const { job } = state;
  show(document.getElementById("job-name"), job ? job.name : "");
  const actions = document.getElementById("actions");
  if (!job) { show(doing); show(actions); return; }
  const { plan } = job;
  const busy = plan.state === "busy" || plan.state === "waiting";
  if (busy) {
    const what = say(plan.state === "waiting" ? "page.waiting_its_turn" : STAGES[plan.stage] || "page.planning");
    show(doing, h("progress", { max: 1, value: plan.fraction || undefined, "aria-label": what }), ` ${what} `,
      h("button", { onclick: () => act("stop") }, say("page.cancel")));
  } else {
    show(doing, say(plan.state === "done" && state.shownAt !== job.at ? "page.saved_showing" : STANDS[plan.state]));
  }
  const side = (name, label) => h("button", {
    "aria-pressed": String(state.side === name),
    onclick: () => { location.hash = name === "plan" ? job.key : `${job.key}/${name}`; },
  }, label);
  show(actions, side("plan", say("page.plan")), side("bench", say("page.bench")), side("casts", say("page.casts")),
    h("button", { disabled: !job.can_undo, title: job.can_undo ? say("page.undo_what", { what: job.what_says }) : say("page.undo_nothing"),
      onclick: () => act("undo", { at: job.at }) }, say("page.undo")),
    h("button", { disabled: !job.can_redo, title: job.redo ? say("page.redo_what", { what: job.redo_says }) : say("page.redo_nothing"),
      onclick: () => act("redo", { at: job.at }) }, say("page.redo")),
    h("button", { class: "main", disabled: plan.state !== "done", onclick: print }, say("page.print")));
}

function print() {
  notice(say("page.making_sheets"));
  window.open(`/api/jobs/${state.job.key}/files/sheets.pdf`, "_blank", "noopener");
}

function draw() {
  const { job, told } = state;
  const isBench = state.side === "bench";
  const isView = (Boolean(told) || room.isPreviewing) && !isBench;
  main.classList.toggle("has-view", isView);
  room.show(isView);
  const at = document.scrollingElement.scrollTop;
  const parts = [];
  if (job.plan.state === "wrong") parts.push(wrongCard(job));
  if (job.plan.state === "stopped") {
    parts.push(h("article", { class: "card" }, h("h2", {}, say("page.planning_cancelled")),
      h("p", { class: "decision" }, say("page.nothing_lost")),
      h("p", {}, h("button", { class: "main", onclick: () => act("again") }, say("page.plan_now")))));
  }
  if (told && job.plan.state !== "wrong") {
    if (state.side === "casts") { drawCastsOf(job); return; }
    parts.push(...(isBench ? drawBench(job, told) : drawCards(job, told, { change, room, act, addPart })));
    if (!isBench) parts.push(h("p", { class: "hint" }, told.basis));
  } else if (!parts.length) parts.push(waitingCard());
  const folds = foldsOf(column);
  show(column, ...parts);
  // What was opened to read stays open when the cards are drawn anew.
  for (const [key, fold] of foldsOf(column)) if (folds.has(key)) fold.open = folds.get(key).open;
  document.scrollingElement.scrollTop = at;
}

function foldsOf(place) {
  const cards = [...place.querySelectorAll("article[id]")];
  return new Map(cards.flatMap((card) =>
    [...card.querySelectorAll("details")].map((fold, number) => [`${card.id} ${number}`, fold])));
}

async function drawCastsOf(job) {
  const cards = await drawCasts(job, { room, redraw: () => drawCastsOf(job) });
  if (state.job === job && state.side === "casts") { room.speakOf("air"); show(column, ...cards); }
}

function waitingCard() {
  return h("article", { class: "card" }, h("h2", {}, say("page_card.part")),
    h("p", { class: "decision" }, say("page.being_looked_at")),
    h("p", { class: "reason" }, say("page.cards_fill_up")));
}

function wrongCard(job) {
  const { asks, error } = job.plan;
  const isUnitOpen = asks === "unit";
  const card = h("article", { class: "card wrong" },
    h("h2", {}, say(isUnitOpen ? "page.how_large" : "page.cannot_be_planned")),
    h("p", { class: "decision" }, isUnitOpen ? say("page.no_unit") : error));
  const sizes = h("div", { class: "controls" });
  card.append(sizes);
  if (isUnitOpen || asks === "size") {
    ask(`/api/jobs/${job.key}/sizes`).then((told) => {
      if (!told) return;
      show(sizes, isUnitOpen ? null : h("p", { class: "live" }, say("page_control.size")), ...told.sizes.map((size) =>
        h("button", { onclick: () => change({ units: size.unit, is_size_meant: size.is_believable ? null : true }) },
          say("page.size_in_unit", { unit: size.name, size: size.says }))));
    });
  } else if (asks === "back" || asks === "thickness") {
    const thick = h("input", { type: "number", min: 0.1, step: 0.1, value: 3 });
    const flat = h("button", { onclick: () => change({ close_to_plane: true }) }, say("page.close_flat_back"));
    show(sizes, asks === "back" ? flat : null,
      h("div", { class: "row" }, h("label", {}, say("page.sheet_mm"), thick),
        h("button", { onclick: () => change({ thickness_mm: Number(thick.value) }) }, say("page.give_it_that_back"))));
  } else show(sizes, h("button", { onclick: () => act("again") }, say("page.try_again")));
  return card;
}

async function home() {
  state.job = state.told = null;
  state.turn += 1;
  document.title = "castplan";
  room.clear();
  room.show(false);
  main.classList.remove("has-view");
  drawHead();
  const [about, jobs] = await Promise.all([ask("/api/about"), ask("/api/jobs")]);
  if (!about || !jobs || state.job) return;
  show(column, ...drawHome(about, jobs.jobs, { go: (key) => { location.hash = key; }, refresh: home, take: uploaded }));
}

async function uploaded(file) {
  const [suffix] = file.name.toLowerCase().split(".").slice(-1);
  const most = (room.about.most_bytes || {})[suffix];
  // A browser does not read the answer to what it is still sending.
  if (file.size > most) {
    notice(say("page.too_large", { file: file.name, size: Math.round(file.size / 1e6), most: Math.round(most / 1e6) }));
    return;
  }
  show(doing, h("progress", { "aria-label": say("page_stage.read") }), ` ${say("page.taking_in")}`);
  const job = await upload(file);
  show(doing);
  if (job) location.hash = job.key;
}

async function route() {
  const [key, side] = location.hash.slice(1).split("/");
  if (!key) { await home(); return; }
  if (key === "compare") {
    room.show(false);
    main.classList.remove("has-view");
    state.job = null;
    drawHead();
    show(column, ...await drawCompare(side));
    return;
  }
  if (state.job && state.job.key === key) {
    state.side = sideOf(side);
    drawHead();
    if (state.told) showPlan(state.job); else draw();
    return;
  }
  await open(key);
}

document.getElementById("home").addEventListener("click", () => { location.hash = ""; });
window.addEventListener("hashchange", route);
for (const kind of ["dragover", "drop"]) {
  window.addEventListener(kind, (event) => {
    event.preventDefault();
    if (kind === "drop" && event.dataTransfer.files.length) uploaded(event.dataTransfer.files[0]);
  });
}
route();
