// The page round the view: one card open at a time, and the view shows what it speaks of.
import { say, useTexts } from "./say.js";
import { Stage, turningHelp } from "./view_stage.js";
import { unpackAll } from "./view_mesh.js";

const CLOSED = 0.03; // share of the way under which halves stand closed
const CARDS = { pocket: "holds", peak: "pour", port: "pour", finding: "watch" };
const MARKED = { turn: ["part"], holds: ["pocket"], pour: ["port", "peak"], watch: ["finding"] };

class Page {
  constructor(page, stored) {
    this.page = page;
    this.stage = new Stage(this.find("#picture"), stored, {
      onPick: (hit) => this.point(hit),
      onPlace: (key) => this.goTo(key),
      onEscape: () => this.setEnds([]),
      onStep: () => this.showStep(),
      onPlay: (isPlaying) => { this.find("#play").textContent = say(isPlaying ? "view.stop" : "view.play"); },
    });
    this.data = stored.view;
    this.view = this.stage.view;
    this.stage.step = Number(this.find("#film").value);
    this.find("#turning").replaceChildren(turningHelp(this.view));
    page.body.classList.add("is-live");
    this.hasHalves = Boolean(this.data.meshes.upper);
    this.listen();
    this.openCard("split");
  }

  find(selector) { return this.page.querySelector(selector); }
  all(selector) { return [...this.page.querySelectorAll(selector)]; }
  chosen(name) { return this.all(`input[name="${name}"]`).find((input) => input.checked).value; }

  listen() {
    for (const head of this.all(".card .head")) {
      head.addEventListener("click", () => this.openCard(head.closest(".card").id.slice("card-".length)));
    }
    for (const button of this.all(".place")) button.addEventListener("click", () => this.goTo(button.dataset.place));
    const on = (selector, kind, act) => this.all(selector).forEach((one) => one.addEventListener(kind, act));
    on('input[name="unit"]', "change", () => this.setUnit(this.chosen("unit")));
    on("#open", "input", () => this.apply());
    on('input[name="shown"], input[name="map"], #cut-at', "input", () => this.apply());
    on('input[name="axis"]', "input", () => { this.apply(); this.view.stand(this.stance()); });
    on('input[name="pour"]', "change", () => { this.stage.stop(); this.apply(); });
    on("#film", "input", () => { this.stage.stop(); this.stage.setStep(Number(this.find("#film").value)); });
    on("#play", "click", () => this.stage.play());
    on("#whole", "click", () => this.frame());
    on("#clear", "click", () => this.setEnds([]));
    const dark = window.matchMedia("(prefers-color-scheme: dark)");
    dark.addEventListener("change", () => this.view.refresh());
    this.narrow = window.matchMedia("(max-width: 52rem)");
    this.narrow.addEventListener("change", () => this.placeStage());
  }

  // -- cards -----------------------------------------------------------------

  openCard(key) {
    this.stage.stop();
    const isSame = this.card === key;
    this.card = key;
    for (const card of this.all(".card")) {
      const isOpen = card.id === `card-${key}`;
      card.classList.toggle("is-open", isOpen);
      card.querySelector(".head").setAttribute("aria-expanded", String(isOpen));
    }
    this.placeStage();
    this.tell("", [key === "measure" ? "" : say("view.click_to_read")]);
    if (key !== "measure") this.stage.setEnds([]);
    this.showEnds();
    this.apply();
    if (!isSame) this.view.stand(this.stance());
  }

  /** Beside the cards where there is room, else in the open card. */
  placeStage() {
    const stage = this.find("#stage");
    if (!this.narrow.matches) { this.find("#bench").append(stage); return; }
    const body = this.find(`#body-${this.card}`);
    const lead = [...body.children].filter((one) => one.matches(".decision, .reason")).pop();
    lead.after(stage);
  }

  /** The view as the open card wants it. */
  apply() {
    const { view, card } = this;
    const shown = { part: true, upper: false, lower: false, box: false, keys: false, ports: false, parting: card === "turn" };
    const isPour = card === "pour";
    const isFilm = isPour && this.chosen("pour") === "film";
    if (card === "turn") shown.box = true;
    if (card === "cut") Object.assign(shown, { upper: true, lower: true, box: true });
    if (isPour) Object.assign(shown, { box: true, ports: true });
    if (card === "split") {
      for (const input of this.all('input[name="shown"]')) shown[input.value] = input.checked;
      shown.parting = shown.part;
    }
    // Where something inside is spoken of the silicone is there, and seen through.
    const isInside = ["turn", "holds", "pour", "watch"].includes(card);
    if (isInside) Object.assign(shown, { upper: true, lower: true });
    const share = Number(this.find("#open")?.value) / 100;
    // A mould without a lower half hides all that lies under it.
    view.setGhost(isInside || (card === "split" && (share < CLOSED || !this.data.meshes.lower)));
    if (card === "watch") shown.ports = true;
    view.setShown(shown);
    view.setOpen(card === "split" && this.hasHalves ? share : 0);
    view.setSection(card === "cut" ? this.section() : null);
    const key = { holds: this.chosen("map"), thick: "thickness", pour: "air" }[card];
    view.setMap(key && !isFilm ? key : null);
    view.setFilm(isFilm ? this.stage.step : null);
    view.isSnapping = card === "measure";
    view.setPicking(card === "measure");
    for (const one of this.all("[data-map]")) one.hidden = one.dataset.map !== (isFilm ? "film" : key);
    if (isPour) this.showStep();
    if (card !== "measure") view.setPath(card === "turn" ? this.stage.arrow() : []);
    view.setMarks(this.marks());
  }

  /** What is up on this card, and the side to look from. */
  stance() { return this.stage.stance({ isPour: this.card === "pour", axis: this.card === "cut" ? this.chosen("axis") : null }); }

  frame() { this.view.frame(this.stance()); }

  section() {
    const { section, says } = this.stage.cut(this.chosen("axis"), Number(this.find("#cut-at").value) / 1000);
    this.find("#cut-text").textContent = says;
    return section;
  }

  marks() { return this.stage.marks(MARKED[this.card] || [], { isArrow: this.card === "turn" }); }

  // -- places ----------------------------------------------------------------

  /** Fly to a place, open its entry, and say what it is and what to do. */
  goTo(key) {
    const place = this.stage.places.get(key);
    if (!place) return;
    const card = CARDS[key.split("-")[0]];
    if (this.card !== card) this.openCard(card);
    for (const entry of this.all(".places li")) entry.classList.toggle("is-open", entry.id === key);
    const entry = this.page.getElementById(key);
    const lines = entry ? [...entry.querySelectorAll(".more p")] : [];
    this.tell(place.title, lines.map((line) => line.textContent));
    if (place.at) this.tellPlace(place.at);
    if (entry && !this.narrow.matches) entry.scrollIntoView({ block: "nearest" });
    this.stage.flyTo(place, { up: this.stance().up });
    this.view.labels.choose(key);
  }

  tell(title, lines = []) {
    const lead = this.page.createElement("b");
    lead.textContent = title;
    this.find("#note").replaceChildren(lead, lines.join(" "));
  }

  /** A place in the file's axes; a click marks it whole. */
  tellPlace(at) {
    const line = this.page.createElement("span"), numbers = this.page.createElement("code");
    line.className = "place-told";
    numbers.textContent = this.stage.placeText(at);
    line.append(say("view.place"), " ", numbers);
    this.find("#note").append(line);
  }

  /** A click on the picture. */
  point(hit) {
    if (this.card === "measure") {
      if (hit) { this.stage.addEnd(hit.point); this.showEnds(); }
      return;
    }
    const { key, title, lines } = this.stage.read(hit, { isPour: this.card === "pour" });
    if (key) {
      this.goTo(key);
      this.find("#note .place-told").replaceWith(` ${lines[0]}`);
    } else this.tell(title, lines);
    if (hit && hit.mesh === "part") this.tellPlace(hit.point);
  }

  // -- lengths and the pour --------------------------------------------------

  setUnit(unit) {
    this.stage.unit = unit;
    this.page.documentElement.dataset.unit = unit;
    this.showEnds();
    this.apply();
  }

  setEnds(ends) {
    if (this.card !== "measure") return;
    this.stage.setEnds(ends);
    this.showEnds();
  }

  showEnds() {
    this.find("#length-text").textContent = this.stage.endsText();
    if (this.card === "measure") this.view.setMarks(this.marks());
  }

  showStep() {
    const { step, film } = this.stage, words = this.stage.stepText();
    this.find("#film").value = String(step);
    this.find("#film-text").textContent = words;
    this.find("#film").setAttribute("aria-valuetext", words);
    const x = 8 + (284 * step) / (film.length - 1);
    for (const end of ["x1", "x2"]) this.find("#film-now").setAttribute(end, x.toFixed(1));
  }
}

async function start() {
  const stored = JSON.parse(document.getElementById("plan-data").textContent);
  useTexts(stored.texts);
  try {
    stored.view = await unpackAll(stored.view);
    return new Page(document, stored);
  } catch (error) {
    document.getElementById("plain").dataset.why = error.message;
    return null;
  }
}

start();
