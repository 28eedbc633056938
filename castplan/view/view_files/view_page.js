// The page round the view: one card open at a time, and the view shows what it speaks of.
import { say, useTexts } from './say.js';
import { CastView } from './view_gl.js';
import { unpackAll } from './view_mesh.js';

const MM_PER_INCH = 25.4;
const PLAY_MS = 110;
const MOST_MARKS = 40;
const CLOSED = 0.03; // share of the way under which halves stand closed
const KINDS = { pocket: 'square', port: 'round', peak: 'peak', finding: '', part: 'part' };
const PLACE_DIGITS = 1; // of a millimetre, as places are told in the log of pours
const HELD = ['view.held_free', 'view.held_upper', 'view.held_lower', 'view.held_closed'];
const LIPS_HELD = ['view.held_free', 'view.held_upper_lip', 'view.held_lower_lip', 'view.held_closed'];
const LIPS = { upper: 'view.lip_upper', lower: 'view.lip_lower', ports: 'view.gate_or_vent' };
const OTHERS = { upper: 'view.silicone_upper', lower: 'view.silicone_lower', ports: 'view.gate_or_vent' };
const WALLS = { x: 'view.from_left', y: 'view.from_front', z: 'view.over_board' };

class Page {
  constructor(page, stored) {
    this.page = page;
    this.data = stored.view;
    this.film = stored.film;
    this.smallAir = stored.smallAir;
    this.turn = stored.turn;
    this.places = new Map(stored.places.map((place) => [place.key, place]));
    this.unit = 'mm';
    this.step = Number(this.find('#film').value);
    this.ends = [];
    this.view = new CastView(this.find('#picture'), this.data, {
      onPick: (hit) => this.point(hit),
      onMark: (key) => this.goTo(key),
      onEscape: () => this.setEnds([]),
    });
    this.view.canvas.setAttribute('role', 'application');
    this.view.canvas.setAttribute('aria-label', say('view.keys_of_picture'));
    page.body.classList.add('is-live');
    this.hasHalves = Boolean(this.data.meshes.upper);
    this.listen();
    this.openCard('split');
  }

  find(selector) { return this.page.querySelector(selector); }
  all(selector) { return [...this.page.querySelectorAll(selector)]; }
  chosen(name) { return this.all(`input[name="${name}"]`).find((input) => input.checked).value; }

  listen() {
    for (const head of this.all('.card .head')) {
      head.addEventListener('click', () => this.openCard(head.closest('.card').id.slice('card-'.length)));
    }
    for (const button of this.all('.place')) button.addEventListener('click', () => this.goTo(button.dataset.place));
    const on = (selector, kind, act) => this.all(selector).forEach((one) => one.addEventListener(kind, act));
    on('input[name="unit"]', 'change', () => this.setUnit(this.chosen('unit')));
    on('#open', 'input', () => this.apply());
    on('input[name="shown"], input[name="map"], #cut-at', 'input', () => this.apply());
    on('input[name="axis"]', 'input', () => { this.apply(); this.view.stand(this.stance()); });
    on('input[name="pour"]', 'change', () => { this.stop(); this.apply(); });
    on('#film', 'input', () => { this.stop(); this.setStep(Number(this.find('#film').value)); });
    on('#play', 'click', () => this.play());
    on('#whole', 'click', () => this.frame());
    on('#clear', 'click', () => this.setEnds([]));
    const dark = window.matchMedia('(prefers-color-scheme: dark)');
    dark.addEventListener('change', () => this.view.refresh());
    this.narrow = window.matchMedia('(max-width: 52rem)');
    this.narrow.addEventListener('change', () => this.placeStage());
  }

  // -- cards -----------------------------------------------------------------

  openCard(key) {
    this.stop();
    const isSame = this.card === key;
    this.card = key;
    for (const card of this.all('.card')) {
      const isOpen = card.id === `card-${key}`;
      card.classList.toggle('is-open', isOpen);
      card.querySelector('.head').setAttribute('aria-expanded', String(isOpen));
    }
    this.placeStage();
    this.tell('', [key === 'measure' ? '' : say('view.click_to_read')]);
    if (key !== 'measure') this.setEnds([]);
    this.apply();
    if (!isSame) this.view.stand(this.stance());
  }

  /** Beside the cards where there is room, else in the open card. */
  placeStage() {
    const stage = this.find('#stage');
    if (!this.narrow.matches) { this.find('#bench').append(stage); return; }
    const body = this.find(`#body-${this.card}`);
    const lead = [...body.children].filter((one) => one.matches('.decision, .reason')).pop();
    lead.after(stage);
  }

  /** The view as the open card wants it. */
  apply() {
    const { view, card } = this;
    const shown = { part: true, upper: false, lower: false, box: false, keys: false, ports: false, parting: card === 'turn' };
    const isPour = card === 'pour';
    const isFilm = isPour && this.chosen('pour') === 'film';
    if (card === 'turn') shown.box = true;
    if (card === 'cut') Object.assign(shown, { upper: true, lower: true, box: true });
    if (isPour) Object.assign(shown, { box: true, ports: true });
    if (card === 'split') {
      for (const input of this.all('input[name="shown"]')) shown[input.value] = input.checked;
      shown.parting = shown.part;
    }
    // Where something inside is spoken of the silicone is there, and seen through.
    const isInside = ['turn', 'holds', 'pour', 'watch'].includes(card);
    if (isInside) Object.assign(shown, { upper: true, lower: true });
    const share = Number(this.find('#open')?.value) / 100;
    // A mould without a lower half hides all that lies under it.
    view.setGhost(isInside || (card === 'split' && (share < CLOSED || !this.data.meshes.lower)));
    if (card === 'watch') shown.ports = true;
    view.setShown(shown);
    view.setOpen(card === 'split' && this.hasHalves ? share : 0);
    view.setSection(card === 'cut' ? this.section() : null);
    const key = { holds: this.chosen('map'), thick: 'thickness', pour: 'air' }[card];
    view.setMap(key && !isFilm ? key : null);
    view.setFilm(isFilm ? this.step : null);
    view.isSnapping = card === 'measure';
    view.setPicking(card === 'measure');
    for (const one of this.all('[data-map]')) one.hidden = one.dataset.map !== (isFilm ? 'film' : key);
    if (isPour) this.showStep();
    if (card !== 'measure') view.setPath(card === 'turn' ? this.arrow() : []);
    view.setMarks(this.marks());
  }

  /** The way the upper half leaves, over the middle of the box. */
  arrow() {
    const { low, high, outline } = this.data.box;
    const middle = [0, 1].map((k) => 0.5 * (Math.min(...outline.map((p) => p[k])) + Math.max(...outline.map((p) => p[k]))));
    const tall = 0.5 * (high - low), tip = high + tall;
    const at = (x, z) => [middle[0] + x, middle[1], z];
    return [at(0, high), at(0, tip), at(-0.2 * tall, tip - 0.3 * tall), at(0, tip), at(0.2 * tall, tip - 0.3 * tall)];
  }

  /** What is up on this card, and the side to look from. */
  stance() { return { up: this.card === 'pour' ? this.data.film.up : [0, 0, 1], from: this.side() }; }

  frame() { this.view.frame(this.stance()); }

  /** The side to look from: a cut from its front, an undercut part from below if that shows more. */
  side() {
    if (this.card !== 'cut') return null;
    return { x: [0.9, -0.35, 0.3], y: [0.3, -0.9, 0.3], z: [0.3, -0.55, 0.8] }[this.section().axis];
  }

  section() {
    const axis = this.chosen('axis');
    const { box } = this.data;
    const n = { x: 0, y: 1 }[axis];
    const low = axis === 'z' ? box.low : Math.min(...box.outline.map((p) => p[n]));
    const high = axis === 'z' ? box.high : Math.max(...box.outline.map((p) => p[n]));
    const share = Number(this.find('#cut-at').value) / 1000;
    this.find('#cut-text').textContent = say(WALLS[axis], { length: this.length(share * (high - low)) });
    return { axis, at: low + share * (high - low) };
  }

  marks() {
    const kinds = { turn: ['part'], holds: ['pocket'], pour: ['port', 'peak'], watch: ['finding'] }[this.card] || [];
    const marks = [];
    for (const place of this.places.values()) {
      const kind = place.key.split('-')[0];
      if (!kinds.includes(kind) || !place.isMarked || marks.length >= MOST_MARKS) continue;
      const at = kind === 'pocket' ? this.lookAt(place).at : place.at;
      const text = kind === 'peak' ? `\u25b2${place.number}` : place.number;
      marks.push({ id: place.key, text, title: place.title, at, kind: KINDS[kind] });
    }
    if (this.card === 'turn') marks.push({ id: '', text: say('view.pull'), title: '', at: this.arrow()[1], kind: '' });
    if (this.card === 'measure') {
      this.ends.forEach((at, k) => marks.push({ id: '', text: 'AB'[k], title: '', at, kind: 'round' }));
    }
    return marks;
  }

  // -- places ----------------------------------------------------------------

  /** Where to look to see a place: the facets that belong to it, or its point. */
  lookAt(place) {
    const [kind, number] = place.key.split('-');
    if (!place.look) {
      const of = { pocket: this.view.facets.pocket, peak: this.view.facets.peak }[kind];
      const found = of && this.view.findFacets((f) => of[f] === Number(number));
      const radius = this.view.radius;
      place.look = found || { at: place.at, from: null, size: 0.3 * radius };
    }
    return place.look;
  }

  /** Fly to a place, open its entry, and say what it is and what to do. */
  goTo(key) {
    const place = this.places.get(key);
    if (!place) return;
    const card = { pocket: 'holds', peak: 'pour', port: 'pour', finding: 'watch' }[key.split('-')[0]];
    if (this.card !== card) this.openCard(card);
    for (const entry of this.all('.places li')) entry.classList.toggle('is-open', entry.id === key);
    this.view.labels.choose(key);
    const entry = this.page.getElementById(key);
    const lines = entry ? [...entry.querySelectorAll('.more p')] : [];
    this.tell(place.title, lines.map((line) => line.textContent));
    if (place.at) this.tellPlace(place.at);
    if (entry && !this.narrow.matches) entry.scrollIntoView({ block: 'nearest' });
    if (!place.at) return;
    const { at, from, size } = this.lookAt(place);
    const distance = Math.min(Math.max(5 * size, 1.1 * this.view.radius), 3.4 * this.view.radius);
    const up = this.card === 'pour' ? this.data.film.up : [0, 0, 1];
    const isPlain = place.key.startsWith('port') || place.key.startsWith('finding');
    this.view.flyTo(at, { distance, from: isPlain ? null : from, up });
  }

  tell(title, lines = []) {
    const lead = this.page.createElement('b');
    lead.textContent = title;
    this.find('#note').replaceChildren(lead, lines.join(' '));
  }

  /** A place in the file's axes, as `castplan cast --defect` takes it; a click marks it whole. */
  tellPlace(at) {
    const place = [0, 1, 2].map((k) => this.turn.reduce((sum, row, r) => sum + row[k] * at[r], 0));
    const line = this.page.createElement('span'), numbers = this.page.createElement('code');
    line.className = 'place-told';
    numbers.textContent = place.map((mm) => (Math.round(mm * 10 ** PLACE_DIGITS) / 10 ** PLACE_DIGITS + 0).toFixed(PLACE_DIGITS)).join(',');
    line.append(say('view.place'), ' ', numbers);
    this.find('#note').append(line);
  }

  /** A click on the picture. */
  point(hit) {
    if (this.card === 'measure') {
      if (hit) this.setEnds(this.ends.length > 1 ? [hit.point] : [...this.ends, hit.point]);
      return;
    }
    if (!hit) { this.tell(''); return; }
    if (this.data.pieces.some((piece) => piece.name === hit.mesh)) { this.tell(say('view.loose_piece', { label: hit.mesh })); return; }
    if (hit.mesh !== 'part') { this.tell(say((this.data.isCut ? LIPS : OTHERS)[hit.mesh])); return; }
    const { facets } = this.view;
    const kind = this.card === 'pour' ? 'peak' : 'pocket';
    const key = `${kind}-${facets[kind][hit.face]}`;
    const values = this.valueWords(hit.face);
    if (this.places.has(key)) {
      this.goTo(key);
      this.find('#note .place-told').replaceWith(` ${values}`);
    } else if (kind === 'peak' && facets.caught[hit.face]) this.tell(say('view.air_stays'), [this.smallAir]);
    else this.tell(this.heldWords(hit.face), [values]);
    this.tellPlace(hit.point);
  }

  heldWords(face) { return say((this.data.isCut ? LIPS_HELD : HELD)[this.view.maps.held.numbers[face]]); }

  valueWords(face) {
    const read = (key) => this.view.maps[key].numbers[face] * this.view.maps[key].step;
    const told = { draft: read('draft').toFixed(0), thickness: this.length(read('thickness')) };
    if (!(read('depth') > 0)) return raised(say('view.values', told));
    return raised(say('view.values_in_pocket', { ...told, depth: this.length(read('depth')) }));
  }

  // -- lengths ---------------------------------------------------------------

  length(mm) {
    if (this.unit === 'mm') return `${mm.toFixed(1)} mm`;
    const parts = Math.round((mm / MM_PER_INCH) * 32);
    let top = parts % 32, under = 32;
    while (top && top % 2 === 0) { top /= 2; under /= 2; }
    const whole = Math.floor(parts / 32);
    return `${whole || !top ? whole : ''}${whole && top ? ' ' : ''}${top ? `${top}/${under}` : ''} in`;
  }

  setUnit(unit) {
    this.unit = unit;
    this.page.documentElement.dataset.unit = unit;
    this.showEnds();
    this.apply();
  }

  setEnds(ends) {
    this.ends = ends;
    this.showEnds();
    this.view.setPath(ends);
    if (this.card === 'measure') this.view.setMarks(this.marks());
  }

  showEnds() {
    const [a, b] = this.ends;
    const text = this.find('#length-text');
    if (!a) text.textContent = say('view.no_point');
    else if (!b) text.textContent = say('view.first_point');
    else {
      const apart = a.map((value, k) => Math.abs(b[k] - value));
      text.textContent = raised(say('view.apart', { length: this.length(Math.hypot(...apart)) }));
    }
  }

  // -- the pour --------------------------------------------------------------

  setStep(step) {
    this.step = step;
    this.find('#film').value = String(step);
    this.view.setFilm(step);
    this.showStep();
  }

  showStep() {
    const words = this.film[this.step][this.unit];
    this.find('#film-text').textContent = raised(words);
    this.find('#film').setAttribute('aria-valuetext', words);
    const x = 8 + (284 * this.step) / (this.film.length - 1);
    for (const end of ['x1', 'x2']) this.find('#film-now').setAttribute(end, x.toFixed(1));
  }

  play() {
    if (this.timer) { this.stop(); return; }
    if (this.step >= this.film.length - 1) this.setStep(0);
    this.find('#play').textContent = say('view.stop');
    this.timer = setInterval(() => {
      this.setStep(this.step + 1);
      if (this.step >= this.film.length - 1) this.stop();
    }, PLAY_MS);
  }

  stop() {
    clearInterval(this.timer);
    this.timer = null;
    this.find('#play').textContent = say('view.play');
  }
}

/** Basis letters as raised letters: all that this page computes is computed. */
function raised(text) { return text.replace(/ ?\[c\]/g, '\u1d9c'); }

async function start() {
  const stored = JSON.parse(document.getElementById('plan-data').textContent);
  useTexts(stored.texts);
  try {
    stored.view = await unpackAll(stored.view);
    return new Page(document, stored);
  } catch (error) {
    document.getElementById('plain').dataset.why = error.message;
    return null;
  }
}

start();
