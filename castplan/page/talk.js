// Small tools of the page: its texts, elements, requests, the notice at the foot.
import { say, useTexts } from "./say.js";

useTexts(JSON.parse(document.getElementById("texts").textContent));

// A moment in the page's language, as the reader's own country writes it; as the browser
// does where it does not know that language.
export function moment(seconds) {
  const style = { dateStyle: "medium", timeStyle: "short" }, { lang } = document.documentElement;
  const own = navigator.languages.filter((each) => each.split("-")[0] === lang.split("-")[0]);
  try {
    return new Date(seconds * 1000).toLocaleString([...own, lang], style);
  } catch {
    return new Date(seconds * 1000).toLocaleString([], style);
  }
}

const token = document.querySelector('meta[name="castplan-token"]').content;

// An element. Names that start with "on" are listeners; text is always text.
export function h(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value") continue;
    else element.setAttribute(name, value === true ? "" : value);
  }
  if (tag === "button" && !("type" in properties)) element.type = "button";
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  // Last: a choice among options needs the options first.
  if (properties.value !== undefined && properties.value !== null) element.value = properties.value;
  return element;
}

// A table that may be wider than the screen: the keyboard can scroll it too.
export function scrolled(label, ...children) {
  return h("div", { class: "wide", role: "region", tabindex: 0, "aria-label": label }, ...children);
}

export function show(element, ...children) {
  element.replaceChildren(...children.filter((child) => child !== null && child !== undefined));
}

// A drawing from the server, as an element.
export function picture(markup) {
  if (!markup) return null;
  return document.importNode(new DOMParser().parseFromString(markup, "text/html").body.firstElementChild, true);
}

let timer = 0;
export function notice(line) {
  const box = document.getElementById("notice");
  show(box, line, h("button", { onclick: () => { box.hidden = true; } }, say("page.close")));
  box.hidden = false;
  clearTimeout(timer);
  timer = setTimeout(() => { box.hidden = true; }, 12000);
}

async function answer(request) {
  let told;
  try {
    const response = await request;
    told = await response.json();
    if (response.ok) return told;
  } catch {
    notice(say("page.no_answer"));
    return null;
  }
  notice(told.error || say("page.could_not"));
  return null;
}

export function ask(path) { return answer(fetch(path)); }

export function send(method, path, body) {
  return answer(fetch(path, {
    method, headers: { "x-castplan-token": token, "content-type": "application/json" }, body: JSON.stringify(body),
  }));
}

// A mesh, or a job that was exported, as it is.
export function upload(file, to = "") {
  const isJob = /\.zip$/i.test(file.name) && !to;
  const path = isJob ? "/api/import" : `${to || "/api/jobs"}?name=${encodeURIComponent(file.name)}`;
  return answer(fetch(path, { method: "POST", headers: { "x-castplan-token": token }, body: file }));
}
