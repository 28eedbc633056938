// Marks on the picture: each stands beside what it names, with a line to the place itself.

const AWAY_PX = [30, 46, 66, 90, 120]; // from the place to the middle of its mark
const TURNS = [0, 0.5, -0.5, 1, -1, 1.6, -1.6, 2.3, -2.3, 3.1]; // off the way outward, radians
const GAP_PX = 4;
export const SVG = "http://www.w3.org/2000/svg";

/** Marks in `root`; `onMark(id)` for a click on one. */
export class Labels {
  constructor(root, onMark) {
    this.onMark = onMark;
    /** @type {any[]} */
    this.marks = [];
    this.box = document.createElement("div");
    this.box.className = "castview-labels";
    this.lines = document.createElementNS(SVG, "svg");
    this.lines.setAttribute("class", "castview-leaders");
    this.lines.setAttribute("aria-hidden", "true");
    root.append(this.box);
  }

  /** Show marks [{id, text, title, at, kind}]. */
  set(marks) {
    this.marks = marks.map((mark) => {
      const label = document.createElement("button");
      label.type = "button";
      label.tabIndex = -1;
      label.className = `castview-mark ${mark.kind}`;
      label.textContent = mark.text;
      label.title = mark.title;
      label.setAttribute("aria-hidden", "true");
      label.addEventListener("click", () => this.onMark(mark.id));
      const line = document.createElementNS(SVG, "path");
      return { ...mark, label, line, turn: 0 };
    });
    this.lines.replaceChildren(...this.marks.map((mark) => mark.line));
    this.box.replaceChildren(this.lines, ...this.marks.map((mark) => mark.label));
    for (const mark of this.marks) Object.assign(mark, { wide: mark.label.offsetWidth || 26, high: mark.label.offsetHeight || 26 });
  }

  choose(id) {
    for (const mark of this.marks) mark.label.classList.toggle("is-chosen", mark.id === id);
  }

  /** Put every mark beside its place; `project(point)` gives {x, y, isAhead} in px, `about` the middle of what is shown. */
  place(project, about, wide, high) {
    const seen = this.marks.map((mark) => ({ mark, ...project(mark.at) }));
    const there = seen.filter(({ x, y, isAhead }) => isAhead && x > 0 && y > 0 && x < wide && y < high);
    // No mark may stand on another one's place either.
    const taken = there.map(({ x, y }) => ({ x, y, wide: 8, high: 8 }));
    for (const { mark, x, y, isAhead } of seen) {
      mark.label.hidden = !isAhead || x < 0 || y < 0 || x > wide || y > high;
      mark.line.toggleAttribute("hidden", mark.label.hidden);
      if (mark.label.hidden) continue;
      const spot = beside(mark, { x, y }, about, taken, wide, high);
      taken.push({ ...spot, wide: mark.wide, high: mark.high });
      mark.label.style.transform = `translate(${spot.x.toFixed(1)}px, ${spot.y.toFixed(1)}px) translate(-50%, -50%)`;
      const n = (value) => value.toFixed(1);
      mark.line.setAttribute("d", `M${n(spot.x)} ${n(spot.y)}L${n(x)} ${n(y)}m-3 0a3 3 0 1 0 6 0a3 3 0 1 0 -6 0`);
    }
  }

  /** Marks whose place `isHidden(point)` step back. */
  dim(isHidden) {
    for (const mark of this.marks) {
      const isBehind = isHidden(mark.at);
      mark.label.classList.toggle("is-behind", isBehind);
      mark.line.setAttribute("class", isBehind ? "is-behind" : "");
    }
  }
}

/** The first spot round a place where a mark covers nothing; outward from the middle first. */
function beside(mark, at, about, taken, wide, high) {
  const outward = Math.atan2(at.y - about.y, at.x - about.x || 1e-6);
  const isFree = (spot) => spot.x > mark.wide / 2 && spot.y > mark.high / 2 && spot.x < wide - mark.wide / 2 && spot.y < high - mark.high / 2
    && taken.every((one) => Math.abs(one.x - spot.x) > (one.wide + mark.wide) / 2 + GAP_PX || Math.abs(one.y - spot.y) > (one.high + mark.high) / 2 + GAP_PX);
  const spotAt = (away, turn) => ({
    x: at.x + (away + mark.wide / 2 - 13) * Math.cos(outward + turn), y: at.y + away * Math.sin(outward + turn) });
  for (const away of AWAY_PX) {
    // Where it stood a moment ago it stays, so that it does not jump while the picture turns.
    for (const turn of [mark.turn, ...TURNS]) {
      const spot = spotAt(away, turn);
      if (isFree(spot)) { mark.turn = turn; return spot; }
    }
  }
  return spotAt(AWAY_PX[0], 0);
}
