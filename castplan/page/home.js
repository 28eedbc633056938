// The first page: drop a part, open a sample, go on with a job; and two jobs side by side.
import { ask, h, moment, scrolled, send } from "./talk.js";
import { say } from "./say.js";

export function drawHome(about, jobs, { go, refresh, take }) {
  const formats = about.formats.map((name) => `.${name}`).join(",");
  const file = h("input", {
    type: "file", id: "file", accept: `${formats},.zip`,
    onchange: (event) => { if (event.target.files.length) take(event.target.files[0]); },
  });
  const drop = h("div", { class: "drop" },
    h("p", { class: "decision" }, say("page_home.drop")),
    h("label", { class: "file", for: "file" }, say("page_home.choose_file"), file),
    h("p", { class: "hint" }, say("page_home.formats", { formats: about.formats.join(", ") })));
  for (const kind of ["dragenter", "dragover"]) drop.addEventListener(kind, () => drop.classList.add("over"));
  for (const kind of ["dragleave", "drop"]) drop.addEventListener(kind, () => drop.classList.remove("over"));
  const cards = [h("article", { class: "card" }, h("h2", {}, say("page_home.start")), drop)];
  if (about.samples.length) {
    cards.push(h("article", { class: "card" }, h("h2", {}, say("page_home.samples")),
      h("p", { class: "reason" }, say("page_home.samples_reason")),
      h("div", { class: "row controls plain" }, about.samples.map((name) => h("button", {
        onclick: async () => {
          const job = await send("POST", `/api/samples/${name}`, {});
          if (job) go(job.key);
        },
      }, name.replaceAll("_", " "))))));
  }
  const open = jobs.filter((job) => !job.is_archived);
  const away = jobs.filter((job) => job.is_archived);
  cards.push(h("article", { class: "card" }, h("h2", {}, say("page_home.jobs")),
    open.length ? list(open, { go, refresh }) : h("p", { class: "decision" }, say("page_home.no_job")),
    away.length ? h("details", {}, h("summary", {}, say("page_home.jobs_away", { number: away.length })), list(away, { go, refresh })) : null));
  if (open.length > 1) cards.push(pair(open));
  return cards;
}

function list(jobs, { go, refresh }) {
  return h("ul", { class: "list" }, jobs.map((job) => {
    const act = (what, body) => async () => {
      if (await send("POST", `/api/jobs/${job.key}/${what}`, body)) refresh();
    };
    return h("li", {},
      h("span", { class: "name" }, job.name, h("br"), h("span", { class: "hint" }, say("page_home.saved", { when: moment(job.changed_s) }))),
      h("button", { class: "main", "aria-label": say("page_home.open_job", { name: job.name }), onclick: () => go(job.key) }, say("page_home.open")),
      h("button", { "aria-label": say("page_home.duplicate_job", { name: job.name }), onclick: act("copy", {}) }, say("page_home.duplicate")),
      h("a", { class: "file", href: `/api/jobs/${job.key}/export`, download: "", "aria-label": say("page_home.export_job", { name: job.name }) }, say("page_home.export")),
      h("button", { "aria-label": say(job.is_archived ? "page_home.bring_back_job" : "page_home.put_away_job", { name: job.name }),
        onclick: act("archive", { is_archived: !job.is_archived }) }, say(job.is_archived ? "page_home.bring_back" : "page_home.put_away")));
  }));
}

function pair(jobs) {
  const select = (label, at) => {
    const chosen = h("select", { value: jobs[at].key }, jobs.map((job) => h("option", { value: job.key }, job.name)));
    return [h("label", { class: "field" }, label, chosen), chosen];
  };
  const [one, first] = select(say("page_home.first_plan"), 0);
  const [other, second] = select(say("page_home.second_plan"), 1);
  return h("article", { class: "card" }, h("h2", {}, say("page_home.compare")),
    h("div", { class: "row controls plain" }, one, other,
      h("button", { onclick: () => { location.hash = `compare/${first.value},${second.value}`; } }, say("page_home.side_by_side"))));
}

export async function drawCompare(keys) {
  const [one, other] = (keys || "").split(",");
  const told = await ask(`/api/compare?one=${encodeURIComponent(one)}&other=${encodeURIComponent(other)}`);
  const back = h("p", { class: "reason" }, h("button", { onclick: () => { location.hash = ""; } }, say("page_home.back")));
  if (!told) {
    return [h("article", { class: "card wrong" }, h("h2", {}, say("page_home.nothing_to_compare")),
      h("p", { class: "decision" }, say("page_home.finish_both")), back)];
  }
  const rows = told.rows.map((row) => h("tr", {}, h("th", { scope: "row" }, row.what),
    row.values.map((value) => h("td", {}, row.values[0] === row.values[1] ? value : h("b", {}, value)))));
  return [h("article", { class: "card" }, h("h2", {}, say("page_home.two_plans")),
    h("p", { class: "reason" }, say("page_home.bold")),
    scrolled(say("page_home.differs"), h("table", {},
      h("thead", {}, h("tr", {}, h("td"), told.names.map((name) => h("th", { scope: "col" }, name)))),
      h("tbody", {}, rows))), back)];
}
