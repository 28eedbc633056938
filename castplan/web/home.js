// The first page: drop a part, open a sample, go on with a job; and two jobs side by side.
import { ask, h, scrolled, send } from "./talk.js";

export function drawHome(about, jobs, { go, refresh, take }) {
  const formats = about.formats.map((name) => `.${name}`).join(",");
  const file = h("input", {
    type: "file", id: "file", accept: `${formats},.zip`,
    onchange: (event) => { if (event.target.files.length) take(event.target.files[0]); },
  });
  const drop = h("div", { class: "drop" },
    h("p", { class: "decision" }, "Drop the scan or model of a part here"),
    h("label", { class: "file", for: "file" }, "Choose a file", file),
    h("p", { class: "hint" }, `${about.formats.join(", ")}; or a job that was exported (.zip). It stays on this computer.`));
  for (const kind of ["dragenter", "dragover"]) drop.addEventListener(kind, () => drop.classList.add("over"));
  for (const kind of ["dragleave", "drop"]) drop.addEventListener(kind, () => drop.classList.remove("over"));
  const cards = [h("article", { class: "card" }, h("h2", {}, "Start with a part"), drop)];
  if (about.samples.length) {
    cards.push(h("article", { class: "card" }, h("h2", {}, "No scan at hand? Try a sample"),
      h("p", { class: "reason" }, "Trim of a river ferry's cabins, invented for trying things out."),
      h("div", { class: "row controls plain" }, about.samples.map((name) => h("button", {
        onclick: async () => {
          const job = await send("POST", `/api/samples/${name}`, {});
          if (job) go(job.key);
        },
      }, name.replaceAll("_", " "))))));
  }
  const open = jobs.filter((job) => !job.is_archived);
  const away = jobs.filter((job) => job.is_archived);
  cards.push(h("article", { class: "card" }, h("h2", {}, "Your jobs"),
    open.length ? list(open, { go, refresh }) : h("p", { class: "decision" }, "None yet. The first part you drop appears here and is saved by itself."),
    away.length ? h("details", {}, h("summary", {}, `Put away: ${away.length}`), list(away, { go, refresh })) : null));
  if (open.length > 1) cards.push(pair(open));
  return cards;
}

function list(jobs, { go, refresh }) {
  return h("ul", { class: "list" }, jobs.map((job) => {
    const act = (what, body) => async () => {
      if (await send("POST", `/api/jobs/${job.key}/${what}`, body)) refresh();
    };
    const on = new Date(job.changed_s * 1000).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    return h("li", {},
      h("span", { class: "name" }, job.name, h("br"), h("span", { class: "hint" }, `saved ${on}`)),
      h("button", { class: "main", "aria-label": `Open ${job.name}`, onclick: () => go(job.key) }, "Open"),
      h("button", { "aria-label": `Duplicate ${job.name}`, onclick: act("copy", {}) }, "Duplicate"),
      h("a", { class: "file", href: `/api/jobs/${job.key}/export`, download: "", "aria-label": `Export ${job.name}` }, "Export"),
      h("button", { "aria-label": `${job.is_archived ? "Bring back" : "Put away"} ${job.name}`,
        onclick: act("archive", { is_archived: !job.is_archived }) }, job.is_archived ? "Bring back" : "Put away"));
  }));
}

function pair(jobs) {
  const select = (label, at) => {
    const chosen = h("select", { value: jobs[at].key }, jobs.map((job) => h("option", { value: job.key }, job.name)));
    return [h("label", { class: "field" }, label, chosen), chosen];
  };
  const [one, first] = select("First plan", 0);
  const [other, second] = select("Second plan", 1);
  return h("article", { class: "card" }, h("h2", {}, "Compare two plans"),
    h("div", { class: "row controls plain" }, one, other,
      h("button", { onclick: () => { location.hash = `compare/${first.value},${second.value}`; } }, "Side by side")));
}

export async function drawCompare(keys) {
  const [one, other] = (keys || "").split(",");
  const told = await ask(`/api/compare?one=${encodeURIComponent(one)}&other=${encodeURIComponent(other)}`);
  const back = h("p", { class: "reason" }, h("button", { onclick: () => { location.hash = ""; } }, "Back to your jobs"));
  if (!told) {
    return [h("article", { class: "card wrong" }, h("h2", {}, "Nothing to compare"),
      h("p", { class: "decision" }, "Both plans have to be finished first. Open each once, then compare."), back)];
  }
  const rows = told.rows.map((row) => h("tr", {}, h("th", { scope: "row" }, row.what),
    row.values.map((value) => h("td", {}, row.values[0] === row.values[1] ? value : h("b", {}, value)))));
  return [h("article", { class: "card" }, h("h2", {}, "Two plans side by side"),
    h("p", { class: "reason" }, "What differs is bold."),
    scrolled("What differs", h("table", {},
      h("thead", {}, h("tr", {}, h("td"), told.names.map((name) => h("th", { scope: "col" }, name)))),
      h("tbody", {}, rows))), back)];
}
