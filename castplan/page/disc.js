// A direction to take hold of: the half of all directions towards you, as a disc.
//
// Points keep their share of area (Lambert's equal-area projection), so a large patch of
// good directions looks large. The outer rim stands for straight away from you.
import { h } from "./elements.js";
import { say } from "./say.js";

const SIZE = 260;

// Place of a direction on the disc, both from -1 to 1; its middle is +z.
/** @param {number[]} towards @returns {number[]} */
export function place(towards) {
  const [x, y, z] = towards;
  const flat = Math.hypot(x, y);
  if (flat < 1e-9) return z > 0 ? [0, 0] : [1, 0];
  const r = Math.sqrt(Math.max(0, (1 - z) / 2));
  return [(x / flat) * r, (y / flat) * r];
}

/** @param {number[]} place @returns {number[]} */
export function direction([a, b]) {
  const r = Math.min(1, Math.hypot(a, b));
  if (r < 1e-9) return [0, 0, 1];
  const z = 1 - 2 * r * r, flat = Math.sqrt(Math.max(0, 1 - z * z));
  return [(a / Math.hypot(a, b)) * flat, (b / Math.hypot(a, b)) * flat, z];
}

// points: [{ at: direction, shade: 0 to 1 }]; says(direction) is told while dragging.
export function disc({ label, points, at, says, done }) {
  const scale = Math.min(2, window.devicePixelRatio || 1);
  const canvas = h("canvas", {
    class: "disc", width: SIZE * scale, height: SIZE * scale, tabindex: 0, role: "application", "aria-label": label,
  });
  canvas.style.width = canvas.style.height = `${SIZE}px`;
  const told = h("p", { class: "live", role: "status" });
  let spot = place(at);
  const ink = () => getComputedStyle(document.body).color;
  const tint = () => getComputedStyle(document.documentElement).getPropertyValue("--air").trim();

  function draw() {
    const pen = canvas.getContext("2d");
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.clearRect(0, 0, SIZE, SIZE);
    const xy = (/** @type {number[]} */ [a, b]) => [SIZE / 2 + a * (SIZE / 2 - 8), SIZE / 2 - b * (SIZE / 2 - 8)];
    pen.strokeStyle = pen.fillStyle = ink();
    pen.lineWidth = 1.5;
    for (const r of [SIZE / 2 - 8, (SIZE / 2 - 8) * Math.SQRT1_2]) {
      pen.beginPath();
      pen.setLineDash(r < SIZE / 2 - 8 ? [3, 4] : []);
      pen.arc(SIZE / 2, SIZE / 2, r, 0, 2 * Math.PI);
      pen.stroke();
    }
    pen.setLineDash([]);
    pen.fillStyle = tint();
    for (const point of points) {
      // More air is a larger dot: it reads without colour too.
      const [x, y] = xy(place(point.at));
      pen.beginPath();
      pen.arc(x, y, 1 + 5 * Math.sqrt(point.shade), 0, 2 * Math.PI);
      pen.fill();
    }
    const [x, y] = xy(spot);
    pen.fillStyle = "#fff";
    pen.strokeStyle = "#000";
    pen.lineWidth = 3;
    pen.beginPath();
    pen.arc(x, y, 9, 0, 2 * Math.PI);
    pen.fill();
    pen.stroke();
    told.textContent = says(direction(spot));
  }

  function move(event) {
    const box = canvas.getBoundingClientRect();
    let a = ((event.clientX - box.left) / box.width) * 2 - 1, b = 1 - ((event.clientY - box.top) / box.height) * 2;
    const r = Math.hypot(a, b);
    if (r > 1) { a /= r; b /= r; }
    spot = [a, b];
    draw();
  }
  canvas.addEventListener("pointerdown", (event) => { canvas.setPointerCapture(event.pointerId); move(event); });
  canvas.addEventListener("pointermove", (event) => { if (event.buttons) move(event); });
  canvas.addEventListener("pointerup", () => done(direction(spot)));
  canvas.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (event.key === "Enter") done(direction(spot));
    if (!step) return;
    event.preventDefault();
    spot = spot.map((value, k) => value + step[k] * 0.03);
    const r = Math.hypot(...spot);
    if (r > 1) spot = spot.map((value) => value / r);
    draw();
  });
  draw();
  return h("div", {}, canvas, told, h("p", { class: "hint" }, say("page_card.disc_keys")));
}
