// What the page asks of the server, and the line that says how that went.
import { h, show } from "./elements.js";
import { say, useTexts } from "./say.js";

useTexts(JSON.parse(/** @type {HTMLElement} */ (document.getElementById("texts")).textContent || "{}"));

const WAIT_MS = 60_000; // longest that an answer may take, but for files

/** @param {string} key @returns {HTMLElement} */
export function part(key) { return /** @type {HTMLElement} */ (document.getElementById(key)); }

/** @param {ParentNode} place */
function tokenIn(place) {
  return /** @type {HTMLMetaElement | null} */ (place.querySelector('meta[name="castplan-token"]'))?.content || "";
}

let token = tokenIn(document);

// Since when the server does not answer; 0 while it does.
export const line = { since: 0, changed: () => {} };

/** @param {boolean} isUp */
function heard(isUp) {
  if (isUp === !line.since) return;
  line.since = isUp ? 0 : Date.now();
  line.changed();
}

/**
 * A moment in the page's language, as the reader's own country writes it; as the browser
 * does where it does not know that language.
 * @param {number} seconds
 */
export function moment(seconds) {
  /** @type {Intl.DateTimeFormatOptions} */
  const style = { dateStyle: "medium", timeStyle: "short" };
  const { lang } = document.documentElement;
  const own = navigator.languages.filter((each) => each.split("-")[0] === lang.split("-")[0]);
  try {
    return new Date(seconds * 1000).toLocaleString([...own, lang], style);
  } catch {
    return new Date(seconds * 1000).toLocaleString([], style);
  }
}

let timer = 0;
/**
 * A line at the foot; `undo` takes back what it speaks of.
 * @param {string} says
 * @param {{ says: string, work: () => any }} [undo]
 */
export function notice(says, undo) {
  const box = part("notice");
  const close = () => { box.hidden = true; };
  show(box, says, undo ? h("button", { onclick: async () => { close(); await undo.work(); } }, undo.says) : null,
    h("button", { onclick: close }, say("page.close")));
  box.hidden = false;
  clearTimeout(timer);
  timer = window.setTimeout(close, 12000);
}

// The server was started anew: the page as it gives it now carries its token.
async function renewToken() {
  const response = await fetch("/", { cache: "no-store" });
  const found = tokenIn(new DOMParser().parseFromString(await response.text(), "text/html"));
  if (!found || found === token) return false;
  token = found;
  return true;
}

/**
 * Ask, without a word to the user.
 * @param {string} method
 * @param {string} path
 * @param {any} [body]
 * @returns {Promise<{ state: "ok" | "refused" | "offline", told?: any, status: number, error: string }>}
 */
export async function call(method, path, body) {
  const isFile = body instanceof Blob;
  for (let turn = 0; ; turn += 1) {
    let response, told;
    try {
      response = await fetch(path, method === "GET" ? { signal: AbortSignal.timeout(WAIT_MS) } : {
        method, headers: { "x-castplan-token": token, ...(isFile ? {} : { "content-type": "application/json" }) },
        body: isFile ? body : JSON.stringify(body),
      });
      told = await response.json();
      if (response.status === 403 && turn === 0 && await renewToken()) continue;
    } catch {
      heard(false);
      return { state: "offline", status: 0, error: say("page.no_answer") };
    }
    heard(true);
    if (response.ok) return { state: "ok", status: response.status, told, error: "" };
    return { state: "refused", status: response.status, error: told.error || say("page.could_not") };
  }
}

/** @param {string} method @param {string} path @param {any} [body] */
export async function send(method, path, body) {
  const answer = await call(method, path, body);
  if (answer.state === "ok") return answer.told;
  notice(answer.error);
  return null;
}

/** @param {string} path */
export function ask(path) { return send("GET", path); }

/**
 * A mesh, or a job that was exported, as it is; or a further part of a job.
 * @param {File} file
 * @param {string} [to] the address that takes it
 */
export function upload(file, to = "") {
  const isJob = /\.zip$/i.test(file.name) && !to;
  return send("POST", isJob ? "/api/import" : `${to || "/api/jobs"}?name=${encodeURIComponent(file.name)}`, file);
}
