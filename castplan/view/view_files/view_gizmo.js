// A small block in the corner of the picture: which side of the part is looked at, and a way to each.
import { dot, cross, add, norm } from "./view_mesh.js";
import { SVG } from "./view_labels.js";

const SIZE_PX = 84;
const HALF_PX = 40; // of the block's longest diagonal, as drawn

/** `faces` [{name, way}], six along three axes; `extent(way)` how long the part is along one. */
export class Gizmo {
  constructor(root, { onFace }) {
    this.onFace = onFace;
    /** @type {any[]} */
    this.faces = [];
    this.box = document.createElement("div");
    this.box.className = "castview-gizmo";
    this.picture = document.createElementNS(SVG, "svg");
    this.picture.setAttribute("viewBox", `${-SIZE_PX / 2} ${-SIZE_PX / 2} ${SIZE_PX} ${SIZE_PX}`);
    this.picture.setAttribute("aria-hidden", "true");
    this.name = document.createElement("p");
    this.box.append(this.picture, this.name);
    root.append(this.box);
  }

  set(faces, extent) {
    const longest = Math.max(...faces.map((face) => extent(face.way)), 1e-9);
    // A thin plate stays a block that can be clicked.
    this.faces = faces.map((face) => ({ ...face, half: Math.max(extent(face.way) / longest, 0.3) }));
    this.shapes = this.faces.map((face) => {
      const shape = document.createElementNS(SVG, "path"), title = document.createElementNS(SVG, "title");
      title.textContent = face.name;
      shape.append(title);
      shape.addEventListener("click", () => this.onFace(face));
      return shape;
    });
    this.picture.replaceChildren(...this.shapes);
    this.box.hidden = !faces.length;
    this.shown = null;
  }

  /** The face that looks most towards the eye. */
  seen(back) {
    return this.faces.reduce((best, face) => (!best || dot(face.way, back) > dot(best.way, back) + 1e-6 ? face : best), null);
  }

  draw({ back, right, above }) {
    if (!this.faces.length) return;
    const scale = HALF_PX / Math.hypot(...this.faces.filter((_, k) => k % 2 === 0).map((face) => face.half));
    this.faces.forEach((face, k) => {
      const others = this.faces.filter((one) => Math.abs(dot(one.way, face.way)) < 0.5);
      const u = others[0], v = others.find((one) => Math.abs(dot(one.way, u.way)) < 0.5);
      const isSeen = dot(face.way, back) > 0.02;
      this.shapes[k].toggleAttribute("hidden", !isSeen);
      this.shapes[k].style.display = isSeen ? "" : "none";
      if (!isSeen) return;
      const corner = (s, t) => {
        const at = add(add(face.way.map((value) => value * face.half), u.way, s * u.half), v.way, t * v.half);
        return `${(scale * dot(at, right)).toFixed(1)} ${(-scale * dot(at, above)).toFixed(1)}`;
      };
      this.shapes[k].setAttribute("d", `M${corner(-1, -1)}L${corner(1, -1)}L${corner(1, 1)}L${corner(-1, 1)}Z`);
    });
    const seen = this.seen(back);
    if (seen === this.shown) return;
    this.shown = seen;
    this.name.textContent = seen.name;
    this.shapes.forEach((shape, k) => shape.classList.toggle("is-seen", this.faces[k] === seen));
  }
}

/** Turn until a face is looked at; a little from above and aside, so that it keeps its depth. */
export function sideOf(face, up) {
  const aside = norm(cross(up, Math.abs(dot(up, face.way)) < 0.9 ? face.way : [0, -1, 0.01]));
  return norm(add(add(face.way, up, Math.abs(dot(up, face.way)) < 0.9 ? 0.3 : 0), aside, 0.25));
}
