// What the user does to a job, sent in order, one at a time; nothing of it is ever lost.
import { call, notice } from "./talk.js";
import { say } from "./say.js";

/**
 * Something to be sent.
 * @typedef {object} Wish
 * @property {"change" | "undo" | "redo" | "mark"} kind
 * @property {Object<string, any>} [choices]
 * @property {string} [name] of a mark
 * @property {any} [value]
 */

/** @param {string} key @returns {Wish[]} */
function keptOf(key) { return JSON.parse(sessionStorage.getItem(`unsent/${key}`) || "[]"); }

/** @param {string} key @param {Wish[]} waiting */
function keep(key, waiting) {
  if (waiting.length) sessionStorage.setItem(`unsent/${key}`, JSON.stringify(waiting));
  else sessionStorage.removeItem(`unsent/${key}`);
}

const MOST_TRIES = 4; // of what the server cannot do at the moment
const AGAIN_MS = [300, 1000, 2000, 3000];

export class Changes {
  /**
   * @param {{ told: (job: any) => void, refused: (names: string[], error: string) => void, changed: () => void }} hear
   */
  constructor(hear) {
    this.hear = hear;
    /** @type {Wish[]} */
    this.waiting = [];
    /** @type {any} */
    this.job = null;
    this.isSending = false;
    this.turn = 0; // grows with whatever happens here: an answer asked for before is old
    this.channel = new BroadcastChannel("castplan");
  }

  get isIdle() { return !this.waiting.length; }

  /** @param {any} job */
  open(job) {
    this.job = job;
    this.turn += 1;
    // What this window could not send before it was loaded again.
    this.waiting = keptOf(job.key);
    this.hear.changed();
    this.run();
  }

  close() { this.job = null; this.waiting = []; }

  /** The choices as they are once all is sent. */
  choices() {
    const merged = { ...this.job.choices };
    for (const wish of this.waiting) if (wish.kind === "change") Object.assign(merged, wish.choices);
    return Object.fromEntries(Object.entries(merged).filter(([, value]) => value !== null));
  }

  /** The marks as they are once all is sent. */
  marks() {
    const merged = { ...this.job.marks };
    for (const wish of this.waiting) if (wish.kind === "mark") merged[String(wish.name)] = wish.value;
    return Object.fromEntries(Object.entries(merged).filter(([, value]) => value !== null));
  }

  /** @param {Object<string, any>} choices */
  change(choices) {
    const last = this.waiting.at(-1), isLastSent = this.waiting.length === 1 && this.isSending;
    const isSame = last?.kind === "change" && !isLastSent
      && String(Object.keys(last.choices || {}).sort()) === String(Object.keys(choices).sort());
    if (last && isSame) last.choices = choices; else this.waiting.push({ kind: "change", choices });
    this.kept();
  }

  /** @param {"undo" | "redo"} kind */
  step(kind) {
    this.waiting.push({ kind });
    this.kept();
  }

  /** @param {string} name @param {any} value */
  mark(name, value) {
    this.waiting = this.waiting.filter((wish, at) => !(wish.kind === "mark" && wish.name === name && !(at === 0 && this.isSending)));
    this.waiting.push({ kind: "mark", name, value });
    this.kept();
  }

  kept() {
    this.turn += 1;
    keep(this.job.key, this.waiting);
    this.hear.changed();
    this.run();
  }

  async run() {
    if (this.isSending) return;
    this.isSending = true;
    for (let tries = 0; this.waiting.length;) {
      const { job } = this, [wish] = this.waiting;
      const answer = await this.send(job.key, wish);
      if (this.job?.key !== job.key) {
        if (answer.state === "ok") keep(job.key, keptOf(job.key).slice(1));
        break;
      }
      // While it is being stopped a server answers so, too; a fault of its own stays one.
      const isPassing = answer.status >= 500 && answer.status !== 507 && tries < MOST_TRIES;
      if (answer.state === "offline" || isPassing) {
        const pause = AGAIN_MS[Math.min(tries, AGAIN_MS.length - 1)];
        await new Promise((go) => { setTimeout(go, pause); });
        if (this.job?.key !== job.key) break;
        tries += 1;
        continue;
      }
      tries = 0;
      // Changed in another window: what was wished is wished of the job as it is now.
      if (answer.status === 409 && await this.catchUp(wish)) continue;
      this.waiting.shift();
      if (answer.state === "ok" && wish.kind !== "mark") this.take(answer.told);
      else if (answer.state === "ok") this.job.marks[String(wish.name)] = wish.value;
      else if (answer.status !== 409) this.hear.refused(Object.keys(wish.choices || {}), answer.error);
      this.channel.postMessage(job.key);
      this.isSending = false;
      this.kept();
      return;
    }
    this.isSending = false;
    if (this.waiting.length) this.run();
  }

  /** @param {string} key @param {Wish} wish */
  send(key, wish) {
    const path = `/api/jobs/${key}`;
    if (wish.kind === "mark") return call("PUT", `${path}/marks/${encodeURIComponent(String(wish.name))}`, { value: wish.value });
    if (wish.kind === "change") return call("PATCH", path, { at: this.job.at, choices: wish.choices });
    return call("POST", `${path}/${wish.kind}`, { at: this.job.at });
  }

  /** @param {Wish} wish @returns {Promise<boolean>} whether the wish is to be sent again */
  async catchUp(wish) {
    const before = this.job, now = await call("GET", `/api/jobs/${before.key}`);
    if (now.state !== "ok" || this.job !== before || now.told.at === before.at) return false;
    this.take(now.told);
    const isChange = wish.kind === "change";
    notice(say(isChange ? "page.elsewhere_and_here" : "page.elsewhere", { what: now.told.what_says }));
    return isChange;
  }

  /** @param {any} job */
  take(job) {
    this.job = job;
    this.turn += 1;
    this.hear.told(job);
  }
}
