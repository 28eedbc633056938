// Further parts in the box of a job: what lies there, one more of a file, one more of its own.
import { h } from "./talk.js";
import { say } from "./say.js";

export function boxParts(job, formats, { change, act, addPart }) {
  const parts = job.choices.with_parts || [];
  const without = (at) => { const left = parts.filter((_, k) => k !== at); return left.length ? left : null; };
  const file = h("input", {
    type: "file", accept: formats,
    onchange: (event) => { if (event.target.files.length) addPart(event.target.files[0]); },
  });
  return h("details", parts.length ? { open: true } : {}, h("summary", {}, say("page_box.head")),
    parts.length ? h("ul", { class: "list" }, parts.map((part, at) => h("li", {}, h("span", { class: "name" }, part.name),
      h("button", { "aria-label": say("page_box.take_out_part", { name: part.name }), onclick: () => change({ with_parts: without(at) }) }, say("page_box.take_out"))))) : null,
    h("label", { class: "file" }, say("page_box.add_file"), file),
    h("button", { onclick: () => act("parts") }, say("page_box.add_copy")));
}
