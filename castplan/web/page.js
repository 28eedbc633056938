// The page: which job is open, what is asked of the server, what is shown of its answer.
import { h, show, ask, send, notice, upload } from "./talk.js";
import { drawCards } from "./cards.js";
import { drawBench } from "./bench.js";
import { drawCasts } from "./casts.js";
import { drawHome, drawCompare } from "./home.js";
import { Room } from "./room.js";

const column = document.getElementById("column");
const main = document.getElementById("main");
const doing = document.getElementById("doing");
const room = new Room(document.getElementById("room"));
const SIDES = ["plan", "bench", "casts"];
const state = { job: null, told: null, side: "plan", turn: 0 };

// Stages of a plan in the bench's words.
const STAGES = {
  read: "Reading the file", draw: "Trying ways to pull it", columns: "Measuring it",
  undercuts: "Looking for what holds", parting: "Placing the split", air: "Looking for air",
  mould: "Building the mould", amounts: "Weighing out", schedule: "Putting steps in order",
  box: "Building the box", fill: "Filling it", pictures: "Drawing",
};

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
  show(doing, "Saving");
  const job = await send("PATCH", `/api/jobs/${state.job.key}`, { at: state.job.at, choices });
  if (job) take(job); else reload();
}

async function act(what, body = {}) {
  show(doing, "Saving");
  const job = await send("POST", `/api/jobs/${state.job.key}/${what}`, body);
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
    const what = plan.state === "waiting" ? "Waiting its turn" : STAGES[plan.stage] || "Planning";
    show(doing, h("progress", { max: 1, value: plan.fraction || undefined, "aria-label": what }), ` ${what} `,
      h("button", { onclick: () => act("stop") }, "Cancel"));
  } else {
    const words = { done: state.shownAt === job.at ? "Saved" : "Saved; showing it", wrong: "Saved; it cannot be planned yet", stopped: "Saved; planning was cancelled" };
    show(doing, words[plan.state]);
  }
  const side = (name, label) => h("button", {
    "aria-pressed": String(state.side === name),
    onclick: () => { location.hash = name === "plan" ? job.key : `${job.key}/${name}`; },
  }, label);
  show(actions, side("plan", "Plan"), side("bench", "Bench"), side("casts", "Casts"),
    h("button", { disabled: !job.can_undo, title: job.can_undo ? `Undo: ${job.what}` : "Nothing to undo",
      onclick: () => act("undo", { at: job.at }) }, "Undo"),
    h("button", { disabled: !job.can_redo, title: job.redo ? `Redo: ${job.redo}` : "Nothing to redo",
      onclick: () => act("redo", { at: job.at }) }, "Redo"),
    h("button", { class: "main", disabled: plan.state !== "done", onclick: print }, "Print"));
}

function print() {
  notice("Making the sheets. They open in a new window when they are ready.");
  window.open(`/api/jobs/${state.job.key}/files/sheets.pdf`, "_blank", "noopener");
}

function draw() {
  const { job, told } = state;
  const isBench = state.side === "bench";
  main.classList.toggle("has-view", Boolean(told) && !isBench);
  room.show(Boolean(told) && !isBench);
  const at = document.scrollingElement.scrollTop;
  const parts = [];
  if (job.plan.state === "wrong") parts.push(wrongCard(job));
  if (job.plan.state === "stopped") {
    parts.push(h("article", { class: "card" }, h("h2", {}, "Planning was cancelled"),
      h("p", { class: "decision" }, "Nothing is lost: every choice is saved."),
      h("p", {}, h("button", { class: "main", onclick: () => act("again") }, "Plan it now"))));
  }
  if (told && job.plan.state !== "wrong") {
    if (state.side === "casts") { drawCastsOf(job); return; }
    parts.push(...(isBench ? drawBench(job, told) : drawCards(job, told, { change, room, act })));
    if (!isBench) parts.push(h("p", { class: "hint" }, `Letters behind numbers: ${told.basis}.`));
  } else if (!parts.length) parts.push(waitingCard());
  show(column, ...parts);
  document.scrollingElement.scrollTop = at;
}

async function drawCastsOf(job) {
  const cards = await drawCasts(job, { room, redraw: () => drawCastsOf(job) });
  if (state.job === job && state.side === "casts") { room.speakOf("air"); show(column, ...cards); }
}

function waitingCard() {
  return h("article", { class: "card" }, h("h2", {}, "The part"),
    h("p", { class: "decision" }, "castplan is looking at it."),
    h("p", { class: "reason" }, "The cards fill up here as soon as it knows how to pull, stand and vent the part. A first plan takes a few seconds."));
}

function wrongCard(job) {
  const isUnitOpen = /no unit/.test(job.plan.error);
  const card = h("article", { class: "card wrong" },
    h("h2", {}, isUnitOpen ? "How large is the part?" : "It cannot be planned yet"),
    h("p", { class: "decision" }, isUnitOpen ? "The file does not say what its numbers are. Choose the size that the part really has." : job.plan.error));
  const sizes = h("div", { class: "controls" });
  card.append(sizes);
  if (isUnitOpen || /size of/.test(job.plan.error)) {
    ask(`/api/jobs/${job.key}/sizes`).then((told) => {
      if (!told) return;
      show(sizes, isUnitOpen ? null : h("p", { class: "live" }, "How large is it really?"), ...told.sizes.map((size) =>
        h("button", { onclick: () => change({ units: size.unit, is_size_meant: size.is_believable ? null : true }) },
          `${size.name}: ${size.says}`)));
    });
  } else if (/one side missing/.test(job.plan.error)) {
    const thick = h("input", { type: "number", min: 0.1, step: 0.1, value: 3 });
    show(sizes, h("button", { onclick: () => change({ close_to_plane: true }) }, "Its back is flat: close it to a plane"),
      h("div", { class: "row" }, h("label", {}, "It is a sheet this thick (mm)", thick),
        h("button", { onclick: () => change({ thickness_mm: Number(thick.value) }) }, "Give it that back")));
  } else show(sizes, h("button", { onclick: () => act("again") }, "Try again"));
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
    notice(`${file.name}: found ${Math.round(file.size / 1e6)} MB, need at most ${Math.round(most / 1e6)} MB. Make it lighter with castplan heal.`);
    return;
  }
  show(doing, h("progress", { "aria-label": "Reading the file" }), " Taking the file in");
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
