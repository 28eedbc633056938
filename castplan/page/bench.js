// The bench: steps to tick, timers, mix sheets; all kept in the job.
import { h, scrolled, send } from "./talk.js";
import { say } from "./say.js";

let ticking = 0;

export function drawBench(job, told) {
  clearInterval(ticking);
  const keep = (name, value) => {
    job.marks[name] = value;
    return send("PUT", `/api/jobs/${job.key}/marks/${encodeURIComponent(name)}`, { value });
  };
  const clocks = [];
  const steps = told.steps.map((step) => drawStep(step, job.marks, keep, clocks));
  const mixes = told.mixes.map((mix) => drawMix(mix, job.marks, keep, clocks));
  const run = () => clocks.forEach((clock) => clock());
  run();
  ticking = setInterval(run, 1000);
  return [
    h("article", { class: "card" }, h("h2", {}, say("page_bench.in_short")), told.summary.map((line) => h("p", { class: "reason" }, line)),
      h("p", { class: "hint" }, told.basis)),
    ...mixes,
    h("article", { class: "card" }, h("h2", {}, say("page_bench.steps")), h("ol", { class: "steps" }, steps)),
    h("article", { class: "card" }, h("h2", {}, say("page_bench.afresh")),
      h("p", { class: "reason" }, h("button", {
        onclick: async () => {
          if (!window.confirm(say("page_bench.clear_all_sure"))) return;
          for (const name of Object.keys(job.marks)) await keep(name, null);
          location.reload();
        },
      }, say("page_bench.clear_all")))),
  ];
}

function drawStep(step, marks, keep, clocks) {
  const name = `step ${step.number}`;
  const row = h("li", { class: `step${step.is_hold ? " hold" : ""}${marks[name] ? " done" : ""}` });
  const tick = h("input", { type: "checkbox", id: `tick-${step.number}`, ...(marks[name] ? { checked: true } : {}),
    onchange: async (event) => {
      const isDone = event.target.checked;
      if (isDone && step.is_hold && !(marks[`${name} by`] || "").trim()) {
        event.target.checked = false;
        row.querySelector("input[type=text]").focus();
        return;
      }
      row.classList.toggle("done", isDone);
      if (!await keep(name, isDone || null)) { event.target.checked = !isDone; row.classList.toggle("done", !isDone); }
    } });
  row.append(tick, h("label", { class: "text", for: `tick-${step.number}` }, say("page_bench.step", { number: step.number, text: step.text })));
  for (const caution of step.cautions) row.append(h("p", { class: "caution" }, h("b", {}, caution.title), " ", caution.text));
  const more = h("div", { class: "more" }, step.times.map((time) => h("span", { class: "hint" }, time)));
  if (step.is_hold) {
    more.append(h("label", {}, say("page_bench.hold"), " ", h("input", { type: "text", maxlength: 12, size: 6, value: marks[`${name} by`] || "",
      onchange: (event) => keep(`${name} by`, event.target.value || null) })));
  }
  if (step.wait_min) more.append(timer(`${name} timer`, step.wait_min, say("page_bench.start_wait"), marks, keep, clocks));
  row.append(more);
  return row;
}

function drawMix(mix, marks, keep, clocks) {
  const name = `mix ${mix.id}`;
  const actual = (what, label) => h("label", { class: "field" }, label, h("input", { type: "number", min: 0, step: "any", value: marks[`${name} ${what}`] ?? "",
    onchange: (event) => keep(`${name} ${what}`, event.target.value === "" ? null : Number(event.target.value)) }));
  return h("article", { class: "card" }, h("h2", {}, mix.name, h("span", { class: "whose" }, mix.card)),
    h("p", { class: "decision" }, mix.times),
    scrolled(say("page_bench.weights", { mix: mix.name }), h("table", {},
      h("thead", {}, h("tr", {}, ["", say("page_bench.weigh"), say("page_bench.ounces"), say("page_bench.volume"), say("page_bench.scale_shows")]
        .map((head) => h("th", { scope: "col" }, head)))),
      h("tbody", {}, mix.rows.map((row) => h("tr", {}, row.map((cell, k) => h("td", { class: k === 1 || k === 4 ? "big" : "" }, cell))))))),
    h("div", { class: "row controls plain" }, actual("A g", say("page_bench.a_g")), actual("B g", say("page_bench.b_g")), actual("C", "°C"), actual("RH", say("page_bench.humidity"))),
    h("div", { class: "row controls plain" }, timer(`${name} pour by`, mix.pour_by_min, say("page_bench.start_pour_by"), marks, keep, clocks),
      timer(`${name} open`, mix.demould_min, say("page_bench.start_cure"), marks, keep, clocks)),
    h("ul", { class: "findings" }, mix.notes.filter(Boolean).map((note) => h("li", {}, note))));
}

// A countdown whose start is kept, so that it goes on after a reload.
function timer(name, minutes, label, marks, keep, clocks) {
  const shown = h("span", { class: "clock" });
  const button = h("button", { onclick: () => {
    const begun = marks[name] ? null : Date.now();
    keep(name, begun);
    tell();
  } });
  function tell() {
    const begun = marks[name];
    button.textContent = begun ? say("page_bench.clear") : label;
    button.setAttribute("aria-label", begun ? say("page_bench.clear_timer", { timer: label }) : label);
    const left = begun ? minutes * 60 - (Date.now() - begun) / 1000 : 0;
    const time = clock(Math.abs(left));
    shown.textContent = begun ? (left < 0 ? say("page_bench.over_by", { time }) : time) : "";
    shown.classList.toggle("over", Boolean(begun) && left < 0);
  }
  clocks.push(tell);
  return h("span", { class: "row" }, button, shown);
}

function clock(seconds) {
  const whole = Math.floor(seconds), hours = Math.floor(whole / 3600);
  const two = (value) => String(value).padStart(2, "0");
  return `${hours ? `${hours}:` : ""}${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}
