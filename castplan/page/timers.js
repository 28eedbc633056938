// The timers of a job: they stay in sight on every side of it, and sound when they are over.
import { h, patch } from "./elements.js";
import { part } from "./talk.js";
import { say } from "./say.js";

const RING_MS = 15_000; // how often one that is over sounds again
const TONES_HZ = [880, 660, 880];

/**
 * @typedef {object} Timer
 * @property {string} name under which its start is kept
 * @property {number} minutes
 * @property {string} says what starts it
 * @property {string} [short] what it is called while it runs
 */

/** @param {any} told the cards @returns {Timer[]} */
export function timersOf(told) {
  const waits = told.steps.filter((/** @type {any} */ step) => step.wait_min).map(waitOf);
  return [...waits, ...told.mixes.flatMap((/** @type {any} */ mix) => pourTimers(mix))];
}

/** @param {any} step @returns {Timer} */
export function waitOf(step) {
  return { name: `step ${step.number} timer`, minutes: step.wait_min, says: say("page_bench.start_wait"), short: say("page_bench.wait_of", { number: step.number }) };
}

/** @param {any} mix @returns {Timer[]} */
export function pourTimers(mix) {
  const name = `mix ${mix.id}`;
  return [
    { name: `${name} pour by`, minutes: mix.pour_by_min, says: say("page_bench.start_pour_by"), short: say("page_bench.pour_by_of", { mix: mix.name }) },
    { name: `${name} open`, minutes: mix.demould_min, says: say("page_bench.start_cure"), short: say("page_bench.cure_of", { mix: mix.name }) },
  ];
}

/** @type {AudioContext | null} */
let sound = null;
let rung = 0, ticking = 0, isLocked = false;

// A browser lets only a touch open the loudspeaker.
function openSound() {
  sound = sound || new AudioContext();
  sound.resume();
}

function ring() {
  if (Date.now() - rung < RING_MS) return;
  rung = Date.now();
  navigator.vibrate?.([300, 200, 300]);
  if (!sound) return;
  TONES_HZ.forEach((hertz, at) => {
    const from = /** @type {AudioContext} */ (sound).currentTime + 0.25 * at, tone = /** @type {AudioContext} */ (sound).createOscillator();
    tone.frequency.value = hertz;
    tone.connect(/** @type {AudioContext} */ (sound).destination);
    tone.start(from);
    tone.stop(from + 0.2);
  });
}

/** @param {Timer} timer @param {Object<string, any>} marks */
function leftOf(timer, marks) { return timer.minutes * 60 - (Date.now() - marks[timer.name]) / 1000; }

/** @param {number} seconds */
function clock(seconds) {
  const whole = Math.floor(Math.abs(seconds)), hours = Math.floor(whole / 3600);
  const two = (/** @type {number} */ value) => String(value).padStart(2, "0");
  const time = `${hours ? `${hours}:` : ""}${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  return seconds < 0 ? say("page_bench.over_by", { time }) : time;
}

/**
 * The button that starts or clears a timer; how long it still runs stands in the bar.
 * @param {Timer} timer
 * @param {Object<string, any>} marks
 * @param {(name: string, value: any) => void} keep
 */
export function timerButton(timer, marks, keep) {
  const isOn = Boolean(marks[timer.name]);
  return h("button", { "aria-pressed": String(isOn), "aria-label": isOn ? say("page_bench.clear_timer", { timer: timer.says }) : timer.says, onclick: () => {
    openSound();
    keep(timer.name, isOn ? null : Date.now());
  } }, isOn ? say("page_bench.clear_timer", { timer: timer.says }) : timer.says);
}

/**
 * The bar of running timers; called anew whenever marks or plan change.
 * @param {any} told the cards, or none
 * @param {() => Object<string, any>} marksNow
 * @param {(name: string, value: any) => void} keep
 */
export function runTimers(told, marksNow, keep) {
  clearInterval(ticking);
  const bar = part("timers"), all = told ? timersOf(told) : [];
  const tell = () => {
    const marks = told ? marksNow() : {}, running = all.filter((timer) => marks[timer.name]);
    patch(bar, running.map((timer) => {
      const left = leftOf(timer, marks);
      return h("span", { class: `timer${left < 0 ? " over" : ""}`, "data-key": timer.name }, h("span", {}, timer.short), h("b", { class: "clock", role: "timer" }, clock(left)),
        h("button", { class: "small", "aria-label": say("page_bench.clear_timer", { timer: timer.short || "" }), onclick: () => keep(timer.name, null) }, say("page_bench.clear")));
    }));
    bar.hidden = !running.length;
    if (running.some((timer) => leftOf(timer, marks) < 0)) ring(); else rung = 0;
  };
  tell();
  if (told) ticking = window.setInterval(tell, 1000);
}

/** Keep the screen on while the bench is shown, where the browser can. @param {boolean} isWanted */
export async function keepAwake(isWanted) {
  wanted = isWanted;
  if (!isWanted || isLocked || !navigator.wakeLock || document.hidden) { if (!isWanted) lock?.release(); return; }
  isLocked = true;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => { isLocked = false; });
    if (!wanted) lock.release();
  } catch { isLocked = false; } // low on power: it says no
}

let wanted = false;
/** @type {WakeLockSentinel | null} */
let lock = null;
document.addEventListener("visibilitychange", () => { if (wanted) keepAwake(true); });
